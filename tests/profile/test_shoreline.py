"""Shoreline files of an invented lake near 40 N 90 W, about 850 m by 1,100 m."""

import json
import random
from pathlib import Path
from typing import Any

import pytest

from briefing.errors import ProfileError
from briefing.profile.shoreline import read_shoreline

LAT, LON = 40.005, -90.005
OUTER = [[-90.01, 40.0], [-90.0, 40.0], [-90.0, 40.01], [-90.01, 40.01], [-90.01, 40.0]]
ISLAND = [[-90.003, 40.002], [-90.002, 40.002], [-90.002, 40.003], [-90.003, 40.003], [-90.003, 40.002]]
ELSEWHERE = [[lon + 0.5, lat] for lon, lat in OUTER]


def polygon(*rings: Any) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": list(rings)}


def geojson(tmp_path: Path, body: Any, name: str = "lake.geojson") -> Path:
    path = tmp_path / name
    path.write_text(body if isinstance(body, str) else json.dumps(body), encoding="utf-8")
    return path


def kml(*polygons: str) -> str:
    inner = "".join(f"<Placemark>{one}</Placemark>" for one in polygons)
    return f'<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>{inner}</Document></kml>'


def coordinates(ring: list[list[float]]) -> str:
    return f"<LinearRing><coordinates>{' '.join(f'{x},{y},0' for x, y in ring)}</coordinates></LinearRing>"


def track(ring: list[list[float]]) -> str:
    points = "".join(f'<trkpt lat="{lat}" lon="{lon}"/>' for lon, lat in ring)
    return f"<trk><trkseg>{points}</trkseg></trk>"


def check(shape: Any, islands: int = 0) -> None:
    area = 852.9 * 1110.3 - islands * 85.3 * 111.0
    assert shape.area_m2 == pytest.approx(area, rel=0.005)
    assert len(shape.islands_xy_m) == islands
    assert shape.contains([[0.0, 0.0]]).all()
    assert not shape.assumed
    assert (shape.lat_deg, shape.lon_deg) == (LAT, LON)


@pytest.mark.parametrize(
    "body",
    [
        polygon(OUTER),
        {"type": "Feature", "properties": {}, "geometry": polygon(OUTER)},
        {
            "type": "FeatureCollection",
            "features": [
                {"type": "Feature", "geometry": None},
                {"type": "Feature", "geometry": {"type": "Point", "coordinates": [LON, LAT]}},
                {"type": "Feature", "geometry": polygon(ELSEWHERE)},
                {"type": "Feature", "geometry": polygon(OUTER)},
            ],
        },
        {"type": "MultiPolygon", "coordinates": [[ELSEWHERE], [OUTER]]},
        {"type": "GeometryCollection", "geometries": [polygon([[*pair, 120.0] for pair in OUTER])]},
    ],
    ids=["polygon", "feature", "collection", "multipolygon", "with heights"],
)
def test_geojson_in_its_forms(tmp_path: Path, body: Any) -> None:
    check(read_shoreline(geojson(tmp_path, body), LAT, LON))


def test_islands_are_kept(tmp_path: Path) -> None:
    check(read_shoreline(geojson(tmp_path, polygon(OUTER, ISLAND), "lake.json"), LAT, LON), islands=1)


def test_kml_with_an_island(tmp_path: Path) -> None:
    one = (
        f"<Polygon><outerBoundaryIs>{coordinates(OUTER)}</outerBoundaryIs>"
        f"<innerBoundaryIs>{coordinates(ISLAND)}</innerBoundaryIs></Polygon>"
    )
    path = tmp_path / "lake.kml"
    path.write_text(kml(one), encoding="utf-8")
    check(read_shoreline(path, LAT, LON), islands=1)


def test_gpx_tracks_around_the_lake_and_its_island(tmp_path: Path) -> None:
    path = tmp_path / "lake.gpx"
    path.write_text(
        f'<gpx xmlns="http://www.topografix.com/GPX/1/1">{track(ISLAND)}{track(OUTER)}</gpx>', encoding="utf-8"
    )
    check(read_shoreline(path, LAT, LON), islands=1)


def test_an_open_track_is_no_outline(tmp_path: Path) -> None:
    path = tmp_path / "walk.gpx"
    path.write_text(f"<gpx>{track(OUTER[:3])}</gpx>", encoding="utf-8")
    with pytest.raises(ProfileError, match="no polygon"):
        read_shoreline(path, LAT, LON)


def test_a_crossed_ring_is_repaired_to_the_part_that_holds_the_lake(tmp_path: Path) -> None:
    bow_tie = [[-90.01, 40.0], [-90.0, 40.0], [-90.01, 40.02], [-90.0, 40.02], [-90.01, 40.0]]
    shape = read_shoreline(geojson(tmp_path, polygon(bow_tie)), 40.003, -90.005)
    assert shape.contains([[0.0, 0.0]]).all()
    assert shape.area_m2 == pytest.approx(0.5 * 852.9 * 1110.3, rel=0.01)


def test_a_position_on_the_island_or_just_ashore_still_finds_the_lake(tmp_path: Path) -> None:
    path = geojson(tmp_path, polygon(OUTER, ISLAND))
    assert len(read_shoreline(path, 40.0025, -90.0025).islands_xy_m) == 1
    assert read_shoreline(path, 40.005, -90.013).area_m2 > 9e5


@pytest.mark.parametrize(
    ("body", "name", "word"),
    [
        (polygon(ELSEWHERE), "lake.geojson", "does not hold the lake's position"),
        ("{ not json", "lake.geojson", "not readable as GeoJSON"),
        ("[" * 5000, "lake.geojson", "not readable as GeoJSON"),
        ([1, 2], "lake.geojson", "not built as GeoJSON"),
        ({"type": "FeatureCollection"}, "lake.geojson", "not built as GeoJSON"),
        ({"type": "Point", "coordinates": [0, 0]}, "lake.geojson", "no polygon"),
        (polygon([[436000.0, 4428000.0], [437000.0, 4428000.0], [437000.0, 4429000.0]]), "lake.geojson", "WGS 84"),
        (polygon([[float("nan"), 40.0], [-90.0, 40.0], [-90.0, 40.1]]), "lake.geojson", "not a number"),
        (polygon([[-90.0, 40.0], [-90.0, 40.0], [-90.0, 40.0]]), "lake.geojson", "three different"),
        (polygon([[-90.0, 40.0], [-90.0, 40.01], [-90.0, 40.02], [-90.0, 40.0]]), "lake.geojson", "with an area"),
        (polygon([[-95.0, 35.0], [-80.0, 35.0], [-80.0, 45.0], [-95.0, 45.0]]), "lake.geojson", "no lake"),
        ("<kml><Polygon>", "lake.kml", "not readable as XML"),
        ("<!DOCTYPE x [<!ENTITY a 'b'>]><kml/>", "lake.kml", "entities"),
        ("<gpx><trk><trkseg><trkpt lat='x' lon='1'/></trkseg></trk></gpx>", "lake.gpx", "can't be read"),
        ("anything", "lake.shp", "accepted are"),
    ],
)
def test_nonsense_is_refused_with_a_clear_word(tmp_path: Path, body: Any, name: str, word: str) -> None:
    with pytest.raises(ProfileError, match=word) as caught:
        read_shoreline(geojson(tmp_path, body, name), LAT, LON)
    assert name in str(caught.value)


def mutated(rng: random.Random, node: Any) -> Any:
    """Change the structure of a body somewhere: drop, repeat, retype or nest a piece."""
    odd = (None, "x", [], {}, 1e309, 10**400, -1, True, [[]], {"type": "Polygon"})
    if rng.random() < 0.08:
        return rng.choice(odd)
    if isinstance(node, dict):
        return {key: mutated(rng, value) for key, value in node.items() if rng.random() > 0.03}
    if isinstance(node, list):
        kept = [mutated(rng, value) for value in node if rng.random() > 0.03]
        return kept + kept[:1] if rng.random() < 0.1 else kept
    return node


def test_mutated_bodies_are_read_or_refused_never_a_traceback(tmp_path: Path) -> None:
    rng = random.Random(7)
    body = {"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": polygon(OUTER, ISLAND)}]}
    read = 0
    for _ in range(400):
        try:
            shape = read_shoreline(geojson(tmp_path, mutated(rng, body)), LAT, LON)
        except ProfileError:
            continue
        read += 1
        assert shape.area_m2 > 0.0
    assert read > 0


def test_a_missing_file_is_a_profile_error(tmp_path: Path) -> None:
    with pytest.raises(ProfileError, match="can't be read"):
        read_shoreline(tmp_path / "none.geojson", LAT, LON)
    path = tmp_path / "latin.geojson"
    path.write_bytes(b"\xff\xfe\xfa")
    with pytest.raises(ProfileError, match="UTF-8"):
        read_shoreline(path, LAT, LON)
