"""What the service stands on: clock, folders, lakes, settings, services. The clock is read here and nowhere else."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from zoneinfo import ZoneInfo

from briefing import knowledge
from briefing.core.climate import AirNormals, normals_at
from briefing.core.sky import sky_day
from briefing.delivery.folder import FolderChannel
from briefing.delivery.parcel import Channel
from briefing.delivery.post import PostChannel
from briefing.delivery.secret import Secret, find_secret
from briefing.delivery.smtp import MOST_A_CONNECTION, Account, SmtpChannel
from briefing.errors import BriefingError
from briefing.pipeline.inputs import Knowledge
from briefing.pipeline.inputs import Outing as PipelineOuting
from briefing.pipeline.run import planned_outing
from briefing.pipeline.tables import load_tables
from briefing.profile.files import lake_files, load_profile
from briefing.profile.model import LakeProfile
from briefing.profile.paths import Home
from briefing.profile.settings import Settings, load_settings
from briefing.service.log import Log
from briefing.service.owner import Owner
from briefing.service.planner import LakePlan, Trip
from briefing.service.settings import ServiceSettings, load_service_settings
from briefing.sources.http import Fetcher
from briefing.sources.shared import Shared
from briefing.sources.urls import BaseUrls
from briefing.store import Store, open_store
from briefing.store.ledger_records import OutingEntry

#: Ports by security, where none is set.
PORTS = {"tls": 465, "starttls": 587, "none": 25}


#: The most requests over the network for one lake in one round.
REQUESTS_A_LAKE = 60


@dataclass(frozen=True)
class Lake:
    """A lake that is served."""

    profile: LakeProfile
    path: Path
    plan: LakePlan


@dataclass
class World:
    """Everything around a round of the service.

    ``offline``: no data service is asked. ``shared``: what the lakes of the running round have in common.
    """

    home: Home
    environment: Mapping[str, str]
    clock: Callable[[], datetime]
    owner: Owner
    log: Log
    offline: bool = False
    shared: Shared | None = None
    _profiles: dict[Path, tuple[tuple[int, int], LakeProfile]] = field(default_factory=dict)
    _normals: dict[tuple[float, float, float], AirNormals] = field(default_factory=dict)
    _broken: set[str] = field(default_factory=set)

    def now(self) -> datetime:
        """The aware UTC instant that counts as now."""
        return self.clock()

    def store(self) -> Store:
        """The open store."""
        return open_store(self.home.store_file, self.now())

    def settings(self) -> ServiceSettings:
        """The service's settings, read anew: a change holds from the next round on."""
        return load_service_settings(self.home)

    def common(self) -> Settings:
        """Settings shared by all lakes."""
        return load_settings(self.home)

    def tables(self) -> Knowledge:
        """The knowledge files."""
        return load_tables(self.home.knowledge_dir)

    def lakes(self, settings: ServiceSettings) -> list[Lake]:
        """Lakes to serve. A file that can't be read is told once in the log and left out; the others go on."""
        out = []
        for path in lake_files(self.common().lakes_dir(self.home)):
            try:
                profile = self._profile(path)
            except BriefingError as error:
                if str(error) not in self._broken:
                    self._broken.add(str(error))
                    self.log("lake_unreadable", lake=path.stem, why=error)
                continue
            own = settings.lakes.get(profile.id)
            if own is None or not own.off:
                times = settings.times_of(profile.id)
                plan = LakePlan(profile.id, profile.zone, profile.latitude, profile.longitude, times)
                out.append(Lake(profile, path, plan))
        return out

    def _profile(self, path: Path) -> LakeProfile:
        stat = path.stat()
        stamp = (stat.st_mtime_ns, stat.st_size)
        held = self._profiles.get(path)
        if held is None or held[0] != stamp:
            held = (stamp, load_profile(path))
            self._profiles[path] = held
        return held[1]

    def normals(self, profile: LakeProfile) -> AirNormals:
        """Climate normals at a lake; kept."""
        place = (profile.latitude, profile.longitude, profile.elevation_m)
        if place not in self._normals:
            self._normals[place] = normals_at(knowledge.load_normals_table(), *place)
        return self._normals[place]

    @contextmanager
    def fetcher(self, budget: int = REQUESTS_A_LAKE) -> Iterator[Fetcher | None]:
        """The client for data services with its budget of requests, or None when none is to be asked."""
        if self.offline:
            yield None
            return
        common = self.common()
        addresses = BaseUrls.from_environment(self.environment, open_meteo=common.open_meteo)
        contact, cache = common.contact, self.home.cache_dir
        with Fetcher(contact, addresses, cache, self.clock, budget, shared=self.shared) as fetcher:
            yield fetcher

    def folder_of(self, profile: LakeProfile) -> Path:
        """Where a lake's briefings are saved."""
        if profile.delivery.folder:
            return Path(profile.delivery.folder).expanduser()
        return self.common().briefings_dir(self.home)

    def channels(self, settings: ServiceSettings) -> dict[str, Channel]:
        """The ways out that are set up, by name. Raises InputError when a password file can't be used."""
        out: dict[str, Channel] = {"folder": FolderChannel()}
        if settings.mail.host:
            out["mail"] = SmtpChannel(mail_account(settings, self.environment), most=MOST_A_CONNECTION)
        if settings.post.url:
            token = Secret(self.environment.get(settings.post.token_env, ""))
            out["post"] = PostChannel(token, settings.mail.connect_s, settings.mail.command_s)
        return out


def mail_account(settings: ServiceSettings, environment: Mapping[str, str]) -> Account:
    """The mail account with its password. Raises InputError when a password file can't be used."""
    mail = settings.mail
    secret = find_secret(environment, mail.password_env, mail.password_file, mail.user) if mail.user else Secret("")
    return Account(
        host=mail.host,
        port=mail.port or PORTS[mail.security],
        security=mail.security,
        sender=mail.sender,
        user=mail.user,
        secret=secret,
        ca_file=mail.ca_file,
        connect_s=mail.connect_s,
        command_s=mail.command_s,
        answer_s=mail.answer_s,
    )


def outing_on(profile: LakeProfile, day: date, entry: OutingEntry | None) -> PipelineOuting | None:
    """The planned outing of a date: stored, or a habit of the profile."""
    if entry is None and profile.outing_on(day) is None:
        return None
    return planned_outing(profile, day, entry, _sunrise(profile.latitude, profile.longitude, day, profile.zone))


@lru_cache(maxsize=20_000)
def _sunrise(latitude: float, longitude: float, day: date, zone: ZoneInfo) -> datetime | None:
    found = sky_day(latitude, longitude, day, zone).sunrise
    return found[0] if found else None


def trip_of(outing: PipelineOuting | None) -> Trip | None:
    """The hours of an outing, as the planner takes them."""
    return None if outing is None else Trip(outing.launch, outing.back)
