"""The phase from date, latitude and water temperature alone."""

from datetime import date

import pytest

from briefing.core.advice.season import days_since_winter_solstice, phase_from_temperature
from briefing.knowledge import load_advice_knowledge
from briefing.vocabulary import Phase, SpeciesForm

NORTHERN, FLORIDA = SpeciesForm.LARGEMOUTH_NORTHERN, SpeciesForm.LARGEMOUTH_FLORIDA
SMALLMOUTH = SpeciesForm.SMALLMOUTH_LAKE


@pytest.mark.parametrize(
    ("form", "temp_c", "day", "latitude_deg", "phase"),
    [
        (NORTHERN, 4.0, date(2026, 1, 15), 36.0, Phase.WINTER),
        (NORTHERN, 10.5, date(2026, 3, 5), 35.0, Phase.EARLY_PRESPAWN),
        (NORTHERN, 15.0, date(2026, 4, 5), 35.0, Phase.LATE_PRESPAWN),
        (NORTHERN, 19.0, date(2026, 4, 28), 35.0, Phase.SPAWN),
        (NORTHERN, 23.5, date(2026, 5, 30), 35.0, Phase.POSTSPAWN),
        (NORTHERN, 28.5, date(2026, 7, 20), 35.0, Phase.SUMMER),
        (NORTHERN, 16.0, date(2026, 10, 15), 38.0, Phase.AUTUMN),
        (FLORIDA, 20.0, date(2026, 2, 20), 28.0, Phase.SPAWN),
        (SMALLMOUTH, 16.0, date(2026, 5, 28), 45.0, Phase.SPAWN),
        (SMALLMOUTH, 24.0, date(2026, 8, 1), 45.0, Phase.SUMMER),
        (NORTHERN, 19.0, date(2026, 10, 28), -35.0, Phase.SPAWN),
    ],
)
def test_the_likeliest_phase(form, temp_c, day, latitude_deg, phase):
    shares = phase_from_temperature(form, temp_c, day, latitude_deg, load_advice_knowledge())
    assert max(shares, key=lambda key: shares[key]) is phase
    assert sum(shares.values()) == pytest.approx(1.0)
    assert min(shares.values()) > 0.0


def test_spring_water_in_autumn_is_autumn():
    shares = phase_from_temperature(NORTHERN, 17.0, date(2026, 10, 20), 38.0, load_advice_knowledge())
    assert shares[Phase.SPAWN] < 0.05


def test_days_count_from_the_hemispheres_own_winter():
    assert days_since_winter_solstice(date(2026, 12, 21), 40.0) == 0.0
    assert days_since_winter_solstice(date(2026, 6, 21), -40.0) == pytest.approx(0.0, abs=1.5) or (
        days_since_winter_solstice(date(2026, 6, 21), -40.0) > 363.0
    )
