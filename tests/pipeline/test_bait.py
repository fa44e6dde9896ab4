"""What bass gather at, from signs and profile into the day's advice and onto the page."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from briefing.core.readings import Sign
from briefing.pipeline.bait import bait_at
from briefing.pipeline.build import build
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from briefing.profile.model import BaitSeason
from briefing.vocabulary import BaitEvent, SignKind, Sky
from tests.mornings import morning

SOUTH = "south_early_spring_front_coming"
SHAD = "Shad spawn on stones and stems"


def signed(kind: SignKind, days_ago: float) -> MorningInputs:
    inputs = morning(SOUTH)
    sign = Sign("s1", inputs.now - timedelta(days=days_ago), kind)
    return replace(inputs, entered=replace(inputs.entered, signs=(*inputs.entered.signs, sign)))


def seasoned(event: str, first: str, last: str) -> MorningInputs:
    inputs = morning(SOUTH)
    season = BaitSeason.model_validate({"event": event, "from": first, "to": last})
    return replace(inputs, profile=inputs.profile.model_copy(update={"bait": (season,)}))


@pytest.mark.parametrize(
    ("kind", "days_ago", "event"),
    [
        (SignKind.SHAD_SPAWN, 1.0, BaitEvent.SHAD_SPAWN),
        (SignKind.SHAD_SPAWN, 6.0, None),
        (SignKind.BREAM_BEDS, 6.0, BaitEvent.BREAM_SPAWN),
        (SignKind.FRY_CLOUDS, 2.0, BaitEvent.FRY),
        (SignKind.MAYFLIES, 1.0, BaitEvent.MAYFLY),
        (SignKind.BEDS_WITH_FISH, 1.0, None),
    ],
)
def test_a_sign_of_bait_counts_for_its_days(kind: SignKind, days_ago: float, event: BaitEvent | None) -> None:
    inputs = signed(kind, days_ago)
    assert bait_at(inputs, load_tables(), inputs.outing.launch, Sky.LOW_SUN) is event


def test_a_shad_spawn_is_over_when_the_sun_is_up_or_in_the_evening() -> None:
    inputs, tables = signed(SignKind.SHAD_SPAWN, 1.0), load_tables()
    assert bait_at(inputs, tables, inputs.outing.launch, Sky.BRIGHT) is None
    assert bait_at(inputs, tables, inputs.outing.launch + timedelta(hours=11), Sky.LOW_SUN) is None


@pytest.mark.parametrize(("first", "last", "held"), [("02-01", "04-30", True), ("06-01", "07-01", False)])
def test_the_profile_has_its_season(first: str, last: str, held: bool) -> None:
    inputs = seasoned("bream_spawn", first, last)
    assert (bait_at(inputs, load_tables(), inputs.outing.launch, Sky.BRIGHT) is BaitEvent.BREAM_SPAWN) == held


def test_the_page_tells_the_shad_spawn_and_fishes_it_high() -> None:
    plain, spawn = (build(one, load_tables()).briefing for one in (morning(SOUTH), signed(SignKind.SHAD_SPAWN, 1.0)))
    assert any(line.startswith(SHAD) for line in spawn.plan.first)
    assert not any(line.startswith(SHAD) for line in plain.plan.first)
    assert "white" in " ".join(rod.colour for rod in spawn.plan.rods)


def test_a_sign_of_bait_does_not_move_the_season() -> None:
    plain, spawn = (build(one, load_tables()).briefing for one in (morning(SOUTH), signed(SignKind.SHAD_SPAWN, 1.0)))
    assert spawn.season[0].shares == plain.season[0].shares
