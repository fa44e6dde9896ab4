"""TLS from the first byte, as on port 465, over a real loopback connection with a certificate made here."""

from __future__ import annotations

import ssl
from pathlib import Path

import pytest

from briefing.delivery.parcel import Fate
from briefing.delivery.secret import Secret
from briefing.delivery.smtp import SmtpChannel
from briefing.errors import InputError
from tests.delivery.test_smtp import PARCEL, PASSWORD, account, authenticator, make_certificate
from tests.service.post_office import PostOffice

Certificate = tuple[ssl.SSLContext, Path]


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate:
    return make_certificate(tmp_path_factory.mktemp("cert"))


def office_of(certificate: Certificate) -> PostOffice:
    return PostOffice(ssl_context=certificate[0], authenticator=authenticator, auth_require_tls=False)


def test_a_login_over_tls_from_the_start_with_a_known_issuer(certificate: Certificate) -> None:
    steps: list[str] = []
    with office_of(certificate) as office:
        good = account(office.port, security="tls", user="me", secret=Secret(PASSWORD), ca_file=str(certificate[1]))
        assert SmtpChannel(good, steps.append).hand_over(PARCEL, lambda: True).fate is Fate.SENT
    assert "logged in as me" in steps
    assert [to for to, _ in office.taken] == ["reader@example.org"]
    assert PASSWORD not in " ".join([*steps, repr(good)])


def test_an_unknown_issuer_is_refused_in_words_before_the_login(certificate: Certificate) -> None:
    steps: list[str] = []
    with office_of(certificate) as office:
        unknown = account(office.port, security="tls", user="me", secret=Secret(PASSWORD))
        outcome = SmtpChannel(unknown, steps.append).hand_over(PARCEL, lambda: True)
    assert outcome.fate is Fate.BLOCKED
    assert "certificate of 127.0.0.1 was refused" in outcome.words
    assert "ca_file" in outcome.words
    assert steps == []
    assert office.taken == []


def test_a_certificate_of_another_name_is_refused_although_its_issuer_is_known(certificate: Certificate) -> None:
    with office_of(certificate) as office:
        other = account(office.port, host="localhost", security="tls", ca_file=str(certificate[1]))
        outcome = SmtpChannel(other).hand_over(PARCEL, lambda: True)
    assert outcome.fate is Fate.BLOCKED
    assert "localhost" in outcome.words


def test_a_wrong_password_is_said_in_words_that_do_not_hold_it(certificate: Certificate) -> None:
    with office_of(certificate) as office:
        bad = account(office.port, security="tls", user="me", secret=Secret("wrong-77"), ca_file=str(certificate[1]))
        outcome = SmtpChannel(bad).hand_over(PARCEL, lambda: True)
    assert outcome.fate is Fate.BLOCKED
    assert "refused user and password" in outcome.words
    assert "wrong-77" not in outcome.words + repr(bad)
    assert office.taken == []


def test_a_certificate_file_is_read_anew_when_it_changes(certificate: Certificate, tmp_path: Path) -> None:
    file = tmp_path / "ca.pem"
    other = tmp_path / "other"
    other.mkdir()
    file.write_bytes(make_certificate(other)[1].read_bytes())
    with office_of(certificate) as office:
        mine = account(office.port, security="tls", user="me", secret=Secret(PASSWORD), ca_file=str(file))
        assert SmtpChannel(mine).hand_over(PARCEL, lambda: True).fate is Fate.BLOCKED
        file.write_bytes(certificate[1].read_bytes() + b"\n")
        assert SmtpChannel(mine).hand_over(PARCEL, lambda: True).fate is Fate.SENT
    file.unlink()
    with pytest.raises(InputError, match="can't be read"):
        SmtpChannel(mine).hand_over(PARCEL, lambda: True)
