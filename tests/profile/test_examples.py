"""The shipped example lakes, their shores and the schema."""

import json

import jsonschema
import pytest
import shapely
import tomli

from briefing.profile.files import load_profile
from briefing.profile.schema import schema_text
from briefing.profile.template import SCHEMA_FILE
from briefing.resources import config_path
from briefing.tools.example_shores import LAKES, shore_text
from briefing.vocabulary import LakeKind

lakes = pytest.mark.parametrize("lake", sorted(LAKES))


@lakes
def test_an_example_lake_has_nothing_guessed(lake: str) -> None:
    profile = load_profile(config_path(f"lakes/{lake}.toml"))
    assert (profile.id, profile.guessed) == (lake, {})
    assert len(profile.spots) >= 6
    assert len(profile.ramps) >= 1
    assert len({cover for spot in profile.spots for cover in spot.cover}) >= 4


def test_the_examples_are_four_kinds_of_water() -> None:
    kinds = {load_profile(config_path(f"lakes/{lake}.toml")).kind for lake in LAKES}
    assert kinds == {
        *(LakeKind.SOUTHERN_GRASS, LakeKind.HIGHLAND_RESERVOIR),
        *(LakeKind.NORTHERN_NATURAL, LakeKind.LOWLAND_RESERVOIR),
    }


@lakes
def test_the_shore_is_what_the_tool_draws(lake: str) -> None:
    assert config_path(f"lakes/{lake}.geojson").read_text(encoding="utf-8") == shore_text(lake)


@lakes
def test_spots_and_ramps_lie_on_the_water(lake: str) -> None:
    profile = load_profile(config_path(f"lakes/{lake}.toml"))
    feature = json.loads(config_path(f"lakes/{lake}.geojson").read_text(encoding="utf-8"))["features"][0]
    water = shapely.geometry.shape(feature["geometry"])
    assert water.is_valid
    assert len(water.interiors) >= 1
    for place in (profile, *profile.spots, *profile.ramps):
        assert water.contains(shapely.Point(place.longitude, place.latitude)), place.name


def test_the_shipped_schema_is_up_to_date() -> None:
    """Renew with: python -m briefing.profile.schema > config/schemas/lake.schema.json"""
    assert config_path(SCHEMA_FILE).read_text(encoding="utf-8") == schema_text()


@lakes
def test_the_examples_pass_the_schema(lake: str) -> None:
    schema = json.loads(config_path(SCHEMA_FILE).read_text(encoding="utf-8"))
    data = tomli.loads(config_path(f"lakes/{lake}.toml").read_text(encoding="utf-8"))
    plain = json.loads(json.dumps(data, default=str))  # dates as text, as editors see them
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(plain, schema)


def test_the_schema_refuses_what_the_check_refuses() -> None:
    schema = json.loads(config_path(SCHEMA_FILE).read_text(encoding="utf-8"))
    good = {"name": "A", "latitude": 30.0, "longitude": -84.0, "craft": "kayak", "species": ["largemouth"]}
    jsonschema.validate(good, schema)
    for wrong in ({"craft": "kajak"}, {"foo": 1}, {"latitude": 95.0}, {"guessed": {}}, {"spots": [{}]}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({**good, **wrong}, schema)
