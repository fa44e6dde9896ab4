"""What a page tells of a country: whom to call, where warnings are read; and no country's words on another's lake."""

import ast
import re
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

from briefing import knowledge
from briefing.pipeline.advice import afternoon_sun_deg
from briefing.pipeline.build import build
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.made import render
from briefing.pipeline.tables import load_tables, reader_of
from briefing.profile.countries import known_countries
from briefing.reader import Country
from briefing.resources import read_toml
from briefing.sections.country import emergency_number, read_again, rescue_area, told
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.long

ROOT = Path(__file__).resolve().parents[2]
ONE_COUNTRY = re.compile(
    r"(?<![.\d])911\b|\bweather\.gov\b|weather radio|\bCounty\b|NOAA weather|federal rule|state law"
)
COLD, UNREAD = "highland_winter_cold_water", "north_spring_alerts_unreadable"


def in_country(scenario: str, code: str | None, latitude: float | None = None) -> MorningInputs:
    inputs = inputs_of(SCENARIOS[scenario])
    change = {"country": code} | ({} if latitude is None else {"latitude": latitude})
    profile = inputs.profile.model_copy(update=change)
    return replace(inputs, profile=profile, reader=reader_of(profile))


@lru_cache(maxsize=16)
def page(scenario: str, code: str | None, without_service: bool = False) -> str:
    inputs = in_country(scenario, code)
    if without_service:
        alerts = replace(inputs.gathered.alerts, service_exists=False, alerts=(), problem="", checked_at=None)
        inputs = replace(inputs, gathered=replace(inputs.gathered, alerts=alerts))
    return " ".join(render(build(inputs, load_tables()), inputs.gathered).text.split())


def test_a_lake_of_the_united_states_has_what_holds_there() -> None:
    text = page(COLD, "US")
    assert "no answer: call 911 and give them this text. County: ____." in text
    assert "On inland lakes call 911 first." in text
    assert "at weather.gov or on weather radio" in text
    assert "federal rule" in text


@pytest.mark.parametrize(
    ("code", "number", "warnings"),
    [
        ("ES", "112", "at aemet.es"),
        ("JP", "119 (fire and ambulance) or 110 (police)", "at jma.go.jp"),
        ("CA", "911", "at weather.gc.ca"),
        (None, "your country's emergency number", "with your national weather service"),
    ],
)
def test_a_lake_elsewhere_has_its_own_and_nothing_of_another(code: str | None, number: str, warnings: str) -> None:
    for text in (page(COLD, code), page(UNREAD, code), page(UNREAD, code, without_service=True)):
        found = set(ONE_COUNTRY.findall(text)) - {number}
        assert not found
        assert warnings in text
        assert "{" not in text
    assert f"no answer: call {number} and give them this text. Nearest town: ____." in page(COLD, code)
    assert f"On inland lakes call {number} first." in page(COLD, code)


def test_where_no_service_is_read_the_countrys_own_is_named() -> None:
    text = page(UNREAD, "ES", without_service=True)
    assert "no warning service is read for this place, so warnings are not known. Read them at aemet.es" in text


def test_no_code_and_no_text_of_the_knowledge_holds_one_country() -> None:
    """Names of services, of their events and of sources stand where they are read and cited, and only there."""
    for folder in ("core", "sections", "pipeline", "report"):
        for path in (ROOT / "briefing" / folder).rglob("*.py"):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            strings = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)]
            said = [text for text in strings if isinstance(text, str) and ONE_COUNTRY.search(text)]
            allowed = {" or on weather radio", " or weather radio"} if path.name == "country.py" else set()
            assert set(said) <= allowed, path
    for path in (ROOT / "config").rglob("*.toml"):
        if path.name in ("countries.toml", "alert_events.toml", "limits.toml"):
            continue
        text = "\n".join(
            line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith(("source", "#"))
        )
        if path.name == "cautions.toml":  # what one country's law asks for stands with its countries
            entries = [one for one in text.split("[[caution]]") if "\ncountries" not in one and "state = " not in one]
            text = "\n".join(entries)
        assert not ONE_COUNTRY.search(text), path


def test_every_country_of_the_table_is_one_and_names_something() -> None:
    table = knowledge.load_countries()
    assert set(table) <= known_countries()
    assert {"US", "CA", "GB", "IE", "ES", "DE", "FR", "IT", "PT", "PL", "NO", "SE", "FI", "CH"} <= set(table)
    assert {"ZA", "JP", "KR", "MX", "BR", "AR", "CL", "AU", "NZ"} <= set(table)
    for code, country in table.items():
        assert country.code == code
        assert all(re.fullmatch(r"[0-9]{2,5}( \([a-z ]+\))?", number) for number in country.emergency)
        assert country.emergency
        assert bool(country.warnings) == bool(country.warnings_at)
        assert re.fullmatch(r"[a-z0-9.-]+\.[a-z]{2,}", country.warnings_at)


def test_a_country_that_is_not_listed_names_nothing() -> None:
    for country in (knowledge.country_of("CU"), knowledge.country_of(None)):
        assert (country.emergency, country.warnings, country.warnings_at) == ((), "", "")
        assert emergency_number(country) == "your country's emergency number"
        assert read_again(country) == "with your national weather service"
        assert rescue_area(country) == "Nearest town"


def test_weather_comes_from_the_west_outside_the_tropics_and_from_anywhere_between_them() -> None:
    text = read_toml("actions.toml")["thunder"]["unknown"]
    assert "listen to the west before" in told(text, Country(), 45.0)
    assert "listen to the west before" in told(text, Country(), -38.0)
    assert "listen all round before" in told(text, Country(), -15.0)


def test_the_afternoon_sun_stands_past_noon_on_its_own_side() -> None:
    assert afternoon_sun_deg(36.0) == 215.0
    assert afternoon_sun_deg(-38.0) == 325.0


@pytest.mark.parametrize(("code", "latitude", "way"), [("US", None, "north-west"), ("AU", -30.0, "south-west")])
def test_a_front_swings_the_wind_as_the_hemisphere_has_it(code: str, latitude: float | None, way: str) -> None:
    built = build(in_country("south_early_spring_front_coming", code, latitude), load_tables())
    assert built.advised.plan.plan_b is not None
    assert built.advised.plan.plan_b.sign.endswith(f"the wind swinging to the {way}.")
