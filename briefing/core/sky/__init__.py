"""Sun and moon for a place and a local day. Instants are aware UTC; "none today" is an empty tuple, never an error."""

from briefing.core.sky.day import SkyDay, evening_dusk, local_day, sky_day
from briefing.core.sky.moon import moon_phase_instants
from briefing.core.sky.position import day_length_h, sun_elevation_deg

__all__ = [
    "SkyDay",
    "day_length_h",
    "evening_dusk",
    "local_day",
    "moon_phase_instants",
    "sky_day",
    "sun_elevation_deg",
]
