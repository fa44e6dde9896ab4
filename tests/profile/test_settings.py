"""Settings shared by all lakes, and where files live."""

from pathlib import Path

import pytest

from briefing.errors import NewerSchemaError, ProfileError
from briefing.profile.paths import Home
from briefing.profile.settings import load_settings, save_settings


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.from_environment({"BRIEFING_HOME": str(tmp_path)})


def test_everything_lies_below_the_home_that_is_set(home: Home, tmp_path: Path) -> None:
    for path in (home.lakes_dir, home.settings_file, home.store_file, home.briefings_dir, home.cache_dir):
        assert tmp_path in path.parents
    assert not any(tmp_path.iterdir())  # nothing is made by looking


def test_without_it_the_folders_of_the_system_are_used(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "conf"))
    home = Home.from_environment({"BRIEFING_HOME": " "})
    assert len({home.config_dir, home.data_dir, home.cache_dir}) == 3
    assert all("lake-morning-briefing" in str(path) for path in (home.config_dir, home.data_dir, home.cache_dir))


def test_no_file_means_the_defaults(home: Home) -> None:
    settings = load_settings(home)
    assert (settings.contact, settings.units, settings.open_meteo) == ("", "us", True)
    assert settings.lakes_dir(home) == home.lakes_dir


def test_a_saved_setting_keeps_comments(home: Home) -> None:
    save_settings(home, {"contact": "me@example.org"})
    text = home.settings_file.read_text()
    assert "# Mail address or web page (plain letters) sent to the data services" in text
    home.settings_file.write_text(text + "# mine\n")
    assert save_settings(home, {"open_meteo": False}).contact == "me@example.org"
    assert home.settings_file.read_text().endswith("# mine\nopen_meteo = false\n")
    assert load_settings(home).open_meteo is False


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("contact = ", "settings.toml is not valid TOML"),
        ("open_meteo = 1", "open_meteo: found 1"),
        ('unit = "us"', "unit: is not known here; did you mean units?"),
        ('contact = "a\\nb"', "contact: found .*; accepted: Mail address"),
    ],
)
def test_a_broken_file_is_named_and_not_overwritten(home: Home, text: str, words: str) -> None:
    home.config_dir.mkdir(parents=True)
    home.settings_file.write_text(text)
    with pytest.raises(ProfileError, match=words):
        load_settings(home)
    with pytest.raises(ProfileError):
        save_settings(home, {"contact": "x"})
    assert home.settings_file.read_text() == text


def test_a_newer_file_is_left_alone(home: Home) -> None:
    home.config_dir.mkdir(parents=True)
    home.settings_file.write_text("schema_version = 9\n")
    with pytest.raises(NewerSchemaError, match="newer version of this program"):
        load_settings(home)
