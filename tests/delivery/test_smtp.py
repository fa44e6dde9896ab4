"""SMTP step by step against a loopback server: what each ending means, and that no password is ever shown."""

from __future__ import annotations

import ssl
import threading
from pathlib import Path

import pytest
from aiosmtpd.smtp import AuthResult, LoginPassword

from briefing.delivery.parcel import Fate, Outcome, Parcel
from briefing.delivery.secret import Secret, find_secret
from briefing.delivery.smtp import Account, SmtpChannel
from briefing.errors import InputError
from tests.patience import HANG_S
from tests.service.post_office import PostOffice, dead_port

BODY = b"Subject: x\r\nTo: reader@example.org\r\n\r\n.leading dot\r\nlast line without end"
PARCEL = Parcel("k", "reader@example.org", "<k@example.net>", BODY)
PASSWORD = "correct-horse-77"


def account(port: int, **changes: object) -> Account:
    values = {"host": "127.0.0.1", "port": port, "security": "none", "sender": "lake@example.net",
              "connect_s": HANG_S, "command_s": HANG_S, "answer_s": HANG_S, **changes}  # fmt: skip
    return Account(**values)  # type: ignore[arg-type]


def send(port: int, commits: list[str] | None = None, **changes: object) -> Outcome:
    log = [] if commits is None else commits

    def commit() -> bool:
        log.append("commit")
        return True

    return SmtpChannel(account(port, **changes)).hand_over(PARCEL, commit)


def test_a_message_arrives_byte_for_byte() -> None:
    with PostOffice() as office:
        assert send(office.port).fate is Fate.SENT
    assert office.taken == [("reader@example.org", BODY + b"\r\n")]


@pytest.mark.parametrize(
    ("step", "reply", "fate", "committed"),
    [
        ("mail", "451 later", Fate.LATER, False),
        ("mail", "550 no", Fate.REFUSED, False),
        ("rcpt", "450 greylisted", Fate.LATER, False),
        ("rcpt", "550 unknown <reader@example.org>", Fate.REFUSED, False),
        ("data", "451 busy", Fate.LATER, True),
        ("data", "554 spam", Fate.REFUSED, True),
    ],
)
def test_a_refusal_says_whether_it_may_pass(step: str, reply: str, fate: Fate, committed: bool) -> None:
    commits: list[str] = []
    with PostOffice() as office:
        office.answers[step] = reply
        outcome = send(office.port, commits)
    assert outcome.fate is fate
    assert "reader@example.org" not in outcome.words
    assert bool(commits) is committed
    assert office.taken == []


@pytest.mark.parametrize(
    ("step", "fate", "stored"),
    [("mail", Fate.LATER, 0), ("rcpt", Fate.LATER, 0), ("data", Fate.UNCERTAIN, 0), ("stored", Fate.UNCERTAIN, 1)],
)
def test_a_connection_that_breaks_is_certain_only_before_the_last_line(step: str, fate: Fate, stored: int) -> None:
    with PostOffice() as office:
        office.hang_up = step
        outcome = send(office.port)
    assert (outcome.fate, len(office.taken)) == (fate, stored)


def test_no_answer_after_the_last_line_is_uncertain_within_its_own_time_limit() -> None:
    released = threading.Event()
    with PostOffice() as office:
        office.hold = lambda step: None if step != "stored" else (released.wait(), None)[1]
        outcome = send(office.port, answer_s=0.2)
        released.set()
    assert outcome.fate is Fate.UNCERTAIN


def test_a_lost_claim_ends_before_the_last_line() -> None:
    with PostOffice() as office:
        outcome = SmtpChannel(account(office.port)).hand_over(PARCEL, lambda: False)
    assert outcome.fate is Fate.LATER
    assert office.taken == []


def test_nothing_listens() -> None:
    with dead_port() as port:
        outcome = send(port)
    assert outcome.fate is Fate.LATER
    assert "can't be reached" in outcome.words


def test_a_wrong_name_is_named() -> None:
    outcome = send(25, host="no-such-host.invalid")
    assert outcome.fate is Fate.LATER
    assert "was not found" in outcome.words


def make_certificate(folder: Path) -> tuple[ssl.SSLContext, Path]:
    """A certificate of its own for 127.0.0.1, made with the command of the system's library."""
    import subprocess

    key, cert = folder / "key.pem", folder / "cert.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
         "-keyout", str(key), "-out", str(cert), "-days", "30", "-subj", "/CN=127.0.0.1",
         "-addext", "subjectAltName=IP:127.0.0.1", "-addext", "basicConstraints=critical,CA:TRUE"],
        check=True, capture_output=True,
    )  # fmt: skip
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(cert, key)
    return context, cert


def authenticator(server: object, session: object, envelope: object, mechanism: str, data: LoginPassword) -> AuthResult:
    good = data.password == PASSWORD.encode()
    return AuthResult(success=good, handled=good)


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> tuple[ssl.SSLContext, Path]:
    return make_certificate(tmp_path_factory.mktemp("cert"))


def test_a_certificate_of_its_own_is_refused_before_the_login(certificate: tuple[ssl.SSLContext, Path]) -> None:
    context, _ = certificate
    with PostOffice(tls_context=context, authenticator=authenticator, auth_required=True) as office:
        outcome = send(office.port, security="starttls", user="me", secret=Secret(PASSWORD))
    assert outcome.fate is Fate.BLOCKED
    assert "certificate" in outcome.words
    assert office.taken == []


def test_starttls_with_a_known_issuer_and_a_login(certificate: tuple[ssl.SSLContext, Path]) -> None:
    context, cert = certificate
    steps: list[str] = []
    with PostOffice(tls_context=context, authenticator=authenticator, auth_required=True) as office:
        good = account(office.port, security="starttls", user="me", secret=Secret(PASSWORD), ca_file=str(cert))
        assert SmtpChannel(good, steps.append).hand_over(PARCEL, lambda: True).fate is Fate.SENT
        bad = account(office.port, security="starttls", user="me", secret=Secret("wrong-one"), ca_file=str(cert))
        refused = SmtpChannel(bad, steps.append).hand_over(PARCEL, lambda: True)
    assert refused.fate is Fate.BLOCKED
    assert "encrypted, certificate checked" in steps
    shown = " ".join([*steps, refused.words, repr(good), repr(bad), str(bad.secret)])
    assert PASSWORD not in shown
    assert "wrong-one" not in shown


def test_a_server_without_starttls_is_never_used_in_the_clear() -> None:
    with PostOffice() as office:
        outcome = send(office.port, security="starttls")
    assert outcome.fate is Fate.BLOCKED
    assert "465" in outcome.words
    assert office.taken == []


def test_tls_from_the_start_on_a_plain_port_names_the_setting() -> None:
    with PostOffice() as office:
        outcome = send(office.port, security="tls")
    assert outcome.fate is Fate.BLOCKED
    assert "starttls" in outcome.words


def test_a_password_is_never_sent_in_the_clear() -> None:
    with PostOffice() as office:
        outcome = send(office.port, user="me", secret=Secret(PASSWORD))
    assert outcome.fate is Fate.BLOCKED


def test_passwords_are_found_in_order_and_an_open_file_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "password"
    file.write_text("from-file\n", encoding="utf-8")
    file.chmod(0o600)
    assert find_secret({"P": "from-env"}, "P", str(file), "me").reveal() == "from-env"
    assert find_secret({}, "P", str(file), "me").reveal() == "from-file"
    assert find_secret({"P_FILE": str(file)}, "P", "", "me").reveal() == "from-file"
    file.chmod(0o644)
    with pytest.raises(InputError, match="chmod 600") as caught:
        find_secret({}, "P", str(file), "me")
    assert "from-file" not in str(caught.value)
