"""Folders, clock, services and store of one person, put together in one place.

Every door (command line, service) makes an ``App`` and hands it to the use cases of this room; none of them opens the
store, reads a setting or reaches a service on its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from briefing.app.when import parse_instant
from briefing.errors import NotFoundError
from briefing.profile.paths import Home

if TYPE_CHECKING:
    from briefing.app.service_settings import ServiceSettings
    from briefing.core.climate import AirNormals
    from briefing.pipeline.inputs import Knowledge
    from briefing.profile.model import LakeProfile
    from briefing.profile.settings import Settings
    from briefing.sources.http import Fetcher, Progress
    from briefing.sources.shared import Shared
    from briefing.store import Store


#: The most requests over the network for one lake in one run.
REQUESTS_A_LAKE = 60


def _now() -> datetime:
    return datetime.now(UTC)


@dataclass(kw_only=True)
class App:
    """Everything around a use case. The clock is read here and nowhere else.

    ``offline``: no data service is asked. ``shared``: what the lakes of the running round have in common.
    ``progress`` is told of each source that is asked, see `briefing.sources.http.Fetcher`.
    """

    home: Home
    environment: Mapping[str, str] = field(default_factory=dict)
    clock: Callable[[], datetime] = _now
    offline: bool = False
    shared: Shared | None = None
    progress: Progress | None = None
    _profiles: dict[Path, tuple[tuple[int, int], LakeProfile]] = field(default_factory=dict, repr=False)
    _normals: dict[tuple[float, float, float], AirNormals] = field(default_factory=dict, repr=False)

    @classmethod
    def from_environment(cls, environment: Mapping[str, str], now: str | None = None) -> App:
        """Resolve folders and clock; ``now`` (typed) goes before BRIEFING_NOW.

        Raises InputError, and StoreError when a file stands where the folders should be.
        """
        home = Home.from_environment(environment)
        home.check()
        fixed = now or environment.get("BRIEFING_NOW", "").strip()
        if not fixed:
            return cls(home=home, environment=environment)
        instant = parse_instant(fixed)
        return cls(home=home, environment=environment, clock=lambda: instant)

    def now(self) -> datetime:
        """The aware UTC instant that counts as now."""
        return self.clock()

    # -- settings, lakes, knowledge ---------------------------------------------------------------------------------

    def settings(self) -> Settings:
        """The settings shared by all lakes, read anew."""
        from briefing.profile.settings import load_settings

        return load_settings(self.home)

    def service_settings(self) -> ServiceSettings:
        """The service's settings, read anew: a change holds from the next round on."""
        from briefing.app.service_settings import load_service_settings

        return load_service_settings(self.home)

    def lakes_dir(self) -> Path:
        """Folder of the lake files."""
        return self.settings().lakes_dir(self.home)

    def lake_files(self) -> list[Path]:
        """The lake files there are."""
        from briefing.profile.files import lake_files

        return lake_files(self.lakes_dir())

    def lake_path(self, word: str | None) -> Path:
        """File of a lake by id or name; without a word the default, else the only one there is."""
        from briefing.profile.files import find_lake

        settings = self.settings()
        return find_lake(settings.lakes_dir(self.home), word, settings.default_lake)

    def lake(self, word: str | None) -> LakeProfile:
        """Checked profile of a lake by id or name; without a word the default, else the only one there is."""
        return self.profile_at(self.lake_path(word))

    def lake_of(self, lake: str, entry: str) -> LakeProfile:
        """Checked profile of the lake that a stored entry belongs to; ``entry`` names it where the file is gone."""
        try:
            return self.lake(lake)
        except NotFoundError:
            raise NotFoundError(
                f"{entry} belongs to the lake {lake!r}, whose file is gone; to erase all of it: briefing forget {lake}"
            ) from None

    def profile_at(self, path: Path) -> LakeProfile:
        """Checked profile of a lake's file; read again when the file has changed."""
        from briefing.profile.files import load_profile

        try:
            stat = path.stat()
        except OSError:
            return load_profile(path)  # which says what is wrong with it
        stamp = (stat.st_mtime_ns, stat.st_size)
        held = self._profiles.get(path)
        if held is None or held[0] != stamp:
            held = (stamp, load_profile(path))
            self._profiles[path] = held
        return held[1]

    def folder_of(self, profile: LakeProfile) -> Path:
        """Where a lake's briefings are saved."""
        if profile.delivery.folder:
            return Path(profile.delivery.folder).expanduser()
        return self.settings().briefings_dir(self.home)

    def tables(self) -> Knowledge:
        """The knowledge files, the user's own included."""
        from briefing.pipeline.tables import load_tables

        return load_tables(self.home.knowledge_dir)

    def normals(self, profile: LakeProfile) -> AirNormals:
        """Climate normals of air temperature at a lake; kept."""
        from briefing import knowledge
        from briefing.core.climate import normals_at

        place = (profile.latitude, profile.longitude, profile.elevation_m)
        if place not in self._normals:
            self._normals[place] = normals_at(knowledge.load_normals_table(), *place)
        return self._normals[place]

    # -- store and services -----------------------------------------------------------------------------------------

    def store(self) -> Store:
        """The open store; made on first use. Close it, or use it in a ``with`` block."""
        from briefing.store import open_store

        return open_store(self.home.store_file, self.now())

    def store_anyway(self) -> Store:
        """The open store, or what can be read of it where it can't be written: for what must come out all the same."""
        from briefing.store import open_anyway

        return open_anyway(self.home.store_file, self.now())

    @contextmanager
    def fetcher(self, budget: int = REQUESTS_A_LAKE, *, asks: bool = True) -> Iterator[Fetcher | None]:
        """The client for data services with its budget of requests, or None when none is to be asked."""
        if self.offline or not asks:
            yield None
            return
        from briefing.sources.http import Fetcher
        from briefing.sources.urls import BaseUrls

        settings = self.settings()
        addresses = BaseUrls.from_environment(self.environment, open_meteo=settings.open_meteo)
        with Fetcher(
            settings.contact,
            addresses,
            self.home.cache_dir,
            self.clock,
            budget,
            shared=self.shared,
            progress=self.progress,
        ) as fetcher:
            yield fetcher
