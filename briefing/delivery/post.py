"""A POST of JSON to an address of the user's."""

from __future__ import annotations

from briefing.delivery.parcel import Commit, Fate, Outcome, Parcel
from briefing.delivery.secret import Secret

#: Refusals that may pass.
_LATER = (408, 425, 429)


class PostChannel:
    """Posts a parcel's bytes; the recipient is the address. The key goes along, so that a double can be told."""

    name = "post"

    def __init__(self, token: Secret, connect_s: float = 15.0, answer_s: float = 60.0) -> None:
        self._token = token
        self._connect_s, self._answer_s = connect_s, answer_s

    def hand_over(self, parcel: Parcel, commit: Commit) -> Outcome:
        """Post once; no redirect is followed, for it might lead elsewhere."""
        import httpx

        headers = {"Content-Type": "application/json", "Idempotency-Key": parcel.key}
        if self._token:
            headers["Authorization"] = f"Bearer {self._token.reveal()}"
        if not commit():
            return Outcome(Fate.LATER, "another process has it")
        limits = httpx.Timeout(self._answer_s, connect=self._connect_s)
        try:
            with httpx.Client(timeout=limits, follow_redirects=False) as client:
                status = client.post(parcel.recipient, content=parcel.body, headers=headers).status_code
        except (httpx.ConnectError, httpx.ConnectTimeout, httpx.UnsupportedProtocol, httpx.InvalidURL):
            return Outcome(Fate.LATER, "the address can't be reached")
        except httpx.HTTPError:
            return Outcome(Fate.UNCERTAIN, "the whole message went out, and no answer came")
        if 200 <= status < 300:
            return Outcome(Fate.SENT, f"taken ({status})")
        if status in (401, 403):
            return Outcome(Fate.BLOCKED, f"the address refused the token ({status})")
        if status in _LATER or status >= 500:
            return Outcome(Fate.LATER, f"the address answered {status}")
        return Outcome(Fate.REFUSED, f"the address answered {status}")

    def close(self) -> None:
        """Nothing is kept open."""
