"""``briefing where``, ``export`` and ``forget``."""

import json
from pathlib import Path

from briefing.profile.settings import OPEN_METEO_NOTE
from tests.cli.conftest import Run


def test_where_names_every_folder_and_makes_none(run: Run, home: Path) -> None:
    out = run("where").stdout
    for name in ("settings", "lakes", "store", "briefings", "cache"):
        assert f"\n{name}" in "\n" + out
    assert not home.exists()
    assert json.loads(run("where", "--json").stdout)["store"]["exists"] is False


def test_what_leaves_the_machine_is_listed_with_positions_and_contact(run: Run, home: Path) -> None:
    (home / "config").mkdir(parents=True)
    (home / "config" / "settings.toml").write_text('contact = "me@example.org"\n')
    out = run("where", "--network").stdout
    assert "Open-Meteo forecast (https://" in out
    assert "position: rounded to 0.01 degree" in out
    assert "your contact: me@example.org" in out
    assert "Spots, nests, readings, signs and your log are never sent." in out
    assert OPEN_METEO_NOTE in out


def test_the_list_follows_the_addresses_and_the_settings(run: Run, home: Path, monkeypatch: object) -> None:
    (home / "config").mkdir(parents=True)
    (home / "config" / "settings.toml").write_text("open_meteo = false\n")
    monkeypatch.setenv("BRIEFING_NWS_URL", "http://127.0.0.1:9/nws")  # type: ignore[attr-defined]
    rows = json.loads(run("where", "--network", "--json").stdout)
    addresses = {row["service"]: row["address"] for row in rows["services"]}
    assert addresses["National Weather Service"] == "http://127.0.0.1:9/nws"
    assert not any("Open-Meteo" in service for service in addresses)


def test_export_holds_files_and_store(run: Run, pond: Path, tmp_path: Path) -> None:
    assert json.loads(run("export").stdout)["store"] == {}
    run("reading", "add", "61F")
    target = tmp_path / "out" / "all.json"
    assert run("export", "--to", str(target)).exit_code == 0
    document = json.loads(target.read_text())
    assert document["lake_files"]["quillmere-pond"] == pond.read_text()
    assert document["store"]["readings"][0]["typed"] == "61F"
    assert document["made_at"] == "2026-04-18T14:00:00+00:00"


def test_export_of_one_lake_leaves_the_others_out(run: Run, pond: Path) -> None:
    run("lake", "add", "--name", "Other", "--position", "31, -84", "--craft", "canoe")
    for lake in ("other", "quillmere-pond"):
        run("reading", "add", "61F", "--lake", lake)
    document = json.loads(run("export", "other").stdout)
    assert list(document["lake_files"]) == ["other"]
    assert [row["lake"] for row in document["store"]["readings"]] == ["other"]
    assert run("export", "none").exit_code == 5


def test_forget_asks_first(run: Run, pond: Path) -> None:
    assert run("forget", "quillmere-pond", typed="n\n").exit_code == 1
    assert pond.exists()


def test_forget_takes_everything_of_the_lake_and_nothing_else(run: Run, pond: Path, home: Path) -> None:
    run("lake", "add", "--name", "Other", "--position", "31, -84", "--craft", "canoe")
    for lake in ("other", "quillmere-pond"):
        run("reading", "add", "61F", "--lake", lake)
    saved = home / "data" / "briefings"
    saved.mkdir()
    for name in ("quillmere-pond-2026-04-18.html", "quillmere-pond-2-2026-04-18.html", "other-2026-04-18.html"):
        (saved / name).write_text("x")
    pond.with_name("quillmere-pond.toml.rejected").write_text("x")
    result = run("forget", "quillmere-pond", typed="y\n")
    assert result.exit_code == 0
    assert "Erased quillmere-pond: 3 files, 1 stored entries." in result.stdout
    assert sorted(path.name for path in saved.iterdir()) == [
        "other-2026-04-18.html",
        "quillmere-pond-2-2026-04-18.html",
    ]
    assert sorted(path.name for path in pond.parent.glob("*.toml*")) == ["other.toml"]
    assert [row["lake"] for row in json.loads(run("export").stdout)["store"]["readings"]] == ["other"]
    assert run("forget", "quillmere-pond", "--yes").exit_code == 5


def test_forget_works_when_the_file_is_gone_already(run: Run, pond: Path) -> None:
    run("reading", "add", "61F")
    pond.unlink()
    assert "briefing forget quillmere-pond" in run("reading", "withdraw", "1").stderr
    assert "1 stored entries" in run("forget", "quillmere-pond", "--yes").stdout


def test_a_newer_store_is_refused_and_left_alone(run: Run, pond: Path, home: Path) -> None:
    import sqlite3

    run("reading", "add", "61F")
    with sqlite3.connect(home / "data" / "briefing.sqlite") as connection:
        connection.execute("INSERT INTO schema_steps VALUES (99, 'later', '2027-01-01 00:00:00')")
    connection.close()
    result = run("reading", "add", "62F")
    assert result.exit_code == 3
    assert "newer version of this program" in result.stderr
    assert "To enter it again: briefing reading add 62F" in result.stderr


def test_a_wrong_clock_setting_is_one_sentence(run: Run, monkeypatch: object) -> None:
    monkeypatch.setenv("BRIEFING_NOW", "yesterday")  # type: ignore[attr-defined]
    result = run("where")
    assert result.exit_code == 2
    assert "is not an instant" in result.stderr
