"""From the name of a fish to the form whose seasonal habits are followed."""

from __future__ import annotations

from briefing.errors import InputError
from briefing.vocabulary import LakeKind, SpeciesForm

#: South of this latitude largemouth of grass lakes are taken as the Florida form, and up to the next as mixed.
_FLORIDA_TO_DEG = 29.5
_MIXED_TO_DEG = {LakeKind.SOUTHERN_GRASS: 33.0}
_MIXED_TO_DEG_ELSEWHERE = 31.0

_WORDS = {
    "alabama": SpeciesForm.SPOTTED,
    "florida": SpeciesForm.LARGEMOUTH_FLORIDA,
}


def form_for(species: str, latitude_deg: float, lake_kind: LakeKind) -> SpeciesForm:
    """Return the species form for what a user names.

    ``largemouth`` and ``smallmouth`` alone pick by latitude and lake kind: the Florida form and its mixtures hold the
    south-east of its continent and were stocked in like climates, river smallmouth live under the rule of flow.
    Every id of ``SpeciesForm`` is accepted as it stands.

    Raises:
        InputError: the name is none of these.
    """
    word = species.strip().lower().replace("-", "_").replace(" ", "_").removesuffix("_bass")
    if word in set(SpeciesForm):
        return SpeciesForm(word)
    if word in _WORDS:
        return _WORDS[word]
    if word == "smallmouth":
        river = lake_kind == LakeKind.TIDAL_RIVER
        return SpeciesForm.SMALLMOUTH_RIVER if river else SpeciesForm.SMALLMOUTH_LAKE
    if word == "largemouth":
        south = abs(latitude_deg)
        if south < _FLORIDA_TO_DEG:
            return SpeciesForm.LARGEMOUTH_FLORIDA
        mixed = south < _MIXED_TO_DEG.get(lake_kind, _MIXED_TO_DEG_ELSEWHERE)
        return SpeciesForm.LARGEMOUTH_INTERGRADE if mixed else SpeciesForm.LARGEMOUTH_NORTHERN
    known = ", ".join(["largemouth", "smallmouth", *SpeciesForm])
    raise InputError(f"species: {species!r} is not known; accepted are {known}")
