"""What stands below an answer: the next step, what a closing check still finds, labels due."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC
from typing import TYPE_CHECKING

from continuity.care.things import AtPlace
from continuity.errors import ContinuityError
from continuity_cli.station import words
from continuity_cli.station.answer import Tone

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from continuity.care.case import Case
    from continuity.care.closing import Verdict
    from continuity.care.findings.base import Neighbour
    from continuity.register import Register
    from continuity_cli.station.answer import Answer


class Below:
    """Reads it after each entry.

    Args:
        register: the open register.
        now: the local hour, with its offset.
    """

    def __init__(self, register: Register, now: Callable[[], datetime]) -> None:
        self._register = register
        self._now = now
        self._alike: tuple[str, tuple[Neighbour, ...]] = ("", ())

    def begin(self) -> None:
        """A closing check begins: the names that are alike are read anew."""
        self._alike = ("", ())

    def of(self, answer: Answer, closing: str | None) -> Answer:
        """The answer with all that stands below it.

        Args:
            answer: about a case.
            closing: the case whose closing check is under way.
        """
        try:
            return self._completed(answer, answer.case or "", closing)
        except ContinuityError as error:
            # What was recorded stays recorded, whatever cannot be read now.
            return replace(answer, next_step=f"cannot be read: {error}")

    def _completed(self, answer: Answer, number: str, closing: str | None) -> Answer:
        case = self._register.case(number)
        step = words.next_step(case, self._register.plan(number), self._now())
        answer = replace(answer, next_step=step, relabel=self._relabel(case))
        if closing != number:
            return answer
        verdict = self._verdict(case)
        answer = replace(answer, missing=words.missing(verdict))
        if verdict.clear and answer.tone is Tone.RECORDED:
            mend = "scan CLOSING CHECK to sign it"
            return replace(answer, tone=Tone.CLEAR, word="CLEAR", mend=mend)
        return answer

    def _verdict(self, case: Case) -> Verdict:
        """The closing check, with the names that are alike as they were when it was begun.

        To read every name in care at each scan would double the time that whoever scans waits;
        they are read only where the policy lets them stop a closing, and again when it is signed.
        """
        from continuity.care import closing  # noqa: PLC0415 - `Desk.warm` has read it

        house = self._register.house()
        planned = case.planned.disposition if case.planned else None
        if self._alike[0] != case.number:
            stops = house.policy.stops("similar-name", planned)
            self._alike = case.number, self._register.alike(case.number) if stops else ()
        now, alike = self._now().astimezone(UTC), self._alike[1]
        return closing.check(case, house.policy, now, house=house, neighbours=alike)

    def _relabel(self, case: Case) -> tuple[str, ...]:
        """Labels here, in force, that warn of something else than they have to by now."""
        from continuity_cli.labelling import faces  # noqa: PLC0415 - it draws in the typefaces

        policy = self._register.house().policy
        return tuple(
            f"{thing.id}: {', '.join(panels) or 'what the old one warns of is over'}"
            for thing, panels in faces.due(case, policy)
            if thing.label is not None and isinstance(case.resting(thing.id), AtPlace)
        )
