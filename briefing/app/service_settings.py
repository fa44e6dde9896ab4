"""Settings of the service: ``config/service.toml``, and over it the user's ``service.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal
from urllib.parse import urlsplit

import tomli
from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from briefing.app.planner import Times, read_moment
from briefing.errors import InputError, ProfileError
from briefing.profile.files import read_text
from briefing.profile.paths import Home
from briefing.resources import read_toml

FILE_NAME = "service.toml"
_SECRETS = ("password", "token", "secret", "passphrase")

Positive = Annotated[int, Field(ge=1, le=100_000)]
Minutes = tuple[Annotated[float, Field(ge=0, le=1440)], ...]


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)


class TimesTable(_Table):
    """When messages are due; times in words as `read_moment` takes them."""

    morning: str
    mornings: Literal["every_day", "outings"]
    evening: str
    check_evening: str
    check_before_min: Annotated[int, Field(ge=5, le=720)]
    check_every_min: Annotated[int, Field(ge=10, le=720)]
    retention: str

    @field_validator("morning", "check_evening", "retention", "evening")
    @classmethod
    def _readable(cls, value: str) -> str:
        if value:
            try:
                read_moment(value)
            except InputError as error:
                raise ValueError(str(error)) from None
        return value

    def times(self) -> Times:
        """As the planner takes them."""
        return Times(
            morning=read_moment(self.morning),
            every_day=self.mornings == "every_day",
            evening=read_moment(self.evening) if self.evening else None,
            check_evening=read_moment(self.check_evening),
            check_before_min=self.check_before_min,
            check_every_min=self.check_every_min,
            retention=read_moment(self.retention),
        )


class TickTable(_Table):
    """How the service looks for what is due, and what it makes of its clock."""

    every_s: Annotated[int, Field(ge=1, le=300)]
    late_min: Positive
    asleep_s: Positive
    back_s: Positive
    clock_ahead_min: Positive
    look_back_days: Annotated[int, Field(ge=1, le=366)]


class BuildTable(_Table):
    """When a failed build is tried again."""

    retry_min: Minutes


class HandOverTable(_Table):
    """When a hand-over is tried again."""

    retry_min: Minutes
    jitter_share: Annotated[float, Field(ge=0, le=0.5)]
    uncertain: Literal["resend", "hold"]
    resend_after_s: Annotated[int, Field(ge=0, le=3600)]
    account_pause_min: Positive


class MailTable(_Table):
    """The mail account. Without ``host`` no mail goes out."""

    host: str = ""
    port: Annotated[int, Field(ge=1, le=65535)] | None = None
    security: Literal["tls", "starttls", "none"] = "tls"
    user: str = ""
    sender: str = ""
    to: tuple[str, ...] = ()
    password_env: str = "BRIEFING_MAIL_PASSWORD"
    password_file: str = ""
    ca_file: str = ""
    unsubscribe: str = ""
    connect_s: Positive
    command_s: Positive
    answer_s: Positive
    html_kb: Positive

    @model_validator(mode="after")
    def _complete(self) -> MailTable:
        if self.host and (not self.sender or not self.to):
            raise ValueError("mail needs sender and to beside host")
        if self.host and self.security == "none" and self.host not in ("127.0.0.1", "::1", "localhost"):
            raise ValueError('security = "none" is for a server on this machine only; use "tls" or "starttls"')
        return self


class PostTable(_Table):
    """An address of the user's that takes the briefing as JSON. Without ``url`` nothing is posted."""

    url: str = ""
    token_env: str = "BRIEFING_POST_TOKEN"

    @field_validator("url")
    @classmethod
    def _plain(cls, value: str) -> str:
        if not value:
            return value
        parts = urlsplit(value)
        local = parts.hostname in ("127.0.0.1", "::1", "localhost")
        if parts.scheme != "https" and not (parts.scheme == "http" and local):
            raise ValueError("url must begin with https:// (http:// only for this machine)")
        if parts.username or parts.password:
            raise ValueError("url must not hold a name or password; a token goes into an environment variable")
        return value


class RetentionTable(_Table):
    """How long things are kept (days)."""

    gathered_days: Positive
    briefings_days: Positive
    ledger_days: Positive


class HealthTable(_Table):
    """Where the state of the service can be asked for, on this machine only; port 0 picks a free one."""

    port: Annotated[int, Field(ge=0, le=65535)]


class LakeTable(_Table):
    """What is different for one lake."""

    times: Mapping[str, Any] = Field(default_factory=dict)
    to: tuple[str, ...] | None = None
    off: bool = False


class ServiceSettings(_Table):
    """All of it."""

    schema_: Literal[1] = Field(alias="schema")
    times: TimesTable
    tick: TickTable
    build: BuildTable
    hand_over: HandOverTable
    mail: MailTable
    post: PostTable = Field(default_factory=PostTable)
    retention: RetentionTable
    health: HealthTable
    lakes: Mapping[str, LakeTable] = Field(default_factory=dict)

    def times_of(self, lake: str) -> Times:
        """When a lake's messages are due."""
        own = self.lakes.get(lake)
        if own is None or not own.times:
            return self.times.times()
        return TimesTable.model_validate({**self.times.model_dump(), **own.times}).times()

    def recipients(self, lake: str) -> tuple[str, ...]:
        """Who gets a lake's mail."""
        own = self.lakes.get(lake)
        return self.mail.to if own is None or own.to is None else own.to


def user_file(home: Home) -> Path:
    """The user's file."""
    return home.config_dir / FILE_NAME


def load_service_settings(home: Home) -> ServiceSettings:
    """Return the settings. Raises ProfileError in one sentence for a file that can't be taken."""
    path = user_file(home)
    data = dict(read_toml(FILE_NAME))
    if path.exists():
        try:
            own = tomli.loads(read_text(path))
        except tomli.TOMLDecodeError as error:
            raise ProfileError(f"{path.name} is not valid TOML: {error}.") from None
        _refuse_secrets(own, path.name)
        data = _merged(data, own)
    try:
        settings = ServiceSettings.model_validate(data)
        for lake in settings.lakes:
            settings.times_of(lake)
    except ValidationError as error:
        problems = [_problem(detail) for detail in error.errors(include_url=False)]
        raise ProfileError(f"{path.name}: {'; '.join(problems)}.") from None
    return settings


def _problem(detail: Any) -> str:
    where = ".".join(str(part) for part in detail["loc"]) or "the file"
    return f"{where}: {str(detail['msg']).removeprefix('Value error, ').rstrip('.')}"


def _merged(base: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    out = dict(base)
    for key, value in own.items():
        old = out.get(key)
        out[key] = _merged(old, value) if isinstance(old, dict) and isinstance(value, dict) else value
    return out


def _refuse_secrets(data: Mapping[str, Any], name: str, where: str = "") -> None:
    """Passwords don't belong into this file: it is copied, backed up and shown."""
    for key, value in data.items():
        if key in _SECRETS:
            raise ProfileError(
                f"{name}: {where}{key} does not belong here. Put the password into the environment variable "
                "BRIEFING_MAIL_PASSWORD, into the system's keyring, or into a file that only you can read, named by "
                "password_file."
            )
        if isinstance(value, dict):
            _refuse_secrets(value, name, f"{where}{key}.")
