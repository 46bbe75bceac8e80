"""The closing check: is everything that came, or came apart, accounted for?

Clear only if nothing stops it. Every finding names its things, the entries that show it, and the
act that would mend it; whether it stops the closing is the policy's to say.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.care.findings import (
    whereabouts,
)
from continuity.care.findings.base import KINDS, Look, Neighbour

if TYPE_CHECKING:
    from datetime import datetime

    from continuity.care.case import Case
    from continuity.care.house import House
    from continuity.care.policy import Policy

MODULES = (whereabouts,)
"""The modules whose checks make the reckoning, in its order."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One line of the closing check."""

    code: str
    stops: bool
    sentence: str
    mend: str
    things: tuple[str, ...]
    cases: tuple[str, ...]
    entries: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the closing check says."""

    case: str
    at: datetime
    findings: tuple[Finding, ...]
    closed_over: tuple[str, ...] = ()

    @property
    def stops(self) -> tuple[Finding, ...]:
        """The findings that stop the closing."""
        return tuple(f for f in self.findings if f.stops)

    @property
    def clear(self) -> bool:
        """Whether nothing stops it."""
        return not self.stops

    @property
    def words(self) -> str:
        """`clear`, `not clear`, or `closed over N findings`; the last is never called clear."""
        if self.closed_over:
            return f"closed over {len(self.closed_over)} findings"
        return "clear" if self.clear else "not clear"


def check(
    case: Case,
    policy: Policy,
    now: datetime,
    *,
    house: House | None = None,
    neighbours: tuple[Neighbour, ...] = (),
) -> Verdict:
    """Reckon a case up.

    Args:
        case: the folded case.
        policy: the policy in force.
        now: the hour of the check, against which windows and periods are measured.
        house: the register's places, holders and persons, where known.
        neighbours: decedents in care at the same time with a same or similar name.
    """
    look = Look(case, policy, now, house, neighbours)
    planned = case.planned.disposition if case.planned else None
    findings = [
        Finding(
            kind.code,
            policy.stops(kind.code, planned),
            found.sentence,
            found.mend,
            found.things,
            found.cases,
            found.entries,
        )
        for kind in KINDS.values()
        for found in kind.check(look)
    ]
    findings.sort(key=lambda f: not f.stops)
    over = case.checks[-1].over if case.checks else ()
    return Verdict(case.number, now, tuple(findings), over)
