"""What ``briefing advise`` is asked with where it is about a place of a lake: the hour there, as the lake knows it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from briefing.app.assembly import App
from briefing.app.brief import Asked, run_of
from briefing.app.when import read_clock
from briefing.errors import InputError, NotFoundError
from briefing.profile.model import LakeProfile
from briefing.units import Units


@dataclass(frozen=True)
class HourAtSpot:
    """The hour at a place in the words of the options of ``advise``; what is not known is left out."""

    profile: LakeProfile
    spot: str
    at: datetime
    words: dict[str, str]

    @property
    def units(self) -> Units:
        """Those of the lake."""
        return self.profile.units


def hour_at(app: App, lake: str | None, spot: str | None, day: str | None, clock: str | None) -> HourAtSpot:
    """Weather as stored and typed, water, season and the place itself, at a clock time of a day; no service is asked.

    Raises NotFoundError without such a lake or spot, InputError for a time that can't be read.
    """
    from briefing.pipeline.build import build
    from briefing.pipeline.run import prepare

    run = run_of(app, Asked(lake, day=day, offline=True))
    profile = run.profile
    at = read_clock(clock, run.day, profile.zone) if clock else run.now
    with app.store_anyway() as store:
        inputs, _ = prepare(run, app.normals(profile), store, None)
    advised = build(inputs, app.tables()).advised
    if not advised.blocks:
        raise InputError(f"{run.day} has no daylight at {profile.name} to advise for.")
    # in the dark the hour of light that lies nearest stands in
    block = min(advised.blocks, key=lambda one: max(one.start - at, at - one.end, timedelta(0)))
    wanted = profile.spot(spot) if spot else None
    if spot and wanted is None:
        names = ", ".join(one.name for one in profile.spots) or "none yet"
        raise NotFoundError(f"{profile.name} has no spot {spot!r}; there are: {names}.")
    key = next(one for one in advised.spots if one[1] == block.id and (wanted is None or one[0] == wanted.id))
    place, here = advised.spots[key], advised.conditions[block.id]
    hours = inputs.gathered.hours
    hour = hours.index_of(at)
    wind = float(hours.values("wind_mps")[hour]) if 0 <= hour < hours.hours else math.nan
    cover = sorted(place.cover, key=lambda one: -place.cover[one])
    words = {
        "date": run.day.isoformat(),
        "lat": f"{profile.latitude:g}",
        "species": profile.species[0].value,
        "water": profile.kind.value,
        "craft": inputs.reader.craft.value,
        "cover": ",".join(one.value for one in cover),
        "depth": f"{sum(place.depth_m) / 2:.2f}m",
        "sky": here.sky.value,
        "phase": max(here.phases, key=lambda phase: here.phases[phase]).value if here.phases else None,
        "water-temp": None if here.water_temp_c is None else f"{here.water_temp_c:.1f}C",
        "trend": None if here.trend_3d_c is None else f"{here.trend_3d_c:.1f}C",
        "visibility": None if here.secchi_m is None else f"{here.secchi_m:.2f}m",
        "water-colour": None if here.water_colour is None else here.water_colour.value,
        "wind": None if math.isnan(wind) else f"{wind:.2f}m/s",
        "cover-top": None if not place.cover_top_m else f"{place.cover_top_m:.2f}m",
        "bottom": None if place.bottom is None else place.bottom.value,
        "forage": ",".join(one.value for one in here.forage) or None,
        "front": here.front_stage.value if here.front_stage and here.front_stage.value in _FRONTS else None,
        "bait": None if here.bait is None else here.bait.value,
        "owned": ",".join(sorted(advised.tackle.presentations)) or None,
    }
    name = wanted.name if wanted else next((one.name for one in profile.spots if one.id == key[0]), "")
    return HourAtSpot(profile, name, at, {flag: word for flag, word in words.items() if word is not None})


#: Stages of a front that ``advise`` takes.
_FRONTS = ("approaching", "day1", "day2")
