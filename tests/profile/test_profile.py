"""Lake files: what is read, what is refused and in which words."""

from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import tomli

from briefing.errors import InputError, NewerSchemaError, NotFoundError, ProfileError, StoreError
from briefing.profile.fields import LaunchTime, read_launch_time
from briefing.profile.files import find_lake, lake_files, load_profile, parse_profile, write_text
from briefing.profile.model import Clothing, LakeProfile, slug
from briefing.profile.template import profile_text
from briefing.vocabulary import Cover, Craft, LakeKind, SpeciesForm, Zone

SHORTEST = 'name = "Quillmere Pond"\nlatitude = 30.31\nlongitude = -83.22\ncraft = "kayak"\n'


def read(extra: str = "", *, top: str = "") -> LakeProfile:
    return parse_profile(SHORTEST + top + extra, "quillmere-pond.toml", lake_id="quillmere-pond")


def refusal(text: str) -> str:
    with pytest.raises(ProfileError) as caught:
        parse_profile(text, "quillmere-pond.toml")
    return str(caught.value)


def test_name_position_and_craft_are_enough_and_the_rest_is_marked_as_guessed() -> None:
    profile = read()
    assert (profile.name, profile.craft, profile.kind) == ("Quillmere Pond", Craft.KAYAK, LakeKind.SOUTHERN_GRASS)
    assert profile.time_zone == "America/New_York"
    assert {"mean_depth_m", "kind", "species", "skill", "alone", "speed_mps"} <= set(profile.guessed)
    assert all(profile.guessed.values())
    assert (profile.alone, profile.reentry_practised, profile.clothing) == (True, False, Clothing.NONE)


@pytest.mark.parametrize(
    ("place", "zone", "country"),
    [
        ((30.31, -83.22), None, "US"),
        ((30.31, -83.22), "America/New_York", "US"),
        ((40.4, -3.6), "Europe/Madrid", "ES"),
        ((59.9, 10.7), None, "NO"),
        ((-38.7, 176.0), None, "NZ"),
        ((49.0, -79.0), "America/Toronto", "CA"),
        # zones of no country, and old names: some link to a zone in another country
        ((30.31, -83.22), "UTC", "US"),
        ((40.4, -3.6), "Etc/GMT-1", "ES"),
        ((62.8, -83.0), "America/Coral_Harbour", "CA"),
        ((64.1, -21.9), "Iceland", "IS"),
        ((0.0, -30.0), "UTC", None),
    ],
)
def test_the_country_follows_from_the_time_zone_else_from_the_position(
    place: tuple[float, float], zone: str | None, country: str | None
) -> None:
    text = SHORTEST.replace("30.31", str(place[0])).replace("-83.22", str(place[1]))
    profile = parse_profile(text + (f'time_zone = "{zone}"\n' if zone else ""), "x.toml")
    assert profile.country == country
    assert "country" not in profile.guessed


def test_a_country_that_is_given_wins() -> None:
    assert read(top='country = "ca"\ntime_zone = "America/New_York"\n').country == "CA"
    assert parse_profile(profile_text({**tomli.loads(SHORTEST), "country": "CA"}), "x.toml").country == "CA"


def test_what_is_given_is_not_guessed() -> None:
    profile = read(top='mean_depth = "7 ft"\nalone = false\n')
    assert profile.mean_depth_m == pytest.approx(2.1336)
    assert not profile.is_guessed("mean_depth_m")
    assert not profile.is_guessed("alone")
    assert profile.guessed["max_depth_m"] == "from the mean depth"
    assert profile.max_depth_m == pytest.approx(5.33, abs=0.01)


def test_a_bare_number_takes_the_units_of_the_file() -> None:
    assert read(top="mean_depth = 7\n").mean_depth_m == pytest.approx(2.1336)
    assert read(top='mean_depth = 7\nunits = "metric"\n').mean_depth_m == 7.0
    assert read(top='mean_depth = "7 ft"\nunits = "metric"\n').mean_depth_m == pytest.approx(2.1336)


def test_largemouth_alone_picks_the_form_of_the_place() -> None:
    assert read(top='species = ["largemouth"]\n').species == (SpeciesForm.LARGEMOUTH_INTERGRADE,)
    south = parse_profile(SHORTEST.replace("30.31", "28.5").replace("-83.22", "-81.9"), "x.toml")
    assert south.species == (SpeciesForm.LARGEMOUTH_FLORIDA,)
    north = parse_profile(SHORTEST.replace("30.31", "46.2").replace("-83.22", "-94.9"), "x.toml")
    assert north.species == (SpeciesForm.LARGEMOUTH_NORTHERN, SpeciesForm.SMALLMOUTH_LAKE)
    assert north.kind is LakeKind.NORTHERN_NATURAL


def test_the_id_is_the_file_name_so_that_a_new_name_keeps_the_readings() -> None:
    assert read().id == "quillmere-pond"
    assert parse_profile(SHORTEST, "x.toml").id == "quillmere-pond"
    assert parse_profile(SHORTEST, "x.toml", lake_id="old-name").id == "old-name"


def test_a_spot_with_everything() -> None:
    profile = read(
        '[[spots]]\nname = "Edge"\nbank = "NE"\ndepth = ["3 ft", "6 ft"]\ncover = ["pads", "grass_dense"]\n'
        'cover_top = "0 ft"\nbottom = "sand"\nslope = "gentle"\nshelter = ["N", 45]\nzone = "pocket"\n'
        'flags = ["nest_area"]\n'
    )
    (spot,) = profile.spots
    assert spot.depth_m == pytest.approx((0.9144, 1.8288))
    assert spot.cover == {Cover.PADS: 0.5, Cover.GRASS_DENSE: 0.5}
    assert (spot.bank_deg, spot.cover_top_m, spot.slope_deg, spot.shelter_deg) == (45.0, 0.0, 5.0, (0.0, 45.0))
    assert (spot.zone, spot.id, spot.guessed) == (Zone.POCKET, "edge", ())
    assert profile.spot("Edge") is spot
    assert profile.spot("edge") is spot
    assert profile.spot("nowhere") is None


def test_shares_of_cover_are_scaled_to_one() -> None:
    (spot,) = read('[[spots]]\nname = "E"\nbank = "N"\ncover = { rock = 3, bare = 1 }\n').spots
    assert spot.cover == {Cover.ROCK: 0.75, Cover.BARE: 0.25}
    assert spot.guessed == ("depth_m",)


def test_own_limits_in_the_users_units() -> None:
    profile = read('[limits]\nconfirmed = true\nsustained = { caution = "10 mph", stop = "15 mph" }\n')
    assert profile.own_limits
    assert profile.limits.sustained is not None
    assert profile.limits.sustained.stop_mps == pytest.approx(6.7056)
    assert profile.limits.gust is None
    assert not read().own_limits


def test_usual_outings_by_day() -> None:
    profile = read(
        '[[outings]]\ndays = ["saturday"]\nlaunch = "sunrise -30 min"\nreturn = "11:30"\n'
        '[[outings]]\nlaunch = "17:00"\nreturn = "20:00"\n'
    )
    saturday, monday = profile.outing_on(date(2026, 4, 18)), profile.outing_on(date(2026, 4, 20))
    assert saturday is profile.outings[0]
    assert monday is profile.outings[1]
    assert (str(saturday.launch), str(saturday.back)) == ("sunrise -30 min", "11:30")


def test_local_rules_know_when_they_hold() -> None:
    profile = read(
        '[[rules]]\nkind = "closed_season"\nfrom = "11-01"\nto = "02-15"\nread_on = 2026-01-10\n'
        '[[rules]]\nkind = "lead"\nallowed = false\nread_on = 2026-01-10\n'
    )
    winter, lead = profile.rules
    assert [winter.holds_on(date(2026, month, 1)) for month in (10, 11, 1, 2, 3)] == [False, True, True, True, False]
    assert lead.holds_on(date(2026, 7, 1))


# --- refusals --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('craft = "kajak"', "craft: found 'kajak'; accepted: kayak, canoe, jon_boat, bass_boat"),
        ('kind = "pond"', "kind: found 'pond'; accepted: southern_grass"),
        ('mean_depht = "7 ft"', "mean_depht: is not known here; did you mean mean_depth?"),
        ('mean_depth = "7 F"', "mean_depth: '7 F' is not a depth; write a number and a unit"),
        ("mean_depth = true", "mean_depth: found True; accepted: a number with a unit in quotes"),
        ("mean_depth = 7000", "mean_depth: '7000' read as 7000 ft (2133.6 m) is out of all likelihood"),
        ('alone = "yes"', "alone: found 'yes'; accepted: true or false; true when you go out without a second craft"),
        ('units = "imperial"', "units: found 'imperial'; accepted: us, metric"),
        (
            'country = "UK"',
            "country: found 'UK'; accepted: a country of ISO 3166 in two letters, such as \"US\"; did you",
        ),
        ('country = "USA"', "country: found 'USA'; accepted: a country of ISO 3166"),
        ("country = 1", "country: found 1; accepted: a country of ISO 3166"),
        ('time_zone = "Mars/Base"', "time_zone: found 'Mars/Base'; accepted: an IANA time zone"),
        ("over_water_factor = 2.0", "over_water_factor: found 2.0; accepted: Forecast wind times this"),
        ('species = ["trout"]', "species 1: found 'trout'; accepted: largemouth_northern"),
        ('guessed = { alone = "no" }', "guessed: is not known here"),
        ('lake_id = "x"', "lake_id: is not known here"),
        ("schema_version = 0", "schema_version: found 0; accepted: 1"),
        ('mean_depth = "30 ft"\nmax_depth = "20 ft"', "mean_depth is above max_depth"),
        ('[stations]\nairport = "tlh"', "stations, airport: found 'tlh'; accepted: Code of the nearest airport"),
        ('[limits]\ngust = { caution = "20 mph", stop = "10 mph" }', "caution must be above 0 and not above stop"),
        ('[[spots]]\nname = "a"', "give latitude and longitude, or the bank it lies on"),
        ('[[spots]]\nname = "a"\nlatitude = 30.0', "latitude and longitude belong together"),
        ('[[spots]]\nname = "a"\nbank = "up"', "spots 1, bank: 'up' is not a direction"),
        ('[[spots]]\nname = "a"\nbank = "N"\ndepth = ["6 ft", "3 ft"]', "depth is written shallow edge first"),
        ('[[spots]]\nname = "a"\nbank = "N"\ncover = ["gras"]', "accepted: grass_sparse, grass_dense"),
        ('[[spots]]\nname = "a"\nbank = "N"\ncover = { rock = -1 }', "accepted: shares above 0"),
        ('[[spots]]\nname = "a"\nbank = "N"\nslope = "hilly"', "accepted: degrees from 0 to 90, or flat, gentle"),
        ('[[spots]]\nname = "a"\nbank = "N"\n[[spots]]\nname = "A"\nbank = "S"', "two spots have the name 'a'"),
        ('[[rules]]\nkind = "hooks"\nread_on = 2026-01-10', "a rule of kind hooks needs hooks"),
        (
            '[[rules]]\nkind = "closed_season"\nfrom = "02-30"\nread_on = 2026-01-10',
            "accepted: month and day in quotes",
        ),
        (
            '[[outings]]\nlaunch = "noonish"\nreturn = "12:00"',
            "outings 1, launch: found 'noonish'; accepted: a time such",
        ),
        ('[[rods]]\nid = "Swim Rod"\nlength = "7 ft"', "rods 1, id: found 'Swim Rod'; accepted: Short name"),
    ],
)
def test_each_mistake_names_file_field_found_and_accepted(line: str, words: str) -> None:
    base = SHORTEST.replace('craft = "kayak"\n', "") if line.startswith("craft") else SHORTEST
    message = refusal(base + line + "\n")
    assert message.startswith("quillmere-pond.toml")
    assert words in message


def test_all_problems_of_a_file_are_named_at_once() -> None:
    message = refusal('name = "X"\nlatitude = 95.0\ncraft = "kajak"\nfoo = 1\n')
    assert message.splitlines()[0] == "quillmere-pond.toml has 4 problems:"
    for words in ("latitude: found 95.0", "longitude: is missing", "craft: found 'kajak'", "foo: is not known"):
        assert words in message


def test_broken_toml_says_where() -> None:
    message = refusal('name = "X\nlatitude = 30\n')
    assert "quillmere-pond.toml is not valid TOML" in message
    assert "line 1" in message


def test_a_newer_file_is_refused_in_one_sentence() -> None:
    with pytest.raises(NewerSchemaError, match=r"written by a newer version of this program \(layout 7, known 1\)"):
        parse_profile(SHORTEST + "schema_version = 7\nsomething_new = true\n", "x.toml")


def test_braces_in_what_was_found_stay_text() -> None:
    assert "'{reason} {0}'" in refusal(SHORTEST + 'mean_depth = "{reason} {0}"\n')


# --- files -----------------------------------------------------------------------------------------------------------


def test_a_missing_and_an_unreadable_file(tmp_path: Path) -> None:
    with pytest.raises(NotFoundError, match="There is no file"):
        load_profile(tmp_path / "none.toml")
    (tmp_path / "bytes.toml").write_bytes(b"name = '\xff\xfe'")
    with pytest.raises(ProfileError, match="not text in UTF-8"):
        load_profile(tmp_path / "bytes.toml")
    (tmp_path / "folder.toml").mkdir()
    with pytest.raises(StoreError, match="can't be read"):
        load_profile(tmp_path / "folder.toml")


def test_a_write_that_fails_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.toml"
    write_text(path, "old")

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("briefing.profile.files.os.fsync", full)
    with pytest.raises(StoreError, match=r"No space left on device\. Nothing was changed"):
        write_text(path, "new")
    assert path.read_text() == "old"
    assert [item.name for item in tmp_path.iterdir()] == ["a.toml"]


def test_a_folder_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("x")
    with pytest.raises(StoreError, match="can't be written"):
        write_text(tmp_path / "taken" / "a.toml", "new")


def test_finding_a_lake_by_id_name_or_start(tmp_path: Path) -> None:
    with pytest.raises(NotFoundError, match="add one with: briefing lake add"):
        find_lake(tmp_path / "none", None)
    (tmp_path / "quillmere-pond.toml").write_text(SHORTEST)
    assert find_lake(tmp_path, None).stem == "quillmere-pond"
    (tmp_path / "quill-lake.toml").write_text(SHORTEST.replace("Quillmere Pond", "Big Water"))
    (tmp_path / "broken.toml").write_text("name = ")
    assert len(lake_files(tmp_path)) == 3
    for word, stem in (
        ("quillmere-pond", "quillmere-pond"),
        ("QUILLMERE-POND", "quillmere-pond"),
        ("Big Water", "quill-lake"),
        ("br", "broken"),
    ):
        assert find_lake(tmp_path, word).stem == stem
    with pytest.raises(InputError, match="fits several lakes: quill-lake, quillmere-pond"):
        find_lake(tmp_path, "quill")
    with pytest.raises(InputError, match="Which lake"):
        find_lake(tmp_path, None)
    with pytest.raises(NotFoundError, match="no lake 'x'; there are: broken, quill-lake, quillmere-pond"):
        find_lake(tmp_path, "x")


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("Quillmere Pond", "quillmere-pond"),
        ("Étang  Noir!", "etang-noir"),
        ("湖", "lake"),
        ("<b>x</b>", "b-x-b"),
        ("../../etc", "etc"),
    ],
)
def test_short_names(name: str, short: str) -> None:
    assert slug(name) == short


# --- launch times ----------------------------------------------------------------------------------------------------


def test_launch_times() -> None:
    zone = ZoneInfo("America/New_York")
    assert read_launch_time("06:30") == LaunchTime(390)
    assert read_launch_time("sunrise") == LaunchTime(0, True)
    assert str(read_launch_time("Sunrise + 15")) == "sunrise +15 min"
    sunrise = datetime(2026, 4, 18, 10, 50, tzinfo=UTC)
    assert LaunchTime(-60, True).on(date(2026, 4, 18), zone, sunrise) == datetime(2026, 4, 18, 9, 50, tzinfo=UTC)
    assert LaunchTime(-60, True).on(date(2026, 4, 18), zone, None) is None


@pytest.mark.parametrize(
    ("day", "minutes", "instant"),
    [
        (date(2026, 3, 8), 150, datetime(2026, 3, 8, 7, 30, tzinfo=UTC)),  # 02:30 does not exist: 03:30 daylight time
        (date(2026, 11, 1), 90, datetime(2026, 11, 1, 5, 30, tzinfo=UTC)),  # 01:30 comes twice: the first
        (date(2026, 7, 1), 390, datetime(2026, 7, 1, 10, 30, tzinfo=UTC)),
    ],
)
def test_a_launch_at_a_clock_change(day: date, minutes: int, instant: datetime) -> None:
    assert LaunchTime(minutes).on(day, ZoneInfo("America/New_York"), None) == instant
