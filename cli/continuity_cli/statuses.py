"""The exit statuses, made from the error classes: "bad" and "could not look" never share one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.errors import ContinuityError

if TYPE_CHECKING:
    from collections.abc import Iterator

YES = 0
WANTING = 1
WRONG_INPUT = 2
UNREAD = 141
INTERRUPTED = 130

_VERDICTS = {
    YES: "yes: recorded, clear, sound, answered",
    WANTING: "examined and found wanting: not clear, not sound, not complete",
}
_SIGNALS = {
    INTERRUPTED: "interrupted; what was acknowledged is recorded",
    UNREAD: "whoever read the answer stopped reading",
}


def table() -> dict[int, str]:
    """What each exit status means, in order."""
    from continuity.care import refusal  # noqa: F401, PLC0415 - its error joins the tree

    errors = {error.status: error.meaning for error in _tree(ContinuityError)}
    return dict(sorted((_VERDICTS | errors | _SIGNALS).items()))


def _tree(error: type[ContinuityError]) -> Iterator[type[ContinuityError]]:
    yield error
    for kind in error.__subclasses__():
        yield from _tree(kind)
