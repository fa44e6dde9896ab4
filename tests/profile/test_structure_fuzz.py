"""A lake file with any value in any place is read or refused in words, never with a traceback."""

import copy
from datetime import date
from typing import Any

import tomli
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.errors import NewerSchemaError, ProfileError
from briefing.profile.files import build_profile
from briefing.resources import config_path

EXAMPLE = tomli.loads(config_path("lakes/sedgemary-lake.toml").read_text(encoding="utf-8"))

odd = st.sampled_from(
    [
        *(None, True, 0, -1, 10**400, 3.5, float("nan"), float("inf"), "", "x", "{0}", "61 F", "9" * 500),
        *([], [[]], {}, {"a": 1}, [1, "x"], ["pads", "pads"], {"pads": float("nan")}, {"caution": "1 mph"}),
        *(date(2026, 1, 1), "largemouth", ["x"] * 50),
    ]
)


def _places(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place of the file, from whole tables down to single values."""
    out = [path] if path else []
    children = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, child in children:
        out += _places(child, (*path, key))
    return out


PLACES = _places(EXAMPLE)


@settings(max_examples=400, deadline=None, derandomize=True)
@given(st.sampled_from(PLACES), odd)
def test_any_value_in_any_place(place: tuple[Any, ...], value: Any) -> None:
    data = copy.deepcopy(EXAMPLE)
    node: Any = data
    for key in place[:-1]:
        node = node[key]
    if value is None:
        del node[place[-1]]  # TOML has no null: something is missing
    else:
        node[place[-1]] = value
    message = _refusal(data)
    assert message is None or (message.startswith("x.toml") and len(message.splitlines()) <= 27)


def _refusal(data: dict[str, Any]) -> str | None:
    try:
        build_profile(data, "x.toml")
    except (ProfileError, NewerSchemaError) as error:
        return str(error)
    return None
