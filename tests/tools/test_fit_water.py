"""The fitting tool on made-up lakes: it finds back known numbers, leaves groups out, and writes a file that loads."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import tomli

from briefing.core.climate.normals import AirNormals
from briefing.core.water.parameters import WaterParameters
from briefing.core.water.site import WaterSite
from briefing.evaluate.water_lakes import MeasuredLake, make_batch
from briefing.resources import read_toml
from briefing.tools.fit_slab import fit_slab, from_vector, prior_slab, run_sets, score_slab, to_vector
from briefing.tools.fit_water import distance_km, fits, render, without

pytestmark = pytest.mark.long

DAYS = 800


def made_up(name: str, group: str, latitude: float, depth: float, **site: object) -> MeasuredLake:
    day = np.arange(366)
    curve = 12 - 10 * np.cos(2 * np.pi * (day - 20) / 366)
    normals = AirNormals(latitude, 10.0, 0.0, curve, np.full(366, 4.0), np.full(366, 1.5), curve - 5, 0.5)
    generator = np.random.default_rng(len(name))
    number = np.arange(DAYS)
    air = 12 - 10 * np.cos(2 * np.pi * (number - 20) / 365.25) + 3 * generator.standard_normal(DAYS)
    where = WaterSite(latitude, 10.0, mean_depth_m=depth, area_km2=2.0)
    return MeasuredLake(
        name, group, replace(where, **site), False, date(2020, 1, 1), np.full(DAYS, np.nan), air, normals
    )


@pytest.fixture(scope="module")
def lakes() -> list[MeasuredLake]:
    """Five lakes measured to follow a slab that differs from the priors."""
    bare = [
        made_up("ash", "one", 40.0, 3.0),
        made_up("beech", "one", 40.5, 9.0),
        made_up("cedars", "two", 47.0, 5.0),
        made_up("dogwoods", "two", 47.0, 15.0),
        made_up("elderberry", "three", 55.0, 6.0),
    ]
    batch = make_batch(bare)
    truth = replace(prior_slab(), transmission=0.50, wind_w_m2_hpa=16.0)
    water = run_sets(batch, [truth])[0]
    return [replace(lake, water_c=water[:, place]) for place, lake in enumerate(bare)]


def test_fit_follows_the_lakes(lakes: list[MeasuredLake]) -> None:
    batch = make_batch(lakes)
    before = score_slab(batch, prior_slab())
    fit = fit_slab(batch, prior_slab(), steps=5)
    assert np.mean(list(before.rmse_c.values())) > 1.0
    assert max(fit.rmse_c.values()) < 0.4
    assert max(abs(bias) for bias in fit.bias_c.values()) < 0.2
    assert fit.slab.transmission < 0.97 * prior_slab().transmission


def test_vector_and_back() -> None:
    again = from_vector(to_vector(prior_slab()))
    for name in ("transmission", "depth_cap_m", "cooling_share", "ice_melt_m_per_c_day"):
        assert getattr(again, name) == pytest.approx(getattr(prior_slab(), name))


def test_near_lakes_go_with_their_group(lakes: list[MeasuredLake]) -> None:
    assert distance_km(lakes[0], lakes[1]) == pytest.approx(55.6, abs=0.5)
    assert [lake.name for lake in without(lakes, "one")] == ["cedars", "dogwoods", "elderberry"]
    near = replace(lakes[4], site=replace(lakes[4].site, latitude_deg=43.0))
    assert [lake.name for lake in without([*lakes[:4], near], "one")] == ["cedars", "dogwoods"]


def test_rivers_and_inland_seas_teach_nothing(lakes: list[MeasuredLake]) -> None:
    assert fits(lakes[0])
    assert not fits(replace(lakes[0], site=replace(lakes[0].site, river_fed=True)))
    assert not fits(replace(lakes[0], site=replace(lakes[0].site, area_km2=80_000.0)))


def test_written_file_loads_with_its_provenance(lakes: list[MeasuredLake], tmp_path: Path) -> None:
    batch = make_batch(lakes[:2])
    fit = score_slab(batch, prior_slab())
    text = render(read_toml("water.toml"), {"pooled": (fit, fit, lakes[:2])}, date(2025, 3, 1))
    path = tmp_path / "water.toml"
    path.write_text(text)
    mapping = tomli.loads(path.read_text())
    parameters = WaterParameters.from_mapping(mapping)
    shipped = WaterParameters.from_mapping(read_toml("water.toml"))
    assert parameters.slab.transmission == pytest.approx(prior_slab().transmission)
    assert parameters.filter == shipped.filter
    assert (parameters.reading, parameters.pocket) == (shipped.reading, shipped.pocket)
    provenance = mapping["sets"]["pooled"]["provenance"]
    assert provenance["lakes"] == ["ash", "beech"]
    assert provenance["fitted"] == "2025-03-01"
    assert set(provenance["rmse_c"]) == {"ash", "beech"}


def test_unknown_or_missing_numbers_are_refused() -> None:
    mapping = {key: dict(value) for key, value in read_toml("water.toml").items()}
    broken = mapping | {"pocket": {**mapping["pocket"], "colour": 1.0}}
    with pytest.raises(KeyError, match="colour"):
        WaterParameters.from_mapping(broken)
    with pytest.raises(KeyError):
        WaterParameters.from_mapping(mapping, "without_nobody")
