"""Words that depend on the reader's country and the lake's latitude; without a country those that hold anywhere."""

from __future__ import annotations

from collections.abc import Mapping

from briefing.reader import Country
from briefing.sections.words import listed

#: Between the tropics weather comes from no one side.
TROPIC_DEG = 23.5


def emergency_number(country: Country) -> str:
    """Whom to call, to follow "call"."""
    return listed(country.emergency, "or") or "your country's emergency number"


def read_again(country: Country) -> str:
    """Where official warnings are read, to follow "read them again"."""
    if not country.warnings_at:
        return "with your national weather service"
    radio = " or on weather radio" if country.weather_radio else ""
    return f"at {country.warnings_at}{radio}"


def rescue_area(country: Country) -> str:
    """The part of an address that a float plan leaves a blank for."""
    return country.rescue_area or "Nearest town"


def told(text: str, country: Country, latitude_deg: float) -> str:
    """Fill the places in a text of ``config/``: ``{emergency}``, ``{or_radio}``, ``{weather_side}``."""
    fills = {
        "{emergency}": emergency_number(country),
        "{or_radio}": " or weather radio" if country.weather_radio else "",
        "{weather_side}": "all round" if abs(latitude_deg) < TROPIC_DEG else "to the west",
    }
    for place, words in fills.items():
        text = text.replace(place, words)
    return text


def told_table(
    table: Mapping[str, Mapping[str, str]], country: Country, latitude_deg: float
) -> dict[str, dict[str, str]]:
    """Fill the places in all texts of a table."""
    return {
        key: {name: told(text, country, latitude_deg) for name, text in texts.items()} for key, texts in table.items()
    }
