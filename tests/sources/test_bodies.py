"""Bodies that are JSON and still hold what no text can."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefing.sources.bodies import load_json, plausible_limits, read_plausible, read_plausible_column
from briefing.sources.http import body_flaw


@pytest.mark.parametrize("body", ['{"event": "Wind \\ud83c Advisory"}', b'{"event": "Wind \\uD83C Advisory"}'])
def test_half_a_character_becomes_a_mark_and_the_rest_stays(body: str | bytes) -> None:
    assert load_json(body) == {"event": "Wind \ufffd Advisory"}


def test_a_whole_character_written_as_a_pair_stays_itself() -> None:
    assert load_json(b'["\\ud83c\\udf2a"]') == ["\U0001f32a"]


@given(
    st.recursive(
        st.one_of(st.none(), st.booleans(), st.integers(), st.text(st.characters(), max_size=8)),
        lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=4), inner, max_size=3)),
        max_leaves=8,
    )
)
def test_every_body_can_be_written_again(value: object) -> None:
    found = load_json(json.dumps(value).replace("a", "\\udc00"))
    json.dumps(found, ensure_ascii=False).encode("utf-8")


def test_what_is_no_json_is_none() -> None:
    assert load_json(b"{") is None
    assert load_json("[" * 100_000) is None


@pytest.mark.parametrize("body", ['{"a": 1, "a": 2}', '[{"b": {"a": [1], "c": 0, "a": []}}]', '{"a": null, "a": 0.5}'])
def test_a_body_that_names_one_thing_twice_contradicts_itself(body: str) -> None:
    assert load_json(body) is None
    assert "contradicts itself: 'a' stands twice" in body_flaw("json", "application/json", body.encode())


def test_the_same_thing_said_twice_is_no_contradiction() -> None:
    assert load_json('{"a": [1, {"b": null}], "a": [1, {"b": null}]}') == {"a": [1, {"b": None}]}


@given(st.dictionaries(st.text(min_size=1, max_size=3), st.integers(0, 3), min_size=1, max_size=4), st.integers(0, 3))
def test_whatever_stands_twice_is_noticed_wherever_it_stands(inner: dict[str, int], other: int) -> None:
    name, value = next(iter(inner.items()))
    twice = json.dumps(inner)[:-1] + f", {json.dumps(name)}: {other}}}"
    for body in (twice, f'{{"x": [{twice}]}}', f"[[{twice}]]"):
        assert (load_json(body) is None) is (other != value)


CELLS = st.one_of(
    st.none(), st.floats(), st.integers(-200, 200), st.integers(), st.booleans(), st.text(max_size=3), st.just("12.5"),
    st.just(10**400), st.lists(st.none(), max_size=1),
)  # fmt: skip


@given(st.one_of(st.lists(st.one_of(st.none(), st.floats(), st.integers()), max_size=6), st.lists(CELLS, max_size=6)))
def test_a_column_is_read_as_its_cells_are(column: list[object]) -> None:
    limits = plausible_limits()
    values, damaged = read_plausible_column("air_c", column, 5.0 / 9.0, -160.0 / 9.0, limits)
    each = [read_plausible("air_c", cell, 5.0 / 9.0, -160.0 / 9.0, limits) for cell in column]
    assert values.tobytes() == np.array([value for value, _ in each]).tobytes()
    assert damaged.tolist() == [hurt for _, hurt in each]
