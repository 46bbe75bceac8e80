"""Counting a place: missing, unexpected, and uncounted because shut in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from continuity.care.counting import Count
from continuity.errors import InputError
from tests.door.conftest import firm

if TYPE_CHECKING:
    from tests.door.conftest import Firm

__all__ = ["firm"]

BODY, BAG, VISCERA, COFFIN = (f"2026-0001.{n}" for n in (1, 2, 3, 4))


def test_what_lies_open_and_was_not_scanned_is_missing(firm: Firm) -> None:
    firm.open()
    assert firm.register.count("table-1", [COFFIN, BODY]) == Count(
        "table-1", (BODY, COFFIN), missing=(BAG, VISCERA), unexpected=(), uncounted=()
    )


def test_what_is_shut_in_something_scanned_is_uncounted(firm: Firm) -> None:
    firm.open()
    firm.record("sealed", thing=BAG, seal="77")
    count = firm.register.count("table-1", [BODY, BAG, COFFIN])
    assert (count.missing, count.uncounted, count.agrees) == ((), (VISCERA,), True)


def test_what_is_shut_in_something_missing_is_missing_too(firm: Firm) -> None:
    firm.open()
    firm.record("sealed", thing=BAG, seal="77")
    count = firm.register.count("table-1", [BODY, COFFIN])
    assert (count.missing, count.uncounted, count.agrees) == ((BAG, VISCERA), (), False)


def test_what_is_recorded_elsewhere_is_unexpected(firm: Firm) -> None:
    firm.open()
    firm.record("moved", things=[COFFIN], place="cold-room")
    count = firm.register.count("table-1", [BODY, BAG, VISCERA, COFFIN])
    assert (count.missing, count.unexpected) == ((), (COFFIN,))
    assert not count.agrees
    assert firm.register.count("cold-room", [COFFIN]).agrees


def test_every_case_is_counted(firm: Firm) -> None:
    firm.open("2026-0001")
    firm.open("2026-0002")
    count = firm.register.count("table-1", [BODY, BAG, VISCERA, COFFIN])
    assert count.missing == tuple(f"2026-0002.{n}" for n in (1, 2, 3, 4))


def test_a_thing_that_is_nowhere_recorded_cannot_be_counted(firm: Firm) -> None:
    firm.open()
    with pytest.raises(InputError, match=r"thing 2026-0001\.9: no such thing"):
        firm.register.count("table-1", ["2026-0001.9"])
