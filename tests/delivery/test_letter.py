"""The mail's bytes: headers read back, nothing smuggled in, the same for the same letter."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from email.message import EmailMessage

import pytest

from briefing.delivery.letter import Image, Letter, build_letter, check_address, clean
from briefing.errors import InputError

AT = datetime(2026, 4, 18, 8, 45, tzinfo=UTC)
LETTER = Letter(
    key="0123456789abcdef0123", sender="lake@example.net", recipient="reader@example.org",
    subject="Within your limits from 06:30: Quillmere Pond, Sat 18 Apr",
    text="Ein schöner Text.\n.\n..dots\nFrom here\n",
    html="<html><body><p>schön <img src='cid:chart0.x'></p></body></html>",
    date=AT, valid_until=AT + timedelta(hours=3),
    images=(Image("chart0.x", b"\x89PNG not really"),),
)  # fmt: skip


def parsed(body: bytes) -> EmailMessage:
    found = message_from_bytes(body, policy=policy.default)
    assert isinstance(found, EmailMessage)
    return found


def test_the_same_letter_gives_the_same_bytes() -> None:
    assert build_letter(LETTER) == build_letter(replace(LETTER))
    assert build_letter(LETTER) != build_letter(replace(LETTER, key="1123456789abcdef0123"))


def test_every_header_is_read_back_as_it_was_meant() -> None:
    long_id = f"<{'a' * 20}@{'sub.' * 12}example.net>"
    found = parsed(build_letter(replace(LETTER, thread=(long_id, "<b@example.net>"))))
    assert found["From"].addresses[0].addr_spec == "lake@example.net"
    assert [one.addr_spec for one in found["To"].addresses] == ["reader@example.org"]
    assert found["Subject"] == LETTER.subject
    assert found["Date"].datetime == AT
    assert found["Message-ID"] == "<0123456789abcdef0123@example.net>"
    assert found["Auto-Submitted"] == "auto-generated"
    assert found["List-Unsubscribe"] == "<mailto:lake@example.net?subject=unsubscribe>"
    assert found["In-Reply-To"] == "<b@example.net>"
    assert found["References"] == f"{long_id} <b@example.net>"
    assert found["Expires"].endswith("+0000")


def test_structure_is_text_then_html_with_inline_images() -> None:
    found = parsed(build_letter(LETTER))
    assert found.get_content_type() == "multipart/alternative"
    text, related = found.iter_parts()
    assert text.get_content_type() == "text/plain"
    assert text.get_content().replace("\r\n", "\n") == LETTER.text
    assert related.get_content_type() == "multipart/related"
    html, image = related.iter_parts()
    assert "schön" in html.get_content()
    assert (image["Content-ID"], image.get_content_disposition()) == ("<chart0.x>", "inline")
    assert image.get_content() == LETTER.images[0].png


def test_lines_are_ascii_short_and_end_in_crlf() -> None:
    body = build_letter(LETTER)
    assert body.isascii()
    assert b"\n" not in body.replace(b"\r\n", b"")
    assert max(len(line) for line in body.split(b"\r\n\r\n", 1)[1].split(b"\r\n")) <= 78


@pytest.mark.parametrize(
    "name",
    [
        "Pond\r\nBcc: x@example.com",
        "A é =?UTF-8?Q?=0A?=Bcc: x@example.com",
        "Pond\nX: y\n\n",
        "=?utf-8?b?CkJjYzogeEBleGFtcGxlLmNvbQ==?=",
        "Pond\x00\x1b[2J",
        "trailing\n",
        "ü" * 400,
    ],
)
def test_no_name_makes_a_header_of_its_own(name: str) -> None:
    found = parsed(build_letter(replace(LETTER, subject=f"Over your limits: {name}")))
    assert {"bcc", "x"} & {key.lower() for key in found} == set()
    assert found["To"] == "reader@example.org"
    assert len(found["Subject"]) <= 160
    assert found.get_body(("plain",)).get_content().replace("\r\n", "\n") == LETTER.text


@pytest.mark.parametrize(
    "address", ["", "x", "a@b\r\nBcc: c@d", "a@b, c@d", "a b@example.org", "a@exämple.org", "<a@b>", "a@b..c"]
)
def test_an_address_that_is_none_is_refused(address: str) -> None:
    with pytest.raises(InputError, match="no mail address"):
        check_address(address)
    with pytest.raises(InputError):
        build_letter(replace(LETTER, recipient=address))


def test_cleaning_keeps_words_and_cuts_length() -> None:
    assert clean("North\tpond \n two", 60) == "North pond two"
    assert clean("x" * 100, 60).endswith("…")
