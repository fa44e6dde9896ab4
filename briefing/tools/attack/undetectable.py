"""What no reader of a body could notice, and the other source that narrows it. None of these counts against the bar."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Undetectable:
    """One change that leaves a body whole: why nobody can see it, and what may show it all the same."""

    id: str
    why: str
    cross_check: str


UNDETECTABLE = (
    Undetectable(
        "layer_shifted",
        "a layer or column an hour early or late is a plausible forecast of another hour",
        "the other model, hour by hour; an observation near a change of wind",
    ),
    Undetectable(
        "plain_other_value",
        "a wind, gust or chance that is plainly another one lies within what can be true",
        "the other model; the wind measured now; the check of earlier forecasts at the lake",
    ),
    Undetectable(
        "zeros_for_some_hours",
        "wind and gust both of 0 for less than a day are a calm",
        "the other model; the wind measured now; zeros for 24 hours and more are refused",
    ),
    Undetectable(
        "unit_and_value_of_another_service",
        "values in knots under the unit of km/h are a lighter wind",
        "the other model; the raw report beside an observation",
    ),
    Undetectable(
        "older_issue_with_a_new_time",
        "an old forecast that says it is new and begins today",
        "the same bytes as a run before; the other model",
    ),
    Undetectable(
        "warning_left_out",
        "a list that never held the warning is a sound list",
        "the lists of several points and of the zones; the run before; the wind and thunder forecasts themselves",
    ),
    Undetectable(
        "warning_moved",
        "a sound polygon a few kilometres off the lake, or an onset after the outing, is another warning",
        "the lists of several points of the lake; the run before",
    ),
    Undetectable(
        "weather_word_replaced",
        "'Rain Showers' where 'Thunderstorms' was meant names the weather of another forecast",
        "chance of thunder and lightning level where an office gives them; the model's instability and code",
    ),
    Undetectable(
        "gust_not_reported",
        "a station or airport that reports a wind and no gust reports that there is none",
        "other reports of the hour and other stations; the peak wind among the remarks",
    ),
    Undetectable(
        "stuck_anemometer",
        "a sensor that repeats a light wind reports a light wind",
        "other stations, the airport's report, the forecast for the hour",
    ),
    Undetectable(
        "warm_sensor",
        "a gauge that reads a few degrees warm reads a temperature that can be true",
        "the water model's own estimate and range; the user's reading",
    ),
)
