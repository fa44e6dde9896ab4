"""``briefing lake`` as typed."""

import json
import sys
from pathlib import Path

import pytest

from briefing.cli.common import complete_lake
from briefing.profile.files import load_profile
from briefing.profile.settings import OPEN_METEO_NOTE
from briefing.resources import config_path
from tests.cli.conftest import Run

ADD = ("lake", "add", "--name", "Quillmere Pond", "--position", "30.31, -83.22", "--craft", "kayak")


def test_three_flags_make_a_lake_and_say_what_is_guessed(run: Run, home: Path) -> None:
    result = run(*ADD)
    assert result.exit_code == 0
    assert "Added Quillmere Pond as quillmere-pond" in result.stdout
    assert "Guessed, until you say better: kind, elevation, area, mean_depth" in result.stdout
    assert "sit-on-top kayak, novice: wind 8 / 12 mph, gusts 13 / 18 mph, waves 0.5 / 1.0 ft" in result.stdout
    assert "sit-on-top kayak, experienced: wind 12 / 18 mph" in result.stdout
    assert "In use: sit-on-top kayak, novice" in result.stdout
    assert OPEN_METEO_NOTE in result.stdout
    profile = load_profile(home / "config" / "lakes" / "quillmere-pond.toml")
    assert (profile.id, profile.latitude, profile.craft) == ("quillmere-pond", 30.31, "kayak")
    assert (home / "config" / "lakes" / "lake.schema.json").exists()


def test_the_same_name_twice_is_refused(run: Run) -> None:
    run(*ADD)
    result = run(*ADD)
    assert result.exit_code == 2
    assert "There is a lake 'quillmere-pond' already" in result.stderr


def test_all_flags(run: Run, home: Path) -> None:
    result = run(
        *ADD,
        *(
            "--units",
            "metric",
            "--kind",
            "farm_pond",
            "--mean-depth",
            "2.1",
            "--max-depth",
            "18 ft",
            "--area",
            "12 acres",
        ),
        *("--species", "largemouth", "--species", "spotted", "--visibility", "60 cm", "--water-colour", "green"),
        *("--skill", "experienced", "--in-company", "--reentry", "--clothing", "wetsuit", "--speed", "2.6 kn"),
        *("--elevation", "98 m", "--confirm-limits", "--contact", "me@example.org", "--json"),
    )
    assert result.exit_code == 0
    assert json.loads(result.stdout)["guessed"] == {"forage": "usual for a farm pond"}
    profile = load_profile(home / "config" / "lakes" / "quillmere-pond.toml")
    assert (profile.mean_depth_m, profile.units, profile.visibility_m) == (2.1, "metric", 0.6)
    assert profile.max_depth_m == pytest.approx(5.4864)
    assert (profile.skill, profile.alone, profile.reentry_practised) == ("experienced", False, True)
    assert profile.limits.confirmed
    assert 'contact = "me@example.org"' in (home / "config" / "settings.toml").read_text()


def test_question_by_question_with_mistakes_explained(run: Run, home: Path) -> None:
    answers = [
        *("Other Pond", "30.31 83.22", "30.31, -83.22", "us", "kajak", "canoe", "me@example.org", "y"),
        *("", "8 ft", "200 C", "20 ft", "", "", "", "", "n", "", "y"),
    ]
    result = run("lake", "add", typed="\n".join(answers) + "\n")
    assert result.exit_code == 0
    for words in (
        "did you mean 30.31, -83.22 (west)?",
        "craft: found 'kajak'; accepted: kayak (sit-on-top, one person), canoe",
        "max_depth: '200 C' is not a depth",
        "In use: canoe, novice",
    ):
        assert words in result.stdout
    profile = load_profile(home / "config" / "lakes" / "other-pond.toml")
    assert profile.mean_depth_m == pytest.approx(2.4384)
    assert (profile.alone, profile.reentry_practised, profile.limits.confirmed) == (False, False, True)
    assert profile.is_guessed("kind")
    assert not profile.is_guessed("alone")


def test_answers_that_end_leave_nothing_behind(run: Run, home: Path) -> None:
    assert run("lake", "add", typed="Half\n").exit_code != 0
    assert not (home / "config" / "lakes").exists()


def test_like_copies_the_user_and_not_the_lake(run: Run, home: Path, pond: Path) -> None:
    run(
        "lake",
        "set",
        "quillmere-pond",
        "skill=experienced",
        'limits.gust={ caution = "14 mph", stop = "20 mph" }',
        "mean_depth=7ft",
    )
    result = run("lake", "add", "--name", "Other", "--position", "31.0, -84.0", "--like", "quillmere-pond")
    assert result.exit_code == 0
    other = load_profile(home / "config" / "lakes" / "other.toml")
    assert (other.craft, other.skill) == ("kayak", "experienced")
    assert other.limits.gust is not None
    assert other.limits.gust.stop_mps == pytest.approx(8.9408)
    assert other.is_guessed("mean_depth_m")
    assert other.spots == ()


@pytest.mark.parametrize(
    ("flags", "words"),
    [
        (("--mean-depth", "61 F"), "the new lake, mean_depth: '61 F' is not a depth"),
        (("--position", "30.31 83.22"), "did you mean 30.31, -83.22 (west)?"),
        (("--species", "trout"), "species 1: found 'trout'"),
        (("--units", "imperial"), "units: found 'imperial'; accepted: us, metric"),
        (("--shoreline", "none.geojson"), "none.geojson"),
        (("--like", "none"), "There is no lake yet"),
    ],
)
def test_a_wrong_flag_is_one_sentence_and_makes_nothing(
    run: Run, home: Path, flags: tuple[str, ...], words: str
) -> None:
    result = run(*ADD, *flags)
    assert result.exit_code in (2, 5)
    assert words in result.stderr
    assert not (home / "config" / "lakes" / "quillmere-pond.toml").exists()


def test_a_shoreline_is_checked_and_copied_beside_the_file(run: Run, home: Path) -> None:
    shore = config_path("lakes/sedgemary-lake.geojson")
    result = run(
        *("lake", "add", "--name", "S", "--position", "29.93, -82.47", "--craft", "kayak", "--shoreline", str(shore))
    )
    assert result.exit_code == 0, result.output
    assert (home / "config" / "lakes" / "s.geojson").read_bytes() == shore.read_bytes()
    assert load_profile(home / "config" / "lakes" / "s.toml").shoreline == "s.geojson"
    assert "no shoreline" not in run("lake", "check", "s").stdout
    far = run(
        *("lake", "add", "--name", "T", "--position", "45.0, -90.0", "--craft", "kayak", "--shoreline", str(shore))
    )
    assert far.exit_code == 2
    assert not (home / "config" / "lakes" / "t.toml").exists()


def test_an_unwritable_folder_is_one_sentence(run: Run, home: Path) -> None:
    (home / "config").mkdir(parents=True)
    (home / "config" / "lakes").write_text("a file in the place of the folder")
    result = run(*ADD)
    assert result.exit_code == 3
    assert "can't be written" in result.stderr


def test_list_names_the_problem_of_a_broken_file_beside_the_others(run: Run, pond: Path) -> None:
    pond.with_name("broken.toml").write_text("name = ")
    lines = run("lake", "list").stdout.splitlines()
    assert lines[0].startswith("broken: broken.toml is not valid TOML")
    assert lines[1] == "quillmere-pond: Quillmere Pond"
    rows = json.loads(run("lake", "list", "--json").stdout)
    assert [row["lake"] for row in rows] == ["broken", "quillmere-pond"]


def test_without_a_lake_the_next_step_is_named(run: Run) -> None:
    assert "briefing lake add" in run("lake", "list").stdout
    result = run("lake", "show")
    assert result.exit_code == 5
    assert "briefing lake add" in result.stderr


def test_show_marks_guesses(run: Run, pond: Path) -> None:
    out = run("lake", "show").stdout
    assert "mean depth: 6.6 ft (2 m)  (guess: usual for a southern grass lake)" in out
    assert "position: 30.3100 N, 83.2200 W" in out
    assert "spot: North pocket, 3 to 7.9 ft (0.9 to 2.4 m), bare (guess: depth, cover)" in out
    shown = json.loads(run("lake", "show", "--json").stdout)
    assert shown["lake"] == "quillmere-pond"
    assert "mean_depth_m" in shown["guessed"]


def test_show_of_an_example_lake_with_own_limits(run: Run, home: Path) -> None:
    lakes = home / "config" / "lakes"
    lakes.mkdir(parents=True)
    for lake in ("corviston-reservoir", "halvorsby-lake"):
        (lakes / f"{lake}.toml").write_text(config_path(f"lakes/{lake}.toml").read_text())
    assert "Your own in their place: waves 1.2 / 2.0 ft." in run("lake", "show", "corviston-reservoir").stdout
    run("lake", "set", "corviston-reservoir", "limits.confirmed=false")
    assert "only those that are tighter count" in run("lake", "show", "corviston-reservoir").stdout
    shown = json.loads(run("lake", "show", "halvorsby-lake", "--json").stdout)
    assert (shown["outings"][0]["launch"], shown["rules"][0]["start"]) == ("06:00", "02-23")


def test_check_of_a_lake_and_of_a_file(run: Run, pond: Path, tmp_path: Path) -> None:
    assert "quillmere-pond.toml: no problem found" in run("lake", "check", "quillmere-pond").stdout
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('name = "x"\ncraft = "kajak"\n')
    result = run("lake", "check", str(wrong))
    assert result.exit_code == 2
    assert "wrong.toml has 3 problems" in result.stderr
    hints = json.loads(run("lake", "check", "--json").stdout)["hints"]
    assert any("not confirmed" in hint for hint in hints)


def test_a_newer_file_is_refused(run: Run, pond: Path) -> None:
    pond.write_text(pond.read_text().replace("schema_version = 1", "schema_version = 5"))
    result = run("lake", "show")
    assert result.exit_code == 3
    assert "newer version" in result.stderr


def test_set_keeps_comments_and_refuses_nonsense(run: Run, pond: Path) -> None:
    assert run("lake", "set", "quillmere-pond", "mean_depth=7ft", "alone=false").exit_code == 0
    assert "# Mean depth." in pond.read_text()
    assert load_profile(pond).alone is False
    before = pond.read_text()
    for words in (("skil=x",), ("mean_depth",), ("mean_depth=61F",)):
        assert run("lake", "set", "quillmere-pond", *words).exit_code == 2
    assert pond.read_text() == before


def _editor(tmp_path: Path, body: str) -> str:
    script = tmp_path / "editor.py"
    script.write_text(f"import sys, pathlib\npath = pathlib.Path(sys.argv[1])\ntext = path.read_text()\n{body}\n")
    return f"{sys.executable} {script}"


def test_edit_saves_what_passes_the_check(
    run: Run, pond: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(
        "EDITOR", _editor(tmp_path, "path.write_text(text.replace('Quillmere Pond', 'Quillmere Water'))")
    )
    assert run("lake", "edit").exit_code == 0
    assert load_profile(pond).name == "Quillmere Water"
    assert "Nothing changed" in run("lake", "edit").stdout


def test_edit_keeps_the_old_file_and_the_rejected_one(
    run: Run, pond: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = pond.read_text()
    monkeypatch.setenv("EDITOR", _editor(tmp_path, "path.write_text(text.replace('\"kayak\"', '\"kajak\"'))"))
    result = run("lake", "edit", typed="n\n")
    assert result.exit_code == 2
    assert "craft: found 'kajak'" in result.stderr
    assert pond.read_text() == before
    assert '"kajak"' in pond.with_name("quillmere-pond.toml.rejected").read_text()


def test_edit_puts_nothing_in_place_of_bytes_that_are_no_text(
    run: Run, pond: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = pond.read_text()
    monkeypatch.setenv("EDITOR", _editor(tmp_path, "path.write_bytes(text.encode() + b'# caf\\xe9\\n')"))
    result = run("lake", "edit")
    assert result.exit_code != 0
    assert "UTF-8" in result.stderr
    assert pond.read_text() == before


def test_edit_again_after_a_mistake(run: Run, pond: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    body = (
        "wrong = text.replace('\"kayak\"', '\"kajak\"')\n"
        "path.write_text(wrong if '\"kayak\"' in text else text.replace('\"kajak\"', '\"canoe\"'))"
    )
    monkeypatch.setenv("EDITOR", _editor(tmp_path, body))
    assert run("lake", "edit", typed="y\n").exit_code == 0
    assert load_profile(pond).craft == "canoe"


@pytest.mark.parametrize("editor", ["", "no-such-editor-anywhere", f"{sys.executable} -c 'import sys; sys.exit(3)'"])
def test_edit_without_a_working_editor(run: Run, pond: Path, monkeypatch: pytest.MonkeyPatch, editor: str) -> None:
    before = pond.read_text()
    monkeypatch.setenv("EDITOR", editor)
    result = run("lake", "edit")
    assert result.exit_code == 2
    assert "ditor" in result.stderr
    assert pond.read_text() == before


def test_import_of_waypoints(run: Run, pond: Path, tmp_path: Path) -> None:
    gpx = tmp_path / "a.gpx"
    gpx.write_text(
        '<gpx><wpt lat="30.31" lon="-83.22"><name>North pocket</name></wpt>'
        '<wpt lat="30.312" lon="-83.221"><name>Edge</name><desc>a "hump" \\ of {grass}</desc></wpt></gpx>'
    )
    result = run("lake", "import-spots", "quillmere-pond", str(gpx), "--depth", "3 ft to 6 ft", "--cover", "pads")
    assert result.exit_code == 0
    assert "Added 1 spot to quillmere-pond (1 were there already)" in result.stdout
    spot = load_profile(pond).spot("edge")
    assert spot is not None
    assert spot.notes == 'a "hump" \\ of {grass}'
    assert spot.depth_m == pytest.approx((0.9144, 1.8288))
    again = run("lake", "import-spots", "quillmere-pond", str(gpx))
    assert again.exit_code == 5
    assert "holds no spot" in again.stderr
    assert run("lake", "import-spots", "quillmere-pond", str(tmp_path / "none.gpx")).exit_code == 5


@pytest.mark.parametrize(
    "words",
    [
        *(("lake",), ("lake", "add", "--help"), ("lake", "set", "--help"), ("reading",), ("reading", "add", "--help")),
        *(("sign", "--help"), ("where", "--help"), ("export", "--help"), ("forget", "--help")),
    ],
)
def test_help_teaches_by_example(run: Run, words: tuple[str, ...]) -> None:
    assert "  briefing " in run(*words).output


def test_the_first_lake_brings_the_settings_file_with_its_explanations(run: Run, home: Path) -> None:
    out = run(*ADD).stdout
    settings = home / "config" / "settings.toml"
    assert f"No contact is set, so no service is asked yet: write yours into {settings}" in out
    assert "# Mail address or web page" in settings.read_text()
    run("lake", "add", "--name", "Other", "--position", "31, -84", "--craft", "canoe", "--contact", "me@example.org")
    assert 'contact = "me@example.org"' in settings.read_text()


def test_the_shell_completes_names_of_lakes(run: Run, pond: Path) -> None:
    run("lake", "add", "--name", "Other", "--position", "31, -84", "--craft", "canoe")
    assert complete_lake("") == ["other", "quillmere-pond"]
    assert complete_lake("ot") == ["other"]
    pond.parent.with_name("settings.toml").write_text("broken =")
    assert complete_lake("") == []


def test_swapped_coordinates_are_asked_back(run: Run, home: Path) -> None:
    flags = ("lake", "add", "--name", "A", "--craft", "kayak")
    result = run(*flags, "--position", "-84.2, 33.6")
    assert result.exit_code == 2
    assert "Did you mean 33.6, -84.2?" in result.stderr
    assert "no lake" in run("lake", "list").output.lower()
    assert run(*flags, "--position", "-84.2, 33.6", "--yes").exit_code == 0


def test_a_limit_far_over_the_craft_is_asked_back_and_a_change_asks_for_agreement_again(run: Run, pond: Path) -> None:
    assert run("lake", "set", "quillmere-pond", "limits.confirmed=yes").exit_code == 0
    assert "confirmed = true" in pond.read_text()
    wild = run("lake", "set", "quillmere-pond", "limits.sustained.caution=50mph", "limits.sustained.stop=60mph")
    assert wild.exit_code == 2
    assert "limits.sustained.caution, limits.sustained.stop: far over what an experienced hand keeps to" in wild.stderr
    assert "60mph" not in pond.read_text()
    table = 'limits.gust={caution = "50mph", stop = "60mph"}'
    assert "limits.gust.caution, limits.gust.stop: far over" in run("lake", "set", "quillmere-pond", table).stderr
    tight = run("lake", "set", "quillmere-pond", "limits.sustained.caution=6mph", "limits.sustained.stop=10mph")
    assert tight.exit_code == 0
    assert "once you agree: briefing lake set quillmere-pond limits.confirmed=true" in tight.stdout
    assert "confirmed = false" in pond.read_text()
    meant = run("lake", "set", "quillmere-pond", "limits.sustained.stop=60mph", "--yes")
    assert meant.exit_code == 0
    assert (
        "far over what an experienced hand keeps to in this craft: limits.sustained.stop" in run("lake", "check").stdout
    )


def test_a_lure_that_is_none_is_refused_where_it_is_written_and_told_where_it_stands(run: Run, pond: Path) -> None:
    result = run("lake", "set", "quillmere-pond", 'tackle.presentations=["jig"]')
    assert result.exit_code == 2
    assert (
        "'jig' is no presentation here; did you mean flipping_jig, football_jig, finesse_jig, swim_jig?"
        in result.stderr
    )
    text = pond.read_text()
    pond.write_text(f'{text}\n[tackle]\npresentations = ["jig"]\n' if "\n[tackle]" not in text else text)
    assert "'jig' is no presentation here" in run("lake", "check").stderr
    page = run("today", "--offline", "--all")
    assert "Your tackle box names jig, which is no lure here" in " ".join(page.stdout.split())


def test_names_of_lures_cover_and_craft_are_listed(run: Run) -> None:
    listed = run("names").stdout
    assert "flipping_jig: flipping jig, flip jig, flippin jig" in listed
    assert "jon_boat" in listed
    assert "laydown" in listed


def test_usual_names_of_craft_are_understood(run: Run, pond: Path) -> None:
    assert run("lake", "set", "quillmere-pond", "craft=jonboat").exit_code == 0
    assert 'craft = "jon_boat"' in pond.read_text()


def test_a_contact_that_nobody_can_be_reached_at_is_asked_back(run: Run, home: Path) -> None:
    flags = ("lake", "add", "--name", "A", "--position", "33.6, -84.2", "--craft", "kayak", "--contact")
    assert "write a mail address or a web page" in run(*flags, "foo").stderr
    assert run(*flags, "angler@quillmere.example").exit_code == 0


def test_questions_without_an_answer_say_what_was_not_done(run: Run, home: Path) -> None:
    result = run("lake", "add", typed="")
    assert result.exit_code == 2
    assert "No answer to 'Name of the lake': nothing was stored." in result.stderr


def test_where_says_how_the_home_folder_is_chosen(run: Run) -> None:
    assert "BRIEFING_HOME is set; to move everything, move the folder" in run("where").stdout


def test_limits_edited_in_the_file_ask_for_agreement_again(
    run: Run, pond: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run("lake", "set", "quillmere-pond", "limits.sustained.caution=6mph", "limits.sustained.stop=10mph")
    run("lake", "set", "quillmere-pond", "limits.confirmed=true")
    monkeypatch.setenv(
        "EDITOR", _editor(tmp_path, "path.write_text(text.replace('Quillmere Pond', 'Quillmere Water'))")
    )
    run("lake", "edit")
    assert load_profile(pond).limits.confirmed
    monkeypatch.setenv("EDITOR", _editor(tmp_path, "path.write_text(text.replace('10mph', '17mph'))"))
    assert "once you agree" in run("lake", "edit").stdout
    assert not load_profile(pond).limits.confirmed
