"""The hour. One place asks the system, so that a story or a test can be told at another."""

from __future__ import annotations

from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_told: ContextVar[Callable[[], datetime] | None] = ContextVar("told", default=None)


def now() -> datetime:
    """The hour in UTC: the system's, unless this very process is telling a story."""
    clock = _told.get()
    return clock() if clock else datetime.now(UTC)


@contextmanager
def telling(clock: Callable[[], datetime]) -> Iterator[None]:
    """Take the hour from another clock for as long as this lasts, in this context alone.

    There is no way to reach this from outside the process: no variable, no option.
    """
    token = _told.set(clock)
    try:
        yield
    finally:
        _told.reset(token)
