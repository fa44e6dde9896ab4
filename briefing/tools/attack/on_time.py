"""Mutations of when: front caches, stale copies, issues from the future, and what is remembered of them."""

from __future__ import annotations

from datetime import timedelta
from email.utils import format_datetime

from briefing.sources.open_meteo import PAST_DAYS
from briefing.tools.attack.bases import ALERTS, GRID, MODEL, Base
from briefing.tools.attack.bodies import Answer, Bodies, Scene, Sky, alerts_answer, model_body, opened
from briefing.tools.attack.kinds import Attack, Before, Draw, earlier, kind
from briefing.tools.attack.on_grid import calm_value, rough_entries

MODELS = ("wind_model", "gust_model", "cape_model", "code_model")
GRIDS = ("wind_grid", "gust_grid", "marine_wind", "marine_gust", "thunder_pct", "thunder_level")


def calm_model(base: Base, days_old: int) -> Answer:
    """What the model said so many days ago: its rows begin as much earlier, and it saw nothing coming."""
    scene = Scene(base.scene.place, base.scene.now, base.scene.rough, model=Sky())
    return Answer(model_body(scene, first_day=-PAST_DAYS - days_old), kind="application/json")


@kind("fault09_age_header", *MODELS)
def age_header(draw: Draw) -> Attack:
    """A model's body days old from a front cache, which says so in Age."""
    days = draw.pick([1, 2, 3, 6])
    answer = calm_model(draw.base, 0)
    answer.headers["Age"] = str(86400 * days)
    draw.bodies[MODEL] = answer
    return draw.done(f"{days} days")


@kind("fault09_last_modified", *MODELS)
def last_modified(draw: Draw) -> Attack:
    """A model's body days old, which only Last-Modified tells."""
    days = draw.pick([2, 3, 6])
    answer = calm_model(draw.base, 0)
    answer.headers["Last-Modified"] = format_datetime(draw.base.now - timedelta(days=days), usegmt=True)
    draw.bodies[MODEL] = answer
    return draw.done(f"{days} days")


@kind("model_stale_in_other_words", *MODELS)
def stale_in_other_words(draw: Draw) -> Attack:
    """A model's body days old, which the headers tell in forms that are seldom seen."""
    seconds, old = 86400 * draw.pick([2, 3, 6]), draw.base.now - timedelta(days=draw.pick([2, 3, 6]))
    name, value = draw.pick(
        [("Age", f"12, {seconds}"), ("Age", f"{seconds}, 3, 0"), ("Age", f"+{seconds}"), ("Age", f"{seconds}.5"),
         ("Warning", '110 - "Response is Stale"'), ("Warning", '199 - "x", 111 cache "failed"'), ("Warning", "113"),
         ("Date", f"{old:%Y-%m-%dT%H:%M:%SZ}"), ("Last-Modified", old.isoformat())]
    )  # fmt: skip
    answer = calm_model(draw.base, 0)
    answer.headers[name] = value
    draw.bodies[MODEL] = answer
    return draw.done(f"{name}: {value}")


@kind("model_other_hours", *MODELS)
def other_hours(draw: Draw) -> Attack:
    """A model's body in another time than was asked for: its first hour is no midnight in UTC, or its clock another."""
    hours = draw.pick([-20, -6, -1, 1, 4, 6, 18])
    answer = draw.answer(MODEL)
    answer.data["hourly"]["time"] = [one + 3600 * hours for one in answer.data["hourly"]["time"]]
    answer.data["utc_offset_seconds"] = offset = draw.pick([0, None, -14400, 3600 * hours])
    return draw.done(f"{hours} h, offset {offset}")


@kind("fault09_first_hour", *MODELS)
def first_hour(draw: Draw) -> Attack:
    """A model's body days old, which only its first and last hour tell."""
    days = draw.pick([2, 3, 5, 7])
    draw.bodies[MODEL] = calm_model(draw.base, days)
    return draw.done(f"{days} days")


@kind("fault09_same_bytes", *MODELS)
def same_bytes(draw: Draw) -> Attack:
    """The same bytes as a day before."""
    gap = timedelta(hours=24)
    sound = earlier(draw.base, gap)
    draw.bodies[MODEL] = old = calm_model(draw.base, 1)
    return draw.done(before=(Before({**sound.bodies, MODEL: old}, gap),), sound_before=(sound,))


def issued_ahead(base: Base, hours: float) -> Bodies:
    """The base's bodies with a grid that says it was issued so many hours after the morning."""
    answer = base.bodies[GRID]
    if not isinstance(answer, Answer):
        raise TypeError("the grid computes its answer")
    later = opened(answer)
    later.data["properties"]["updateTime"] = (base.now + timedelta(hours=hours)).isoformat()
    return {**base.bodies, GRID: later}


@kind("fault10_future_remembered", *GRIDS)
def future_remembered(draw: Draw) -> Attack:
    """One grid issued days ahead, then good ones."""
    hours, gap = draw.pick([3, 12, 48, 24 * 30]), timedelta(hours=draw.pick([2, 12, 24]))
    before = (Before(issued_ahead(draw.base, hours), gap),)
    sound_before = (earlier(draw.base, gap),)
    return draw.done(f"{hours} h ahead, {gap} before", before=before, sound_before=sound_before, strict=True)


@kind("fault10_future_now", *GRIDS)
def future_now(draw: Draw) -> Attack:
    """A calm grid that says it was issued in the future."""
    hours = draw.pick([1, 3, 48, 24 * 300])
    draw.answer(GRID).data["properties"]["updateTime"] = (draw.base.now + timedelta(hours=hours)).isoformat()
    for entry in rough_entries(draw):
        entry["value"] = calm_value(draw.base)
    return draw.done(f"{hours} h ahead")


@kind("grid_backwards", *GRIDS)
def backwards(draw: Draw) -> Attack:
    """An older, calm grid a run after a newer one (C1)."""
    newer = (earlier(draw.base, timedelta(hours=1)),)
    hours = draw.pick([4, 5, 8, 11])
    answer = draw.answer(GRID)
    answer.data["properties"]["updateTime"] = (draw.base.now - timedelta(hours=hours)).isoformat()
    for entry in rough_entries(draw):
        entry["value"] = calm_value(draw.base)
    return draw.done(f"{hours} h old", before=newer, sound_before=newer)


@kind("grid_old_by_header", *GRIDS)
def grid_age(draw: Draw) -> Attack:
    """An older, calm grid whose front cache says so in Age."""
    days = draw.pick([1, 2, 6])
    draw.answer(GRID).headers["Age"] = str(86400 * days)
    draw.answer(GRID).data["properties"]["updateTime"] = (draw.base.now - timedelta(days=days)).isoformat()
    for entry in rough_entries(draw):
        entry["value"] = calm_value(draw.base)
    return draw.done(f"{days} days")


@kind("alerts_old_by_header",
      "alert_zone", "alert_shape", "alert_code")  # fmt: skip
def alerts_age(draw: Draw) -> Attack:
    """A list of warnings from before they were issued, which a front cache held (C1)."""
    answer = alerts_answer([])
    answer.headers["Age"] = str(60 * draw.pick([25, 60, 600]))
    draw.bodies[ALERTS] = answer
    return draw.done(answer.headers["Age"])


@kind("alerts_old_by_themselves",
      "alert_zone", "alert_shape", "alert_code")  # fmt: skip
def alerts_old_by_themselves(draw: Draw) -> Attack:
    """A list of warnings from before they were issued, which its own date or Last-Modified tells."""
    old = draw.base.now - timedelta(minutes=draw.pick([180, 26 * 60, 7 * 24 * 60]))
    how = draw.pick(["updated", "updated in local time", "Last-Modified"])
    answer = alerts_answer([])
    if how == "Last-Modified":
        answer.headers[how] = format_datetime(old, usegmt=True)
    else:
        answer.data["updated"] = (old if how == "updated" else old.astimezone(draw.base.profile.zone)).isoformat()
    draw.bodies[ALERTS] = answer
    return draw.done(f"{how} {old:%d %H:%M}")


@kind("fault08_far_north", "far_north", whole=True)
def far_north(draw: Draw) -> Attack:
    """A place in the far north, where no season of the fish exists."""
    return draw.done(strict=True)
