"""``briefing advise``: flags, questions, the JSON contract, and one screen of 80 columns."""

import json

import pytest
import typer
from typer.testing import CliRunner

from briefing.app.assembly import App
from briefing.cli import advise as module
from briefing.cli.common import new_app
from briefing.knowledge import load_advice_knowledge

GRASS = [
    *("--lat", "33", "--water-temp", "59F", "--visibility", "3ft", "--water-colour", "green", "--sky", "overcast"),
    *("--wind", "12mph", "--cover", "grass_dense", "--depth", "6ft", "--cover-top", "2.5ft", "--date", "2026-03-28"),
]
ROCK = ["--phase", "summer", "--cover", "rock", "--depth", "8ft", "--water-temp", "75F", "--visibility", "5ft"]


@pytest.fixture
def advise(tmp_path):
    app = new_app("Test.")

    @app.callback()
    def _context(ctx: typer.Context) -> None:
        ctx.obj = App.from_environment({"BRIEFING_HOME": str(tmp_path), "BRIEFING_NOW": "2026-06-20T10:00:00Z"})

    app.command("advise")(module.advise)

    def run(*words, typed=None):
        return CliRunner().invoke(app, ["advise", *words], input=typed, catch_exceptions=False)

    return run


def test_json_contract(advise):
    result = advise(*GRASS, "--json")
    assert result.exit_code == 0, result.output
    answer = json.loads(result.stdout)
    known = set(load_advice_knowledge().tables.index)
    choices = answer["choices"]
    assert len(choices) >= 15
    assert {choice["id"] for choice in choices} <= known
    assert choices[0]["rank"] == "first choice"
    assert sorted(choice["rank"] for choice in choices if choice["rank"]) == ["first choice", "if refused", "second"]
    for choice in choices:
        assert "score" not in choice
        assert choice["how_sure"] in ("fairly sure", "open")
        assert choice["reasons"]
        assert {"id", "why"} <= set(choice["colours"][0])
        assert {"rod", "reel", "line", "leader"} == set(choice["setup"])
        depth = choice["running_depth_m"]
        assert depth == 0 or depth is None or (len(depth) == 2 and depth[0] <= depth[1] <= 1.83)
    assert sum(answer["phase"].values()) == pytest.approx(1.0, abs=0.01)


def test_same_words_same_bytes(advise):
    assert advise(*GRASS, "--json").stdout == advise(*GRASS, "--json").stdout


def test_metric_and_us_words_give_the_same_order(advise):
    metric = ["--lat", "33", "--water-temp", "15C", "--visibility", "0.91m", "--water-colour", "green"]
    metric += ["--sky", "overcast", "--wind", "5.36m/s", "--cover", "grass_dense", "--depth", "1.83m"]
    metric += ["--cover-top", "0.762m", "--date", "2026-03-28", "--json"]
    order = [
        [choice["id"] for choice in json.loads(advise(*words).stdout)["choices"]]
        for words in (metric, [*GRASS, "--json"])
    ]
    assert order[0][:10] == order[1][:10]


def test_one_screen(advise):
    result = advise(*GRASS)
    lines = result.stdout.splitlines()
    assert max(len(line) for line in lines) <= 80
    assert len(lines) <= 24
    for word in ("FIRST CHOICE", "SECOND", "IF REFUSED", "oz", "turns in 10 s", "lb", "Assumed"):
        assert word in result.stdout
    assert "score" not in result.stdout.lower()


def test_why_says_what_gets_no_weight(advise):
    text = " ".join(advise(*GRASS, "--why").stdout.split())
    assert "The moon and the reading of the barometer get no weight" in text
    assert text.count("for it:") >= 6
    assert "neither way:" in text


def test_explain_says_what_to_look_at(advise):
    text = advise(*GRASS, "--explain").stdout
    assert text.count("Look at:") == 3
    assert "If it goes wrong:" in text


def test_owned_limits_the_order(advise):
    answer = json.loads(advise(*ROCK, "--owned", "tube,drop_shot", "--json").stdout)
    assert {choice["id"] for choice in answer["choices"]} == {"tube", "drop_shot"}


def test_what_is_missing_is_assumed_and_said(advise):
    answer = json.loads(advise("--phase", "summer", "--cover", "rock", "--depth", "8ft", "--json").stdout)
    assert "no water temperature" in answer["assumed"]
    assert all(choice["how_sure"] == "open" for choice in answer["choices"])


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (["--phase", "summer", "--depth", "8ft"], "--cover"),
        (["--phase", "summer", "--cover", "rock"], "--depth"),
        (["--cover", "rock", "--depth", "8ft"], "--phase"),
        ([*ROCK, "--cover", "moss"], "moss"),
        ([*ROCK, "--sky", "pink"], "overcast"),
        ([*ROCK, "--species", "trout"], "smallmouth"),
        ([*ROCK, "--owned", "magic_lure"], "magic_lure"),
        ([*ROCK, "--water-temp", "150F"], "150"),
        ([*ROCK, "--date", "yesterday"], "2026-04-18"),
        ([*ROCK, "--units", "stone"], "metric"),
        (["--lat", "75", "--water-temp", "60F", "--cover", "rock", "--depth", "8ft"], "75"),
    ],
)
def test_refusals_name_the_flag_and_what_is_accepted(advise, words, found):
    result = advise(*words)
    assert result.exit_code == 2
    assert found in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_questions_are_asked_on_a_terminal(advise, monkeypatch):
    monkeypatch.setattr(module, "can_ask", lambda: True)
    answers = ["", "dock", "5ft", "70F", "", "4ft", "green", "bright", "3mph", "", "", "", "", "", "34"]
    result = advise(typed="\n".join(answers) + "\n")
    assert result.exit_code == 0, result.output
    assert "Depth of the water there" in result.stdout
    assert "FIRST CHOICE" in result.stdout


def test_a_refused_answer_is_asked_again(advise, monkeypatch):
    monkeypatch.setattr(module, "can_ask", lambda: True)
    answers = ["", "moss", "dock", "5ft", "70F", "", "4ft", "green", "bright", "3mph", "", "", "", "", "", "34"]
    result = advise(typed="\n".join(answers) + "\n")
    assert result.exit_code == 0, result.output
    assert "moss" in result.stdout


def test_what_is_out_of_season_is_named_as_such(advise):
    result = advise(
        "--phase", "winter", "--cover", "rock", "--depth", "8ft", "--water-temp", "40F", "--owned", "popper"
    )
    assert result.exit_code == 0
    assert "FIRST CHOICE: Popper" in result.stdout
    assert "too cold for it at 40 F" in " ".join(result.stdout.split())
