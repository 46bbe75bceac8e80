"""The closing check: is everything that came, or came apart, accounted for?

Clear only if nothing stops it. Every finding names its things, the entries that show it, and the
act that would mend it; whether it stops the closing is the policy's to say.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

from continuity.care.case import Case
from continuity.care.findings import (
    ashes,
    belonging,
    care_due,
    containers,
    contradictions,
    corrections,
    custody,
    devices,
    effects,
    identity,
    lineage,
    matters,
    receipt,
    retained,
    sightings,
    weights,
    whereabouts,
)
from continuity.care.findings.base import KINDS, Found, Kind, Look, Neighbour
from continuity.care.things import Disposition, Form

if TYPE_CHECKING:
    from datetime import datetime

    from continuity.care.case import Thing
    from continuity.care.house import House
    from continuity.care.policy import Policy
    from continuity.care.records import CheckSigned

SUBJECTS = (
    identity,
    receipt,
    whereabouts,
    sightings,
    belonging,
    lineage,
    containers,
    care_due,
    devices,
    retained,
    effects,
    weights,
    custody,
    matters,
    corrections,
    contradictions,
    ashes,
)
"""The modules whose checks make the reckoning, one for each subject."""

CHECKS = tuple(
    kind
    for subject in SUBJECTS
    for kind in KINDS.values()
    if kind.check.__module__ == subject.__name__
)
"""Every finding that exists, in the order of the reckoning."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Found):
    """One line of the closing check: what was found, weighed by the policy.

    Attributes:
        code: stable, in plain words.
        stops: whether it stops the closing, by the policy.
    """

    code: str
    stops: bool


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the closing check says.

    Attributes:
        case: the case's number.
        at: the hour of the check.
        findings: what was found, what stops the closing first.
        closed_over: codes of the findings over which the coffin was closed, on the word of two.
        uncovered: the findings that stop it and were not closed over.
    """

    case: str
    at: datetime
    findings: tuple[Finding, ...]
    closed_over: tuple[str, ...] = ()
    uncovered: tuple[Finding, ...] = ()

    @property
    def stops(self) -> tuple[Finding, ...]:
        """The findings that stop the closing."""
        return tuple(f for f in self.findings if f.stops)

    @property
    def clear(self) -> bool:
        """Whether nothing stops it; a case closed over findings is never called clear."""
        return not self.stops and not self.closed_over

    @property
    def words(self) -> str:
        """`clear`, `not clear`, or `closed over N findings`."""
        if self.uncovered:
            return "not clear"
        if self.closed_over:
            count = len(self.closed_over)
            return f"closed over {count} finding{'' if count == 1 else 's'}"
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

    Once the coffin is closed, windows are measured to the check that closed it; once the decedent
    has reached its disposition, the case is looked at as it lay then, and what goes on (ashes,
    things kept, parts that come late) as it is now.

    Args:
        case: the folded case.
        policy: the policy in force.
        now: the hour of the check, against which windows and periods are measured.
        house: the register's places, holders and persons, where known.
        neighbours: decedents in care at the same time with a same or similar name.
    """
    lay = as_it_lay(case)
    present = Look(case, policy, now, house, neighbours)
    closing = Look(lay, policy, _hour(lay, case, now), house, neighbours, lay is not case)
    planned = case.disposed[1] if case.disposed else present.planned
    findings = [
        _weigh(kind, found, case, policy, planned)
        for kind in CHECKS
        if policy.asks(kind.code, planned)
        for found in kind.check(present if kind.goes_on else closing)
        if not _settled(kind, found, case)
    ]
    findings.sort(key=lambda f: not f.stops)
    over = standing_check(case)
    codes = over.over if over else ()
    uncovered = (f for f in findings if f.stops and not (over and _covers(over, f)))
    return Verdict(case.number, now, tuple(findings), codes, tuple(uncovered))


def as_it_lay(case: Case) -> Case:
    """The case just before the decedent's disposition; the case itself where there was none."""
    if case.disposed is None:
        return case
    then = Case(case.id, case.number)
    for event in case.events:
        if event.moment >= case.disposed[0]:
            break
        then.apply(event)
    then.struck, then.struck_events = case.struck, case.struck_events
    return then


def _hour(lay: Case, case: Case, now: datetime) -> datetime:
    """The hour against which sightings are measured: the check's, once the coffin is closed."""
    coffin = lay.coffin
    if coffin is not None and coffin.shut:
        closed = coffin.closures[-1].moment
        signed = [c.moment for c in lay.checks if c.moment < closed and _is_of(c, coffin)]
        return signed[-1].at if signed else closed.at
    return case.disposed[0].at if case.disposed else now


def _is_of(check: CheckSigned, coffin: Thing) -> bool:
    return check.coffin in (None, coffin.id)


def standing_check(case: Case) -> CheckSigned | None:
    """The last signed check, unless the coffin was opened after it."""
    last = case.checks[-1] if case.checks else None
    opened = [
        c.moment
        for t in case.things.values()
        if t.form is Form.COFFIN
        for c in t.closures
        if not c.shut
    ]
    return None if last is None or any(m > last.moment for m in opened) else last


def _covers(check: CheckSigned, finding: Finding) -> bool:
    """Whether the finding was closed over: its code was named, and nothing newer shows it."""
    shown = all(number <= check.moment.number for number in finding.entries)
    return finding.code in check.over and shown


def _settled(kind: Kind, found: Found, case: Case) -> bool:
    """Whether a matter about it was raised: open, that is its own line; resolved, it is settled.

    Only a fact that no later act can undo is settled by word; after the disposition that is
    everything asked of the closing.
    """
    if not kind.past and (kind.goes_on or case.disposed is None):
        return False
    return any(
        kind.code in matter.about
        and all(matter.number > number for number in found.entries)
        and (not matter.things or set(found.things) <= set(matter.things))
        for matter in case.irregularities.values()
    )


def _weigh(
    kind: Kind, found: Found, case: Case, policy: Policy, planned: Disposition | None
) -> Finding:
    too_late = case.disposed is not None and not kind.goes_on
    mend = (
        f"the decedent has gone: find out, and settle it (irregularity-raised --case {case.number}"
        f" --about {kind.code} --what ...,"
        " irregularity-resolved)"
    )
    weighed = replace(found, mend=mend) if too_late else found
    told = {field.name: getattr(weighed, field.name) for field in fields(weighed)}
    return Finding(**told, code=kind.code, stops=policy.stops(kind.code, planned))
