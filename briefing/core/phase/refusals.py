"""Where no estimate is made, and the sentence that says so."""

from __future__ import annotations

import numpy as np

from briefing.core.climate.normals import AirNormals
from briefing.core.phase.model import PhaseSite
from briefing.core.phase.parameters import CommonParameters
from briefing.core.water.series import WaterSeries
from briefing.vocabulary import SpeciesForm, Zone

_COLD_WATER_FORMS = (SpeciesForm.SMALLMOUTH_LAKE, SpeciesForm.SMALLMOUTH_RIVER, SpeciesForm.SPOTTED)


def refusal(
    site: PhaseSite,
    form: SpeciesForm,
    water: WaterSeries,
    normals: AirNormals | None,
    climate_min_c: float,
    common: CommonParameters,
) -> str:
    """Return in a sentence why the season can't be estimated here, or an empty string where it can."""
    latitude = abs(site.latitude_deg)
    if normals is None:
        return "The climate normals are missing, so it can't be followed beyond the forecast."
    if latitude > common.top_latitude_deg:
        return (
            f"Beyond {common.top_latitude_deg:.0f} degrees of latitude neither day length nor water follows the rules "
            "learned nearer the equator."
        )
    if latitude < common.bottom_latitude_deg:
        return (
            f"Within {common.bottom_latitude_deg:.0f} degrees of the equator neither day length nor cold sets a season."
        )
    if climate_min_c > common.tropics_min_c and form in _COLD_WATER_FORMS:
        return "This water has no cold season, and this fish needs one."
    main = water.members_c[:, :, water.zone_index(Zone.MAIN)]
    if main.size == 0 or not np.isfinite(main).all():
        return "The water temperature series has gaps."
    return ""


def is_tropical(climate_min_c: float, common: CommonParameters) -> bool:
    """True where the water has no cold season and temperature is no cue (Ozen and Noble 2002)."""
    return climate_min_c > common.tropics_min_c
