"""Scores the fetch sweep against shapes whose answers are known in closed form.

A JSON file with geometries, cases, edge_cases (points on land, ramps, several lakes), effective_fetch (means over
rays), bank_side and geodesic (a polygon of land in degrees).
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.geo import LocalPlane
from briefing.core.wind.banks import bank_sides
from briefing.core.wind.fetch import first_hit, sweep
from briefing.core.wind.shape import LakeShape, tidy_ring
from briefing.errors import InputError
from briefing.evaluate.rows import text_table

Floats = NDArray[np.float64]
_VERTICES = 7200
_RELATIVE = 1e-4


def run(path: Path) -> dict[str, Any]:
    """Measure every case of the file; ``max_error_m`` is the largest difference from the known answers."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        shapes = {name: _shape(geometry) for name, geometry in data["geometries"].items()}
        cases = [_case(shapes, case, number) for number, case in enumerate(data["cases"], start=1)]
        cases += [_edge(shapes, case) for case in data["edge_cases"]]
        cases += [_means(shapes, case, number) for number, case in enumerate(data["effective_fetch"], start=1)]
        cases += [_bank(shapes, group, bank) for group in data["bank_side"] for bank in group["banks"]]
        cases += _geodesic(data["geodesic"])
    except (OSError, UnicodeDecodeError, json.JSONDecodeError) as error:
        raise InputError(f"{path} can't be read as JSON: {error}") from error
    except (KeyError, TypeError, ValueError, IndexError) as error:
        raise InputError(f"{path} does not hold fetch cases as expected: {error!r}") from error
    return {"cases": cases, "failed": sum(not case["within"] for case in cases)}


def table(result: dict[str, Any]) -> str:
    """Lay out the cases."""
    lines = [(c["name"], f"{c['max_error_m']:.4f}", "yes" if c["within"] else "NO") for c in result["cases"]]
    return text_table(("case", "largest error m", "within"), lines) + f"\n{result['failed']} failed"


def _circle(centre: list[float], radius: float) -> Floats:
    angle = 2.0 * math.pi * np.arange(_VERTICES) / _VERTICES
    return np.asarray(centre, float) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def _shape(geometry: Mapping[str, Any], point: list[float] | None = None) -> LakeShape:
    kind = geometry["kind"]
    if kind == "multipolygon":
        lakes = [LakeShape(tidy_ring(ring)) for ring in geometry["polygons"]]
        return next(lake for lake in lakes if lake.contains([point or [0.0, 0.0]])[0])
    if kind == "polygon":
        return LakeShape(tidy_ring(geometry["exterior"]), tuple(map(tidy_ring, geometry["interiors"])))
    islands = tuple(_circle(island["centre"], island["radius"]) for island in geometry.get("islands", ()))
    return LakeShape(_circle(geometry["centre"], geometry["radius"]), islands)


def _result(name: str, error: float, tolerance: float) -> dict[str, Any]:
    return {"name": name, "max_error_m": round(error, 6), "within": bool(error <= tolerance)}


def _furthest(found: Floats, expected: Any) -> float:
    difference = np.abs(np.asarray(found, float) - np.asarray(expected, float))
    return float(difference.max()) if np.isfinite(difference).all() else 1e12


def _case(shapes: Mapping[str, LakeShape], case: Mapping[str, Any], number: int) -> dict[str, Any]:
    found = sweep(shapes[case["geometry"]], [case["point"]], case["bearing_deg"])[0]
    return _result(f"{number} {case['geometry']}", _furthest(found, case["fetch_m"]), case["tolerance_m"])


def _edge(shapes: Mapping[str, LakeShape], case: Mapping[str, Any]) -> dict[str, Any]:
    geometry, name = case["geometry"], case["id"]
    shape = shapes[geometry] if isinstance(geometry, str) else _shape(geometry, case["point"])
    point = shape.onto_water([case["point"]])
    bearings = np.asarray(case.get("bearing_deg", np.arange(360.0)), float)
    found = sweep(shape, point, bearings)[0]
    tolerance = float(case.get("tolerance_m", 0.01))
    if "fetch_m" in case:
        return _result(name, _furthest(found, case["fetch_m"]), tolerance)
    if "accept_m" in case:
        error = max(min(abs(one - good) for good in case["accept_m"]) for one in found.tolist())
        return _result(name, error, tolerance)
    if "no value" in case["expect"]:
        return _result(name, 0.0 if np.isnan(found).all() else 1e12, tolerance)
    return _result(name, _chord_error(shape, case["point"], bearings, found), tolerance)


def _chord_error(shape: LakeShape, point: list[float], bearings: Floats, found: Floats) -> float:
    """Two opposite fetches add up to the chord of a circle about the origin."""
    radius = float(np.hypot(*shape.outer_xy_m[0]))
    angle = np.radians(bearings)
    off = point[0] * np.cos(angle) - point[1] * np.sin(angle)
    both = found + sweep(shape, [point], bearings + 180.0)[0]
    return _furthest(both, 2.0 * np.sqrt(radius**2 - off**2))


def _ray_means() -> dict[str, tuple[Floats, Callable[[Floats, Floats], float]]]:
    cosine = lambda f, a: float((f * np.cos(a)).sum() / np.cos(a).sum())  # noqa: E731
    return {
        "straight_m": (np.array([0.0]), lambda f, a: float(f[0] + 0.0 * a[0])),
        "spm9_m": (np.arange(-12.0, 13.0, 3.0), lambda f, a: float((f + 0.0 * a).mean())),
        "saville15_m": (
            np.arange(-42.0, 43.0, 6.0),
            lambda f, a: float((f * np.cos(a) ** 2).sum() / np.cos(a).sum()),
        ),
        "cos3_10_m": (np.array([-10.0, 0.0, 10.0]), cosine),
    }


def _means(shapes: Mapping[str, LakeShape], case: Mapping[str, Any], number: int) -> dict[str, Any]:
    error = 0.0
    for name, (offsets, mean) in _ray_means().items():
        rays = sweep(shapes[case["geometry"]], [case["point"]], case["wind_from_deg"] + offsets)[0]
        error = max(error, abs(mean(rays, np.radians(offsets)) - case[name]))
    return _result(f"means {number} {case['geometry']}", error, case["tolerance_m"])


def _bank(shapes: Mapping[str, LakeShape], group: Mapping[str, Any], bank: Mapping[str, Any]) -> dict[str, Any]:
    shape, point = shapes[group["geometry"]], bank["point_5m_out"]
    error = _furthest(sweep(shape, [point], [group["wind_from_deg"]])[0], [bank["fetch_m"]])
    side = int(bank_sides(shape, group["wind_from_deg"])[shape.nearest_shore(point)[2]])
    said = {1: "wind-blown", -1: "sheltered", 0: "along"}[side]
    return _result(f"bank {bank['bank']}", error if bank["side"].startswith(said) else 1e12, 0.001)


def _geodesic(case: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Land in degrees around a point on open water, rays of limited length, in the local plane of that point."""
    lon, lat = case["point_lon_lat"]
    land = np.asarray(case["land_polygon_lon_lat"], float)
    ring = tidy_ring(LocalPlane(lat, lon).to_xy(land[:, 1], land[:, 0]))
    here, limit = np.zeros((1, 2)), float(case["limit_m"])
    bearings = np.asarray(case["bearing_deg"], float)
    single = first_hit([ring], here, bearings, limit)[0]
    offsets = np.asarray(case["weighted_rays_deg"], float)
    weights = np.cos(np.radians(offsets)) / np.cos(np.radians(offsets)).sum()
    mean = np.array([float(first_hit([ring], here, b + offsets, limit)[0] @ weights) for b in bearings])
    allowed = float(case.get("relative_tolerance", _RELATIVE))
    out = []
    for name, found, expected in (
        ("geodesic rays", single, case["recomputed_m"]),
        ("geodesic means", mean, case["weighted_fetch_m"]),
    ):
        good = np.asarray(expected, float)
        # Expected means are printed in whole metres.
        within = bool((np.abs(found - good) <= allowed * good + 0.5).all())
        out.append({"name": name, "max_error_m": round(_furthest(found, good), 6), "within": within})
    return out
