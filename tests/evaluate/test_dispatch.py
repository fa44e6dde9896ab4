"""The command line of the evaluations: one object, or one sentence and exit code 2."""

import json

import pytest

from briefing.errors import InputError
from briefing.evaluate.__main__ import main
from briefing.evaluate.rows import number, read_rows, text_table

SUN_HEADER = (
    "place,lat,lon,tz,local_date,sunrise,sunset,civil_dawn,civil_dusk,moonrise,moonset,moon_upper_transit,"
    "moon_lower_transit,illuminated_fraction_at_noon,phase_angle,moon_distance_km,solar_noon,day_length_h"
)
# An invented almanac row at 0 N 0 E, made false on purpose: a sunset three hours late, a second moonrise that is none.
SUN_ROW = (
    "nowhere,0,0,UTC,2025-03-20,2025-03-20T06:04:00+00:00,2025-03-20T21:11:00+00:00,2025-03-20T05:43:00+00:00,"
    "2025-03-20T18:32:00+00:00,2025-03-20T22:55:00+00:00;2025-03-20T12:00:00+00:00,2025-03-20T10:16:00+00:00,"
    "2025-03-20T04:04:00+00:00,2025-03-20T16:30:00+00:00,0.65,248,403000,2025-03-20T12:07:30+00:00,12.11"
)


@pytest.fixture
def sky_folder(tmp_path):
    (tmp_path / "sun-moon-truth.csv").write_text(f"{SUN_HEADER}\n{SUN_ROW}\n", encoding="utf-8")
    phases = "phase,utc\nfull,2025-03-14T06:55:00Z\nlast_quarter,2025-03-22T11:29:30Z\n"
    (tmp_path / "moon-phases-truth.csv").write_text(phases, encoding="utf-8")
    return tmp_path


def test_sky_prints_one_json_object_with_errors_lost_and_extra_events(sky_folder, capsys):
    assert main(["sky", str(sky_folder), "--json"]) == 0
    out = capsys.readouterr().out
    result = json.loads(out)
    assert out.count("\n") == 1
    counts = {name: result["events"]["sunrise"][name] for name in ("n", "lost", "extra", "wrong_date")}
    assert counts == {"n": 1, "lost": 0, "extra": 0, "wrong_date": 0}
    assert result["events"]["sunrise"]["max_s"] < 60.0
    assert (result["events"]["sunset"]["lost"], result["events"]["sunset"]["extra"]) == (1, 1)
    assert (result["events"]["moonrise"]["n"], result["events"]["moonrise"]["lost"]) == (2, 1)
    assert result["phases"]["n"] == 2
    assert result["phases"]["max_s"] < 60.0


def test_sky_prints_a_table_without_json(sky_folder, capsys):
    assert main(["sky", str(sky_folder)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split() == ["event", "n", "max_s", "median_s", "lost", "extra", "wrong_date"]
    assert lines[1].startswith("sunrise")


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        (SUN_HEADER + "\n", "no rows"),
        ("lat,lon\n1,2\n", "lacks the columns tz"),
        (f"{SUN_HEADER}\n{SUN_ROW.replace('nowhere,0,', 'nowhere,north,')}\n", "row 2: lat is"),
        (f"{SUN_HEADER}\n{SUN_ROW.replace('nowhere,0,', 'nowhere,nan,')}\n", "row 2: lat is"),
        (f"{SUN_HEADER}\n{SUN_ROW.replace('2025-03-20,', '9999-12-31,', 1)}\n", "row 2"),
        (f"{SUN_HEADER}\n{SUN_ROW.replace(',UTC,', ',Mars/Base,')}\n", "row 2"),
        (f"{SUN_HEADER}\n{SUN_ROW.replace('T06:04:00+00:00', 'T06:04:00')}\n", "no offset"),
        (f"{SUN_HEADER}\n{SUN_ROW.replace('2025-03-20T06:04:00+00:00', 'dawnish')}\n", "not a time"),
        (f"{SUN_HEADER}\n{SUN_ROW},1,2\n", "row 2: it has another number of cells"),
    ],
)
def test_a_bad_table_gives_one_sentence_and_exit_code_2(sky_folder, capsys, text, complaint):
    (sky_folder / "sun-moon-truth.csv").write_text(text, encoding="utf-8")
    assert main(["sky", str(sky_folder), "--json"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert complaint in captured.err
    assert captured.err.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "complaint"),
    [
        (["tides", "x"], 'no evaluation called "tides"'),
        (["sky", "/no/such/folder"], "does not exist"),
        (["sky"], "usage:"),
        (["sky", "a", "--jsonn"], "usage:"),
    ],
)
def test_wrong_arguments_give_one_sentence_and_exit_code_2(capsys, arguments, complaint):
    assert main(arguments) == 2
    assert complaint in capsys.readouterr().err


def test_a_file_that_is_no_text_is_refused(tmp_path):
    path = tmp_path / "table.csv"
    path.write_bytes(b"\xff\xfe\x00a")
    with pytest.raises(InputError, match="can't be read"):
        read_rows(path, ())
    with pytest.raises(InputError, match='depth is "deep"'):
        number(path, 2, {"depth": "deep"}, "depth")


def test_text_table_lines_up_its_columns():
    assert text_table(("name", "n"), [("a", 10), ("long", 5)]) == "name   n\na     10\nlong   5"
