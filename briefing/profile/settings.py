"""Settings shared by all lakes: ``settings.toml`` in the user's configuration folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Literal

import tomli
from pydantic import ConfigDict, Field, StrictBool, ValidationError

from briefing.errors import NewerSchemaError, ProfileError
from briefing.profile.files import describe_problem, join_problems, read_text, write_text
from briefing.profile.model import ProfileModel
from briefing.profile.paths import Home
from briefing.units import Units

SETTINGS_VERSION = 1

#: Said once when a lake is set up, and by ``briefing where --network``.
OPEN_METEO_NOTE = (
    "The free weather service Open-Meteo is for non-commercial use only, within its limit of requests. If you earn "
    "money with these briefings, use its paid plan, or set open_meteo = false in settings.toml."
)


class Settings(ProfileModel):
    """What holds for all lakes."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)

    schema_version: Literal[1] = Field(1, description="Layout of this file; leave it alone.")
    contact: Annotated[str, Field(max_length=200, pattern=r"^[ -~]*$")] = Field(
        "",
        description="Mail address or web page (plain letters) sent to the data services, so that they can reach you.",
    )
    units: Units = Field("us", description="us or metric: taken for a new lake.")
    default_lake: Annotated[str, Field(min_length=1, max_length=100)] | None = Field(
        None, description="Lake that is meant where none is named; left out, the only one there is."
    )
    open_meteo: StrictBool = Field(True, description="Use Open-Meteo; free for non-commercial use only.")
    lakes_folder: Annotated[str, Field(min_length=1, max_length=500)] | None = Field(
        None, description="Folder of the lake files; left out, lakes/ beside this file."
    )
    briefings_folder: Annotated[str, Field(min_length=1, max_length=500)] | None = Field(
        None, description="Folder for saved briefings; left out, the program's data folder."
    )

    def lakes_dir(self, home: Home) -> Path:
        """Folder of the lake files."""
        return Path(self.lakes_folder).expanduser() if self.lakes_folder else home.lakes_dir

    def briefings_dir(self, home: Home) -> Path:
        """Folder of saved briefings."""
        return Path(self.briefings_folder).expanduser() if self.briefings_folder else home.briefings_dir


def load_settings(home: Home) -> Settings:
    """Return the settings; the defaults when there is no file. Raises ProfileError naming every problem."""
    path = home.settings_file
    if not path.exists():
        return Settings.model_validate({})
    try:
        data = tomli.loads(read_text(path))
    except tomli.TOMLDecodeError as error:
        raise ProfileError(f"{path.name} is not valid TOML: {str(error)[0].lower()}{str(error)[1:]}.") from None
    version = data.get("schema_version", SETTINGS_VERSION)
    if isinstance(version, int) and version > SETTINGS_VERSION:
        raise NewerSchemaError(f"{path.name} was written by a newer version of this program; it is left alone.")
    try:
        return Settings.model_validate(data)
    except ValidationError as error:
        problems = [describe_problem(detail, Settings) for detail in error.errors(include_url=False)]
        raise ProfileError(join_problems(path.name, problems)) from None


def save_settings(home: Home, changes: Mapping[str, str | bool | None]) -> Settings:
    """Change some settings in the file (None leaves one out), keeping its comments.

    A new file is written with explanations.
    """
    import tomlkit

    path = home.settings_file
    if path.exists():
        load_settings(home)  # a broken file is named, not overwritten
        document = tomlkit.parse(read_text(path))
    else:
        document = tomlkit.parse(_new_file())
    for key, value in changes.items():
        if value is None:
            document.pop(key, None)
        else:
            document[key] = value
    settings = Settings.model_validate(document.unwrap())
    write_text(path, tomlkit.dumps(document))
    return settings


def _new_file() -> str:
    lines = ["# Settings shared by all lakes. A line that starts with # is left out.", ""]
    for name, info in Settings.model_fields.items():
        lines.append(f"# {info.description}")
        if name == "schema_version":
            lines.append("schema_version = 1")
        elif name in ("units", "contact"):
            lines.append(f'{name} = "{info.default}"')
        else:
            lines.append(f"# {name} = {'true' if info.default else chr(34) + '...' + chr(34)}")
        lines.append("")
    return "\n".join(lines)
