"""Mutations of gauges, where the cold of the water is what stops."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from briefing.tools.attack.bases import DAILY, LATEST
from briefing.tools.attack.bodies import (
    SITE,
    Answer,
    collection,
    instant,
    site_body,
    water_daily,
    water_latest,
    water_value,
)
from briefing.tools.attack.kinds import Attack, Draw, kind
from briefing.tools.attack.on_grid import SPOILED

BASE = "cold_water"


def temperatures(draw: Draw) -> list[dict[str, Any]]:
    """Properties of all values of water temperature."""
    rows = [one["properties"] for route in (LATEST, DAILY) for one in draw.answer(route).data["features"]]
    return [row for row in rows if row["parameter_code"] == "00010"]


@kind("fault07_old_warm", BASE, whole=True)
def old_warm(draw: Draw) -> Attack:
    """The gauge's last values are weeks old and warm."""
    days = draw.pick([8, 10, 14, 20, 28])
    scene = draw.base.scene
    draw.bodies[LATEST] = Answer(water_latest(scene, 24.0, minutes=days * 1440))
    today = scene.now.date() - timedelta(days=days)
    draw.bodies[DAILY] = Answer(
        collection(
            [water_value("00010", (today - timedelta(days=n)).isoformat(), "24.0", True) for n in range(10, 0, -1)]
        )
    )
    return draw.done(f"{days} days")


@kind("water_days_lost", BASE, whole=True)
def days_lost(draw: Draw) -> Attack:
    """The last days of the gauge are missing, so that its cold value of now stands alone against warm weeks."""
    today, lost = draw.base.scene.now.date(), draw.pick([3, 4, 5, 6, 8])
    warm = [(n, 19.0) for n in range(20, 5, -1)]
    falling = [(n, 13.0 + 1.2 * (n - 1)) for n in range(5, 0, -1)]

    def days(rows: list[tuple[int, float]]) -> Answer:
        return Answer(
            collection(
                [
                    water_value("00010", (today - timedelta(days=n)).isoformat(), f"{value:.1f}", True)
                    for n, value in rows
                ]
            )
        )

    sound = dict(draw.bodies)
    sound[DAILY] = days([*warm, *falling])
    draw.bodies[DAILY] = days([(n, value) for n, value in (*warm, *falling) if n > lost])
    return draw.done(f"{lost} days", sound=sound)


@kind("fault07_stream", "no_gauge", whole=True)
def stream(draw: Draw) -> Attack:
    """The gauge stands in a warm stream or below a dam, not in the lake."""
    scene, kind_of = draw.base.scene, draw.pick([("ST", "Stream"), ("ST-CA", "Canal"), ("ST-DCH", "Ditch")])
    draw.bodies[LATEST] = Answer(water_latest(scene, 25.0))
    draw.bodies[DAILY] = Answer(water_daily(scene, 25.0))
    draw.bodies["/usgs/sites"] = Answer(site_body(*kind_of))
    return draw.done(kind_of[1])


@kind("water_value_spoiled", BASE, whole=True)
def value_spoiled(draw: Draw) -> Attack:
    """The temperatures are sentinels, ice or no numbers (G1, G2)."""
    value = draw.pick([*SPOILED, "-999999", "-5.0", "99.9", None, "Ice", "Eqp", "***", "-28316.8"])
    for row in temperatures(draw):
        row["value"] = value
        row["qualifier"] = draw.pick([None, ["ICE"], "EQUIP", []])
    return draw.done(repr(value))


@kind("water_unit_odd", BASE, whole=True)
def unit_odd(draw: Draw) -> Attack:
    """The unit of the temperatures is another or not there."""
    unit = draw.pick([None, "", "degF", "deg C", "K", "ft", 5])
    for row in temperatures(draw):
        row["unit_of_measure"] = unit
    return draw.done(repr(unit))


@kind("water_time_odd", BASE, whole=True)
def time_odd(draw: Draw) -> Attack:
    """The times of the temperatures can't be read or lie in the future."""
    value = draw.pick([None, "", "now", 5, "2026-10-03T08:00:00", instant(draw.base.now + timedelta(days=3))])
    for row in temperatures(draw):
        row["time"] = value
    return draw.done(repr(value))


@kind("water_days_ahead", BASE, whole=True)
def days_ahead(draw: Draw) -> Attack:
    """Daily values that are dated after today, cold or warm ones; nothing newer is there (C4)."""
    value, first = draw.pick(["13.0", "24.0", "28.0"]), draw.pick([1, 2, 40])
    today = draw.base.scene.now.date()
    days = [(today + timedelta(days=first + n)).isoformat() for n in range(draw.pick([1, 12]))]
    draw.bodies[LATEST] = Answer(collection([]))
    draw.bodies[DAILY] = Answer(collection([water_value("00010", at, value, True) for at in days]))
    return draw.done(f"{value} on {len(days)} days from {first} days ahead")


@kind("water_warm_twin", BASE, whole=True)
def warm_twin(draw: Draw) -> Attack:
    """A second sensor or value that is warm (G4, G9)."""
    how = draw.pick(["sensor", "same series", "maximum", "other site"])
    for route in (LATEST, DAILY):
        rows = draw.answer(route).data["features"]
        for one in [row for row in rows if row["properties"]["parameter_code"] == "00010"]:
            change = {
                "sensor": {"time_series_id": "a-second"},
                "same series": {},
                "maximum": {"statistic_id": "00001"},
                "other site": {"monitoring_location_id": SITE.replace("0199", "0198")},
            }[how]
            twin = {**one, "properties": {**one["properties"], "value": "25.0", **change}}
            rows.insert(draw.pick([0, len(rows)]), twin)
    return draw.done(how)


@kind("water_list_odd", BASE, whole=True)
def list_odd(draw: Draw) -> Attack:
    """The lists of values are no lists, or go on where they can't be followed (G6)."""
    value = draw.pick(
        [{}, {"features": None}, {"features": {}}, {"features": [None]}, {"features": [{}]}, [],
         {"features": [], "links": [{"rel": "next", "href": "https://x.invalid/next"}]}, collection([])]
    )  # fmt: skip
    for route in draw.pick([(LATEST,), (DAILY,), (LATEST, DAILY)]):
        draw.bodies[route] = Answer(value)
    return draw.done(repr(value)[:40])
