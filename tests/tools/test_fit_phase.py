"""The fits of the seasonal phases on small invented data."""

import math
from datetime import date, timedelta

import pytest

from briefing.evaluate.spawn_dates import COLUMNS
from briefing.tools import fit_phase


def test_the_spawning_fit_finds_later_fish_and_leaves_regions_out(tmp_path, monkeypatch):
    monkeypatch.setattr(fit_phase, "SHIFTS_C", (0.0, 2.0))
    monkeypatch.setattr(fit_phase, "WAVES", (0.9,))
    monkeypatch.setattr(fit_phase, "SPREADS", (0.75,))
    monkeypatch.setattr(fit_phase, "PARTICLES", 64)
    head = "Micropterus nigricans,northern"
    rows = [
        f"{head},Alder Lake,WI,US,45.0,-90.0,typical,spawn_start,06-10,06-20,yes,A; invented",
        f"{head},Alder Lake,WI,US,45.0,-90.0,typical,spawn_end,07-10,07-20,yes,A; invented",
        f"{head},Birch Lake,IL,US,40.0,-89.0,typical,spawn_start,03-25,04-10,yes,A; invented",
    ]
    (tmp_path / "spawn-dates.csv").write_text("\n".join([",".join(COLUMNS), *rows]), encoding="utf-8")
    text = fit_phase.fit_spawning(tmp_path)
    pooled, without = (
        text.split(f"[fitted.{name}]")[1].splitlines()[1] for name in ("pooled", "without_upper_midwest")
    )
    assert pooled == "largemouth = { centre_shift_c = 2.00, wave_factor = 0.90, spread_factor = 0.75 }"
    assert without.startswith("largemouth = { centre_shift_c = 0.00")
    assert "3 headline rows" in text


def test_the_climate_fit_reproduces_water_that_follows_the_air(tmp_path):
    folder = tmp_path / "lake-temperature"
    folder.mkdir()
    lakes = ["file,name,lat,lon,mean_depth_m,kind,group"]
    for number, (latitude, depth) in enumerate(((31.0, 3.0), (38.0, 6.0), (45.0, 10.0))):
        lakes.append(f"lake{number}.csv,Invented {number},{latitude},-85.0,{depth},lake,south")
        lines = ["date,water_temp_c,air_temp_c"]
        for n in range(366):
            day = date(2020, 1, 1) + timedelta(days=n)
            wave = math.cos(2 * math.pi * (n - 200) / 366)
            late = math.cos(2 * math.pi * (n - 200 - 2 * depth) / 366)
            level = 24.0 - 0.35 * (latitude - 31.0)
            lines.append(f"{day},{max(level + 2 + 9 * late, 0.0):.2f},{level - 4 + 10 * wave:.2f}")
        (folder / f"lake{number}.csv").write_text("\n".join(lines), encoding="utf-8")
    (folder / "lakes.csv").write_text("\n".join(lakes), encoding="utf-8")
    text = fit_phase.fit_climate(tmp_path)
    assert text.startswith("[climate]\nlevel_c = ")
    rms = float(text.split("rms ")[1].split()[0])
    assert rms < 1.2
    assert "3 lakes" in text


def test_the_command_needs_to_know_what_to_fit(capsys):
    with pytest.raises(SystemExit):
        fit_phase.main(["moon", "."])
    assert "spawning" in capsys.readouterr().err
