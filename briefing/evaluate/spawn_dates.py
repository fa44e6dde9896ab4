"""Reading of a table of reported spawning and hatching dates."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from briefing.core.phase import form_for
from briefing.errors import InputError
from briefing.evaluate.rows import number, read_rows
from briefing.vocabulary import LakeKind, SpeciesForm

Floats = NDArray[np.float64]

COLUMNS = (
    *("species", "form", "water_body", "state_or_province", "country", "lat", "lon", "year_or_period", "event"),
    *("date_or_doy_start", "date_or_doy_end", "verified", "note"),
)
#: Event of the table -> event of the estimator.
EVENTS = {
    "first_nest": "nest_start",
    "spawn_start": "nest_start",
    "spawn_peak": "nest_middle",
    "spawn_end": "nest_end",
    "hatch_first": "hatch_start",
    "hatch_median": "hatch_middle",
    "hatch_last": "hatch_end",
}
REGIONS = {
    "upper_midwest": ("WI", "MN", "MI", "ND", "SD"),
    "midwest": ("IL", "OH", "IN", "IA", "MO", "KY"),
    "north_east": ("ON", "QC", "NS", "NB", "ME", "ME-NH", "NH", "VT", "VT-NY", "NY", "CT", "MA", "MD"),
    "south": ("AL", "GA", "SC", "NC", "MS", "TN", "VA", "AR", "AR-MO", "LA", "TX", "OK"),
    "west": ("UT", "UT-AZ", "AZ", "NV-AZ", "CA", "CO", "WA", "OR", "ID-OR", "ID", "WY"),
    "florida": ("FL",),
}
_TROPIC_DEG = 23.5
_MARGIN_DAYS = 2.0
_USUAL_ELEVATION_M = 150.0


@dataclass(frozen=True)
class Case:
    """One reported event. start_day and end_day count from 1 January of the year of the nests; None is open."""

    row: dict[str, str]
    form: SpeciesForm
    group: str  # largemouth, smallmouth, spotted
    event: str
    start_day: float | None
    end_day: float | None
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    region: str
    scored: bool  # not left out by its own note, not tropical

    @property
    def headline(self) -> bool:
        """Verified study or agency statement that may be scored."""
        good = self.row["note"].lstrip().startswith(("A", "B"))
        return self.scored and self.row["verified"] == "yes" and good

    @property
    def pooled(self) -> bool:
        """True unless the row is about one named year."""
        return not self.row["year_or_period"].strip().isdigit()

    @property
    def water(self) -> str:
        """Name of the water; rows of one water are not independent."""
        return self.row["water_body"]

    @property
    def width_days(self) -> float | None:
        """Days between the edges; None where one is open."""
        return None if self.start_day is None or self.end_day is None else self.end_day - self.start_day

    @property
    def middle_day(self) -> float:
        """Middle of the interval, or its one edge."""
        return float(np.mean([edge for edge in (self.start_day, self.end_day) if edge is not None]))

    def distance(self, day: float) -> float:
        """Days from ``day`` to the nearer edge, negative when too early, 0 within."""
        if self.start_day is not None and day < self.start_day:
            return day - self.start_day
        return day - self.end_day if self.end_day is not None and day > self.end_day else 0.0

    def mass(self, days: Floats, weights: Floats, width_days: float) -> float:
        """Mass on the interval, two days wider at each closed edge, of normals about ``days``."""
        high = 1.0 if self.end_day is None else normal_cdf((self.end_day + _MARGIN_DAYS + 0.5 - days) / width_days)
        low = 0.0 if self.start_day is None else normal_cdf((self.start_day - _MARGIN_DAYS - 0.5 - days) / width_days)
        return float(np.sum(weights * (high - low)))


def normal_cdf(x: Floats) -> Floats:
    """Standard normal distribution function."""
    return np.array([0.5 * math.erfc(-value / math.sqrt(2.0)) for value in np.ravel(x)]).reshape(np.shape(x))


def read_cases(path: Path) -> list[Case]:
    """Read ``spawn-dates.csv`` of a folder; heights come from ``climate-normals/stations.csv`` beside it if there.

    Raises:
        InputError: a file or cell can't be read.
    """
    table = path / "spawn-dates.csv"
    heights = _heights(path / "climate-normals" / "stations.csv")
    return [_case(table, line, row, heights) for line, row in enumerate(read_rows(table, COLUMNS), start=2)]


def _heights(path: Path) -> Floats:
    """Stations as (n, 3): latitude, longitude, elevation; empty without the file."""
    if not path.exists():
        return np.zeros((0, 3))
    rows = read_rows(path, ("lat", "lon", "elevation_m"))
    return np.array(
        [[number(path, n, row, name) for name in ("lat", "lon", "elevation_m")] for n, row in enumerate(rows, start=2)]
    )


def _height_at(heights: Floats, latitude_deg: float, longitude_deg: float) -> float:
    """Median height of the four nearest stations; a usual height without stations."""
    if not heights.size:
        return _USUAL_ELEVATION_M
    east = (heights[:, 1] - longitude_deg + 180.0) % 360.0 - 180.0
    far = np.hypot(heights[:, 0] - latitude_deg, east * math.cos(math.radians(latitude_deg)))
    return float(np.median(heights[np.argsort(far, kind="stable")[:4], 2]))


def _case(path: Path, line: int, row: dict[str, str], heights: Floats) -> Case:
    latitude, longitude = number(path, line, row, "lat"), number(path, line, row, "lon")
    if row["event"] not in EVENTS:
        raise InputError(f'{path}, row {line}: event "{row["event"]}" is not one of {", ".join(EVENTS)}')
    start, end = (_day(path, line, row[name]) for name in ("date_or_doy_start", "date_or_doy_end"))
    region = next((name for name, states in REGIONS.items() if row["state_or_province"] in states), "overseas")
    if region == "florida" and start is not None and start > 330:
        start, end = start - 365.0, end - 365.0 if end is not None and end > 330 else end
    note = row["note"].lower()
    form, group = _form(row, latitude)
    return Case(
        row=row,
        form=form,
        group=group,
        event=EVENTS[row["event"]],
        start_day=start,
        end_day=end,
        latitude_deg=latitude,
        longitude_deg=longitude,
        elevation_m=_height_at(heights, latitude, longitude),
        region=region,
        scored="exclude" not in note and "not for scoring" not in note and abs(latitude) > _TROPIC_DEG,
    )


def _day(path: Path, line: int, text: str) -> float | None:
    """Day of a common year from ``MM-DD`` or ``YYYY-MM-DD``, 0 on 1 January; None for an empty cell."""
    if not text:
        return None
    try:
        month, day = (int(part) for part in text.split("-")[-2:])
        return float(date(2015, month, day).timetuple().tm_yday - 1)
    except ValueError as error:
        raise InputError(f'{path}, row {line}: "{text}" is not a date') from error


def _form(row: dict[str, str], latitude_deg: float) -> tuple[SpeciesForm, str]:
    species = row["species"]
    if species.endswith("dolomieu"):
        river = "river" in row["water_body"].lower() and "channel" not in row["water_body"].lower()
        return (SpeciesForm.SMALLMOUTH_RIVER if river else SpeciesForm.SMALLMOUTH_LAKE), "smallmouth"
    if "henshalli" in species or "punctulatus" in species:
        return SpeciesForm.SPOTTED, "spotted"
    if " x " in species:
        return SpeciesForm.LARGEMOUTH_INTERGRADE, "largemouth"
    if row["form"] == "Florida":
        return SpeciesForm.LARGEMOUTH_FLORIDA, "largemouth"
    if row["form"] == "northern":
        return SpeciesForm.LARGEMOUTH_NORTHERN, "largemouth"
    return form_for("largemouth", latitude_deg, LakeKind.LOWLAND_RESERVOIR), "largemouth"
