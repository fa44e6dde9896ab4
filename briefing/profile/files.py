"""Reading and writing lake profiles: one TOML file a lake, the user's comments kept on edits.

Every problem of a file is reported at once, each naming the field, what was found and what is accepted. Files are
written beside their name and moved into place, so that an interrupted write never leaves half a profile.
"""

from __future__ import annotations

import difflib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast, get_args

import tomli
from pydantic import BaseModel, ValidationError

from briefing.errors import InputError, NewerSchemaError, NotFoundError, ProfileError, StoreError
from briefing.profile.guesses import country_at, guesses_for, resolve_species, time_zone_at
from briefing.profile.model import SCHEMA_VERSION, LakeProfile
from briefing.units import UNIT_SYSTEMS, Units
from briefing.vocabulary import Craft, LakeKind

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails


def load_profile(path: Path) -> LakeProfile:
    """Read and check one profile, with guesses filled in and named in ``guessed``.

    Raises NotFoundError (no such file), ProfileError (all problems of the file), NewerSchemaError, StoreError.
    """
    return parse_profile(read_text(path), path.name, lake_id=path.stem)


def parse_profile(text: str, file_name: str, *, lake_id: str = "") -> LakeProfile:
    """Check a profile given as text; ``file_name`` is for the messages. Raises as `load_profile` does."""
    try:
        data = tomli.loads(text)
    except tomli.TOMLDecodeError as error:
        raise ProfileError(f"{file_name} is not valid TOML: {str(error)[0].lower()}{str(error)[1:]}.") from None
    return build_profile(data, file_name, lake_id=lake_id)


def build_profile(data: Mapping[str, Any], file_name: str, *, lake_id: str = "") -> LakeProfile:
    """Check a parsed profile and fill in what it leaves out. Raises ProfileError, NewerSchemaError."""
    version = data.get("schema_version", SCHEMA_VERSION)
    if isinstance(version, int) and version > SCHEMA_VERSION:
        raise NewerSchemaError(
            f"{file_name} was written by a newer version of this program (layout {version}, known {SCHEMA_VERSION}); "
            "it is left alone. Update the program to read it."
        )
    units: Units = data["units"] if data.get("units") in UNIT_SYSTEMS else "us"
    hidden = [key for key in ("guessed", "lake_id") if key in data]
    full, guessed = _filled({key: value for key, value in data.items() if key not in hidden}, units)
    problems = [f"{key}: is not known here" for key in hidden]
    try:
        profile = LakeProfile.model_validate({**full, "guessed": guessed, "lake_id": lake_id}, context={"units": units})
    except ValidationError as error:
        problems += [describe_problem(detail) for detail in error.errors(include_url=False)]
    if problems:
        raise ProfileError(join_problems(file_name, problems))
    return profile


def _filled(data: dict[str, Any], units: Units) -> tuple[dict[str, Any], dict[str, str]]:
    """Add guesses to a parsed file; where position or craft are wrong, leave the check to name that."""
    if not _placed(data):
        return data, {}
    full, guessed = dict(data), {}
    place = (float(data["latitude"]), float(data["longitude"]))
    if "time_zone" not in full:  # looking it up takes 70 ms, so new files carry it
        full["time_zone"] = time_zone_at(*place)
    if "country" not in full and isinstance(full["time_zone"], str):
        full["country"] = country_at(full["time_zone"], *place)
    try:
        for guess in guesses_for(data, units):
            full[guess.key] = guess.value
            guessed[guess.attribute] = guess.why
    except InputError:  # a depth that can't be read: the check below says so
        return full, {}
    if isinstance(full["species"], list):
        kind = LakeKind(full["kind"])
        full["species"] = [
            resolve_species(word, *place, kind).value if word in ("largemouth", "smallmouth") else word
            for word in full["species"]
        ]
    return full, guessed


def _placed(data: Mapping[str, Any]) -> bool:
    """True when position, craft and kind can be trusted enough to guess from them."""
    numbers = [data.get("latitude"), data.get("longitude")]
    if any(isinstance(value, bool) or not isinstance(value, int | float) for value in numbers):
        return False
    in_range = abs(cast(float, numbers[0])) <= 90.0 and abs(cast(float, numbers[1])) <= 180.0
    return in_range and data.get("craft") in list(Craft) and data.get("kind", "farm_pond") in list(LakeKind)


# --- problems in words -----------------------------------------------------------------------------------------------


#: A list in a wrong form can make a problem an item; beyond this they help no one.
_MOST_LINES = 25


def join_problems(file_name: str, problems: list[str]) -> str:
    """Write all problems of a file: one as a sentence, several as a list."""
    ended = [problem if problem.endswith("?") else f"{problem}." for problem in problems]
    if len(ended) == 1:
        return f"{file_name}, {ended[0]}"
    more = [f"and {len(ended) - _MOST_LINES} more of the kind."] if len(ended) > _MOST_LINES else []
    lines = [*ended[:_MOST_LINES], *more]
    return "\n".join([f"{file_name} has {len(ended)} problems:", *(f"  {line}" for line in lines)])


#: What is accepted where the form of a value is wrong, by kind of problem.
_BY_FORM = {
    **dict.fromkeys(("bool_parsing", "bool_type"), "true or false"),
    **dict.fromkeys(("tuple_type", "list_type"), "a list in brackets"),
    **dict.fromkeys(("dict_type", "model_type"), "a table of its own"),
    **dict.fromkeys(("int_parsing", "int_type", "int_from_float"), "a whole number"),
    **dict.fromkeys(("float_parsing", "float_type"), "a number"),
    "string_type": "a text in quotes",
}


def describe_problem(detail: ErrorDetails, model: type[BaseModel] = LakeProfile) -> str:
    """Write one problem as ``field: found X; accepted: Y``."""
    where = _field_name(detail["loc"])
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "missing":
        return f"{where}: is missing; accepted: {_description(model, detail['loc'])}"
    if kind == "extra_forbidden":
        near = difflib.get_close_matches(str(detail["loc"][-1]), _known_keys(model, detail["loc"][:-1]), n=1)
        return f"{where}: is not known here" + (f"; did you mean {near[0]}?" if near else "")
    found = _shown(detail["input"])
    if kind in ("enum", "literal_error"):
        accepted = str(context.get("expected", "")).replace("'", "").replace(" or ", ", ")
        return f"{where}: found {found}; accepted: {accepted}"
    if kind == "briefing":
        reason = str(context["reason"])
        return f"{where}: found {found}; {reason}" if reason.startswith("accepted") else f"{where}: {reason}"
    message = f"{detail['msg'][0].lower()}{detail['msg'][1:]}"
    description = _description(model, detail["loc"])
    if kind in _BY_FORM:  # the library's words name its own types
        also = f"; {description[:1].lower()}{description[1:]}" if description else ""
        return f"{where}: found {found}; accepted: {_BY_FORM[kind]}{also}"
    if description and kind == "string_pattern_mismatch":  # a pattern explains nothing to a reader
        return f"{where}: found {found}; accepted: {description}"
    accepted = f"{description} ({message})" if description else message
    return f"{where}: found {found}; accepted: {accepted}"


def _field_name(loc: tuple[int | str, ...]) -> str:
    """Write ``("spots", 1, "depth", 0)`` as ``spots 2, depth 1``; the file itself as ``the file``."""
    parts: list[str] = []
    for part in loc:
        if isinstance(part, int):
            parts[-1] = f"{parts[-1]} {part + 1}"
        elif part != "[key]":
            parts.append(str(part))
    return ", ".join(parts) or "the file"


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _model_at(root: type[BaseModel], loc: tuple[int | str, ...]) -> type[BaseModel] | None:
    """Follow a location to the table it stands in."""
    model: type[BaseModel] | None = root
    for part in loc:
        if isinstance(part, int) or model is None:
            continue
        annotation = _field_of(model, part)
        model = None if annotation is None else _table_in(annotation.annotation)
    return model


def _field_of(model: type[BaseModel], key: str) -> Any:
    return next((info for name, info in model.model_fields.items() if key in (info.alias, name)), None)


def _table_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for part in get_args(annotation) if (found := _table_in(part))), None)


def _known_keys(root: type[BaseModel], loc: tuple[int | str, ...]) -> list[str]:
    model = _model_at(root, loc)
    if model is None:
        return []
    return [info.alias or name for name, info in model.model_fields.items() if not info.exclude]


def _description(root: type[BaseModel], loc: tuple[int | str, ...]) -> str:
    """Return the field's own description without its full stop."""
    names = [part for part in loc if isinstance(part, str)]
    if not names:
        return ""
    model = _model_at(root, tuple(names[:-1]))
    info = _field_of(model, names[-1]) if model else None
    return (info.description or "").rstrip(".") if info else ""


# --- files -----------------------------------------------------------------------------------------------------------


def read_text(path: Path) -> str:
    """Return the text of a file. Raises NotFoundError or StoreError in one sentence."""
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise NotFoundError(f"There is no file {path}.") from None
    except UnicodeDecodeError:
        raise ProfileError(f"{path.name} is not text in UTF-8; save it as UTF-8 and try again.") from None
    except OSError as error:
        raise StoreError(f"{path} can't be read: {error.strerror or error}.") from None


def write_text(path: Path, text: str) -> None:
    """Write a file whole or not at all: to a temporary name, then moved. Raises StoreError in one sentence."""
    temporary = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        Path(temporary).replace(path)
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        raise StoreError(f"{path} can't be written: {error.strerror or error}. Nothing was changed.") from None


def lake_files(lakes_dir: Path) -> list[Path]:
    """Return the profile files of a folder, by name; an absent folder has none. Raises StoreError for a file there."""
    if lakes_dir.exists() and not lakes_dir.is_dir():
        raise StoreError(f"{lakes_dir} is a file, where the folder of your lakes is expected; move it away.")
    return sorted(lakes_dir.glob("*.toml")) if lakes_dir.is_dir() else []


def find_lake(lakes_dir: Path, word: str | None, default: str | None = None) -> Path:
    """Return the file of a lake by id (file name) or name; without a word, ``default``, else the only lake there is.

    Raises NotFoundError that lists the lakes at hand or says how to add one; InputError when several would fit.
    """
    files = lake_files(lakes_dir)
    if not files:
        raise NotFoundError("There is no lake yet; add one with: briefing lake add")
    if word is None:
        kept = [path for path in files if path.stem == default]
        if kept:
            return kept[0]
        if len(files) > 1:
            raise InputError(
                f"Which lake? Name one of: {_listed(files)}. One for good: briefing lake default {files[0].stem}"
            )
        return files[0]
    wanted = word.strip().casefold()
    exact = [path for path in files if path.stem.casefold() == wanted]
    by_name = [path for path in files if _name_in(path).casefold() == wanted]
    by_start = [path for path in files if wanted and path.stem.casefold().startswith(wanted)]
    for found in (exact, by_name, by_start):
        if len(found) == 1:
            return found[0]
        if found:
            raise InputError(f"{word!r} fits several lakes: {_listed(found)}.")
    raise NotFoundError(f"There is no lake {word!r}; there are: {_listed(files)}.")


def _listed(files: list[Path]) -> str:
    return ", ".join(path.stem for path in files)


def _name_in(path: Path) -> str:
    """Return the name a file gives its lake, or an empty text when it can't be read."""
    try:
        return str(tomli.loads(path.read_text(encoding="utf-8")).get("name", ""))
    except (OSError, ValueError):
        return ""
