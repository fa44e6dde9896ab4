"""Quantities as typed and as shown."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing import units
from briefing.core.wind.banks import bank_words
from briefing.errors import UnitError

few = settings(max_examples=60, deadline=None, derandomize=True)


@pytest.mark.parametrize(
    ("text", "system", "value_c"),
    [
        ("61F", "us", 16.1111),
        ("61 F", "metric", 16.1111),
        ("61°F", "us", 16.1111),
        ("61 degrees F", "us", 16.1111),
        ("16 C", "us", 16.0),
        ("16,5 c", "metric", 16.5),
        ("61", "us", 16.1111),
        ("16", "metric", 16.0),
        ("-1 C", "us", -1.0),
        ("−1 C", "us", -1.0),
        ("32", "us", 0.0),
    ],
)
def test_temperatures(text: str, system: units.Units, value_c: float) -> None:
    assert units.parse_temperature(text, system) == pytest.approx(value_c, abs=1e-3)


@pytest.mark.parametrize(
    ("parse", "text", "system", "value"),
    [
        (units.parse_depth, "3 ft", "metric", 0.9144),
        (units.parse_depth, "2.5ft", "us", 0.762),
        (units.parse_depth, "90 cm", "us", 0.9),
        (units.parse_depth, "18in", "us", 0.4572),
        (units.parse_depth, "2 ft 6 in", "us", 0.762),
        (units.parse_depth, "2'6\"", "us", 0.762),
        (units.parse_depth, "1.2 m", "us", 1.2),
        (units.parse_depth, ".5", "metric", 0.5),
        (units.parse_visibility, "60 cm", "us", 0.6),
        (units.parse_speed, "12 mph", "metric", 5.36448),
        (units.parse_speed, "5 m/s", "us", 5.0),
        (units.parse_speed, "10 kn", "us", 5.14444),
        (units.parse_speed, "15 km/h", "us", 4.16667),
        (units.parse_speed, "12", "us", 5.36448),
        (units.parse_speed, "5", "metric", 5.0),
        (units.parse_weight, "3/8 oz", "us", 10.63107),
        (units.parse_weight, "3/8", "us", 10.63107),
        (units.parse_weight, "1 1/4oz", "us", 35.4369),
        (units.parse_weight, "1-1/4 oz", "us", 35.4369),
        (units.parse_weight, "10 g", "us", 10.0),
        (units.parse_weight, "10", "metric", 10.0),
        (units.parse_area, "120 acres", "us", 0.485623),
        (units.parse_area, "1,200 acres", "us", 4.85623),
        (units.parse_area, "0.5 km2", "us", 0.5),
        (units.parse_area, "2 sq mi", "us", 5.17998),
        (units.parse_area, "50", "metric", 0.5),
        (units.parse_elevation, "320 ft", "us", 97.536),
        (units.parse_distance, "1.5 mi", "us", 2414.016),
        (units.parse_wave_height, "1 ft", "us", 0.3048),
        (units.parse_boat_speed, "5 km/h", "us", 1.38889),
        (units.parse_temperature_difference, "+3F", "us", 1.66667),
        (units.parse_temperature_difference, "-1.5", "metric", -1.5),
    ],
)
def test_other_quantities(parse: object, text: str, system: units.Units, value: float) -> None:
    assert parse(text, system) == pytest.approx(value, rel=1e-4)  # type: ignore[operator]


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("90 min", 90), ("1.5 h", 90), ("1 h 30 min", 90), ("1h30", 90), ("2:15", 135), ("45", 45), ("2 days", 2880)],
)
def test_durations(text: str, minutes: float) -> None:
    assert units.parse_duration(text) == pytest.approx(minutes)


@pytest.mark.parametrize(
    "text", ["", " ", "F", "61X", "abc", "nan", "inf", "1e3 F", "61 F 3 C", "--3", "3/0", "6 1", "1.2.3", "9" * 80]
)
def test_what_is_no_temperature_is_refused_by_name(text: str) -> None:
    with pytest.raises(UnitError, match="is not a water temperature; write a number and a unit"):
        units.parse_temperature(text)


@pytest.mark.parametrize(
    ("parse", "text", "system", "meant"),
    [
        (units.parse_temperature, "61", "metric", "did you mean 61 F (16.1 C)?"),
        (units.parse_temperature, "16", "us", "did you mean 16 C (61 F)?"),
        (units.parse_visibility, "60", "metric", "did you mean 60 cm (2 ft)?"),
        (units.parse_speed, "90", "metric", "did you mean 90 km/h (25.0 m/s)?"),
        (units.parse_weight, "100 oz", "us", "did you mean 100 g (3.53 oz)?"),
    ],
)
def test_an_implausible_number_is_refused_with_its_likely_meaning(
    parse: object, text: str, system: units.Units, meant: str
) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, system)  # type: ignore[operator]
    assert "out of all likelihood" in str(caught.value)
    assert str(caught.value).endswith(meant)


def test_an_implausible_number_without_another_meaning_says_only_that() -> None:
    with pytest.raises(UnitError, match=r"out of all likelihood for a wind speed \(0 mph to 134 mph\)\.$"):
        units.parse_speed("-5 m/s")


def test_air_may_be_colder_than_water() -> None:
    assert units.parse_temperature("-10 C", of="air") == -10.0
    with pytest.raises(UnitError):
        units.parse_temperature("-10 C")


@pytest.mark.parametrize(
    ("text", "degrees"),
    [("SW", 225.0), ("south-west", 225.0), ("South West", 225.0), ("nne", 22.5), ("225", 225.0), ("360", 0.0)],
)
def test_directions(text: str, degrees: float) -> None:
    assert units.parse_direction(text) == degrees


@pytest.mark.parametrize("text", ["", "361", "up", "-5", "NNN"])
def test_no_direction(text: str) -> None:
    with pytest.raises(UnitError, match="is not a direction"):
        units.parse_direction(text)


@pytest.mark.parametrize(
    ("text", "position"),
    [
        ("30.31, -83.22", (30.31, -83.22)),
        ("30.31 N 83.22 W", (30.31, -83.22)),
        ("30°18'36\"N 83°13'12\"W", (30.31, -83.22)),
        ("-33.5, 151.2", (-33.5, 151.2)),
        ("33.5 S, 151.2 E", (-33.5, 151.2)),
    ],
)
def test_positions(text: str, position: tuple[float, float]) -> None:
    assert units.parse_position(text) == pytest.approx(position)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("30.31 83.22", "did you mean 30.31, -83.22"),
        ("95, 10", "not on the globe"),
        ("somewhere", "is not a position"),
        ("", "is not a position"),
    ],
)
def test_no_position(text: str, words: str) -> None:
    with pytest.raises(UnitError, match=words):
        units.parse_position(text)


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (units.show_temperature(16.1, "us"), "61 F (16.1 C)"),
        (units.show_temperature(16.1, "metric"), "16.1 C (61 F)"),
        (units.show_temperature(16.1, "us", both=False), "61 F"),
        (units.show_temperature(-0.04, "metric"), "0.0 C (32 F)"),
        (units.show_temperature_range(14.4, 16.7), "58 to 62 F (14.4 to 16.7 C)"),
        (units.show_temperature_range(16.0, 16.1), "61 F (16.0 to 16.1 C)"),
        (units.show_temperature_difference(1.7), "+3.1 F (+1.7 C)"),
        (units.show_wind(5.36), "12 mph (5.4 m/s)"),
        (units.show_waves(0.05), "under 4 in (under 10 cm)"),
        (units.show_waves(0.15), "0.5 ft (0.15 m)"),
        (units.show_waves(0.29), "1.0 ft (0.29 m)"),
        (units.show_waves(0.50), "1.5 ft (0.50 m)"),
        (units.show_wave_range(0.05, 0.2), "up to 0.7 ft (0.20 m)"),
        (units.show_wave_range(0.05, 0.08), "under 4 in (under 10 cm)"),
        (units.show_wave_range(0.25, 0.5), "0.8 to 1.5 ft (0.25 to 0.50 m)"),
        (units.show_depth(0.762), "2.5 ft (0.76 m)"),
        (units.show_depth(5.5), "18 ft (5.5 m)"),
        (units.show_depth_range(0.91, 1.83), "3 to 6 ft (0.9 to 1.8 m)"),
        (units.show_visibility(0.9), "3 ft (90 cm)"),
        (units.show_distance(200.0), "220 yd (200 m)"),
        (units.show_distance(2414.0), "1.5 mi (2.4 km)"),
        (units.show_weight(10.6), "3/8 oz (10.6 g)"),
        (units.show_weight(35.4), "1 1/4 oz (35.4 g)"),
        (units.show_weight(11.5, "metric"), "11.5 g (0.41 oz)"),
        (units.show_area(0.4856), "120 acres (48.6 ha)"),
        (units.show_rain(2.5), "0.10 in (2.5 mm)"),
        (units.show_duration(90), "1 h 30 min"),
        (units.show_duration(45), "45 min"),
        (units.show_duration(120), "2 h"),
        (units.compass_point(203.0), "SSW"),
        (units.compass_point(359.0), "N"),
        (units.direction_words(225.0), "south-west"),
    ],
)
def test_words_for_the_reader(shown: str, expected: str) -> None:
    assert shown == expected


@few
@given(st.floats(-2.0, 42.0), st.sampled_from(units.UNIT_SYSTEMS))
def test_a_shown_temperature_reads_back(value_c: float, system: units.Units) -> None:
    shown = units.show_temperature(value_c, system, both=False)
    assert units.parse_temperature(shown, system, of="air") == pytest.approx(value_c, abs=0.3)


@few
@given(st.floats(0.0, 100.0), st.sampled_from(units.UNIT_SYSTEMS))
def test_a_shown_depth_reads_back(value_m: float, system: units.Units) -> None:
    assert units.parse_depth(units.show_depth(value_m, system, both=False)) == pytest.approx(value_m, abs=0.16)


@few
@given(st.floats(0.0, 59.0), st.sampled_from(units.UNIT_SYSTEMS))
def test_a_shown_wind_reads_back(value_mps: float, system: units.Units) -> None:
    assert units.parse_speed(units.show_wind(value_mps, system, both=False)) == pytest.approx(value_mps, abs=0.23)


@few
@given(st.sampled_from(units.TRADE_OUNCES))
def test_weights_of_the_trade_read_back_exactly(ounces: object) -> None:
    grams = float(ounces) * units.OUNCE_G  # type: ignore[arg-type]
    if grams >= 0.2:
        assert units.parse_weight(f"{units.show_ounces(grams)} oz") == pytest.approx(grams, rel=1e-9)


@few
@given(st.floats(0.0, 15.0))
def test_waves_are_rounded_to_tenths_below_a_foot_and_halves_above(value_m: float) -> None:
    shown = units.show_waves(value_m, "us", both=False)
    if value_m < 0.1:
        assert shown == "under 4 in"
        return
    feet = float(shown.removesuffix(" ft"))
    step = 0.1 if feet < 1.0 else 0.5
    assert math.isclose(feet / step, round(feet / step), abs_tol=1e-6)
    assert abs(feet - units.m_to_ft(value_m)) <= step / 2 + 0.06


def _refusal(parse: Callable[[str], object], text: str) -> str | None:
    try:
        parse(text)
    except UnitError as error:
        return str(error)
    return None


@few
@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_in_one_sentence(text: str) -> None:
    parsers = (units.parse_temperature, units.parse_depth, units.parse_speed, units.parse_weight, units.parse_area)
    for parse in (*parsers, units.parse_duration, units.parse_direction, units.parse_position):
        message = _refusal(parse, text)
        assert message is None or message.endswith((".", "?"))


@few
@given(st.floats(-90.0, 90.0), st.floats(-180.0, 50.0))
def test_a_written_position_reads_back(latitude: float, longitude: float) -> None:
    assert units.parse_position(f"{latitude:.5f}, {longitude:.5f}") == pytest.approx((latitude, longitude), abs=1e-5)


def test_a_direction_between_two_eighths_has_one_name_everywhere() -> None:
    """At 22.5 degrees one helper said north and another north-east."""
    for eighth in range(8):
        between = 45.0 * eighth + 22.5
        words = units.direction_words(between)
        assert words == units.direction_words(between + 1e-9)
        assert bank_words(between)[1] == words
        assert bank_words(between + 180.0)[0] == words
