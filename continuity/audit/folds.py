"""Whether each case's entries add up to a case, and to what the list of cases in care says."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from continuity.care.case import fold
from continuity.chains import event_of
from continuity.errors import ContinuityError
from continuity.ledger.chain import read_entry
from continuity.ledger.keyring import REGISTER_CASE

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from continuity.audit.parallel import Desk

CASES_AT_A_TIME = 16


class Folded(NamedTuple):
    """What a case's entries add up to: where it was opened if it is in care, or why they do not."""

    case: str
    opened: int | None
    fault: str | None


def jobs(cases: Sequence[str]) -> Iterator[Sequence[str]]:
    """Divide cases among processes."""
    chosen = [case for case in cases if case != REGISTER_CASE]
    for start in range(0, len(chosen), CASES_AT_A_TIME):
        yield chosen[start : start + CASES_AT_A_TIME]


def fold_cases(desk: Desk, cases: Sequence[str]) -> list[Folded]:
    """Fold cases whose entries were found sound."""
    return [_fold(desk, case) for case in cases]


def _fold(desk: Desk, case_id: str) -> Folded:
    try:
        rows = desk.reads.entries(case_id)
        events = [event_of(read_entry(row.note)[0], row.leaf) for row in rows]
        case = fold(case_id, "", events)
        return Folded(case_id, rows[0].position if case.in_care else None, None)
    except ContinuityError as error:
        return Folded(case_id, None, str(error))
    except Exception as error:  # noqa: BLE001 - whatever stands written must fold: it is a finding
        return Folded(case_id, None, f"{type(error).__name__}: {error}")
