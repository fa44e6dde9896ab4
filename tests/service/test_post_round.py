"""POST as a way out of the service: tries again what may pass, gives up what will not, shows no secret."""

from __future__ import annotations

import logging
from collections.abc import Iterator

import pytest

from briefing.service.tick import run_round
from tests.service.conftest import Desk
from tests.service.post_target import PostTarget

TOKEN = "tok-5521-secret"


@pytest.fixture
def target() -> Iterator[PostTarget]:
    with PostTarget() as made:
        yield made


def test_a_round_retries_5xx_gives_up_on_4xx_and_logs_no_secret(
    desk: Desk, target: PostTarget, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    desk.environment["BRIEFING_POST_TOKEN"] = TOKEN
    desk.settings(f'[post]\nurl = "{target.url}?room=4711"\ntoken_env = "BRIEFING_POST_TOKEN"\n')
    run_round(desk.world)
    desk.set_clock("2026-04-17 04:46")
    target.status = 503
    report = run_round(desk.world)
    assert (report.made, report.waiting) == (1, 1)
    desk.later(minutes=5)
    target.status = 200
    run_round(desk.world)
    assert [headers["idempotency-key"] for _, headers, _ in target.seen] == [
        target.seen[0][1]["idempotency-key"]
    ] * 2, "the same key and the same bytes"
    assert target.seen[0][2] == target.seen[1][2]
    desk.set_clock("2026-04-18 04:46")
    target.status = 400
    assert run_round(desk.world).refused == 1
    desk.later(minutes=30)
    run_round(desk.world)
    assert len(target.seen) == 3
    written = desk.lines.getvalue() + caplog.text
    assert TOKEN not in written
    assert "4711" not in desk.lines.getvalue(), "the address may hold a secret too"
