"""Who a text is written for: language, units, country and craft, handed in as one value.

What is particular to a country (whom to call, where its official warnings stand) is data of ``config/countries.toml``;
nothing that computes knows of any.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from briefing.units import Units
from briefing.vocabulary import Craft

#: Languages that the texts exist in.
Language = Literal["en"]


@dataclass(frozen=True, slots=True)
class Country:
    """What a reader in a country must be told by name; empty where it is not known, and then never guessed.

    code: ISO 3166, two letters. emergency: numbers to call, with what answers there in brackets where they differ.
    warnings: the service that issues official warnings; warnings_at: its public address. weather_radio: they are also
    sent on weather radio. rescue_area: the part of an address that rescuers there ask for.
    """

    code: str = ""
    emergency: tuple[str, ...] = ()
    warnings: str = ""
    warnings_at: str = ""
    weather_radio: bool = False
    rescue_area: str = ""

    @classmethod
    def from_mapping(cls, code: str, data: Mapping[str, Any]) -> Country:
        """Read one table of ``config/countries.toml``; an unknown key raises TypeError."""
        return cls(code, **{**data, "emergency": tuple(data.get("emergency", ()))})


@dataclass(frozen=True, slots=True)
class Reader:
    """Language and units of the words, the country that they are read in, and the craft that they speak of."""

    units: Units
    country: Country
    craft: Craft
    language: Language = "en"
