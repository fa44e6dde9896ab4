"""What a lake's file says that can't hold, or is out of all habit: unknown lures, limits far over the craft's own."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from pathlib import Path

from briefing.app.assembly import App
from briefing.core.wind.limits import LIMIT_FIELDS, LimitsTable
from briefing.errors import InputError
from briefing.knowledge import load_advice_knowledge, load_log_parameters
from briefing.pipeline.mapping import own_limits
from briefing.profile.model import LakeProfile
from briefing.resources import read_toml
from briefing.sections.words import CRAFT_NAME, CRAFT_SIZE
from briefing.vocabulary import Cover, Craft, Skill

#: Own limits over so many times those of an experienced hand in this craft are asked back.
FAR_OVER = 1.3
_FIELD = {
    **{"sustained_caution_mps": "limits.sustained.caution", "sustained_stop_mps": "limits.sustained.stop"},
    **{"gust_caution_mps": "limits.gust.caution", "gust_stop_mps": "limits.gust.stop"},
    **{"waves_caution_m": "limits.waves.caution", "waves_stop_m": "limits.waves.stop"},
}


def far_limits(profile: LakeProfile) -> tuple[str, ...]:
    """Fields of the user's own limits that lie far over those of an experienced hand in the same craft."""
    own = own_limits(profile)
    if own is None:
        return ()
    row = LimitsTable.from_mapping(read_toml("limits.toml")).rows[profile.craft, Skill.EXPERIENCED]
    given = {name: getattr(own, name) for name in LIMIT_FIELDS if getattr(own, name) is not None}
    return tuple(_FIELD[name] for name, value in given.items() if value > FAR_OVER * getattr(row, name))


def check_tackle(app: App, profile: LakeProfile) -> None:
    """Raise InputError for the first lure of the tackle box that is none, with the nearest ids.

    An unknown id matches nothing: a box of such ids would leave every place without a lure.
    """
    names = {item.id: item.name for item in load_advice_knowledge(_own_knowledge(app)).presentations}
    for field, ids in (("presentations", profile.tackle.presentations), ("weights_oz", profile.tackle.weights_oz)):
        for id_ in ids:
            if id_ not in names:
                raise InputError(
                    f"{profile.id}.toml, tackle.{field}: {id_!r} is no presentation here; "
                    f"{_nearest(id_, names)} All ids: briefing names"
                )


def _nearest(word: str, names: Mapping[str, str]) -> str:
    """The ids that a word may mean: by the trade's usual names first, else those spelled most like it."""
    words = load_log_parameters().words
    said = word.replace("_", " ").lower()
    usual = [id_ for id_, known in words.presentation.items() if said in known and id_ in names]
    several = [id_ for id_ in words.ambiguous.get(said, ()) if id_ in names]
    near = usual or several or difflib.get_close_matches(word, names, n=4, cutoff=0.5)
    return f"did you mean {', '.join(near)}?" if near else "none is spelled like it."


def known_names(app: App) -> dict[str, dict[str, list[str]]]:
    """Ids of lures, cover and craft, each with what people call it."""
    knowledge, words = load_advice_knowledge(_own_knowledge(app)), load_log_parameters().words
    lures = {item.id: [item.name, *words.presentation.get(item.id, ())] for item in knowledge.presentations}
    cover = {kind.value: [knowledge.covers[kind].name, *words.cover.get(kind, ())] for kind in Cover}
    craft = {one.value: [CRAFT_NAME[one], CRAFT_SIZE[one]] for one in Craft}
    groups = {"lures": lures, "cover": cover, "craft": craft}
    return {
        group: {id_: list(dict.fromkeys(name.lower() for name in known if name)) for id_, known in rows.items()}
        for group, rows in groups.items()
    }


def _own_knowledge(app: App) -> Path | None:
    return app.home.knowledge_dir if app.home.knowledge_dir.is_dir() else None
