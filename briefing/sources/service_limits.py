"""What the services allow, as data: how much in one request, how many in a minute, and who says so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta


@dataclass(frozen=True)
class Limit:
    """The limits of one kind of request.

    ``most``: places, sites or airports that we put into one request; ``url_bytes``: the longest address we send.
    ``per_minute``: calls that the service allows a minute, 0 where it states none. ``weight``: calls that one place of
    a request counts as. ``words``: the service's limits as printed, with where they were read.
    """

    most: int
    url_bytes: int
    per_minute: int
    weight: float
    words: str


_MODEL = (
    "600 calls a minute, 5000 an hour, 10000 a day, non-commercial; each place counts as a call of its own, "
    "1000 places a request (open-meteo.com/en/pricing; open-meteo/open-meteo#1295), addresses to 64 kB (#715)"
)
_GAUGE = (
    "50 requests an hour without a key, 1000 with one (api.waterdata.usgs.gov; second-hand), addresses to 8 kB "
    "(DOI-USGS/dataretrieval-python PR#283)"
)
LIMITS: Mapping[str, Limit] = {
    # Fourteen variables are 1.4 calls, fifteen days 1.07 times that. A place is some 30 kB of a body of at most 5 MB.
    "open_meteo": Limit(50, 8000, 600, 1.5, _MODEL),
    # Thirteen months of one variable: 0.1 x 395 / 14 calls. A place is some 160 kB.
    "open_meteo_archive": Limit(20, 8000, 600, 2.9, _MODEL),
    # A month of daily values of four parameters is some 60 kB a site.
    "usgs": Limit(50, 8000, 0, 1.0, _GAUGE),
    "metar": Limit(
        40, 8000, 100, 0.0, "100 requests a minute, 400 rows an answer (aviationweather.gov/data/api; second-hand)"
    ),
    "nws": Limit(1, 8000, 0, 1.0, "no number stated; asks to wait 5 s when it was too much (weather.gov, API page)"),
    "ndbc": Limit(1, 8000, 0, 1.0, "none stated (www.ndbc.noaa.gov)"),
}

#: How long an answer serves the other lakes of a round: hourly data, observations, warnings (60 s is what their
#: service's own cache may hold them).
SHARE_HOURLY = timedelta(minutes=10)
SHARE_OBSERVED = timedelta(minutes=2)
SHARE_WARNINGS = timedelta(seconds=60)
