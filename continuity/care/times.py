"""Times as the record keeps them: RFC 3339, UTC, milliseconds, never a float."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, PlainSerializer

_WITH_OFFSET = re.compile(
    r"\d{4}-\d{2}-\d{2}[Tt ]\d{2}:\d{2}(:\d{2}(\.\d{1,9})?)?([Zz]|[+-]\d{2}:\d{2})",
    re.ASCII,
)


def parse_time(text: object) -> datetime:
    """Read an RFC 3339 time that names its offset (section 5.6) as UTC, cut to milliseconds.

    Raises:
        ValueError: the text is no such time, or names no offset.
    """
    if isinstance(text, datetime):
        given = text
    elif isinstance(text, str) and _WITH_OFFSET.fullmatch(text):
        given = datetime.fromisoformat(text.upper())
    else:
        raise ValueError(
            "a time is written with its offset, as in 2026-03-01T14:05:00+01:00 or ...13:05:00Z"
        )
    if given.tzinfo is None:
        raise ValueError("a time needs its offset from UTC, as in +01:00 or Z")
    try:
        utc = given.astimezone(UTC)
    except OverflowError:
        raise ValueError("that time lies outside the calendar, years 1 to 9999, in UTC") from None
    return utc.replace(microsecond=utc.microsecond // 1000 * 1000)


def write_time(moment: datetime) -> str:
    """Write a time as the record does: `2026-03-01T13:05:00.000Z`."""
    utc = moment.astimezone(UTC)
    return f"{utc.replace(tzinfo=None).isoformat(timespec='milliseconds')}Z"


def _calendar_day(text: str) -> str:
    datetime.strptime(text, "%Y-%m-%d")  # noqa: DTZ007 - a calendar day has no zone
    return text


Time = Annotated[datetime, BeforeValidator(parse_time), PlainSerializer(write_time)]
"""A moment in UTC with milliseconds; in JSON a string with offset."""

Day = Annotated[str, AfterValidator(_calendar_day)]
"""A calendar day, `YYYY-MM-DD`, as the people concerned name it; no zone applies."""


def hours(count: int) -> timedelta:
    """A span of whole hours."""
    return timedelta(hours=count)
