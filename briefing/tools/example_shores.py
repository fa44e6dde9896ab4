"""Draws the shorelines of the four invented example lakes: ``python -m briefing.tools.example_shores FOLDER``.

Each shore is shaped by hand as a few corner points (metres east and north of the lake's centre), then rounded by corner
cutting (Chaikin 1974, two passes) and roughened with a fixed sum of sines, so that it has the small points and pockets
of a real bank. The same points give the same bytes.
"""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path

Points = list[tuple[float, float]]

_METRES_PER_DEGREE = 111_195.0

#: Lake id: centre (latitude, longitude), name, outer shore, islands (centre x, y, half axes), roughness in metres.
LAKES: dict[str, tuple[tuple[float, float], str, Points, list[tuple[float, float, float, float]], float]] = {
    "sedgemary-lake": (
        (29.93, -82.47),
        "Sedgemary Lake",
        [
            *((-1150, -350), (-1250, 150), (-950, 620), (-450, 760), (-150, 520), (150, 560), (500, 880), (950, 840)),
            *((1300, 480), (1380, 0), (1100, -420), (650, -560), (300, -380), (0, -420), (-350, -700), (-800, -680)),
        ],
        [(420.0, 190.0, 95.0, 55.0)],
        9.0,
    ),
    "corviston-reservoir": (
        (36.34, -92.68),
        "Corviston Reservoir",
        [
            *((-4500, -2150), (-4000, -1700), (-3700, -1100), (-3950, -200), (-4100, 700), (-3800, 800), (-3550, -100)),
            *((-3300, -1000), (-2600, -1150), (-1900, -900), (-1650, 0), (-1900, 1100), (-1800, 2000), (-1450, 2100)),
            *((-1350, 1100), (-1150, 100), (-700, -500), (100, -300), (900, 100), (1500, 700), (1600, 1600)),
            *((1900, 2300), (2200, 2200), (2100, 1400), (2200, 700), (3000, 900), (3700, 1500), (4300, 2300)),
            *((4900, 2900), (5200, 2700), (4700, 2000), (4200, 1200), (3700, 500), (3000, 100), (2200, -100)),
            *((1700, -500), (1900, -1300), (2500, -2000), (2300, -2300), (1600, -1700), (1100, -900), (400, -900)),
            *((-300, -1300), (-500, -2100), (-200, -2900), (-550, -3000), (-950, -2200), (-1100, -1600)),
            *((-1900, -1600), (-2700, -1700), (-2900, -2500), (-2600, -3200), (-3000, -3300), (-3350, -2600)),
            *((-3500, -2100), (-3900, -2300), (-4250, -2600)),
        ],
        [(-2250.0, -1320.0, 110.0, 60.0)],
        12.0,
    ),
    "halvorsby-lake": (
        (46.21, -94.93),
        "Halvorsby Lake",
        [
            *((-980, -60), (-880, 330), (-560, 540), (-300, 380), (-60, 420), (180, 700), (560, 720), (760, 460)),
            *((700, 160), (920, -60), (860, -420), (520, -560), (240, -420), (40, -600), (-320, -640), (-640, -420)),
        ],
        [(-240.0, -80.0, 85.0, 60.0), (330.0, 250.0, 45.0, 35.0)],
        7.0,
    ),
    "tallwick-reservoir": (
        (37.22, -88.41),
        "Tallwick Reservoir",
        [
            *((-3100, 900), (-2700, 1350), (-2100, 1200), (-1700, 650), (-1250, 500), (-1050, 900), (-1200, 1500)),
            *((-850, 1600), (-600, 950), (-150, 550), (500, 500), (1100, 200), (1500, 550), (1400, 1150), (1800, 1250)),
            *((1950, 600), (2100, 0), (2900, -350), (3300, -800), (3100, -1150), (2400, -1000), (1700, -750)),
            *((1100, -950), (950, -1600), (550, -1700), (600, -1000), (200, -600), (-500, -500), (-1200, -350)),
            *((-1500, -900), (-1900, -1000), (-1950, -300), (-2400, 150), (-2950, 300)),
        ],
        [(-700.0, 60.0, 130.0, 45.0)],
        8.0,
    ),
}


def shore(lake: str) -> dict[str, object]:
    """Return a lake's shoreline as a GeoJSON feature: a polygon whose holes are the islands."""
    centre, name, corners, islands, roughness = LAKES[lake]
    outer = _roughened(_rounded(_rounded(corners)), roughness, step_m=25.0)
    rings = [outer, *(_roughened(_ellipse(*island), roughness / 4.0, step_m=12.0) for island in islands)]
    return {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"name": name, "note": "An invented lake; the shore is drawn, not surveyed."},
                "geometry": {"type": "Polygon", "coordinates": [_degrees(ring, centre) for ring in rings]},
            }
        ],
    }


def _rounded(corners: Points) -> Points:
    """Cut each corner at a quarter and three quarters of its sides."""
    out: Points = []
    for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True):
        out.append((0.75 * x0 + 0.25 * x1, 0.75 * y0 + 0.25 * y1))
        out.append((0.25 * x0 + 0.75 * x1, 0.25 * y0 + 0.75 * y1))
    return out


def _ellipse(x: float, y: float, half_x: float, half_y: float) -> Points:
    turns = [math.radians(10.0 * k) for k in range(36)]
    return [(x + half_x * math.cos(turn), y + half_y * math.sin(turn)) for turn in turns]


def _roughened(ring: Points, size_m: float, step_m: float) -> Points:
    """Walk the ring in steps and push each point off it by a sum of three waves with periods of 80 to 400 m."""
    out: Points = []
    walked = 0.0
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
        length = math.hypot(x1 - x0, y1 - y0)
        count = max(1, round(length / step_m))
        for k in range(count):
            share = k / count
            at = walked + share * length
            waves = ((400.0, 0.3, 1.0), (170.0, 1.9, 0.7), (80.0, 4.1, 0.4))
            push = size_m * sum(weight * math.sin(2 * math.pi * at / period + lag) for period, lag, weight in waves)
            normal = ((y1 - y0) / length, -(x1 - x0) / length)
            out.append((x0 + share * (x1 - x0) + push * normal[0], y0 + share * (y1 - y0) + push * normal[1]))
        walked += length
    return out


def position(lake: str, x_m: float, y_m: float) -> tuple[float, float]:
    """Return (latitude, longitude) of a point given in metres east and north of the lake's centre."""
    latitude, longitude = LAKES[lake][0]
    north = latitude + y_m / _METRES_PER_DEGREE
    return north, longitude + x_m / (_METRES_PER_DEGREE * math.cos(math.radians(latitude)))


def _degrees(ring: Points, centre: tuple[float, float]) -> list[list[float]]:
    """Turn metres into closed [longitude, latitude] rings with six decimals (0.1 m)."""
    east = _METRES_PER_DEGREE * math.cos(math.radians(centre[0]))
    closed = [*ring, ring[0]]
    return [[round(centre[1] + x / east, 6), round(centre[0] + y / _METRES_PER_DEGREE, 6)] for x, y in closed]


def shore_text(lake: str) -> str:
    """Return the text of the shoreline file."""
    return json.dumps(shore(lake), separators=(",", ":"), ensure_ascii=False) + "\n"


def main(folder: Path) -> None:
    """Write the four files."""
    for lake in LAKES:
        (folder / f"{lake}.geojson").write_text(shore_text(lake), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
