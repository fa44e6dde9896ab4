import xml.etree.ElementTree as ElementTree
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from briefing.report.lake_map import lake_map
from briefing.sections.lake_map import MapPlace, MapSection, outline

SPACE = "{http://www.w3.org/2000/svg}"
SQUARE = ((-500.0, -500.0), (500.0, -500.0), (500.0, 500.0), (-500.0, 500.0))
ISLAND = ((-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0))


def section(**changes: Any) -> MapSection:
    values = {
        "rings_m": (SQUARE, ISLAND),
        "assumed": False,
        "places": (
            MapPlace(name="north <ramp>", kind="ramp", x_m=0.0, y_m=498.0),
            MapPlace(name="reeds", kind="spot", x_m=300.0, y_m=0.0),
        ),
        "start": None,
        "wind_label": "wind W, 4 to 9 mph",
        "wind_from_deg": 270.0,
        "wind_hour": datetime(2026, 6, 3, 15, tzinfo=UTC),
        "wind_text": "wind",
        "text": "Shoreline from a file & wind from the west.",
    }
    return MapSection(**{**values, **changes})


def drawn(**changes: Any) -> ElementTree.Element:
    return ElementTree.fromstring(lake_map(section(**changes), units="us"))


def lines(root: ElementTree.Element, name: str) -> list[list[tuple[float, float]]]:
    shore = [node for node in root.iter(f"{SPACE}path") if node.attrib.get("class") == name]
    found = [run for node in shore for run in node.attrib["d"].split("M ") if run]
    return [[(float(a), float(b)) for a, b in (pair.split(",") for pair in text.split())] for text in found]


def words(root: ElementTree.Element) -> list[str]:
    return [node.text or "" for node in root.iter(f"{SPACE}text")]


def test_the_image_is_well_formed_with_a_text_equivalent() -> None:
    root = drawn()
    assert root.attrib["role"] == "img"
    assert root.find(f"{SPACE}desc").text == "Shoreline from a file & wind from the west."
    titles = [node.text for node in root.iter(f"{SPACE}title")]
    assert "north <ramp>" in titles
    assert "reeds" in titles
    assert words(root) == ["N", "wind W, 4 to 9 mph", "1000 ft", "wind-blown", "sheltered", "ramp", "place"]


def test_west_wind_marks_the_east_bank_and_the_west_side_of_the_island() -> None:
    root = drawn()
    middle = 150.0
    blown, sheltered = lines(root, "map-blown"), lines(root, "map-sheltered")
    assert len(blown) == len(sheltered) == 2
    assert blown[0][0][0] == blown[0][1][0] > middle
    assert sheltered[0][0][0] == sheltered[0][1][0] < middle
    assert blown[1][0][0] < middle < sheltered[1][0][0]


def test_north_is_up() -> None:
    root = drawn(
        places=(
            MapPlace(name="n", kind="spot", x_m=0.0, y_m=400.0),
            MapPlace(name="s", kind="spot", x_m=0.0, y_m=-400.0),
        )
    )
    first, second = [float(node.attrib["cy"]) for node in root.findall(f"{SPACE}circle")]
    assert first < second


def test_without_a_direction_no_shore_is_marked() -> None:
    root = drawn(wind_from_deg=None)
    assert lines(root, "map-blown") == lines(root, "map-sheltered") == []
    assert len(lines(root, "map-along")) == 2
    assert "wind-blown" not in words(root)


def test_an_assumed_outline_says_so() -> None:
    assert any("shoreline assumed" in text for text in words(drawn(assumed=True)))
    assert not any("assumed" in text for text in words(drawn()))


@pytest.mark.parametrize(
    ("half", "units", "label"),
    [(500.0, "us", "1000 ft"), (500.0, "metric", "200 m"), (9000.0, "us", "2 miles"), (9000.0, "metric", "5 km")],
)
def test_the_scale_bar_is_as_long_as_it_says(half: float, units: str, label: str) -> None:
    ring = tuple((x * half / 500.0, y * half / 500.0) for x, y in SQUARE)
    root = ElementTree.fromstring(lake_map(section(rings_m=(ring,), places=()), units=units))
    assert label in words(root)
    bar = next(node for node in root.iter(f"{SPACE}g") if node.attrib["class"] == "map-scale").find(f"{SPACE}path")
    start, end = float(bar.attrib["d"].split()[1].split(",")[0]), float(bar.attrib["d"].split()[5])
    shore = [x for line in lines(root, "map-along") + lines(root, "map-blown") for x, _ in line]
    per_metre = (max(shore) - min(shore)) / (2.0 * half)
    metres = {"ft": 0.3048, "m": 1.0, "miles": 1609.344, "km": 1000.0}[label.split()[1]] * float(label.split()[0])
    assert end - start == pytest.approx(metres * per_metre, abs=0.2)


def test_a_large_outline_stays_small_on_the_page() -> None:
    angle = np.linspace(0.0, 2.0 * np.pi, 20_000, endpoint=False)
    ring = np.stack([4000 * np.cos(angle), 3000 * np.sin(angle)], axis=-1)
    image = lake_map(section(rings_m=outline([ring, 0.001 * ring])), units="us")
    assert len(image) < 40_000
    assert outline([]) == ()
    assert outline([ring])[0][0] == (4000.0, 0.0)
    assert len(outline([ring, 0.001 * ring])) == 1  # an islet of 8 m is no triangle on a page


START = MapPlace(name="ramp", kind="ramp", x_m=0.0, y_m=-450.0)
ROUTE = (
    MapPlace(name="reeds", kind="spot", number=2, x_m=300.0, y_m=0.0),
    MapPlace(name="bar", kind="spot", number=1, x_m=-300.0, y_m=100.0),
    MapPlace(name="far", kind="spot", x_m=0.0, y_m=300.0),
    START,
)


#: From the ramp past the bar to the reeds, and back round a point.
OUTING: dict[str, Any] = {
    "start": START,
    "way_out_m": ((0.0, -450.0), (-300.0, 100.0), (300.0, 0.0)),
    "way_home_m": ((300.0, 0.0), (0.0, -450.0)),
}


def test_the_outing_is_a_numbered_route_from_the_ramp_and_back() -> None:
    root = drawn(places=ROUTE, **OUTING)
    assert [text for text in words(root) if text.isdigit()] == ["1", "2"]
    (route,), (home,) = lines(root, "map-route"), lines(root, "map-home")
    assert len(route) == 3
    assert route[1][0] < route[0][0] < route[2][0], "ramp, then the bar in the west, then the reeds in the east"
    assert home == [route[2], route[0]]
    assert not lines(drawn(places=ROUTE), "map-route"), "without an outing there is no way to draw"


def test_no_label_lies_over_a_line_of_the_shore() -> None:
    root = drawn(places=ROUTE, **OUTING)
    shore = [y for name in ("map-blown", "map-sheltered", "map-along") for run in lines(root, name) for _, y in run]
    for node in root.iter(f"{SPACE}text"):
        if not (node.text or "").isdigit():
            y = float(node.attrib["y"])
            assert y < min(shore) or y - 11.0 > max(shore), node.text


def test_the_arrow_points_where_the_wind_blows() -> None:
    (arrow,) = [node for node in drawn().iter(f"{SPACE}g") if node.attrib["class"] == "map-wind"]
    assert arrow.attrib["transform"].startswith("rotate(270 ")
    assert not [node for node in drawn(wind_from_deg=None).iter(f"{SPACE}g") if node.attrib["class"] == "map-wind"]


def test_no_outline_no_map() -> None:
    assert lake_map(section(rings_m=()), units="us") == ""
    assert lake_map(section(rings_m=(((0.0, 0.0), (0.0, 0.0), (0.0, 0.0)),)), units="us") == ""


def test_marks_of_the_map_are_explained_where_it_has_them() -> None:
    def keys(**changes: Any) -> list[str]:
        groups = [node for node in drawn(**changes).iter(f"{SPACE}g") if node.attrib["class"] == "map-key"]
        return [text for node in groups for text in words(node)]

    assert keys(places=ROUTE, **OUTING) == ["start", "left out", "way home"]
    assert keys(places=ROUTE[:2], **OUTING) == ["way home"]
    assert keys(places=(START,)) == ["ramp"]
    assert keys(places=()) == []
