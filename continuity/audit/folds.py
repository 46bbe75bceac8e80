"""Whether each case's entries add up to a case, and to what the list of cases in care says."""

from __future__ import annotations

from collections import OrderedDict
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple

from continuity.care.fold import fold
from continuity.chains import event_of
from continuity.errors import ContinuityError
from continuity.ledger.caseindex import OWN_CHAINS
from continuity.ledger.chain import read_entry

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from continuity.audit.entries import Checked
    from continuity.audit.parallel import Desk, Workers
    from continuity.audit.walk import Fault
    from continuity.care.records import Event

KEPT = 8_192
"""Events kept at once, some 4 KiB each: a case whose entries lie further apart is read again."""

CASES_AT_A_TIME = 16


class Folded(NamedTuple):
    """What a case's entries add up to: where it was opened if it is in care, or why they do not."""

    case: str
    opened: int | None
    fault: str | None


class Folds:
    """Folds each case from the events that come by, as long as they can be kept.

    What is kept is one list for all cases, bounded; the case that was quiet for longest is folded
    first, and if it goes on after all, it is read again at the end.

    Attributes:
        opened: The position of the first entry of each case that is in care.
        faults: Why a case's entries do not add up, by case.
    """

    def __init__(self) -> None:
        self.opened: dict[str, int] = {}
        self.faults: dict[str, str] = {}
        self._waiting: OrderedDict[str, tuple[int, list[Event]]] = OrderedDict()
        self._kept = 0
        self._again: dict[str, None] = {}

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry; what is wrong with a case is found when it is folded."""
        if entry.case in OWN_CHAINS or entry.case in self._again:
            return iter(())
        if entry.case not in self._waiting and entry.number == 0:
            self._waiting[entry.case] = entry.position, []
        if entry.body is None or entry.act is None or entry.case not in self._waiting:
            self._again[entry.case] = None
            return iter(())
        self._waiting[entry.case][1].append(event_of(entry.body, entry.leaf, act=entry.act))
        self._waiting.move_to_end(entry.case)
        self._kept += 1
        while self._kept > KEPT:
            self._fold_quietest()
        return iter(())

    def finish(self, workers: Workers, sound: Iterable[str]) -> None:
        """Fold what is left, and read again those of the sound cases that could not be kept."""
        while self._waiting:
            self._fold_quietest()
        again = [case for case in sound if case in self._again]
        for folded in chain.from_iterable(workers.map(fold_cases, _jobs(again))):
            self._note(folded)

    def _fold_quietest(self) -> None:
        case, (opened, events) = self._waiting.popitem(last=False)
        self._kept -= len(events)
        if case not in self._again:
            self._note(_fold(case, opened, events))

    def _note(self, folded: Folded) -> None:
        self.opened.pop(folded.case, None)
        self.faults.pop(folded.case, None)
        if folded.fault is not None:
            self.faults[folded.case] = folded.fault
        elif folded.opened is not None:
            self.opened[folded.case] = folded.opened


def _jobs(cases: Sequence[str]) -> Iterator[Sequence[str]]:
    """Divide cases among processes."""
    for start in range(0, len(cases), CASES_AT_A_TIME):
        yield cases[start : start + CASES_AT_A_TIME]


def fold_cases(desk: Desk, cases: Sequence[str]) -> list[Folded]:
    """Read and fold cases whose entries were found sound."""
    return [_read_and_fold(desk, case) for case in cases]


def _read_and_fold(desk: Desk, case_id: str) -> Folded:
    try:
        rows = desk.reads.entries(case_id)
        events = [event_of(read_entry(row.note)[0], row.leaf) for row in rows]
    except ContinuityError as error:
        return Folded(case_id, None, str(error))
    return _fold(case_id, rows[0].position, events)


def _fold(case_id: str, opened: int, events: Sequence[Event]) -> Folded:
    try:
        case = fold(case_id, "", events)
        return Folded(case_id, opened if case.in_care else None, None)
    except Exception as error:  # noqa: BLE001 - whatever stands written must fold: it is a finding
        told = isinstance(error, ContinuityError)
        return Folded(case_id, None, str(error) if told else f"{type(error).__name__}: {error}")
