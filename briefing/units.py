"""Quantities as people type them and as a reader wants them; the only place where units are converted.

Inside the program everything is SI (C, m/s, m, km2, g, minutes). ``parse_*`` turns typed text into those numbers: a
bare number takes the unit of the user's system (``"us"`` or ``"metric"``), and what is out of all likelihood is
refused with the likely meaning. ``show_*`` writes a number for the reader, by default in both units, with
``both=False`` in the reader's own unit only.

Factors are exact by definition: 1 ft = 0.3048 m, 1 mile = 1609.344 m, 1 nautical mile = 1852 m, 1 lb = 453.59237 g
(international yard and pound agreement of 1959; SI brochure, 9th edition, table 8).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, get_args

from briefing.errors import UnitError

Units = Literal["us", "metric"]
UNIT_SYSTEMS: tuple[Units, ...] = get_args(Units)

FOOT_M = 0.3048
INCH_M = 0.0254
MILE_M = 1609.344
MPH_MPS = MILE_M / 3600.0
KNOT_MPS = 1852.0 / 3600.0
KMH_MPS = 1.0 / 3.6
POUND_G = 453.59237
OUNCE_G = POUND_G / 16.0
ACRE_KM2 = 43560.0 * FOOT_M**2 / 1e6

_LONGEST_INPUT = 60


# --- plain conversions -----------------------------------------------------------------------------------------------


def f_to_c(value_f: float) -> float:
    """Degrees Fahrenheit to Celsius."""
    return (value_f - 32.0) / 1.8


def c_to_f(value_c: float) -> float:
    """Degrees Celsius to Fahrenheit."""
    return value_c * 1.8 + 32.0


def mps_to_mph(value_mps: float) -> float:
    """Metres a second to miles an hour."""
    return value_mps / MPH_MPS


def mph_to_mps(value_mph: float) -> float:
    """Miles an hour to metres a second."""
    return value_mph * MPH_MPS


def m_to_ft(value_m: float) -> float:
    """Metres to feet."""
    return value_m / FOOT_M


def ft_to_m(value_ft: float) -> float:
    """Feet to metres."""
    return value_ft * FOOT_M


# --- what a kind of quantity accepts ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Unit:
    """One unit: its short name and how to get from it to the inner unit."""

    name: str
    scale: float
    offset: float = 0.0  # added before scaling (Fahrenheit)

    def to_inner(self, value: float) -> float:
        return (value + self.offset) * self.scale


@dataclass(frozen=True)
class _Kind:
    """A kind of quantity: its units by alias, the bare unit by system, its plausible limits and its writer."""

    what: str
    aliases: Mapping[str, _Unit]
    bare: Mapping[str, str]
    low: float
    high: float
    show: Callable[[float, Units], str]
    example: str

    def units(self, system: Units = "us") -> list[_Unit]:
        """Each unit once, those of the reader's own system first."""
        seen = {unit.name: unit for unit in self.aliases.values()}
        return sorted(seen.values(), key=lambda unit: (unit.name in _METRIC) != (system == "metric"))

    def shown_alone(self, value: float, units: Units) -> str:
        """The value in the reader's own unit only."""
        return self.show(value, units).split(" (")[0]


_METRIC = frozenset(("C", "m", "cm", "km", "mm", "m/s", "km/h", "g", "kg", "ha", "km2", "m2"))


def _table(*rows: tuple[_Unit, str]) -> dict[str, _Unit]:
    return {alias: unit for unit, aliases in rows for alias in aliases.split()}


_C, _F = _Unit("C", 1.0), _Unit("F", 1 / 1.8, -32.0)
_TEMPERATURES = _table((_F, "f degf fahrenheit"), (_C, "c degc celsius centigrade"))
_DIFFERENCES = _table(
    (_Unit("F", 1 / 1.8), "f degf fahrenheit"), (_Unit("C", 1.0), "c degc celsius centigrade k kelvin")
)
_LENGTHS = _table(
    (_Unit("ft", FOOT_M), "ft foot feet '"),
    (_Unit("m", 1.0), "m metre metres meter meters"),
    (_Unit("in", INCH_M), 'in inch inches "'),
    (_Unit("cm", 0.01), "cm centimetre centimetres centimeter centimeters"),
    (_Unit("yd", 0.9144), "yd yds yard yards"),
    (_Unit("mi", MILE_M), "mi mile miles"),
    (_Unit("km", 1000.0), "km kilometre kilometres kilometer kilometers"),
    (_Unit("nm", 1852.0), "nm nmi"),
    (_Unit("mm", 0.001), "mm millimetre millimetres millimeter millimeters"),
)
_SHORT_LENGTHS = {alias: unit for alias, unit in _LENGTHS.items() if unit.name in ("ft", "in", "yd", "m", "cm")}
_SPEEDS = _table(
    (_Unit("mph", MPH_MPS), "mph mi/h"),
    (_Unit("m/s", 1.0), "m/s mps ms"),
    (_Unit("km/h", KMH_MPS), "km/h kmh kph kmph"),
    (_Unit("kn", KNOT_MPS), "kn kt kts knot knots"),
)
_WEIGHTS = _table(
    (_Unit("oz", OUNCE_G), "oz ounce ounces"),
    (_Unit("g", 1.0), "g gr gram grams gramme grammes"),
    (_Unit("lb", POUND_G), "lb lbs pound pounds"),
    (_Unit("kg", 1000.0), "kg kilo kilos kilogram kilograms"),
)
_DURATIONS = _table(
    (_Unit("min", 1.0), "min mins minute minutes m"),
    (_Unit("h", 60.0), "h hr hrs hour hours"),
    (_Unit("d", 1440.0), "d day days"),
    (_Unit("s", 1 / 60.0), "s sec secs second seconds"),
)
_AREAS = _table(
    (_Unit("acres", ACRE_KM2), "acre acres ac"),
    (_Unit("ha", 0.01), "ha hectare hectares"),
    (_Unit("km2", 1.0), "km2 km² sqkm"),
    (_Unit("mi2", (MILE_M / 1000.0) ** 2), "mi2 mi² sqmi"),
    (_Unit("m2", 1e-6), "m2 m² sqm"),
)


# --- reading ---------------------------------------------------------------------------------------------------------

_NUMBER = r"(?:[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)"
_TERM = re.compile(rf"\s*({_NUMBER})\s*([^\s0-9.,+\-]?[^0-9\s.,+\-]*[23²]?)\s*")


def _number(text: str) -> float:
    """Read ``"2.5"``, ``"2,5"``, ``"1,200"``, ``"3/8"``, ``"1 1/2"`` or ``"1-1/2"``; raises ValueError."""
    if "/" in text:
        whole, _, part = re.sub(r"[ -]", " ", text).rpartition(" ")
        if not part.split("/")[1].strip("0"):
            raise ValueError(text)
        return float((Fraction(whole) if whole else 0) + Fraction(part))
    if re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+(\.[0-9]+)?", text):
        return float(text.replace(",", ""))
    return float(text.replace(",", "."))


def _tidy(text: str) -> str:
    """Lower case, one kind of minus and quote, no degree sign, "sq km" as one word."""
    out = text.strip().lower()
    for old, new in (("−", "-"), ("–", "-"), ("°", ""), ("º", ""), ("″", '"'), ("”", '"'), ("′", "'"), ("’", "'")):
        out = out.replace(old, new)
    out = re.sub(r"\b(?:sq\.?|square)\s*(km|mi|m)\b", r"\g<1>2", out)
    return re.sub(r"\bdeg(?:rees?)?\s*(?=[cf]\b)", "", out)


def _refuse(kind: _Kind, text: str) -> UnitError:
    accepted = ", ".join(unit.name for unit in kind.units())
    shown = text.strip()
    shown = shown if len(shown) <= _LONGEST_INPUT else shown[:_LONGEST_INPUT] + "..."
    return UnitError(f"{shown!r} is not {kind.what}; write a number and a unit ({accepted}), such as {kind.example}.")


def _terms(kind: _Kind, text: str) -> tuple[float, list[tuple[float, str]]]:
    """Split ``"-2 ft 6 in"`` into its sign and its (number, unit alias) terms."""
    tidy = _tidy(text)
    if not tidy or len(tidy) > _LONGEST_INPUT:
        raise _refuse(kind, text)
    sign = -1.0 if tidy.startswith("-") else 1.0
    rest = tidy[1:].lstrip() if tidy[0] in "+-" else tidy
    terms, at = [], 0
    while at < len(rest):
        match = _TERM.match(rest, at)
        if match is None:
            raise _refuse(kind, text)
        try:
            terms.append((_number(match[1]), match[2]))
        except ValueError:
            raise _refuse(kind, text) from None
        at = match.end()
    return sign, terms


def _parse(kind: _Kind, text: str, units: Units) -> float:
    sign, terms = _terms(kind, text)
    total, names = 0.0, []
    for number, alias in terms:
        unit = kind.aliases.get(alias or kind.bare[units])
        # Of several terms each needs its own unit ("2 ft 6 in"), and none may come twice.
        if unit is None or unit.name in names or (len(terms) > 1 and (not alias or unit.offset)):
            raise _refuse(kind, text)
        names.append(unit.name)
        total += unit.to_inner(sign * number)
    if not kind.low <= total <= kind.high:
        raise _implausible(kind, text, sign * terms[0][0], total, units, names)
    return total


def _implausible(kind: _Kind, text: str, number: float, value: float, units: Units, names: list[str]) -> UnitError:
    """Name the value as read and the unit under which the same number would be likely, if there is one."""
    message = (
        f"{text.strip()!r} read as {kind.show(value, units)} is out of all likelihood for {kind.what} "
        f"({kind.shown_alone(kind.low, units)} to {kind.shown_alone(kind.high, units)})"
    )
    if len(names) == 1:
        for unit in kind.units(units):
            meant = unit.to_inner(number)
            if unit.name not in names and kind.low <= meant <= kind.high:
                plain = f"{_trim(number, 3)} {unit.name}"
                other = _in_other(kind, meant, unit.name, units)
                return UnitError(f"{message}; did you mean {plain} ({other})?")
    return UnitError(message + ".")


def _in_other(kind: _Kind, value: float, unit_name: str, units: Units) -> str:
    """Write ``value`` in the system whose own unit is not ``unit_name``."""
    for system in (units, *UNIT_SYSTEMS):
        shown = kind.shown_alone(value, system)
        if not shown.endswith(" " + unit_name):
            return shown
    return kind.show(value, units)


def parse_temperature(text: str, units: Units = "us", *, of: Literal["water", "air"] = "water") -> float:
    """Return degrees C for ``"61F"``, ``"16 C"`` or ``"61"``.

    Water is believed between -2 and 42 C, air between -60 and 58 C. Raises `UnitError`.

    >>> round(parse_temperature("61F"), 1)
    16.1
    """
    return _parse(_WATER_TEMPERATURE if of == "water" else _AIR_TEMPERATURE, text, units)


def parse_temperature_difference(text: str, units: Units = "us") -> float:
    """Return a difference in C (kelvin) for ``"+3F"``, ``"-1.5 C"``; believed within 20 C. Raises `UnitError`."""
    return _parse(_DIFFERENCE, text, units)


def parse_depth(text: str, units: Units = "us") -> float:
    """Return metres for a depth or length at a spot: ``"3 ft"``, ``"18in"``, ``"2 ft 6 in"``, ``"1.2 m"``.

    A bare number is feet or metres. Believed from 0 to 120 m. Raises `UnitError`.
    """
    return _parse(_DEPTH, text, units)


def parse_visibility(text: str, units: Units = "us") -> float:
    """Return metres of visibility in the water (lure or Secchi depth): ``"3 ft"``, ``"90 cm"``; up to 25 m."""
    return _parse(_VISIBILITY, text, units)


def parse_distance(text: str, units: Units = "us") -> float:
    """Return metres for a way over the lake: ``"1.5 mi"``, ``"800 m"``; a bare number is miles or kilometres."""
    return _parse(_DISTANCE, text, units)


def parse_elevation(text: str, units: Units = "us") -> float:
    """Return metres above the sea for ``"320 ft"``, ``"98 m"``; from -450 to 5500 m."""
    return _parse(_ELEVATION, text, units)


def parse_wave_height(text: str, units: Units = "us") -> float:
    """Return metres of significant wave height for ``"1 ft"``, ``"0.3 m"``; from 0 to 5 m."""
    return _parse(_WAVE, text, units)


def parse_speed(text: str, units: Units = "us") -> float:
    """Return m/s of wind for ``"12 mph"``, ``"5 m/s"``, ``"10 kn"``, ``"15 km/h"``; from 0 to 60 m/s.

    A bare number is mph or m/s (the larger reading of a metric number, so a forgotten unit errs on the windy side).
    """
    return _parse(_SPEED, text, units)


def parse_boat_speed(text: str, units: Units = "us") -> float:
    """Return m/s of a craft for ``"2.6 kn"``, ``"3 mph"``; a bare number is mph or km/h; from 0.2 to 30 m/s."""
    return _parse(_BOAT_SPEED, text, units)


def parse_weight(text: str, units: Units = "us") -> float:
    """Return grams of a lure for ``"3/8 oz"``, ``"1 1/4oz"``, ``"10 g"``; a bare number is ounces or grams."""
    return _parse(_LURE_WEIGHT, text, units)


def parse_duration(text: str) -> float:
    """Return minutes for ``"90 min"``, ``"1.5 h"``, ``"1 h 30 min"``, ``"1h30"``, ``"2:15"``; bare is minutes."""
    clock = re.fullmatch(r"\s*([0-9]{1,2})(?::|\s*h\s*)([0-5]?[0-9])\s*", text.lower())
    if clock:
        return int(clock[1]) * 60.0 + int(clock[2])
    return _parse(_DURATION, text, "us")


def parse_area(text: str, units: Units = "us") -> float:
    """Return km2 for ``"120 acres"``, ``"0.5 km2"``, ``"50 ha"``; a bare number is acres or hectares."""
    return _parse(_AREA, text, units)


#: The sixteen points of the compass, clockwise from north.
POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
_POINT_WORDS = {"north": "n", "east": "e", "south": "s", "west": "w"}


def parse_direction(text: str) -> float:
    """Return degrees clockwise from true north for ``"SW"``, ``"south-west"``, ``"225"``; wind is given as *from*."""
    tidy = _tidy(text)
    for word, letter in _POINT_WORDS.items():
        tidy = tidy.replace(word, letter)
    letters = re.sub(r"[\s-]", "", tidy).upper()
    if letters in POINTS:
        return POINTS.index(letters) * 22.5
    match = re.fullmatch(r"([0-9]{1,3}(?:\.[0-9]+)?)\s*(?:deg(?:rees?)?)?", tidy)
    if match and float(match[1]) <= 360.0:
        return float(match[1]) % 360.0
    raise UnitError(
        f"{text.strip()[:_LONGEST_INPUT]!r} is not a direction; write a compass point (N, NNE, ... NNW) or degrees "
        "from 0 to 360, for wind the direction it comes from."
    )


_COORDINATE = (
    r"([+-]?[0-9]{1,3}(?:\.[0-9]+)?)\s*(?:([0-9]{1,2}(?:\.[0-9]+)?)\s*')?\s*(?:([0-9]{1,2}(?:\.[0-9]+)?)\s*\")?"
)
_POSITION = re.compile(rf"{_COORDINATE}\s*([ns])?\s*[,; ]\s*{_COORDINATE}\s*([ew])?")


def parse_position(text: str) -> tuple[float, float]:
    """Return (latitude, longitude) in degrees, north and east positive.

    Accepts ``"30.31, -83.22"``, ``"30.31 N 83.22 W"`` and degrees, minutes, seconds. Raises `UnitError`; a longitude
    without sign and letter that would put a North American latitude in Asia is refused with the likely meaning.
    """
    tidy = _tidy(text.replace("°", " "))
    match = _POSITION.fullmatch(tidy)
    if match is None or len(tidy) > _LONGEST_INPUT:
        raise UnitError(
            f"{text.strip()[:_LONGEST_INPUT]!r} is not a position; write latitude and longitude in degrees, "
            'such as "30.31, -83.22" or "30.31 N 83.22 W".'
        )
    latitude = _degrees(match[1], match[2], match[3], match[4] == "s")
    longitude = _degrees(match[5], match[6], match[7], match[8] == "w")
    if abs(latitude) > 90.0 or abs(longitude) > 180.0:
        raise UnitError(f"{text.strip()!r} is not on the globe; latitude goes to 90 and longitude to 180 degrees.")
    if not match[8] and 24.0 <= latitude <= 60.0 and 52.0 <= longitude <= 170.0:
        raise UnitError(
            f"{text.strip()!r} lies in Asia; did you mean {latitude:g}, {-longitude:g} (west)? "
            f"If not, write {longitude:g} E."
        )
    return latitude, longitude


def _degrees(degrees: str, minutes: str | None, seconds: str | None, other_half: bool) -> float:
    size = abs(float(degrees)) + float(minutes or 0) / 60.0 + float(seconds or 0) / 3600.0
    return -size if other_half or degrees.startswith("-") else size


# --- writing ---------------------------------------------------------------------------------------------------------


def _round(value: float, decimals: int = 0) -> float:
    """Round half away from zero, as people expect, and never to minus zero."""
    factor = 10.0**decimals
    rounded = math.floor(abs(value) * factor + 0.5 + 1e-9) / factor
    return math.copysign(rounded, value) if rounded else 0.0


def _trim(value: float, decimals: int) -> str:
    """Write with at most ``decimals`` decimals, without trailing zeros."""
    text = f"{_round(value, decimals):.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _pair(us: str, metric: str, units: Units, both: bool) -> str:
    own, other = (us, metric) if units == "us" else (metric, us)
    return f"{own} ({other})" if both else own


def show_temperature(value_c: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a temperature: whole F, tenths of a C.

    >>> show_temperature(16.1, "us")
    '61 F (16.1 C)'
    """
    return _pair(f"{_round(c_to_f(value_c)):.0f} F", f"{_round(value_c, 1):.1f} C", units, both)


def show_temperature_range(low_c: float, high_c: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a range of temperatures, ``"58 to 62 F (14.4 to 16.7 C)"``; one number where both round alike."""
    us = _range(f"{_round(c_to_f(low_c)):.0f}", f"{_round(c_to_f(high_c)):.0f}", "F")
    return _pair(us, _range(f"{_round(low_c, 1):.1f}", f"{_round(high_c, 1):.1f}", "C"), units, both)


def _range(low: str, high: str, unit: str) -> str:
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def show_temperature_difference(value_c: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a change of temperature with its sign, ``"+3.1 F (+1.7 C)"``."""
    us, metric = _round(value_c * 1.8, 1), _round(value_c, 1)
    return _pair(f"{us:+.1f} F", f"{metric:+.1f} C", units, both)


def show_size(value_c: float, units: Units = "us") -> str:
    """Write how large a change of temperature is, without its sign: ``"3.1 F"``."""
    return show_temperature_difference(abs(value_c), units, both=False).removeprefix("+")


def show_wind(value_mps: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a wind or gust: whole mph, tenths of m/s."""
    return _pair(f"{_round(mps_to_mph(value_mps)):.0f} mph", f"{_round(value_mps, 1):.1f} m/s", units, both)


def show_boat_speed(value_mps: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a craft's speed, ``"3.0 mph (4.8 km/h)"``."""
    return _pair(f"{_round(mps_to_mph(value_mps), 1):.1f} mph", f"{_round(value_mps * 3.6, 1):.1f} km/h", units, both)


def _wave_ft(value_m: float) -> str:
    feet = m_to_ft(value_m)
    tenths = _round(feet, 1)
    return f"{tenths:.1f}" if tenths < 1.0 else f"{_round(feet * 2.0) / 2.0:.1f}"


def show_waves(value_m: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a significant wave height: to 0.1 ft under 1 ft, to 0.5 ft above; under 0.1 m just "under 4 in"."""
    if value_m < 0.1:
        return _pair("under 4 in", "under 10 cm", units, both)
    return _pair(f"{_wave_ft(value_m)} ft", f"{_wave_m(value_m)} m", units, both)


def _wave_m(value_m: float) -> str:
    return f"{_round(value_m, 2):.2f}" if value_m < 1.0 else f"{_round(value_m, 1):.1f}"


def show_wave_range(low_m: float, high_m: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a range of wave heights with the rounding of `show_waves`."""
    if high_m < 0.1:
        return show_waves(high_m, units, both=both)
    if low_m < 0.1:
        return f"up to {show_waves(high_m, units, both=both)}"
    us = _range(_wave_ft(low_m), _wave_ft(high_m), "ft")
    return _pair(us, _range(_wave_m(low_m), _wave_m(high_m), "m"), units, both)


def _depth_ft(value_m: float) -> str:
    feet = m_to_ft(value_m)
    return _trim(feet, 1) if abs(feet) < 10.0 else _trim(feet, 0)


def _depth_m(value_m: float) -> str:
    return _trim(value_m, 2) if abs(value_m) < 1.0 else _trim(value_m, 1)


def show_depth(value_m: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a depth: ``"2.5 ft (0.76 m)"``, ``"18 ft (5.5 m)"``."""
    return _pair(f"{_depth_ft(value_m)} ft", f"{_depth_m(value_m)} m", units, both)


def show_depth_range(low_m: float, high_m: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a range of depths, ``"3 to 6 ft (0.9 to 1.8 m)"``."""
    us = _range(_depth_ft(low_m), _depth_ft(high_m), "ft")
    low, high = (_trim(value, 1) if high_m >= 1.0 else _depth_m(value) for value in (low_m, high_m))
    return _pair(us, _range(low, high, "m"), units, both)


def show_visibility(value_m: float, units: Units = "us", *, both: bool = True) -> str:
    """Write visibility in the water: feet, and centimetres below 2 m."""
    metric = f"{_trim(value_m * 100, 0)} cm" if value_m < 2.0 else f"{_trim(value_m, 1)} m"
    return _pair(f"{_depth_ft(value_m)} ft", metric, units, both)


def show_distance(value_m: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a way: yards or metres when short, else miles or kilometres with a decimal."""
    yards = value_m / 0.9144
    us = f"{_round(yards, -1):.0f} yd" if yards < 440 else f"{_round(value_m / MILE_M, 1):.1f} mi"
    metric = f"{_round(value_m, -1):.0f} m" if value_m < 1000 else f"{_round(value_m / 1000, 1):.1f} km"
    return _pair(us, metric, units, both)


def show_elevation(value_m: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a height above the sea in whole feet and metres."""
    return _pair(f"{_trim(m_to_ft(value_m), 0)} ft", f"{_trim(value_m, 0)} m", units, both)


def show_area(value_km2: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a lake's area: acres, and hectares below 1 km2."""
    acres = value_km2 / ACRE_KM2
    us = f"{_trim(acres, 1 if acres < 10 else 0)} acres"
    metric = f"{_trim(value_km2 * 100, 1)} ha" if value_km2 < 1.0 else f"{_trim(value_km2, 1)} km2"
    return _pair(us, metric, units, both)


def show_rain(value_mm: float, units: Units = "us", *, both: bool = True) -> str:
    """Write an amount of rain, hundredths of an inch and tenths of a millimetre."""
    return _pair(f"{_round(value_mm / 25.4, 2):.2f} in", f"{_round(value_mm, 1):.1f} mm", units, both)


def show_duration(minutes: float) -> str:
    """Write a time span: ``"45 min"``, ``"1 h 30 min"``, ``"2 h"``."""
    whole = int(_round(minutes))
    hours, rest = divmod(abs(whole), 60)
    parts = [f"{hours} h"] if hours else []
    if rest or not hours:
        parts.append(f"{rest} min")
    return ("-" if whole < 0 else "") + " ".join(parts)


#: Lure weights as the trade prints them, in ounces.
TRADE_OUNCES = tuple(
    Fraction(text)
    for text in (
        *("1/64", "1/32", "1/16", "3/32", "1/8", "5/32", "3/16", "1/4", "5/16", "3/8", "7/16", "1/2", "5/8", "3/4"),
        *("7/8", "1", "5/4", "3/2", "7/4", "2", "5/2", "3", "4", "5", "6", "8"),
    )
)


def nearest_trade_weight(value_g: float) -> Fraction:
    """Return the weight sold (in ounces) nearest to ``value_g`` by ratio."""
    return min(TRADE_OUNCES, key=lambda oz: abs(math.log(max(value_g, 1e-6) / (float(oz) * OUNCE_G))))


def show_ounces(value_g: float) -> str:
    """Write ounces without the unit: a trade fraction where one is within 4 %, else decimals (``"0.42"``)."""
    near = nearest_trade_weight(value_g)
    if abs(value_g / (float(near) * OUNCE_G) - 1.0) > 0.04:
        return _trim(value_g / OUNCE_G, 2)
    whole, part = divmod(near.numerator, near.denominator)
    fraction = f"{part}/{near.denominator}" if part else ""
    return f"{whole} {fraction}".strip() if whole else fraction


def show_weight(value_g: float, units: Units = "us", *, both: bool = True) -> str:
    """Write a lure's weight, ``"3/8 oz (10.6 g)"``; metric gives ``"10.6 g (3/8 oz)"``."""
    return _pair(f"{show_ounces(value_g)} oz", f"{_trim(value_g, 1)} g", units, both)


def compass_point(direction_deg: float) -> str:
    """Return the nearest of sixteen compass points, ``"SSW"``."""
    return POINTS[math.floor((direction_deg % 360.0) / 22.5 + 0.5) % 16]


_WORDS = {"N": "north", "E": "east", "S": "south", "W": "west"}


def direction_words(direction_deg: float) -> str:
    """Return one of eight directions in words, ``"south-west"``."""
    letters = POINTS[(math.floor((direction_deg % 360.0) / 45.0 + 0.5) % 8) * 2]
    return "-".join(_WORDS[letter] for letter in letters)


# --- the kinds -------------------------------------------------------------------------------------------------------

_BARE_TEMPERATURE = {"us": "f", "metric": "c"}
_BARE_LENGTH = {"us": "ft", "metric": "m"}

_WATER_TEMPERATURE = _Kind(
    "a water temperature", _TEMPERATURES, _BARE_TEMPERATURE, -2.0, 42.0, show_temperature, '"61F" or "16 C"'
)
_AIR_TEMPERATURE = _Kind(
    "an air temperature", _TEMPERATURES, _BARE_TEMPERATURE, -60.0, 58.0, show_temperature, '"61F" or "16 C"'
)
_DIFFERENCE = _Kind(
    "a temperature difference",
    *(_DIFFERENCES, _BARE_TEMPERATURE, -20.0, 20.0, show_temperature_difference, '"+3F" or "-1.5 C"'),
)
_DEPTH = _Kind("a depth", _SHORT_LENGTHS, _BARE_LENGTH, 0.0, 120.0, show_depth, '"3 ft" or "90 cm"')
_VISIBILITY = _Kind(
    "visibility in the water", _SHORT_LENGTHS, _BARE_LENGTH, 0.0, 25.0, show_visibility, '"3 ft" or "90 cm"'
)
_DISTANCE = _Kind(
    "a distance", _LENGTHS, {"us": "mi", "metric": "km"}, 0.0, 500_000.0, show_distance, '"1.5 mi" or "800 m"'
)
_ELEVATION = _Kind("an elevation", _LENGTHS, _BARE_LENGTH, -450.0, 5500.0, show_elevation, '"320 ft" or "98 m"')
_WAVE = _Kind("a wave height", _SHORT_LENGTHS, _BARE_LENGTH, 0.0, 5.0, show_waves, '"1 ft" or "0.3 m"')
_SPEED = _Kind("a wind speed", _SPEEDS, {"us": "mph", "metric": "m/s"}, 0.0, 60.0, show_wind, '"12 mph" or "5 m/s"')
_BOAT_SPEED = _Kind(
    "the speed of a craft", _SPEEDS, {"us": "mph", "metric": "km/h"}, 0.2, 30.0, show_boat_speed, '"3 mph" or "2.6 kn"'
)
_LURE_WEIGHT = _Kind(
    "a lure weight", _WEIGHTS, {"us": "oz", "metric": "g"}, 0.2, 500.0, show_weight, '"3/8 oz" or "10 g"'
)
_DURATION = _Kind(
    "a time span",
    *(_DURATIONS, {"us": "min", "metric": "min"}, 0.0, 31 * 1440.0),
    lambda value, _units: show_duration(value),
    '"90 min" or "1.5 h"',
)
_AREA = _Kind(
    "a lake area", _AREAS, {"us": "acres", "metric": "ha"}, 0.0005, 90_000.0, show_area, '"120 acres" or "0.5 km2"'
)
