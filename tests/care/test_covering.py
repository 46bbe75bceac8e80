"""What a coffin may be closed over, and what a matter settles: nothing that came to light later."""

from __future__ import annotations

from dataclasses import replace

import pytest

from continuity.care.closing import Finding, _covers, _settled
from continuity.care.findings.base import KINDS, Found
from tests.care.histories import device
from tests.care.history import World

PAST = KINDS["found-not-declared"]


@pytest.fixture
def w() -> World:
    return World()


@pytest.fixture
def found(w: World) -> Finding:
    """What a coffin was closed over; the check is its case's last but one entry."""
    w.arrive(device())
    w.ready()
    w.close(over=["left-elsewhere"], reason="the family knows")
    return w.check().findings[0]


def test_closing_covers_what_was_shown_up_to_the_check_and_nothing_after(
    w: World, found: Finding
) -> None:
    check = w.case().checks[0]
    number = check.moment.number
    assert found.entries == (1,)
    for entries in ((), (1,), (1, number - 1), (1, number)):
        assert _covers(check, replace(found, entries=entries))
    for entries in ((number + 1,), (1, number + 1)):
        assert not _covers(check, replace(found, entries=entries))
    assert not _covers(check, replace(found, code="left-behind", entries=(1,)))


def test_a_matter_settles_what_was_shown_before_it_and_nothing_else(w: World) -> None:
    w.do("case-opened", disposition="burial", release_authority="release 7")
    raised = w.do("irregularity-raised", what="whose?", about=[PAST.code])
    assert raised.number == 1
    case = w.case()
    assert _settled(PAST, Found("so", "mend"), case)
    assert _settled(PAST, Found("so", "mend", entries=(0,)), case)
    for entries in ((1,), (2,), (0, 2)):
        assert not _settled(PAST, Found("so", "mend", entries=entries), case)
