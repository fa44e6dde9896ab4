"""Official alerts as they came, and whether they could be read at all."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

Ring = tuple[tuple[float, float], ...]  # (longitude, latitude) in degrees


@dataclass(frozen=True)
class Alert:
    """One alert message of the Common Alerting Protocol 1.2; times are aware UTC instants."""

    id: str
    event: str
    status: str  # Actual | Exercise | System | Test | Draft
    message_type: str  # Alert | Update | Cancel
    severity: str
    certainty: str
    urgency: str
    sent: datetime
    effective: datetime | None
    onset: datetime | None
    expires: datetime | None  # end of the message's life
    ends: datetime | None  # end of the event
    headline: str
    description: str
    instruction: str
    area: str
    issued_by: str
    references: tuple[str, ...] = ()
    rings: tuple[Ring, ...] = ()  # outer rings of its polygon; empty when it is by zone
    event_codes: tuple[str, ...] = ()
    response: str = ""
    further: str = ""  # words of the message beside headline, description and instruction
    at_point: bool = field(default=False, compare=False)  # listed for a point of the lake, not for its zones alone


@dataclass(frozen=True)
class AlertFeed:
    """The outcome of asking for alerts.

    ``checked_at`` is None when they were never read. ``service_exists`` is false where no service covers the lake
    (a standing unknown). ``problem`` says in one sentence why they could not be read; empty when they could.
    A failed request is never an empty list.
    """

    alerts: tuple[Alert, ...]
    checked_at: datetime | None
    source: str
    name: str
    service_exists: bool = True
    problem: str = ""
    entered: bool = False  # read and typed in by the user
    dropped: tuple[str, ...] = field(default=())  # malformed or test messages, for the log
    damaged: int = 0  # messages that could not be read: the feed is then no proof of "none"

    @property
    def readable(self) -> bool:
        """True when alerts were read and none was damaged."""
        return self.checked_at is not None and not self.problem and not self.damaged


def typed_alert(alert_id: str, event: str, read_at: datetime, ends: datetime | None, note: str = "") -> Alert:
    """Make the alert of an event that the user read elsewhere and typed; what it says beside its name is not known."""
    return Alert(
        id=alert_id,
        event=event,
        status="Actual",
        message_type="Alert",
        severity="Unknown",
        certainty="Unknown",
        urgency="Unknown",
        sent=read_at,
        effective=None,
        onset=None,
        expires=None,
        ends=ends,
        headline=f"{event}, as you read it",
        description=note,
        instruction="",
        area="",
        issued_by="typed by you",
        further="as read and typed by you",
    )
