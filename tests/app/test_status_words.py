"""What `briefing status` says of a lake whose services were never reached."""

from datetime import UTC, datetime

from briefing.app.status import LakeStatus, Status, status_lines


def test_data_without_a_wind_are_no_fresh_data() -> None:
    now = datetime(2026, 4, 18, 10, tzinfo=UTC)
    lake = LakeStatus("pond", "America/Chicago", outing="none", no_wind=True)
    said = "\n".join(status_lines(Status(now, None, [], [], [lake])))
    assert "data: no wind is stored, nothing is known of the hours" in said
    assert "0 min old" not in said
