"""continuity-closing-check/1: what `closing-check` answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from continuity_cli.answers.things import when

if TYPE_CHECKING:
    from continuity.care.closing import Finding, Verdict
    from continuity_cli.asked import Asked

SHAPE = "continuity-closing-check/1"


class FindingAnswer(TypedDict):
    """One line of the check. Place, holder and sighting are those of the first thing."""

    code: str
    stops: bool
    what: str
    mend: str
    things: list[str]
    cases: list[str]
    entries: list[int]
    place: str | None
    holder: str | None
    last_sighted: str | None


class Answer(TypedDict):
    """The verdict: `clear`, `not clear`, or `closed over N findings`; what stops it comes first."""

    shape: str
    case: str
    known_until: str | None
    happened_until: str | None
    at: str
    clear: bool
    verdict: str
    closed_over: list[str]
    findings: list[FindingAnswer]


def answer(verdict: Verdict, asked: Asked) -> Answer:
    """The closing check as JSON."""
    return Answer(
        shape=SHAPE,
        case=verdict.case,
        known_until=when(asked.known),
        happened_until=when(asked.happened),
        at=when(verdict.at) or "",
        clear=verdict.clear,
        verdict=verdict.words,
        closed_over=list(verdict.closed_over),
        findings=[_finding(finding) for finding in verdict.findings],
    )


def _finding(finding: Finding) -> FindingAnswer:
    return FindingAnswer(
        code=finding.code,
        stops=finding.stops,
        what=finding.sentence,
        mend=finding.mend,
        things=list(finding.things),
        cases=list(finding.cases),
        entries=list(finding.entries),
        place=finding.place,
        holder="here" if finding.place else finding.holder,
        last_sighted=when(finding.seen),
    )
