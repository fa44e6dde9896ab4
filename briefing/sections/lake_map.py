"""What a map of the lake is drawn from: shore, islands, ramps, spots and the wind of a chosen hour."""

from __future__ import annotations

from datetime import datetime

from briefing.sections.quantity import SectionModel


class MapPlace(SectionModel):
    """A ramp or spot in metres east and north of the lake's centre; ``number`` is its place in the outing, if any."""

    name: str
    kind: str
    number: int | None = None
    x_m: float
    y_m: float


class MapSection(SectionModel):
    """``assumed`` says that the shape is an ellipse made from area and longest arm, not the real shore.

    ``start`` is the ramp that the outing begins and ends at, None where there is no outing; ``way_out_m`` the way from
    it over water through the places in order, ``way_home_m`` the way back from the last, in metres.
    """

    rings_m: tuple[tuple[tuple[float, float], ...], ...]
    assumed: bool
    places: tuple[MapPlace, ...]
    start: MapPlace | None
    way_out_m: tuple[tuple[float, float], ...] = ()
    way_home_m: tuple[tuple[float, float], ...] = ()
    wind_from_deg: float | None
    wind_hour: datetime | None
    wind_label: str
    wind_text: str
    text: str
