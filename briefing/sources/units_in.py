"""Unit spellings of the services, each with factor and offset to ours; an unknown spelling refuses the value."""

from __future__ import annotations

from briefing.units import POINTS

Conversion = tuple[float, float]  # value * factor + offset

_MPH = 1609.344 / 3600.0
_KNOT = 1852.0 / 3600.0
_SPEED: dict[str, Conversion] = {
    "km_h-1": (1 / 3.6, 0.0),
    "km/h": (1 / 3.6, 0.0),
    "kmh": (1 / 3.6, 0.0),
    "m_s-1": (1.0, 0.0),
    "m/s": (1.0, 0.0),
    "mph": (_MPH, 0.0),
    "mp/h": (_MPH, 0.0),
    "mi_h-1": (_MPH, 0.0),
    "kn": (_KNOT, 0.0),
    "kt": (_KNOT, 0.0),
    "knots": (_KNOT, 0.0),
    "kt_h-1": (_KNOT, 0.0),
}
_TEMPERATURE: dict[str, Conversion] = {
    "degC": (1.0, 0.0),
    "°C": (1.0, 0.0),
    "C": (1.0, 0.0),
    "degF": (5 / 9, -160 / 9),
    "°F": (5 / 9, -160 / 9),
    "F": (5 / 9, -160 / 9),
    "K": (1.0, -273.15),
}
_PERCENT: dict[str, Conversion] = {"percent": (1.0, 0.0), "%": (1.0, 0.0)}
_LENGTH: dict[str, Conversion] = {"m": (1.0, 0.0), "km": (1000.0, 0.0), "ft": (0.3048, 0.0), "mi": (1609.344, 0.0)}
_PRESSURE: dict[str, Conversion] = {"Pa": (0.01, 0.0), "hPa": (1.0, 0.0)}
_ANGLE: dict[str, Conversion] = {"degree_(angle)": (1.0, 0.0), "°": (1.0, 0.0), "degT": (1.0, 0.0)}
_DEPTH: dict[str, Conversion] = {"mm": (1.0, 0.0), "inch": (25.4, 0.0)}
_PLAIN: dict[str, Conversion] = {"wmo code": (1.0, 0.0), "": (1.0, 0.0)}

BY_FIELD: dict[str, dict[str, Conversion]] = {
    "wind_mps": _SPEED,
    "gust_mps": _SPEED,
    "wind_from_deg": _ANGLE,
    "air_c": _TEMPERATURE,
    "dewpoint_c": _TEMPERATURE,
    "water_c": _TEMPERATURE,
    "humidity_pct": _PERCENT,
    "cloud_pct": _PERCENT,
    "precip_chance_pct": _PERCENT,
    "thunder_pct": _PERCENT,
    "lightning_level": {},
    "pressure_hpa": _PRESSURE,
    "precip_mm": _DEPTH,
    "visibility_m": _LENGTH,
    "level_m": _LENGTH,
    "weather_code": _PLAIN,
    "cape_jkg": {"J/kg": (1.0, 0.0)},
    "shortwave_wm2": {"W/m²": (1.0, 0.0), "W/m2": (1.0, 0.0)},
}


def conversion(field: str, unit: object) -> Conversion | None:
    """Return how to convert ``unit`` (with or without the prefix ``unit:`` or ``wmoUnit:``), None when unknown."""
    if not isinstance(unit, str):
        return None
    bare = unit.strip()
    for prefix in ("wmoUnit:", "unit:"):
        bare = bare.removeprefix(prefix)
    return BY_FIELD[field].get(bare)


def degrees_of_point(word: object) -> float | None:
    """Return the direction of a 16-point word in degrees, None for anything else."""
    if not isinstance(word, str) or word.strip().upper() not in POINTS:
        return None
    return POINTS.index(word.strip().upper()) * 22.5
