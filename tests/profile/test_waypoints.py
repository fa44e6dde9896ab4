"""Waypoints from GPX and KML."""

from pathlib import Path

import pytest

from briefing.errors import InputError, NotFoundError
from briefing.profile.waypoints import parse_waypoints, read_waypoints

GPX = b"""<?xml version="1.0"?>
<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">
  <wpt lat="30.3101" lon="-83.2201"><name> Long  edge </name><desc>grass &amp; sand</desc></wpt>
  <wpt lat="30.3102" lon="-83.2202"><name>Long edge</name></wpt>
  <wpt lat="30.3103" lon="-83.2203"/>
  <wpt lat="north" lon="-84.2"><name>bad</name></wpt>
  <wpt lat="130.0" lon="-84.2"><name>off the globe</name></wpt>
  <trk><trkseg><trkpt lat="1" lon="2"/></trkseg></trk>
</gpx>"""
KML = b"""<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder>
  <Placemark><name>Pads</name><Point><coordinates>-83.22,30.31,0</coordinates></Point></Placemark>
  <Placemark><name>Shore</name><LineString><coordinates>-84,30 -84,31</coordinates></LineString></Placemark>
  <Placemark><name>Broken</name><Point><coordinates>-83.22</coordinates></Point></Placemark>
</Folder></Document></kml>"""


def test_gpx_waypoints_with_names_kept_apart() -> None:
    points = parse_waypoints(GPX, "a.gpx")
    assert [(point.name, point.latitude, point.longitude) for point in points] == [
        ("Long edge", 30.3101, -83.2201),
        ("Long edge 2", 30.3102, -83.2202),
        ("Waypoint 3", 30.3103, -83.2203),
    ]
    assert points[0].notes == "grass & sand"


def test_kml_points_have_longitude_first() -> None:
    (point,) = parse_waypoints(KML, "a.kml")
    assert (point.name, point.latitude, point.longitude) == ("Pads", 30.31, -83.22)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"<gpx><wpt", "broken XML"),
        (b"", "broken XML"),
        (b"<html></html>", "neither GPX nor KML"),
        (b"<gpx></gpx>", "holds no waypoints"),
        (b'<!DOCTYPE x [<!ENTITY a "b">]><gpx>&a;</gpx>', "not a plain GPX or KML"),
        (b"PK\x03\x04 a zipped file", "broken XML"),
        (b"\xff\xfe<\x00g\x00", "broken XML|not a plain"),
    ],
)
def test_other_files_are_refused_in_one_sentence(body: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        parse_waypoints(body, "a.gpx")
    assert str(caught.value).startswith("a.gpx")
    assert "\n" not in str(caught.value)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(NotFoundError, match="There is no file"):
        read_waypoints(tmp_path / "none.gpx")
