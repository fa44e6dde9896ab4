"""Where the program keeps its files, from a mapping of environment variables.

``BRIEFING_HOME`` puts everything below one folder (tests, a portable install); without it the folders of the operating
system are used: settings and lakes in the user's configuration folder, the store and saved briefings in the data
folder, retrieved bodies in the cache folder.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from briefing.errors import StoreError

_APP = "lake-morning-briefing"


@dataclass(frozen=True, slots=True)
class Home:
    """The three folders; none needs to exist yet."""

    config_dir: Path
    data_dir: Path
    cache_dir: Path

    @property
    def lakes_dir(self) -> Path:
        """Folder of the lake profiles, one TOML file a lake."""
        return self.config_dir / "lakes"

    @property
    def settings_file(self) -> Path:
        """File of the settings shared by all lakes."""
        return self.config_dir / "settings.toml"

    @property
    def knowledge_dir(self) -> Path:
        """Folder of the user's own presentation and colour files."""
        return self.config_dir / "knowledge"

    @property
    def store_file(self) -> Path:
        """The SQLite file."""
        return self.data_dir / "briefing.sqlite"

    @property
    def briefings_dir(self) -> Path:
        """Folder of saved briefings."""
        return self.data_dir / "briefings"

    def check(self) -> None:
        """Raise StoreError when a file stands where the folder of the lakes, or a folder above it, should be.

        Without a folder for entries a morning is made all the same: the store says what is wrong with it. Without one
        for bodies of services nothing is lost: they are then not kept.
        """
        found = next((path for path in (self.config_dir, *self.config_dir.parents) if path.exists()), None)
        if found is not None and not found.is_dir():
            raise StoreError(
                f"{found} is a file, where the folder with your lakes and entries is expected; "
                "set BRIEFING_HOME to the folder, or move the file away."
            )

    @classmethod
    def from_environment(cls, environment: Mapping[str, str]) -> Home:
        """Resolve the folders; an empty variable counts as unset."""
        root = environment.get("BRIEFING_HOME", "").strip()
        if root:
            base = Path(root).expanduser()
            return cls(base / "config", base / "data", base / "cache")
        import platformdirs

        dirs = platformdirs.PlatformDirs(_APP, appauthor=False)
        return cls(Path(dirs.user_config_dir), Path(dirs.user_data_dir), Path(dirs.user_cache_dir))
