"""The built-in demonstration: an invented lake, made-up weather, a fixed clock; computed like any other morning."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from briefing import knowledge
from briefing.core.climate import normals_at
from briefing.core.gathered_json import from_json
from briefing.core.readings import ClarityReading, Sign, WaterReading
from briefing.pipeline.build import build
from briefing.pipeline.inputs import Entered, Kept, MorningInputs, Outing
from briefing.pipeline.made import Made, render
from briefing.pipeline.shape import lake_shape
from briefing.pipeline.tables import load_tables, reader_of
from briefing.profile.files import load_profile
from briefing.resources import config_path, read_toml
from briefing.vocabulary import SignKind, WaterColour, Zone


def demo_inputs() -> MorningInputs:
    """Return the demonstration's inputs, as ``config/demo`` holds them."""
    script = read_toml("demo/demo.toml")
    path = config_path(f"lakes/{script['lake']}.toml")
    profile = load_profile(path)
    now: datetime = script["now"]
    outing = script["outing"]
    return MorningInputs(
        profile=profile,
        reader=reader_of(profile),
        shape=lake_shape(profile, path),
        normals=normals_at(knowledge.load_normals_table(), profile.latitude, profile.longitude, profile.elevation_m),
        gathered=from_json(config_path("demo/inputs.json").read_text(encoding="utf-8")),
        entered=_entered(script),
        kept=Kept(),
        outing=Outing(outing["launch"], outing["back"], planned=True, lead="your usual hours in the profile"),
        day=script["day"],
        now=now,
        demo=True,
    )


def make_demo() -> Made:
    """Build and render the demonstration."""
    inputs = demo_inputs()
    return render(build(inputs, load_tables()), inputs.gathered)


def _entered(script: Mapping[str, Any]) -> Entered:
    water = tuple(
        WaterReading(
            id=f"demo-{number}",
            time=row["time"],
            temperature_c=float(row["c"]),
            zone=Zone(row.get("zone", "main")),
            kind=row.get("kind", "typed"),
            depth_m=row.get("depth_m"),
        )
        for number, row in enumerate(script["water"])
    )
    clarity = tuple(
        ClarityReading(row["time"], row.get("m"), WaterColour(row["colour"]) if "colour" in row else None)
        for row in script["clarity"]
    )
    signs = tuple(
        Sign(
            id=f"demo-sign-{number}",
            time=row["time"],
            kind=SignKind(row["kind"]),
            zone=Zone(row.get("zone", "main")),
            hours_looked=float(row.get("hours", 1.0)),
        )
        for number, row in enumerate(script["signs"])
    )
    return Entered(water=water, clarity=clarity, signs=signs)
