"""The ways out that are set up: saved files, mail, POST; and the mail account they share."""

from __future__ import annotations

from collections.abc import Mapping

from briefing.app.service_settings import ServiceSettings
from briefing.delivery.folder import FolderChannel
from briefing.delivery.parcel import Channel
from briefing.delivery.post import PostChannel
from briefing.delivery.secret import Secret, find_secret
from briefing.delivery.smtp import MOST_A_CONNECTION, Account, SmtpChannel

#: Ports by security, where none is set.
PORTS = {"tls": 465, "starttls": 587, "none": 25}


def channels(settings: ServiceSettings, environment: Mapping[str, str]) -> dict[str, Channel]:
    """The ways out that are set up, by name. Raises InputError when a password file can't be used."""
    out: dict[str, Channel] = {"folder": FolderChannel()}
    if settings.mail.host:
        out["mail"] = SmtpChannel(mail_account(settings, environment), most=MOST_A_CONNECTION)
    if settings.post.url:
        token = Secret(environment.get(settings.post.token_env, ""))
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
