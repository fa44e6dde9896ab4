"""``briefing advise``: flags, questions, the JSON contract, and one screen of 80 columns."""

import json
import random
import re

import pytest
import typer
from typer.testing import CliRunner

from briefing.app.assembly import App
from briefing.cli import advise as module
from briefing.cli.common import new_app
from briefing.knowledge import load_advice_knowledge
from briefing.vocabulary import Cover, LakeKind, Sky

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
    assert text.count("in favour:") >= 6
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
        ([*ROCK, "--date", "soonish"], "2026-04-18"),
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
    assert "too cold for this lure at 40 F" in " ".join(result.stdout.split())


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--current", "slow"], "Fish face the current"),
        (["--current", "strong"], "Cast upstream"),
        (["--tide", "rising"], "newly covered bank"),
        (["--tide", "falling"], "outer edge"),
        (["--front", "day2"], "twice the time"),
        (["--bait", "mayfly"], "overhanging limbs"),
        (["--bait", "shad_spawn"], "until the sun is on the bank"),
        (["--fished-yesterday"], "come from the other side"),
        (["--bottom", "silt"], "just off the ooze"),
    ],
)
def test_what_the_day_brings_is_said(advise, words, told):
    text = " ".join(advise(*ROCK, "--wind", "3mph", *words).stdout.split())
    assert told in text
    answer = json.loads(advise(*ROCK, "--wind", "3mph", *words, "--json").stdout)
    assert any(told in " ".join(note.split()) for note in answer["notes"])


def test_wind_over_the_limits_of_the_craft_comes_first(advise):
    strong = advise(*ROCK, "--wind", "18mph", "--craft", "kayak").stdout
    assert strong.startswith("! Wind 18 mph is over the limit")
    assert "over the limit" not in advise(*ROCK, "--wind", "18mph", "--craft", "bass_boat").stdout
    assert "! Wind" not in advise(*ROCK, "--wind", "5mph").stdout
    assert json.loads(advise(*ROCK, "--wind", "18mph", "--json").stdout)["cautions"]


def test_each_choice_says_how_and_where_the_craft_stands(advise):
    for choice in json.loads(advise(*GRASS, "--json").stdout)["choices"]:
        assert 4 <= len(choice["how"].split()) <= 60, choice["id"]
        assert choice["boat"].endswith(".")
        assert choice["bottom_depth_m"] == [1.83, 1.83]
        assert len(choice["fish_depth_m"]) == 2


def test_explain_draws_on_season_place_and_lure(advise):
    text = " ".join(advise(*GRASS, "--water", "lowland_reservoir", "--explain").stdout.split())
    for word in ("Best hours:", "Mistakes:", "Signs:", "Fish hold by", "Passes for:", "Hooks:", "Other ways:"):
        assert word in text


SCREENS = [
    GRASS,
    [*ROCK, "--visibility", "12ft", "--wind", "12mph", "--sky", "bright", "--species", "smallmouth"],
    ["--phase", "winter", "--cover", "bare", "--depth", "30ft", "--water-temp", "47F", "--visibility", "9ft"],
    ["--phase", "summer", "--cover", "pads", "--depth", "3ft", "--water-temp", "82F", "--visibility", "3ft"],
    ["--phase", "spawn", "--cover", "reeds", "--depth", "3ft", "--water-temp", "66F", "--visibility", "6ft"],
    ["--phase", "autumn", "--cover", "laydown", "--depth", "3ft", "--water-temp", "63F", "--visibility", "2ft"],
]


@pytest.mark.parametrize("words", SCREENS, ids=range(len(SCREENS)))
@pytest.mark.parametrize("units", ["us", "metric"])
def test_three_choices_fit_the_screen(advise, words, units):
    lines = advise(*words, "--units", units).stdout.splitlines()
    assert max(len(line) for line in lines) <= 80
    assert len(lines) <= 24, "\n".join(lines)


def test_fished_water_shows_the_rungs(advise):
    text = " ".join(advise(*GRASS, "--fished-yesterday", "--why").stdout.split())
    assert "Next with the " in text
    assert "; then another angle" in text
    assert "Close behind:" in text


@pytest.mark.parametrize("cover", ["grass_dense", "rock", "dock", "laydown"])
@pytest.mark.parametrize(("units", "foreign"), [("us", r"\d (?:m|cm)\b|metre"), ("metric", r"\d (?:ft|in)\b|yard")])
def test_all_that_is_told_of_a_lure_is_in_one_system(advise, cover, units, foreign):
    words = ["--date", "2026-05-10", "--lat", "36", "--water-temp", "62F", "--cover", cover, "--depth", "9ft"]
    words += ["--visibility", "3ft", "--wind", "6mph", "--sky", "overcast", "--units", units, "--why", "--explain"]
    said = advise(*words).stdout
    assert not re.findall(r"[{}|]", said)
    assert [line for line in said.splitlines() if re.search(foreign, line)] == []


def drawn(seed):
    """A situation as a user may type it, likely or not."""
    pick = random.Random(seed).choice
    words = ["--water", pick([kind.value for kind in LakeKind]), "--cover", pick([cover.value for cover in Cover])]
    words += [
        "--water-temp",
        f"{pick(range(42, 87))}F",
        "--depth",
        f"{pick(range(2, 20))}ft",
        "--lat",
        pick(["29", "37", "45"]),
    ]
    words += ["--visibility", f"{pick([0.5, 1, 2, 4, 8, 14])}ft", "--wind", f"{pick(range(23))}mph"]
    words += ["--sky", pick([sky.value for sky in Sky]), "--date", f"2026-{pick(range(1, 13)):02d}-15"]
    words += pick([[], ["--units", "metric"]])
    words += pick([[], ["--front", "day1"], ["--front", "day2"], ["--front", "approaching"]])
    return [*words, *pick([[], ["--bait", "shad_spawn"], ["--bait", "fry"], ["--bait", "mayfly"]])]


@pytest.mark.seeds(25, 400)
def test_three_choices_fit_the_screen_whatever_is_typed(advise, seed):
    result = advise(*drawn(seed))
    lines = result.stdout.rstrip("\n").split("\n")
    assert result.exit_code == 0, result.output
    assert len(lines) <= 24, result.stdout
    assert max(map(len, lines)) <= 80, result.stdout
    assert sum(line.startswith(("FIRST CHOICE: ", "SECOND: ", "IF REFUSED: ")) for line in lines) == 3


def test_a_cover_deeper_than_its_water_is_refused(advise):
    result = advise(*GRASS, "--depth", "4ft", "--cover-top", "6ft")
    assert result.exit_code == 2
    assert "--cover-top is deeper than --depth" in result.stderr
