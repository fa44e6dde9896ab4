import xml.etree.ElementTree as ElementTree

from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.report.svg import Plot, ticks


def plot() -> Plot:
    return Plot((0, 10), (0, 20), "Wind <b>", "A & B", "t")


def test_an_image_is_well_formed_and_carries_title_and_description() -> None:
    image = plot()
    image.line([(0, 1), (5, 10)], "wind")
    image.area([(0, 3), (5, 12)], [(0, 1), (5, 8)], "band")
    image.marker(3, "stop <here>")
    image.bar(2, 3, 10, "range")
    image.dot(1, 1, "dot")
    image.x_labels([(0, "06:00", "middle")])
    image.y_labels([0, 10, 20], unit="mph")
    root = ElementTree.fromstring(image.svg())
    space = "{http://www.w3.org/2000/svg}"
    assert root.attrib["role"] == "img"
    assert root.find(f"{space}title").text == "Wind <b>"
    assert root.find(f"{space}desc").text == "A & B"
    assert any(node.text == "stop <here>" for node in root.iter(f"{space}text"))


def test_data_are_mapped_to_the_plot_area_with_y_upwards() -> None:
    image = plot()
    assert image.x(0) == image.left
    assert image.x(10) == image.width - image.right
    assert image.y(0) == image.height - image.bottom
    assert image.y(20) == image.top


def test_a_single_point_draws_no_line() -> None:
    image = plot()
    image.line([(0, 1)], "wind")
    assert image.parts == []


@given(st.floats(-50, 500), st.floats(0.1, 400))
@settings(max_examples=100, deadline=None, derandomize=True)
def test_ticks_are_few_rising_and_inside(low: float, span: float) -> None:
    values = ticks(low, low + span)
    assert values == sorted(values)
    assert len(values) <= 12
    assert all(low - 1e-6 <= value <= low + span + 1e-6 for value in values)
