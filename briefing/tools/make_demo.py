"""Makes ``config/demo/inputs.json``, the weather of the demonstration.

    python -m briefing.tools.make_demo

The morning: a warm southerly spell ahead of a front. Light wind at dawn, 15 mph with gusts in the twenties from late
morning, storms possible in the afternoon, an official lake wind advisory from noon.
"""

from __future__ import annotations

from briefing import knowledge
from briefing.core.climate import normals_at
from briefing.core.gathered_json import to_json
from briefing.profile.files import load_profile
from briefing.resources import config_path, read_toml
from briefing.tools.compose import Weather, compose

MORNING = Weather(
    seed=20260321,
    peak_mps=6.6,
    peak_h=9.0,
    front_h=20.0,
    thunder_pct=45.0,
    cloud_pct=20.0,
    warm_c=3.0,
    cool_after_c=6.0,
    alerts=("Lake Wind Advisory",),
    alert_from_h=8.0,
)


def main() -> None:
    """Write the file."""
    script = read_toml("demo/demo.toml")
    profile = load_profile(config_path(f"lakes/{script['lake']}.toml"))
    normals = normals_at(knowledge.load_normals_table(), profile.latitude, profile.longitude, profile.elevation_m)
    path = config_path("demo/inputs.json")
    path.write_text(
        to_json(compose(profile, normals, script["day"], script["now"], MORNING, "made-up")) + "\n", encoding="utf-8"
    )
    print(f"wrote {path}")


if __name__ == "__main__":
    main()
