"""Treatments under way in all cases in care, followed a few cases at a time between scans."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.hazards import history, immersions
from continuity.care.things import TISSUE, AtPlace
from continuity_cli.station.answer import Immersion

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from continuity.care.case import Case
    from continuity.register import Register

_AT_ONCE = 4
"""Cases read at a time: a scan that comes meanwhile waits for no more."""


class Watch:
    """Which things are in a solution, and since when."""

    def __init__(self, register: Register) -> None:
        self._register = register
        self._lengths: dict[str, int] = {}
        self._started: dict[str, list[tuple[str, str, datetime]]] = {}

    def look(self) -> bool:
        """Look again at a few cases that have grown; True while there are more of them.

        Raises:
            RegisterError: the register cannot be read.
        """
        store = self._register.store
        in_care = {case_id for case_id, _ in store.in_care()}
        for gone in self._started.keys() - in_care:
            del self._started[gone], self._lengths[gone]
        looked = 0
        for case_id in in_care:
            head = store.case_head(case_id)
            if head is None or head.name is None or self._lengths.get(case_id) == head.length:
                continue
            if looked == _AT_ONCE:
                return True
            self._started[case_id] = list(_under_way(self._register.case(head.name)))
            self._lengths[case_id] = head.length
            looked += 1
        return False

    def immersions(self, now: datetime) -> tuple[Immersion, ...]:
        """The treatments under way at this hour, the one due first first."""
        span = self._register.house().policy.span("treatment")
        running = sorted(
            (
                (started, thing, words)
                for group in self._started.values()
                for thing, words, started in group
            )
        )
        return tuple(
            Immersion(
                thing,
                words,
                (now - started).total_seconds(),
                span.total_seconds(),
                f"{(started + span).astimezone(now.tzinfo):%H:%M}",
            )
            for started, thing, words in running
        )


def _under_way(case: Case) -> Iterator[tuple[str, str, datetime]]:
    for thing in case.own:
        if thing.what in TISSUE and isinstance(case.resting(thing.id), AtPlace):
            for start, end in immersions(history(case, thing)):
                if end is None:
                    yield thing.id, thing.description, start.moment.at
