"""Mutations of official warnings."""

from __future__ import annotations

import copy
from datetime import timedelta
from typing import Any

from briefing.tools.attack.bases import ALERTS
from briefing.tools.attack.bodies import Answer, alert, alerts_answer, instant, square
from briefing.tools.attack.kinds import Attack, Draw, earlier, kind

ANY = ("alert_zone", "alert_shape", "alert_code")
PLAIN = ("alert_zone", "alert_shape")
SHAPE = ("alert_shape",)
HOUR = timedelta(hours=1)


def features(draw: Draw) -> list[Any]:
    """All messages of the list."""
    found: list[Any] = draw.answer(ALERTS).data["features"]
    return found


def message(draw: Draw) -> dict[str, Any]:
    """The one message that carries the hazard."""
    found: dict[str, Any] = features(draw)[0]
    return found


def inner(draw: Draw) -> dict[str, Any]:
    """Its properties."""
    found: dict[str, Any] = message(draw)["properties"]
    return found


def twin(draw: Draw, **changed: Any) -> dict[str, Any]:
    """A second message with the same id, put before or after the first one."""
    other = copy.deepcopy(message(draw))
    geometry = changed.pop("geometry", None)
    if geometry is not None:
        other["geometry"] = geometry
    other["properties"].update(changed)
    features(draw).insert(draw.pick([0, 1]), other)
    return other


# -- names ------------------------------------------------------------------------------------------------------------

_TURNS = (
    "{}.", "{}...", "{} ", " {}", "{}!", "{}:", "{},", "*{}*", "{} in effect", "{} IN EFFECT", "...{} IN EFFECT...",
    "{} in effect until 6 PM EDT", "<b>{}</b>", "{}&nbsp;", "{} &amp; more", "The {}", "{} (updated)", "{} - Update",
    "{}\n", "{}\t", "NWS {}", "{} issued July 11", "{}\u200b", "\ufeff{}", "{} remains in effect", "{} continues",
    "{} Extended", "Extended {}", "{} (Level 2)", "{} 2", "A {}", "{};", "\"{}\"", "{}/Marine", "{} Until 6 PM",
)  # fmt: skip


@kind("fault01_name_turned", *PLAIN)
def name_turned(draw: Draw) -> Attack:
    """The event's name with marks, blanks or words around it."""
    inner(draw)["event"] = draw.pick(_TURNS).replace("{}", draw.base.part)
    inner(draw)["severity"] = draw.pick(["Moderate", None, "Unknown", "Minor", ""])
    inner(draw)["headline"] = draw.pick([inner(draw)["headline"], "", None])
    return draw.done(f"{inner(draw)['event']!r} {inner(draw)['severity']}")


@kind("fault01_name_joined", *PLAIN)
def name_joined(draw: Draw) -> Attack:
    """The words of the name joined, parted or changed in case."""
    name = draw.base.part
    inner(draw)["event"] = draw.pick(
        [name.replace(" ", "-"), name.replace(" ", "\u00a0"), name.replace(" ", "_"), name.replace(" ", "  "),
         name.upper(), name.lower(), name.replace(" ", ""), name.replace(" ", " \u2013 "), name.swapcase(),
         name.replace(" ", "/"), name.replace("i", "\u0131"), name + "s", name.replace("d", "\uff44"),
         " ".join(reversed(name.split())), name.replace(" ", "\u2009"), name.replace(" ", "\u00ad "),
         name.replace(" ", "").upper(), name.replace(" ", "").lower(), name.replace(" ", "%20")]
    )  # fmt: skip
    inner(draw)["severity"] = draw.pick(["Moderate", None, "Unknown", "Minor"])
    return draw.done(f"{inner(draw)['event']!r} {inner(draw)['severity']}")


_LANGUAGES = (
    "Aviso de Viento", "Aviso de Vientos Fuertes", "Advertencia de Tormentas El\u00e9ctricas Severas",
    "Vigilancia de Tornado", "Avis de Vent Violent", "Avertissement de vent", "Veille d'orages violents",
    "Sturmwarnung", "\u5f37\u98a8\u6ce8\u610f\u5831", "Avertissement de coup de vent",
    "Aviso para Embarcaciones Menores",
)  # fmt: skip


@kind("fault01_name_language", *PLAIN)
def name_language(draw: Draw) -> Attack:
    """The event's name in another language."""
    inner(draw)["event"] = draw.pick(_LANGUAGES)
    inner(draw)["severity"] = draw.pick(["Moderate", None, "Unknown"])
    return draw.done(inner(draw)["event"])


_NEW = (
    "Wind Advisory Level 2", "Strong Wind Advisory", "Gale Force Wind Statement", "Lake Wind Statement",
    "Hazardous Lake Conditions Statement", "Thunderstorm Advisory", "Significant Weather Advisory",
    "Marine Wind Advisory", "Squall Advisory", "Lightning Safety Statement", "Small Craft Exercise Caution",
    "Small Craft Should Exercise Caution", "Dam Failure Warning", "Low Water Advisory", "Derecho Watch",
    "Wave Advisory",    "Rough Water Advisory", "Waterspout Warning", "Windstorm Warning", "Short Term Forecast",
)  # fmt: skip


@kind("fault01_name_new", *PLAIN)
def name_new(draw: Draw) -> Attack:
    """An event of a kind that is in no table."""
    inner(draw)["event"] = draw.pick(_NEW)
    inner(draw)["severity"] = draw.pick(["Moderate", None, "Unknown", "Minor"])
    return draw.done(f"{inner(draw)['event']} {inner(draw)['severity']}")


@kind("fault01_name_spoiled", *ANY)
def name_spoiled(draw: Draw) -> Attack:
    """No event's name that can be read."""
    value = draw.pick([None, "", " ", 7, [], ["Wind Advisory"], {"value": "Wind Advisory"}, "???", "-", True])
    inner(draw)["event"] = value
    if draw.pick([True, False]):
        inner(draw)["headline"] = draw.pick([None, "", 5])
    inner(draw)["severity"] = draw.pick(["Moderate", None])
    return draw.done(repr(value))


@kind("fault01_malformed", *ANY)
def malformed(draw: Draw) -> Attack:
    """A message that can't be read at all."""
    value = draw.pick([None, 5, "", [], {}, {"properties": None}, {"properties": []}, {"properties": {}},
                       {"properties": "Wind Advisory"}, {"properties": {"id": "x"}}, {"type": "Feature"}])  # fmt: skip
    features(draw)[0] = value
    return draw.done(repr(value))


@kind("alert_code_changed", "alert_code")
def code_changed(draw: Draw) -> Attack:
    """Event codes of other shapes, or none."""
    value = draw.pick([None, {}, [], "WIY", {"SAME": []}, {"SAME": [None]}, {"NationalWeatherService": ["ZZZ"]}])
    inner(draw)["eventCode"] = value
    if draw.pick([True, False]):
        inner(draw)["event"] = draw.pick(_TURNS).replace("{}", draw.base.part)
    return draw.done(f"{value!r} {inner(draw)['event']}")


@kind("alert_status_odd", *ANY)
def status_odd(draw: Draw) -> Attack:
    """Status and kind of message in odd forms (B7)."""
    key, value = draw.pick(
        [("status", None), ("status", "actual"), ("status", "ACTUAL"), ("status", ""), ("status", "Live"),
         ("status", 1), ("messageType", None), ("messageType", "alert"), ("messageType", "Correction"),
         ("messageType", "UPDATE"), ("messageType", "New"), ("messageType", ""), ("messageType", "Ack"),
         ("messageType", "Error"), ("scope", "Private"), ("language", "es-US"), ("certainty", "Unlikely"),
         ("response", "AllClear"), ("urgency", "Past"), ("urgency", "Future"), ("category", "Other")]
    )  # fmt: skip
    inner(draw)[key] = value
    return draw.done(f"{key} {value!r}")


# -- times ------------------------------------------------------------------------------------------------------------


@kind("fault02_ends_contradict", *ANY)
def ends_contradict(draw: Draw) -> Attack:
    """The event ends before it begins or was sent, its text is alive."""
    base = draw.base
    hours = draw.pick([1, 2, 5, 24, 24 * 30, 24 * 365])
    inner(draw)["ends"] = instant(base.now - hours * HOUR)
    inner(draw)["expires"] = instant(base.back + 4 * HOUR)
    inner(draw)["sent"] = inner(draw)["effective"] = instant(base.now - draw.pick([0.2, 0.9]) * HOUR)
    return draw.done(f"ends {hours} h before now")


@kind("fault02_expires_contradict", *ANY)
def expires_contradict(draw: Draw) -> Attack:
    """The text expires before it was sent, the event goes on (B5)."""
    inner(draw)["expires"] = instant(draw.base.now - draw.pick([0.2, 1, 5, 700]) * HOUR)
    return draw.done(strict=True)


@kind("fault02_onset_contradict", *ANY)
def onset_contradict(draw: Draw) -> Attack:
    """The event begins after its end, or in another century."""
    value = draw.pick([draw.base.back + 30 * HOUR, draw.base.now.replace(year=2062), draw.base.now.replace(year=1999)])
    inner(draw)["onset"] = instant(value)
    return draw.done(inner(draw)["onset"])


@kind("fault02_time_spoiled", *ANY)
def time_spoiled(draw: Draw) -> Attack:
    """A time of the message can't be read or is not there."""
    for key in draw.rng.sample(["sent", "effective", "onset", "expires", "ends"], draw.rng.randrange(1, 4)):
        inner(draw)[key] = draw.pick(
            [None, "", "noon", 1783760400, [], "2026-07-11", "2026-07-11T08:00:00", "2026-07-11 08:00:00 EDT",
             "2026-07-11T25:00:00-04:00", "Sat, 11 Jul 2026 08:00:00 -0400", "0000-00-00T00:00:00Z"]
        )  # fmt: skip
    return draw.done()


@kind("fault02_time_filler", *ANY)
def time_filler(draw: Draw) -> Attack:
    """A time is a filler of the first or the last year there is."""
    key = draw.pick(["sent", "effective", "onset", "expires", "ends"])
    inner(draw)[key] = draw.pick(
        ["0001-01-01T00:00:00Z", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59Z", "9999-12-31T23:59:59-12:00",
         "1900-01-01T00:00:00Z", "2400-01-01T00:00:00Z"]
    )  # fmt: skip
    return draw.done(f"{key} {inner(draw)[key]}")


@kind("fault02_ends_and_expires_past", *ANY)
def both_past(draw: Draw) -> Attack:
    """End and expiry both lie before the onset, which lies ahead."""
    inner(draw)["ends"] = instant(draw.base.now - 3 * HOUR)
    inner(draw)["expires"] = instant(draw.base.now - 2 * HOUR)
    inner(draw)["sent"] = inner(draw)["effective"] = instant(draw.base.now - 0.3 * HOUR)
    return draw.done()


@kind("fault02_twin_ended", *ANY)
def twin_ended(draw: Draw) -> Attack:
    """A second message of the same id that is over."""
    over = instant(draw.base.now - 2 * HOUR)
    twin(draw, ends=over, expires=over, sent=instant(draw.base.now - 9 * HOUR), onset=instant(draw.base.now - 8 * HOUR))
    return draw.done(strict=True)


@kind("fault02_twin_weaker", *ANY)
def twin_weaker(draw: Draw) -> Attack:
    """A second message of the same id, of a weaker kind or a test."""
    change = draw.pick(
        [{"event": "Frost Advisory", "severity": "Minor"}, {"status": "Test"}, {"event": "Air Quality Alert"},
         {"event": "Beach Hazards Statement"}, {"messageType": "Cancel"}, {"status": "Exercise"}, {"severity": "Minor"}]
    )  # fmt: skip
    twin(draw, **change, eventCode={})
    return draw.done(repr(change), strict=True)


@kind("fault02_twin_far", *ANY)
def twin_far(draw: Draw) -> Attack:
    """A second message of the same id whose polygon lies elsewhere."""
    north, east = draw.base.scene.place
    twin(draw, geometry=square((north + draw.pick([-9, 9]), east - 11), 0.5))
    return draw.done(strict=True)


@kind("fault02_twin_nameless", *ANY)
def twin_nameless(draw: Draw) -> Attack:
    """Two messages without an id."""
    over = instant(draw.base.now - 2 * HOUR)
    change = draw.pick([{"ends": over}, {"severity": "Minor"}, {"sent": over}, {"status": "Test"}])
    for one in (twin(draw, **change), features(draw)[0], features(draw)[1]):
        one["properties"]["id"] = None
        one.pop("id", None)
    return draw.done(repr(change), strict=True)


@kind("fault02_id_odd", *ANY)
def id_odd(draw: Draw) -> Attack:
    """Ids that are no text."""
    value = draw.pick([None, "", 5, [], {}, "x" * 5000])
    inner(draw)["id"] = value
    return draw.done(repr(value)[:20])


@kind("fault04_follows_elsewhere", *ANY)
def follows_elsewhere(draw: Draw) -> Attack:
    """An update or a cancel names the warning and is for another area, or stands under its own id."""
    base = draw.base
    name = inner(draw)["id"] = inner(draw).get("id") or "urn:oid:kept"
    inner(draw)["areaDesc"] = "Lake County"
    inner(draw)["sent"] = instant(base.now - 3 * HOUR)
    kind_of = draw.pick(["Update", "Cancel"])
    later = {"onset": instant(base.now + 20 * HOUR), "ends": instant(base.now + 30 * HOUR)}
    other = copy.deepcopy(message(draw))
    own_id = kind_of == "Cancel" and draw.pick([True, False])
    other["properties"].update(
        messageType=kind_of,
        id=name if own_id else "urn:oid:follows",
        areaDesc="Lake County" if own_id else "Desert County",
        references=[{"identifier": name, "sent": inner(draw)["sent"]}],
        sent=instant(base.now - HOUR),
        **(later if kind_of == "Update" else {}),
    )
    if not own_id and kind_of == "Cancel":
        inner(draw)["areaDesc"] = draw.pick(["Lake County", None])
    features(draw).insert(draw.pick([0, 1]), other)
    return draw.done(f"{kind_of}{' under its own id' if own_id else ''}", strict=True)


# -- places -----------------------------------------------------------------------------------------------------------


def ring(draw: Draw) -> list[list[float]]:
    """The ring of the polygon over the lake."""
    found: list[list[float]] = message(draw)["geometry"]["coordinates"][0]
    return found


@kind("fault03_longitude", *SHAPE)
def longitude(draw: Draw) -> Attack:
    """Longitudes from 0 to 360, or without their minus."""
    how = draw.pick(["360", "minus", "one"])
    for number, point in enumerate(ring(draw)):
        if how == "360":
            point[0] += 360.0
        elif how == "minus" or number in (1, 2):
            point[0] = -point[0]
    return draw.done(how)


@kind("fault03_rings_in_one", *SHAPE)
def rings_in_one(draw: Draw) -> Attack:
    """Two areas as the rings of one polygon, the lake in either."""
    north, east = draw.base.scene.place
    far = square((north + draw.pick([-0.9, 0.9]), east), 0.2)["coordinates"][0]
    rings = [far, copy.deepcopy(ring(draw))]
    if draw.pick([True, False]):
        rings.reverse()
    message(draw)["geometry"]["coordinates"] = rings
    return draw.done(strict=True)


@kind("fault03_off_by_some", *SHAPE)
def off_by_some(draw: Draw) -> Attack:
    """The polygon of a warning that a point of the lake listed lies a mistake of writing away."""
    north, east = draw.pick([(1.0, 0.0), (-1.0, 0.0), (0.0, -1.9), (0.0, 1.0), (0.35, 0.0), (-0.5, 0.5)])
    for point in ring(draw):
        reach = 0.1  # smaller than the sound one, so that it does not hold the lake any more
        point[0] = round(draw.base.scene.place[1] + (point[0] - draw.base.scene.place[1]) * reach + east, 4)
        point[1] = round(draw.base.scene.place[0] + (point[1] - draw.base.scene.place[0]) * reach + north, 4)
    return draw.done(f"{north}, {east}", strict=True)


@kind("fault03_swapped", *SHAPE)
def swapped(draw: Draw) -> Attack:
    """Latitude and longitude changed about."""
    for point in ring(draw):
        point.reverse()
    return draw.done()


@kind("fault03_no_area", *SHAPE)
def no_area(draw: Draw) -> Attack:
    """A polygon without any area."""
    how = draw.pick(["point", "line", "zero", "far line"])
    first, second = list(ring(draw)[0]), list(ring(draw)[1])
    far = [[first[0] + 3.0, first[1] + 3.0], [second[0] + 3.0, second[1] + 3.0]]
    message(draw)["geometry"]["coordinates"][0] = {
        "point": [first] * 4,
        "line": [first, second, first, first],
        "zero": [[0.0, 0.0]] * 5,
        "far line": [far[0], far[1], far[0], far[0]],
    }[how]
    return draw.done(how)


@kind("fault03_shape_odd", *SHAPE)
def shape_odd(draw: Draw) -> Attack:
    """A shape that can't be read."""
    value = draw.pick(
        [{}, [], "POLYGON((0 0))", {"type": "Polygon"}, {"type": "Polygon", "coordinates": []}, 5,
         {"type": "Polygon", "coordinates": [[]]}, {"type": "Point", "coordinates": [0, 0]},
         {"type": "LineString", "coordinates": [[0, 0], [1, 1]]}, {"type": "Polygon", "coordinates": [[[0, 0]]]},
         {"type": "GeometryCollection", "geometries": []}, {"type": "MultiPolygon", "coordinates": []},
         {"type": "Polygon", "coordinates": [[["a", "b"]] * 4]},
         {"type": "Polygon", "coordinates": [[[None, None]] * 5]},
         {"type": "Polygon", "coordinates": [[[999, 99]] * 5]}]
    )  # fmt: skip
    message(draw)["geometry"] = value
    return draw.done(repr(value)[:50])


@kind("fault03_turned_ring", *SHAPE)
def turned_ring(draw: Draw) -> Attack:
    """Rings clockwise, open, doubled, or with a third number."""
    how = draw.pick(["clockwise", "open", "doubled", "height", "multi"])
    points = ring(draw)
    if how == "multi":
        far = [[x + 20.0, y] for x, y in points]
        message(draw)["geometry"] = {"type": "MultiPolygon", "coordinates": [[far], [points]]}
    else:
        message(draw)["geometry"]["coordinates"][0] = {
            "clockwise": points[::-1],
            "open": points[:-1],
            "doubled": points + points,
            "height": [[*point, 0.0] for point in points],
        }[how]
    return draw.done(how, strict=how != "open")


# -- chains -----------------------------------------------------------------------------------------------------------


def follower(draw: Draw, kind_of_message: str, **changed: Any) -> dict[str, Any]:
    """A message that refers to the one in force, put before or after it."""
    own = inner(draw)
    references = [{"@id": f"https://api.weather.gov/alerts/{own['id']}", "identifier": own["id"],
                   "sender": "w-nws.webmaster@noaa.gov", "sent": own["sent"]}]  # fmt: skip
    base = draw.base
    values: dict[str, Any] = {
        "id": own["id"].replace(".001.1", ".002.1"),
        "messageType": kind_of_message,
        "references": references,
        "severity": own["severity"],
        **changed,
    }
    other = alert(base.scene, values.pop("event", own["event"]), base.scene.rough[0], base.back + 4 * HOUR, **values)
    features(draw).insert(draw.pick([0, 1]), other)
    return other


@kind("fault04_other_event", *ANY)
def other_event(draw: Draw) -> Attack:
    """An update or cancel of another kind of event refers to this one."""
    event = draw.pick(["Frost Advisory", "Air Quality Alert", "Beach Hazards Statement", "Heat Advisory"])
    follower(draw, draw.pick(["Update", "Cancel"]), event=event)
    return draw.done(event)


@kind("fault04_out_of_order", *ANY)
def out_of_order(draw: Draw) -> Attack:
    """An update or cancel that was sent before what it replaces."""
    over = instant(draw.base.now - HOUR)
    which = draw.pick(["Update", "Cancel"])
    early = instant(draw.base.now - draw.pick([3, 9, 30]) * HOUR)
    follower(draw, which, sent=early, effective=early, ends=over, expires=over)
    return draw.done(which)


@kind("fault04_circle", *ANY)
def circle(draw: Draw) -> Attack:
    """Two messages that replace each other."""
    own = message(draw)["properties"]
    over = instant(draw.base.now - HOUR)
    other = follower(draw, draw.pick(["Update", "Cancel"]), **draw.pick([{}, {"ends": over, "expires": over}]))
    own["messageType"] = draw.pick(["Update", "Alert"])
    own["references"] = [{"identifier": other["properties"]["id"]}]
    return draw.done(own["messageType"])


@kind("fault04_itself", *ANY)
def itself(draw: Draw) -> Attack:
    """A message that refers to itself."""
    inner(draw)["references"] = [{"identifier": inner(draw)["id"]}]
    inner(draw)["messageType"] = draw.pick(["Update", "Alert"])
    return draw.done(strict=True)


@kind("fault04_not_real", *ANY)
def not_real(draw: Draw) -> Attack:
    """An update or cancel of a test refers to this one."""
    follower(draw, draw.pick(["Update", "Cancel"]), status=draw.pick(["Test", "Exercise", "Draft", "System"]))
    return draw.done(strict=True)


@kind("fault04_elsewhere", *ANY)
def update_elsewhere(draw: Draw) -> Attack:
    """An update whose polygon lies elsewhere refers to this one."""
    north, east = draw.base.scene.place
    follower(draw, "Update", geometry=square((north + 9, east - 11), 0.5))
    return draw.done()


@kind("fault04_update_off_the_lake", *ANY)
def update_off_the_lake(draw: Draw) -> Attack:
    """An update for the same area by name, whose polygon lies one county further, refers to this one."""
    north, east = draw.base.scene.place
    off = draw.pick([0.5, 1.0, 1.5, 1.9, -0.6])
    sent = instant(draw.base.now - HOUR)
    follower(draw, "Update", geometry=square((north + off, east), 0.1), sent=sent, areaDesc=inner(draw)["areaDesc"])
    if draw.pick([True, False]):
        return draw.done(f"{off} degrees")
    first = earlier(draw.base, HOUR)
    features(draw)[:] = [one for one in features(draw) if one["properties"]["messageType"] == "Update"]
    return draw.done(f"{off} degrees, alone", before=(first,), sound_before=(first,))


@kind("fault02_sent_ahead", *ANY)
def sent_ahead(draw: Draw) -> Attack:
    """The times that begin the message lie ahead of now, or after those that end it."""
    _, end = draw.base.scene.rough
    later = instant(draw.base.now + timedelta(minutes=draw.pick([15, 60, 180, 1440])))
    inner(draw).update(
        draw.pick(
            [
                {"sent": later, "effective": later, "onset": later, "ends": instant(end), "expires": instant(end)},
                {"sent": later, "effective": None, "onset": None, "ends": instant(end + 6 * HOUR), "expires": None},
                {"sent": later, "effective": later, "onset": None, "ends": None, "expires": instant(end + 6 * HOUR)},
            ]
        )
    )
    return draw.done(later)


@kind("fault04_part_of_the_area", *ANY)
def update_for_a_part(draw: Draw) -> Attack:
    """An update for one of the two counties that the warning names: nearby, for later, or shorter."""
    north, east = draw.base.scene.place
    begin, end = draw.base.scene.rough
    inner(draw)["areaDesc"] = "Lake County; Orange County"
    change = draw.pick(
        [
            {"geometry": square((north + draw.pick([1, -1]), east + draw.pick([1, -1])), 0.3)},
            {
                "onset": instant(begin + 24 * HOUR),
                "ends": instant(end + 24 * HOUR),
                "expires": instant(end + 24 * HOUR),
            },
            {"ends": instant(begin + timedelta(minutes=1))},
            {"ends": instant(draw.base.now - HOUR / 2), "expires": instant(draw.base.now - HOUR / 2)},
        ]
    )
    follower(draw, "Update", areaDesc=draw.pick(["Lake County", "Orange County"]), **change)
    return draw.done(", ".join(change), strict=True)


@kind("fault02_twin_reworded", *PLAIN)
def twin_reworded(draw: Draw) -> Attack:
    """A harmless event whose headline names the warning, and a newer twin of it whose headline doesn't."""
    event = draw.pick(["Frost Advisory", "Air Quality Alert", "Beach Hazards Statement"])
    inner(draw).update(event=event, headline=f"{draw.base.part} issued July 11 by NWS Composed Office", eventCode=None)
    twin(draw, headline=f"{event} issued July 11 by NWS Composed Office", sent=instant(draw.base.now - HOUR / 2))
    return draw.done(event)


@kind("text_half_character", *ANY, whole=True)
def half_character(draw: Draw) -> Attack:
    """Half a character, which JSON can hold and no text can, in one of the message's texts."""
    key = draw.pick(["event", "headline", "description", "instruction", "areaDesc", "senderName", "id"])
    half = draw.pick([" ", ""]) + draw.pick(["\ud83c", "\udf2a", "\udfff"])
    inner(draw)[key] = f"{inner(draw).get(key) or ''}{half}"
    return draw.done(key, strict=True)


@kind("fault04_references_odd", *ANY)
def references_odd(draw: Draw) -> Attack:
    """References that can't be read."""
    value = draw.pick([None, "", "x", {}, [None], [5], [{}], [{"identifier": None}], ["urn:x"], [[]]])
    inner(draw)["references"] = value
    inner(draw)["messageType"] = draw.pick(["Alert", "Update"])
    return draw.done(repr(value))


@kind("alert_cancel_vague", *ANY)
def cancel_vague(draw: Draw) -> Attack:
    """A cancel that names nothing."""
    follower(draw, "Cancel", references=draw.pick([[], None, [{}], [{"identifier": ""}]]))
    return draw.done()


# -- the list ---------------------------------------------------------------------------------------------------------


@kind("alert_list_reshaped", *ANY)
def list_reshaped(draw: Draw) -> Attack:
    """The list of warnings is no list, cut or in pages."""
    answer = draw.answer(ALERTS)
    body = answer.data
    how = draw.pick(["null", "object", "gone", "array", "pages", "graph", "nested", "text"])
    answer.data = {
        "null": {**body, "features": None},
        "object": {**body, "features": {"0": body["features"][0]}},
        "gone": {"type": "FeatureCollection"},
        "array": [],
        "pages": {**body, "features": [], "pagination": {"next": "https://api.weather.gov/alerts/active?cursor=x"}},
        "graph": {"@graph": [one["properties"] for one in body["features"]]},
        "nested": {"data": body},
        "text": {**body, "features": "none"},
    }[how]
    return draw.done(how)


@kind("alert_list_emptied", *ANY)
def list_emptied(draw: Draw) -> Attack:
    """The list holds no message, and something beside it says that there are some, or that it is an error."""
    beside: dict[str, Any] = draw.pick(
        [{"status": 500, "title": "Unexpected Problem"}, {"status": "503"}, {"numberMatched": 3, "numberReturned": 0},
         {"@graph": [inner(draw)]}, {"@graph": inner(draw)}, {"pagination": ["https://x.invalid"]},
         {"pagination": {"next": {"href": "x"}}}, {"pagination": {"next": 1}}, {"pagination": "https://x.invalid"},
         {"links": [{"rel": "next", "href": "x"}]}, {"type": "https://api.weather.gov/problems/UnexpectedProblem"}]
    )  # fmt: skip
    draw.bodies[ALERTS] = alerts_answer([], **beside)
    return draw.done(repr(beside)[:40])


@kind("alert_crowd", *ANY)
def crowd(draw: Draw) -> Attack:
    """The message among hundreds of others (B11)."""
    scene = draw.base.scene
    others = [
        alert(scene, "Air Quality Alert", scene.now - HOUR, scene.now + n * HOUR, id=f"urn:crowd:{n}")
        for n in range(1, draw.pick([8, 60]))
    ]
    features(draw).extend(others)
    draw.rng.shuffle(features(draw))
    return draw.done(strict=True)


@kind("alert_other_broken", *ANY)
def other_broken(draw: Draw) -> Attack:
    """Another message of the list can't be read."""
    value = draw.pick([None, 5, {}, {"properties": {"event": None}}])
    features(draw).insert(draw.pick([0, 1]), value)
    return draw.done(repr(value))


@kind("alert_vanished", *ANY)
def vanished(draw: Draw) -> Attack:
    """A warning that is no longer listed and was never cancelled."""
    before = (earlier(draw.base, timedelta(hours=draw.pick([1, 2, 3]))),)
    draw.bodies[ALERTS] = alerts_answer([])
    return draw.done(before=before, sound_before=before)


@kind("alert_renumbered", *ANY)
def renumbered(draw: Draw) -> Attack:
    """The same warning a run later under a new id, without references."""
    before = (earlier(draw.base, timedelta(hours=1)),)
    inner(draw)["id"] = inner(draw)["id"] + ".9"
    return draw.done(before=before, sound_before=before, strict=True)


@kind("alert_property_odd", *ANY)
def property_odd(draw: Draw) -> Attack:
    """Any one property of another type (C6)."""
    key = draw.pick(sorted(inner(draw)))
    value = draw.pick([None, 5, [], {}, True, "", ["x"], {"x": 1}, "x" * 3000])
    inner(draw)[key] = value
    return draw.done(f"{key} {value!r}"[:60])


@kind("alert_property_gone", *ANY)
def property_gone(draw: Draw) -> Attack:
    """Any one property is not there (C6)."""
    key = draw.pick(sorted(inner(draw)))
    del inner(draw)[key]
    return draw.done(key)


# -- texts of marine offices ------------------------------------------------------------------------------------------

_SAYINGS = (
    "WINDS TO 40 KNOTS", "winds in excess of 34 knots", "T-STORMS", "tstms with strong winds", "squalls to 45 mph",
    "a line of storms", "showers producing winds to 50 mph", "storms capable of damaging winds", "Thunder-storms",
    "thunder\u00adstorms", "frequent cloud to ground strikes", "waterspouts", "water spouts", "gusty winds",
    "GUSTS 35 KT", "sudden winds of 35 to 45 mph",
    "a microburst", "strong downdrafts", "a squall line", "Thunder and Lightning",
)  # fmt: skip


@kind("marine_text_words", "marine_text")
def marine_words(draw: Draw) -> Attack:
    """Statements that say storm and wind in other words."""
    inner(draw)["description"] = f"At 700 AM EDT, Doppler radar indicated {draw.pick(_SAYINGS)} over the lake."
    return draw.done(inner(draw)["description"][38:])


@kind("marine_text_place", "marine_text")
def marine_place(draw: Draw) -> Attack:
    """The words stand in another part of the message."""
    said = inner(draw).pop("description")
    part = draw.pick(["headline", "instruction", "note", "parameters", "description list"])
    if part == "parameters":
        inner(draw)["parameters"] = {"NWSheadline": ["STRONG THUNDERSTORMS OVER THE LAKE"], "maxWindGust": ["45 MPH"]}
    elif part == "description list":
        inner(draw)["description"] = [said]
    else:
        inner(draw)[part] = said
    return draw.done(part)


@kind("marine_text_gone", "marine_text")
def marine_gone(draw: Draw) -> Attack:
    """A statement whose text is not there."""
    inner(draw)["description"] = draw.pick([None, "", 5, [], "..."])
    return draw.done(repr(inner(draw)["description"]))


@kind("alert_point_and_zone", *ANY)
def point_and_zone(draw: Draw) -> Attack:
    """The answers of point and zone contradict each other."""
    full, which = draw.answer(ALERTS), draw.pick(["point", "zone"])
    broken = draw.pick([Answer({"title": "x"}, 500), Answer({"type": "FeatureCollection", "features": []})])
    draw.bodies[ALERTS] = lambda query: broken if which in query else full
    return draw.done(f"{which} {broken.status}", strict=True)
