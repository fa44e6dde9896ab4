"""One connection for several messages: each to its own recipient, none lost or doubled when the server ends it."""

from __future__ import annotations

import pytest

from briefing.delivery.parcel import Fate, Parcel
from briefing.delivery.smtp import SmtpChannel
from tests.delivery.test_smtp import account
from tests.service.post_office import PostOffice


def parcels(count: int) -> list[Parcel]:
    return [
        Parcel(f"k{n}", f"reader{n}@example.org", f"<k{n}@example.net>", f"Subject: {n}\r\n\r\n{n}\r\n".encode())
        for n in range(count)
    ]


def test_messages_of_a_round_share_a_connection_and_each_has_one_recipient() -> None:
    steps: list[str] = []
    with PostOffice() as office:
        channel = SmtpChannel(account(office.port), steps.append, most=50)
        fates = [channel.hand_over(one, lambda: True).fate for one in parcels(5)]
        channel.close()
    assert fates == [Fate.SENT] * 5
    assert [to for to, _ in office.taken] == [f"reader{n}@example.org" for n in range(5)]
    assert sum(step.startswith("connected") for step in steps) == 1


def test_a_connection_ends_after_as_many_messages_as_it_may_take() -> None:
    steps: list[str] = []
    with PostOffice() as office:
        channel = SmtpChannel(account(office.port), steps.append, most=2)
        assert [channel.hand_over(one, lambda: True).fate for one in parcels(5)] == [Fate.SENT] * 5
        channel.close()
    assert sum(step.startswith("connected") for step in steps) == 3


def test_a_server_that_ended_the_kept_connection_costs_no_message() -> None:
    with PostOffice() as office:
        channel = SmtpChannel(account(office.port), most=50)
        first, second, third = parcels(3)
        assert channel.hand_over(first, lambda: True).fate is Fate.SENT
        assert channel._session is not None
        channel._session.sock.close()  # type: ignore[union-attr]
        assert channel.hand_over(second, lambda: True).fate is Fate.SENT
        # The server closes on the next sender, once: a new connection is tried, and that one is closed as well.
        office.hang_up = "mail"
        commits: list[int] = []
        outcome = channel.hand_over(third, lambda: not commits.append(1))
        assert (outcome.fate, commits) == (Fate.LATER, [])
        office.hang_up = ""
        assert channel.hand_over(third, lambda: True).fate is Fate.SENT
        channel.close()
    assert [to for to, _ in office.taken] == [f"reader{n}@example.org" for n in range(3)]


def test_a_refused_recipient_spoils_no_other_message() -> None:
    first, second, third = parcels(3)
    with PostOffice() as office:
        channel = SmtpChannel(account(office.port), most=50)
        assert channel.hand_over(first, lambda: True).fate is Fate.SENT
        office.answers["rcpt"] = "550 unknown"
        assert channel.hand_over(second, lambda: True).fate is Fate.REFUSED
        office.answers.clear()
        assert channel.hand_over(third, lambda: True).fate is Fate.SENT
        channel.close()
    assert [to for to, _ in office.taken] == ["reader0@example.org", "reader2@example.org"]


def test_no_answer_after_the_last_line_of_a_later_message_is_uncertain_and_not_tried_again_here() -> None:
    first, second = parcels(2)
    with PostOffice() as office:
        channel = SmtpChannel(account(office.port), most=50)
        assert channel.hand_over(first, lambda: True).fate is Fate.SENT
        office.hang_up = "stored"
        assert channel.hand_over(second, lambda: True).fate is Fate.UNCERTAIN
        channel.close()
    assert len(office.taken) == 2


def test_a_refusal_in_a_kept_session_is_tried_on_a_new_one() -> None:
    first, second = parcels(2)
    steps: list[str] = []
    with PostOffice() as office:
        channel = SmtpChannel(account(office.port), steps.append, most=50)
        assert channel.hand_over(first, lambda: True).fate is Fate.SENT
        office.once["mail"] = "554 too many messages in this session"
        assert channel.hand_over(second, lambda: True).fate is Fate.SENT
        channel.close()
    assert [to for to, _ in office.taken] == ["reader0@example.org", "reader1@example.org"]
    assert sum(step.startswith("connected") for step in steps) == 2


def test_a_fault_of_ours_at_the_last_step_leaves_no_session_inside_a_message() -> None:
    with PostOffice() as office:
        channel = SmtpChannel(account(office.port), most=50)

        def broken() -> bool:
            raise RuntimeError("the store is gone")

        with pytest.raises(RuntimeError):
            channel.hand_over(parcels(1)[0], broken)
        assert channel._session is None
    assert office.taken == []
