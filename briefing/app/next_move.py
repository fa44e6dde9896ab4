"""What to do next: stores a line of the log, then names places like the one that produced, or what to change first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from briefing import units
from briefing.app.assembly import App
from briefing.app.log import Logged, TypedLine, log_line
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.measures import in_text
from briefing.core.log.next_move import (
    KINDS,
    Match,
    NextParameters,
    Place,
    Rung,
    Shared,
    alike,
    another_kind,
    rung_of,
)
from briefing.core.log.records import Mark, MarkKind
from briefing.errors import InputError
from briefing.knowledge import load_advice_knowledge, load_next_parameters
from briefing.pipeline.log_places import compared_places
from briefing.pipeline.mapping import tackle_box
from briefing.pipeline.shape import lake_shape
from briefing.profile.model import LakeProfile
from briefing.sections.words import COVER_NAME, listed
from briefing.store.log import LogBook
from briefing.store.records import ReadingKind
from briefing.units import Units
from briefing.vocabulary import WaterColour

_MISSING = 'The line is missing, such as: briefing next "two on the swim jig at the reeds"'
#: Said with every place that one would have to cross to.
_CHECK = "Wind and limits first: briefing wind."


@dataclass(frozen=True)
class NextMove:
    """A stored line and what to do next: sentences, and the places that they name."""

    logged: Logged
    lines: tuple[str, ...]
    places: tuple[str, ...]


@dataclass(frozen=True)
class _Now:
    """Where one is and with what, as far as it is known: this line, else the running outing, else the day's plan."""

    here: Place
    presentation: str
    blanks: int


def next_move(app: App, lake: str | None, typed: TypedLine) -> NextMove:
    """Store a line and say what to do next. Raises InputError, ProfileError, StoreError; nothing is stored then."""
    if not typed.text.strip():
        raise InputError(_MISSING)
    profile = app.lake(lake)
    shape, p = lake_shape(profile, app.lake_path(lake)), load_next_parameters()
    logged = log_line(app, profile, MarkKind.MARK, typed)
    mark = logged.entry.mark
    day = _of_the_outing(app, profile, mark)
    name = _place_name(profile, logged, day[-1])
    colours = _colours(app, profile, mark, p)
    spots = compared_places(profile, shape, name, _felt_wind(mark, p), colours)
    now = _now(day, name, spots, colours)
    others = [place for place in spots.values() if place.name != name]
    if mark.caught:
        return _produced(logged, now, others, p)
    return _blank(app, logged, now, others, p)


def _of_the_outing(app: App, profile: LakeProfile, mark: Mark) -> list[Mark]:
    """The lines of the outing up to this one, each with place and lure carried on from the ones before it."""
    with app.store() as store:
        marks = [entry.mark for entry in LogBook(store).entries(profile.id)]
    of_it = [one for one in marks if mark.outing is not None and mark.outing in (one.outing, one.id)]
    earlier = sorted((one for one in of_it if one.time <= mark.time and one.id != mark.id), key=lambda one: one.time)
    out: list[Mark] = []
    for one in (*earlier, mark):
        last = out[-1] if out else one
        moved = bool(one.spot) and one.spot != last.spot
        out.append(
            replace(
                one,
                spot=one.spot or last.spot,
                cover=one.cover or (None if moved else last.cover),
                depth_m=one.depth_m if one.depth_m is not None or moved else last.depth_m,
                presentation=one.presentation or last.presentation,
            )
        )
    return out


def _place_name(profile: LakeProfile, logged: Logged, mark: Mark) -> str:
    """The spot of the line or of the outing; else the only one with the cover named, or where the plan had one."""
    if mark.spot:
        return mark.spot
    if mark.cover is None:
        return logged.stop
    fitting = [spot.name for spot in profile.spots if max(spot.cover, key=lambda one: spot.cover[one]) is mark.cover]
    return logged.stop if logged.stop in fitting else fitting[0] if len(fitting) == 1 else ""


def _felt_wind(mark: Mark, p: NextParameters) -> float | None:
    speed, at = (mark.conditions.get(key) for key in ("wind_mps", "wind_from_deg"))
    if speed is None or at is None or not float(speed.value) >= p.felt_wind_mps:
        return None
    return float(at.value)


def _colours(app: App, profile: LakeProfile, mark: Mark, p: NextParameters) -> dict[str, WaterColour]:
    """The newest colour seen at each spot, and under "" the lake's own, within some days of the line."""
    with app.store() as store:
        since = mark.time - timedelta(days=p.colour_days)
        found = store.list_readings(profile.id, kinds=[ReadingKind.COLOUR], since=since, until=mark.time)
    usual = {} if profile.water_colour is None else {"": profile.water_colour}
    return usual | {reading.spot: WaterColour(reading.values["colour"]) for reading in found}


def _now(day: Sequence[Mark], name: str, spots: Mapping[str, Place], colours: Mapping[str, WaterColour]) -> _Now:
    mark = day[-1]
    here = spots.get(name) or Place(name=name, colour=colours.get(""))
    depth = here.depth_m if mark.depth_m is None else (mark.depth_m, mark.depth_m)
    here = replace(here, cover=mark.cover or here.cover, depth_m=depth)
    return _Now(here, mark.presentation, _blanks(day))


def _blanks(day: Sequence[Mark]) -> int:
    """How many lines in a row at this place tell of no fish, this one among them."""
    count = 0
    for one in reversed(day):
        if one.spot != day[-1].spot or one.caught or one.kind is not MarkKind.MARK:
            break
        count += 1
    return count


def _produced(logged: Logged, now: _Now, others: Sequence[Place], p: NextParameters) -> NextMove:
    mark = logged.entry.mark
    more = sum(1 for _ in mark.fish)
    key = "more" if more > 1 else "one" if more else "missed" if mark.contacts else "followed"
    lines = [p.fish[key]]
    found = alike(now.here, others, p)
    if found:
        lines.append(f"Places like it: {'; '.join(_like(match) for match in found)}.")
        lines.append(_CHECK)
    elif now.here.cover is None and now.here.depth_m is None:
        lines.append(_where(mark))
    else:
        lines.append(
            f"It is the only one of its kind on your list: look for {_described(now.here, logged.profile.units)}."
        )
    return NextMove(logged, tuple(lines), tuple(match.place.name for match in found))


def _where(mark: Mark) -> str:
    return f'Say where it was, and places like it can be named: briefing log correct {mark.id} "reeds 4ft"'


def _like(match: Match) -> str:
    """A place and what it shares: "Pad corner (pads too, as deep, wind-blown too)"."""
    place = match.place
    words = {
        Shared.COVER: f"{COVER_NAME[place.cover]} too" if place.cover else "",
        Shared.KIND: f"{COVER_NAME[place.cover]}, much alike" if place.cover else "",
        Shared.DEPTH: "as deep",
        Shared.WIND: "wind-blown too" if place.blown else "sheltered too",
        Shared.COLOUR: "the same water colour",
    }
    return f"{place.name} ({', '.join(words[one] for one in match.shared)})"


def _described(place: Place, system: Units) -> str:
    words = [COVER_NAME[place.cover] if place.cover is not None else "water"]
    if place.depth_m is not None:
        words.append(f"in {units.show_depth_range(*place.depth_m, system, both=False)}")
    if place.blown is not None:
        words.append("on a wind-blown bank" if place.blown else "out of the wind")
    return " ".join(words)


def _blank(app: App, logged: Logged, now: _Now, others: Sequence[Place], p: NextParameters) -> NextMove:
    """The step of the place's ladder that is due, and the one after it."""
    elsewhere = another_kind(now.here, others)
    steps = list(Rung)
    first = rung_of(now.blanks)
    due = steps[steps.index(first) : steps.index(first) + 2]
    said = [(rung, _step(app, rung, logged, now, elsewhere, p)) for rung in due]
    lines = [f"{word} the {rung.value}: {text}." for word, (rung, text) in zip(("First", "Then"), said, strict=False)]
    named = (elsewhere.name,) if elsewhere is not None and Rung.PLACE in due else ()
    return NextMove(logged, (*lines, _CHECK) if named else tuple(lines), named)


def _step(app: App, rung: Rung, logged: Logged, now: _Now, elsewhere: Place | None, p: NextParameters) -> str:
    if rung is Rung.ANGLE:
        return p.angle["bare" if now.here.cover is None else KINDS[now.here.cover]]
    if rung is Rung.PACE:
        return p.pace[_pace(app, now.presentation)]
    if rung is Rung.LURE:
        found = _follow_ups(app, logged, now)
        return f"the {listed(found)} on the same casts" if found else "something smaller and slower on the same casts"
    if elsewhere is None:
        return "another kind of cover, or another depth"
    return f"{elsewhere.name}, {COVER_NAME[elsewhere.cover]}" if elsewhere.cover is not None else elsewhere.name


def _knowledge(app: App) -> AdviceKnowledge:
    return load_advice_knowledge(app.home.knowledge_dir if app.home.knowledge_dir.is_dir() else None)


def _pace(app: App, presentation: str) -> str:
    found = next((item for item in _knowledge(app).presentations if item.id == presentation), None)
    return "search" if found is None else found.pace


def _follow_ups(app: App, logged: Logged, now: _Now) -> list[str]:
    """Names of what to show next: a follow-up of the lure that is owned, one of the day's plan before others."""
    items = {item.id: item for item in _knowledge(app).presentations}
    box = tackle_box(logged.profile, logged.entry.mark.time.astimezone(logged.profile.zone).date())
    planned = logged.planned.get(now.here.name, frozenset())
    after = items[now.presentation].follow_up if now.presentation in items else ()
    wanted = [*(one for one in after if one in planned), *after, *sorted(planned - {now.presentation})]
    owned = [one for one in dict.fromkeys(wanted) if one in items and box.owns(one)]
    return [in_text(items[one].name) for one in owned[:1]]
