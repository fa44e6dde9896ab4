"""``python -m briefing.tools.fit_water DIR [--out FILE]``: fits the water engine's heat budget and writes its numbers.

DIR holds ``lakes.csv`` and a daily file a lake. Standing waters up to 1,000 km2 are fitted; one set on all of them and
one for each group, fitted without that group and without every lake within 500 km of it. The scores printed and
written are those of the free-running slab (no readings) on the lakes left out. Noise, priors, corrections of readings
and pockets are judged values: they are carried over from the present file.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import numpy as np
import tomli

from briefing.core.water.parameters import SlabParameters
from briefing.evaluate.water_lakes import MeasuredLake, load_lakes, make_batch
from briefing.resources import config_path
from briefing.tools.fit_slab import SlabFit, fit_slab, prior_slab, score_slab

LARGEST_KM2 = 1000.0
NEAR_KM = 500.0
_POOLED_STEPS, _GROUP_STEPS = 8, 6
_HEADER = (
    "Numbers of the water-temperature engine; made by `python -m briefing.tools.fit_water DIR`. slab: fitted, one",
    "set pooled and one without each group (and without lakes within 500 km of it); unknown groups use the pooled",
    "set. filter: judged, near the best of searches that left each group out in turn; errors change by about 1 %",
    "when any one changes by 40 %. reading, pocket: judged after published daily ranges and littoral surveys",
    "(Woolway et al. 2016, doi:10.1371/journal.pone.0152466; Finlay et al. 2001). The tool keeps all judged",
    "numbers. Fitted numbers only; no measured value is contained. Lakes, day and scores of each fit stand in its",
    "provenance.",
)


def fits(lake: MeasuredLake) -> bool:
    """Say whether a lake teaches the pooled numbers: rivers and inland seas do not."""
    return not lake.site.river_fed and lake.site.size_km2 <= LARGEST_KM2


def distance_km(one: MeasuredLake, other: MeasuredLake) -> float:
    """Great-circle distance between two lakes."""
    a, b = one.site, other.site
    north, south = np.radians(a.latitude_deg), np.radians(b.latitude_deg)
    cosine = np.sin(north) * np.sin(south) + np.cos(north) * np.cos(south) * np.cos(
        np.radians(a.longitude_deg - b.longitude_deg)
    )
    return float(6371.0 * np.arccos(np.clip(cosine, -1.0, 1.0)))


def without(lakes: Sequence[MeasuredLake], group: str) -> list[MeasuredLake]:
    """Lakes that may train a set for ``group``: none of it, and none near any of it."""
    own = [lake for lake in lakes if lake.group == group]
    return [lake for lake in lakes if lake.group != group and all(distance_km(lake, one) > NEAR_KM for one in own)]


def fit_all(lakes: Sequence[MeasuredLake]) -> dict[str, tuple[SlabFit, SlabFit, list[MeasuredLake]]]:
    """Fit the pooled set and one without each group.

    Returns by name the fit, its score on the lakes left out (the pooled set: on its own lakes), and its training lakes.
    """
    training = [lake for lake in lakes if fits(lake)]
    batch = make_batch(training)
    pooled = fit_slab(batch, prior_slab(), _POOLED_STEPS)
    results = {"pooled": (pooled, pooled, training)}
    for group in sorted({lake.group for lake in training}):
        others = without(training, group)
        if others:
            fit = fit_slab(make_batch(others), pooled.slab, _GROUP_STEPS)
            own = make_batch([lake for lake in training if lake.group == group])
            results[f"without_{group}"] = (fit, score_slab(own, fit.slab), others)
    return results


def _value(value: object) -> str:
    if isinstance(value, str):
        return '"' + value.replace('"', "'") + '"'
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _lines(name: str, table: Mapping[str, Any]) -> list[str]:
    plain = {key: value for key, value in table.items() if not isinstance(value, Mapping)}
    out = [f"[{name}]", *(f"{key} = {_value(value)}" for key, value in plain.items()), ""] if plain else []
    for key, value in table.items():
        if isinstance(value, Mapping):
            out += _lines(f"{name}.{key}", value)
    return out


def render(
    present: Mapping[str, Any],
    results: Mapping[str, tuple[SlabFit, SlabFit, list[MeasuredLake]]],
    fitted: date,
) -> str:
    """Return the parameter file's text: judged tables of the present file, fitted sets, provenance."""
    judged = next(iter(present["sets"].values()))["filter"]
    out = [*(f"# {line}" for line in _HEADER), ""]
    for name in ("reading", "pocket"):
        out += _lines(name, present[name])
    for name, (fit, scored, lakes) in results.items():
        provenance = {
            "fitted": fitted.isoformat(),
            "lakes": [lake.name for lake in lakes],
            "scored_on": "own lakes" if name == "pooled" else "lakes left out",
            "rmse_c": {lake: round(error, 2) for lake, error in scored.rmse_c.items()},
            "bias_c": {lake: round(error, 2) for lake, error in scored.bias_c.items()},
        }
        slab = {item.name: getattr(fit.slab, item.name) for item in fields(SlabParameters)}
        out += _lines(f"sets.{name}", {"slab": slab, "filter": judged, "provenance": provenance})
    return "\n".join(out).rstrip() + "\n"


def main(argv: Sequence[str] | None = None) -> int:
    """Fit, print the scores on lakes left out, and write the file."""
    parser = argparse.ArgumentParser(prog="python -m briefing.tools.fit_water", description=__doc__)
    parser.add_argument("folder", type=Path, help="folder with lakes.csv and the daily files")
    parser.add_argument("--out", type=Path, default=config_path("water.toml"), help="file to write")
    arguments = parser.parse_args(argv)
    results = fit_all(load_lakes(arguments.folder))
    for name, (_, scored, lakes) in results.items():
        print(f"{name}: {len(lakes)} lakes")
        for lake, error in scored.rmse_c.items():
            print(f"  {lake:28s} RMSE {error:.2f} C  mean error {scored.bias_c[lake]:+.2f} C")
    present = tomli.loads(config_path("water.toml").read_text(encoding="utf-8"))
    arguments.out.write_text(render(present, results, datetime.now(UTC).date()), encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
