"""New lake files: every field explained, guesses as comments, comments kept on edits."""

import re
from pathlib import Path

import pytest

from briefing.errors import InputError, ProfileError
from briefing.profile.files import parse_profile
from briefing.profile.model import LakeProfile
from briefing.profile.template import append_tables, profile_text, set_values
from briefing.vocabulary import Craft, Skill

SHORTEST = {"name": 'Quill "Pond" <b>', "latitude": 30.31, "longitude": -83.22, "craft": "kayak"}


def test_a_new_file_reads_back_with_its_guesses() -> None:
    profile = parse_profile(profile_text(SHORTEST), "x.toml")
    assert profile.name == 'Quill "Pond" <b>'
    assert "mean_depth_m" in profile.guessed


def test_every_field_is_explained() -> None:
    text = profile_text(SHORTEST)
    for name, info in LakeProfile.model_fields.items():
        if not info.exclude:
            assert (info.description or "").rstrip(".") in text, name


def test_taking_over_every_guess_and_example_gives_a_valid_file() -> None:
    text = re.sub(r"(?m)^# (\[|[a-z_]+ = )", r"\1", profile_text(SHORTEST))
    profile = parse_profile(text, "x.toml")
    assert profile.guessed == {}
    assert len(profile.spots) == len(profile.rods) == len(profile.rules) == 1


@pytest.mark.parametrize("craft", list(Craft))
@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_example_limits_are_those_of_the_craft(craft: Craft, units: str) -> None:
    text = profile_text({**SHORTEST, "craft": craft.value, "units": units})
    block = text[text.index("# [limits]") : text.index("# [[outings]]")]
    taken = text.replace(block, re.sub(r"(?m)^# (\[|[a-z_]+ = )", r"\1", block))
    limits = parse_profile(taken, "x.toml").limits
    from briefing.core.wind.limits import LimitsTable
    from briefing.resources import read_toml

    row = LimitsTable.from_mapping(read_toml("limits.toml")).rows[craft, Skill.NOVICE]
    assert limits.sustained is not None
    assert limits.waves is not None
    assert limits.sustained.stop_mps == pytest.approx(row.sustained_stop_mps, abs=0.25)
    assert limits.waves.stop_m == pytest.approx(row.waves_stop_m, abs=0.01)


def test_setting_a_field_takes_the_place_of_its_guess_and_keeps_comments(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_text(profile_text(SHORTEST) + "\n# my own words\n")
    profile = set_values(path, {"mean_depth": "7 ft", "limits.confirmed": True, "alone": False})
    assert profile.mean_depth_m == pytest.approx(2.1336)
    assert profile.limits.confirmed
    text = path.read_text()
    assert "# my own words" in text
    assert re.search(r'(?m)^mean_depth = "7 ft"$', text)
    assert not re.search(r"(?m)^# mean_depth", text)
    again = set_values(path, {"mean_depth": "8 ft"})
    assert again.mean_depth_m == pytest.approx(2.4384)
    assert path.read_text().count("\nmean_depth = ") == 1


def test_setting_in_a_file_of_the_users_own_hand(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_text(
        'name = "A"  # ours\nlatitude = 30.6\nlongitude = -84.2\ncraft = "kayak"\n[[spots]]\nname = "b"\nbank = "N"\n'
    )
    profile = set_values(path, {"skill": "experienced", "limits.confirmed": True, "name": "B"})
    assert (profile.skill, profile.name, profile.limits.confirmed) == (Skill.EXPERIENCED, "B", True)
    assert "# ours" in path.read_text()


@pytest.mark.parametrize(
    ("changes", "kind", "words"),
    [
        ({"skil": "experienced"}, ProfileError, "skil: is not known here; did you mean skill?"),
        ({"mean_depth": "deep"}, ProfileError, "is not a depth"),
        ({"name.x": "deep"}, InputError, "is not a field that can be set so"),
    ],
)
def test_a_refused_value_changes_nothing(
    tmp_path: Path, changes: dict[str, str], kind: type[Exception], words: str
) -> None:
    path = tmp_path / "x.toml"
    path.write_text(profile_text(SHORTEST))
    with pytest.raises(kind, match=words):
        set_values(path, changes)
    assert path.read_text() == profile_text(SHORTEST)


def test_added_spots_leave_the_rest_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_text(profile_text(SHORTEST))
    profile = append_tables(
        path, "spots", [{"name": "A", "bank": "N"}, {"name": "B", "bank": "S", "depth": ["3 ft", "4 ft"]}]
    )
    assert [spot.id for spot in profile.spots] == ["a", "b"]
    assert path.read_text().startswith(profile_text(SHORTEST))
    with pytest.raises(ProfileError, match="two spots have the name"):
        append_tables(path, "spots", [{"name": "a", "bank": "N"}])
    assert parse_profile(path.read_text(), "x.toml").spots == profile.spots
