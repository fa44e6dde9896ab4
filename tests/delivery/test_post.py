"""The POST of JSON over a real loopback connection: what each answer means, and that the token is never shown."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator

import pytest

from briefing.delivery.parcel import Fate, Outcome, Parcel
from briefing.delivery.post import PostChannel
from briefing.delivery.secret import Secret
from tests.patience import HANG_S
from tests.service.post_office import dead_port
from tests.service.post_target import PostTarget

TOKEN = "tok-5521-secret"
BODY = json.dumps({"lake": "quillmere", "subject": "Wind eases"}).encode()


@pytest.fixture
def target() -> Iterator[PostTarget]:
    with PostTarget() as made:
        yield made


def post(url: str, answer_s: float = HANG_S, commit: bool = True) -> Outcome:
    channel = PostChannel(Secret(TOKEN), connect_s=HANG_S, answer_s=answer_s)
    return channel.hand_over(Parcel("key-1", url, "", BODY), lambda: commit)


def test_a_body_arrives_as_it_is_with_its_key_and_token(target: PostTarget) -> None:
    assert post(target.url) == Outcome(Fate.SENT, "taken (204)")
    path, headers, body = target.seen[0]
    assert (path, body) == ("/in", BODY)
    assert headers["idempotency-key"] == "key-1"
    assert headers["authorization"] == f"Bearer {TOKEN}"
    assert headers["content-type"] == "application/json"


@pytest.mark.parametrize(
    ("status", "fate"),
    [(200, Fate.SENT), (201, Fate.SENT), (400, Fate.REFUSED), (404, Fate.REFUSED), (410, Fate.REFUSED),
     (413, Fate.REFUSED), (401, Fate.BLOCKED), (403, Fate.BLOCKED), (408, Fate.LATER), (429, Fate.LATER),
     (500, Fate.LATER), (502, Fate.LATER), (503, Fate.LATER)],
)  # fmt: skip
def test_what_an_answer_means(target: PostTarget, status: int, fate: Fate) -> None:
    target.status = status
    outcome = post(target.url)
    assert outcome.fate is fate
    assert str(status) in outcome.words
    assert TOKEN not in outcome.words
    assert len(target.seen) == 1, "one hand-over is one request; retries are the ledger's"


@pytest.mark.parametrize("status", [301, 302, 307, 308])
def test_a_redirect_is_not_followed(target: PostTarget, status: int) -> None:
    target.status, target.location = status, target.url.replace("/in", "/elsewhere")
    assert post(target.url).fate is Fate.REFUSED
    assert [path for path, _, _ in target.seen] == ["/in"]


def test_no_answer_in_time_and_a_dropped_connection_are_uncertain(target: PostTarget) -> None:
    given_up = threading.Event()
    target.hold = given_up.wait
    assert post(target.url, answer_s=0.2).fate is Fate.UNCERTAIN
    given_up.set()
    target.drop = True
    assert post(target.url).fate is Fate.UNCERTAIN


def test_an_address_that_is_not_there_may_come_back() -> None:
    with dead_port() as port:
        outcome = post(f"http://127.0.0.1:{port}/in")
    assert outcome == Outcome(Fate.LATER, "the address can't be reached")


def test_nothing_is_posted_when_another_process_has_it(target: PostTarget) -> None:
    assert post(target.url, commit=False).fate is Fate.LATER
    assert target.seen == []
