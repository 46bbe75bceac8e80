"""Times of the record: RFC 3339 with an offset in, UTC with milliseconds out."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.care.entries import read_act
from continuity.care.times import parse_time, write_time
from continuity.errors import InputError


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("2026-03-01T14:05:00+01:00", "2026-03-01T13:05:00.000Z"),
        ("2026-03-01t13:05:00.123456789z", "2026-03-01T13:05:00.123Z"),
        ("2026-03-01 13:05-23:59", "2026-03-02T13:04:00.000Z"),
        ("0001-01-01T00:00:00Z", "0001-01-01T00:00:00.000Z"),
        ("9999-12-31T23:59:59.999Z", "9999-12-31T23:59:59.999Z"),
    ],
)
def test_a_time_with_its_offset_is_kept_in_utc(text: str, written: str) -> None:
    assert write_time(parse_time(text)) == written
    assert parse_time(written) == parse_time(text)


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-01T14:05:00",
        "2026-03-01",
        "2026-02-30T10:00:00Z",
        "2026-03-01T24:00:01Z",
        "0001-01-01T00:00:00+00:01",
        "9999-12-31T23:59:59-12:00",
        "٢٠٢٦-03-01T14:05:00Z",
        "",
        7,
        None,
        datetime(2026, 3, 1),  # noqa: DTZ001 - that it has no offset is the point
    ],
)
def test_anything_else_is_refused(text: object) -> None:
    with pytest.raises(ValueError, match=r"."):
        parse_time(text)


@given(st.datetimes(timezones=st.just(UTC)))
def test_whatever_is_written_is_read_again(moment: datetime) -> None:
    cut = moment.replace(microsecond=moment.microsecond // 1000 * 1000)
    assert parse_time(write_time(moment)) == cut
    assert len(write_time(moment)) == len("2026-03-01T13:05:00.000Z")


def test_a_day_that_is_in_no_calendar_is_refused() -> None:
    opened = {"kind": "case-opened", "number": "2026-0001", "disposition": "burial"}
    assert read_act({**opened, "day": "2028-02-29"}).day == "2028-02-29"
    with pytest.raises(InputError, match="day"):
        read_act({**opened, "day": "2026-02-30"})
