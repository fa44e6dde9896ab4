"""Plants from a reading on: growth by water temperature, spray and die-back, and what the advice makes of it."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.advice.plants import growth_m_per_day, plants_on, reading_for
from briefing.core.readings import PlantReading
from briefing.knowledge import load_plant_parameters
from briefing.vocabulary import Cover, PlantDensity, PlantState

P = load_plant_parameters()
SEEN = datetime(2026, 5, 1, 14, tzinfo=UTC)
DAY = date(2026, 5, 1)
EDGE = {Cover.GRASS_DENSE: 0.7, Cover.PADS: 0.3}
READ = PlantReading(SEEN, "Edge", 1.2, PlantDensity.DENSE)


def on(days: int, reading: PlantReading = READ, water_c: float = 26.0, bottom_m: float = 3.0):  # type: ignore[no-untyped-def]
    temperatures = np.full(days, water_c)
    return plants_on(DAY + timedelta(days=days), reading, DAY, EDGE, 1.8, bottom_m, temperatures, P)


def test_on_its_own_day_a_reading_stands_as_it_was_made() -> None:
    found = on(0)
    assert found.top_m == 1.2
    assert found.cover == {Cover.PADS: 0.3, Cover.GRASS_DENSE: 0.7}


def test_warm_water_lifts_the_tops_a_centimetre_a_day_and_cold_water_does_not() -> None:
    assert on(30).top_m == pytest.approx(1.2 - 30 * 0.01)
    assert on(30, water_c=8.0).top_m == 1.2
    assert on(30, water_c=17.0).top_m == pytest.approx(1.2 - 30 * 0.005)
    assert growth_m_per_day(np.array([np.nan]), P)[0] == 0.0


def test_growth_is_never_faster_than_the_published_most() -> None:
    assert growth_m_per_day(np.linspace(0, 40, 81), P).max() <= P.most_cm_day / 100.0


def test_dense_plants_that_reach_the_surface_lie_over() -> None:
    found = on(140)
    assert found.top_m == 0.0
    assert found.cover[Cover.GRASS_TOPPED] == 0.7


def test_sprayed_plants_sink_thin_out_and_are_gone() -> None:
    sprayed = replace(READ, state=PlantState.SPRAYED)
    assert on(5, sprayed).top_m == 1.2
    half = on(20, sprayed)
    assert 1.2 < half.top_m < 3.0
    assert Cover.GRASS_SPARSE in half.cover
    gone = on(40, sprayed)
    assert gone.top_m is None
    assert gone.cover[Cover.BARE] == pytest.approx(0.7)


def test_dying_plants_sink_slower_than_sprayed_ones() -> None:
    dying, sprayed = (on(25, replace(READ, state=state)).top_m for state in (PlantState.DYING, PlantState.SPRAYED))
    assert dying < sprayed


def test_what_was_seen_wins_over_the_profile() -> None:
    assert on(0, replace(READ, density=PlantDensity.SPARSE)).cover[Cover.GRASS_SPARSE] == 0.7
    matted = on(0, replace(READ, top_m=None, density=PlantDensity.TOPPED))
    assert (matted.top_m, matted.cover[Cover.GRASS_TOPPED]) == (0.0, 0.7)
    assert on(0, replace(READ, top_m=None, density=None)).top_m == 1.8


def test_a_place_without_plants_below_the_surface_is_left_alone() -> None:
    assert plants_on(DAY, READ, DAY, {Cover.ROCK: 1.0}, None, 3.0, np.array([]), P) is None


def test_the_newest_reading_of_the_place_or_the_lake_counts_for_a_season() -> None:
    lake = replace(READ, spot="", time=SEEN + timedelta(days=3))
    other = replace(READ, spot="Other", time=SEEN + timedelta(days=9))
    now = SEEN + timedelta(days=10)
    assert reading_for("Edge", (READ, lake, other), now, P) is lake
    assert reading_for("Edge", (READ,), now, P) is READ
    assert reading_for("Edge", (READ,), SEEN + timedelta(days=P.keep_days + 1), P) is None
    assert reading_for("Edge", (READ,), SEEN - timedelta(hours=1), P) is None


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    st.integers(0, 150),
    st.floats(-1.0, 40.0),
    st.one_of(st.none(), st.floats(0.0, 6.0)),
    st.one_of(st.none(), st.sampled_from(list(PlantDensity))),
    st.sampled_from(list(PlantState)),
)
def test_tops_stay_between_surface_and_bottom_and_shares_are_kept(
    days: int, water_c: float, top_m: float | None, density: PlantDensity | None, state: PlantState
) -> None:
    found = on(days, PlantReading(SEEN, "Edge", top_m, density, state), water_c)
    assert found.top_m is None or 0.0 <= found.top_m <= 3.0
    assert sum(found.cover.values()) == pytest.approx(1.0)
    assert found.cover[Cover.PADS] == 0.3
