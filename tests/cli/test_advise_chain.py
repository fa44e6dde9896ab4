"""One situation for every decision behind a lure, from the season to the last cast, where the screen must tell it."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from typer.testing import CliRunner

from briefing.app.assembly import App
from briefing.cli import advise as module
from briefing.cli.common import new_app
from briefing.knowledge import load_advice_knowledge

JIG = "--owned bladed_swim_jig --lat 33 --wind 6mph --sky overcast --visibility 3ft "
ANY = "--lat 33 --wind 6mph --sky overcast --visibility 3ft "
APRIL = "--date 2026-04-20 --water-temp 63F "
WARM = "--date 2026-04-20 --water-temp 70F --mood active "
GRASS = "--cover grass_dense --depth 6ft --cover-top 2.5ft "
HIGH = "--cover grass_dense --depth 3.5ft --cover-top 0.7ft "
DEEP = "--cover grass_dense --depth 12ft --cover-top 8ft "
BARE = "--cover bare --depth 8ft "

#: What is decided, what is typed, what the screen must hold, and what it must not.
CHAIN = {
    "time of the lure": (JIG + "--date 2026-01-20 --water-temp 41F " + GRASS, "too cold for this lure at 41 F", ""),
    "what instead": (
        JIG + "--date 2026-01-20 --water-temp 41F " + GRASS,
        r"(jerkbait|finesse jig) .*would be tied on instead",
        "",
    ),
    "which fish": (ANY + APRIL + GRASS, "pre-spawn, largemouth", ""),
    "where to cast": (ANY + APRIL + GRASS, "Cast first at", ""),
    "cover served": (JIG + APRIL + "--cover dock --depth 5ft", "docks in 5 ft", "grass"),
    "height over what": (JIG + APRIL + GRASS, "2 ft down, along the tops", ""),
    "depth of the bottom": (JIG + APRIL + "--cover bare --depth 13ft --bottom gravel", "on the bottom in 13 ft", ""),
    "wind before the lure": (JIG + APRIL + GRASS + "--wind 17mph --craft kayak", r"^! .*[Ww]ind", ""),
    "base weight": (JIG + APRIL + GRASS + "--explain", "3/8 oz is the base weight", ""),
    "lighter": (JIG + APRIL + HIGH + "--explain", "1/4 oz, lighter .* close under the surface", ""),
    "heavier": (JIG + APRIL + DEEP + "--explain", "1/2 oz, heavier .*: tops at 8 ft", ""),
    "count first": (JIG + APRIL + DEEP, r"[Ss]ink \d+ s", ""),
    "skirt": (JIG + APRIL + GRASS + "--water-colour tannic --forage shad", "Gold;", ""),
    "blade": (JIG + APRIL + GRASS + "--water-colour tannic", "blade gold", ""),
    "trailer for speed": (JIG + WARM + GRASS, "flat-tailed minnow: least lift", ""),
    "trailer for height": (JIG + APRIL + HIGH, "craw with kicking claws: most lift", ""),
    "trailer in wood": (JIG + APRIL + "--cover laydown --depth 6ft", "level", ""),
    "tail at work": (JIG + APRIL + GRASS + "--explain", "a tail that does not beat there comes off", ""),
    "soft rod in the open": (JIG + APRIL + "--cover dock --depth 5ft", "medium-heavy, moderate", ""),
    "fast rod in plants": (JIG + APRIL + GRASS, "medium-heavy, fast", ""),
    "ratio": (JIG + APRIL + GRASS, r"\d\.\d to \d\.\d:1", ""),
    "docks in deep water": (
        ANY + "--date 2026-07-20 --water-temp 82F --cover dock --depth 16ft",
        r"FIRST CHOICE: (?!.*(Texas|drop shot|jig\b)).*\n +(sinks|in the upper|\d+ to \d+ ft down)",
        "",
    ),
    "stick worm over deep tops": (
        ANY + "--date 2026-05-20 --water-temp 70F --owned weightless_stick_worm "
        "--cover grass_dense --depth 9ft --cover-top 5ft",
        "sinks to 5 ft",
        "in the upper 2 ft",
    ),
    "line in plants": (JIG + APRIL + GRASS, "50-65 lb braid", "braid to"),
    "line in the open": (JIG + APRIL + "--cover dock --depth 5ft", "15-17 lb fluoro", ""),
    "short casts in pads": (JIG + APRIL + "--cover pads --depth 4ft", "30 to 35 ft", ""),
    "never even": (JIG + APRIL + "--cover grass_sparse --depth 6ft --cover-top 2.5ft", "bursts, never evenly", ""),
    "body in thick plants": (JIG + APRIL + GRASS, "turning your body, handle under the forearm", ""),
    "wrist in thin plants": (
        JIG + APRIL + "--cover grass_sparse --depth 6ft --cover-top 2.5ft",
        "flick of the wrist",
        "",
    ),
    "over, not through": (JIG + APRIL + HIGH, "climbs over the tops", ""),
    "fouled blade": (JIG + APRIL + GRASS + "--explain", "drop the tip to slack and pop twice", ""),
    "very fast": (JIG + WARM + "--cover pads --depth 4ft", r"fast retrieve, (2[5-9]|3[0-5]) turns in 10 s", ""),
    "burst at followers": (JIG + WARM + "--cover pads --depth 4ft", "burst at every follower", ""),
    "first turns": (JIG + APRIL + BARE + "--bottom sand", "draw the line tight once", ""),
    "crawl": (JIG + APRIL + BARE + "--bottom sand", r"slow roll, [4-8] turns in 10 s", ""),
    "both corrections": (JIG + APRIL + BARE + "--bottom sand", "No bottom, slower; no blade, faster", ""),
    "silt": (JIG + APRIL + BARE + "--bottom silt", "a puff now and then, never ploughing", ""),
    "wood": (JIG + APRIL + "--cover laydown --depth 6ft", "Slow up to the limb, climb over, drop", ""),
    "hop": (JIG + APRIL + BARE + "--mood negative --bottom gravel", "Short hops", "steady buzz"),
    "stroke": (JIG + APRIL + GRASS + "--mood negative --fished-yesterday", "one long hard rip up", ""),
    "bites on the fall": (JIG + APRIL + GRASS + "--explain", "one bite on the fall is a message", ""),
    "second day": (JIG + APRIL + GRASS + "--fished-yesterday", "short hops|long stroke", ""),
    "ladder of the lure": (JIG + APRIL + GRASS + "--fished-yesterday --why", "Next with the bladed swim jig", ""),
    "after a front": (JIG + APRIL + GRASS + "--front day1", "First day behind the front: the same places", ""),
    "second day after it": (JIG + APRIL + GRASS + "--front day2", "Second day behind the front: late start", ""),
    "boat": (JIG + APRIL + GRASS, r"stay \d+ ft off", ""),
    "order of casts": (JIG + APRIL + GRASS, "ahead, at 45 degrees, then across", ""),
    "follow-up": (JIG + APRIL + GRASS + "--explain", "Thrown back at a miss", ""),
    "current": (JIG + APRIL + "--cover rock --depth 8ft --current strong", "current", ""),
    "tide": (JIG + APRIL + GRASS + "--tide falling", "As the tide falls fish drop to the outer edge", ""),
    "bait": (
        ANY + WARM + "--cover rock --depth 5ft --sky low_sun --bait shad_spawn",
        "until the sun is on the bank",
        "",
    ),
    "for a beginner": (JIG + APRIL + GRASS + "--explain", "Look at: .*If it goes wrong:", ""),
}


@pytest.fixture(scope="module")
def screen(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], str]:
    home = tmp_path_factory.mktemp("home")
    app = new_app("Advice.")

    @app.callback()
    def _state(ctx: module.typer.Context) -> None:
        ctx.obj = App.from_environment({"BRIEFING_HOME": str(home), "BRIEFING_NOW": "2026-04-20T10:00:00Z"})

    app.command("advise")(module.advise)

    def run(words: str) -> str:
        return CliRunner().invoke(app, ["advise", *words.split()], catch_exceptions=False).output

    return run


@pytest.mark.parametrize("decision", CHAIN)
def test_every_decision_is_told_where_it_is_looked_for(screen: Callable[[str], str], decision: str) -> None:
    words, wanted, unwanted = CHAIN[decision]
    told = screen(words)
    flat = " ".join(told.split())
    assert re.search(wanted, flat) or re.search(wanted, told, re.MULTILINE), told
    assert not unwanted or not re.search(unwanted, flat), told


def test_when_to_leave_is_a_switch_with_its_two_passes() -> None:
    texts = [switch.when for switch in load_advice_knowledge().switches]
    assert any("two passes over a good target" in text for text in texts)
