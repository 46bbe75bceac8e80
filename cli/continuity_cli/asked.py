"""What a reading command is asked: which case, and as known or as it was at which moment."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.care.things import case_of, is_case_number
from continuity.errors import InputError
from continuity_cli.given import thing_of
from continuity_cli.words import local

if TYPE_CHECKING:
    from datetime import datetime

    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.register import Register


@dataclass(frozen=True, slots=True)
class Asked:
    """A case, and a moment.

    Attributes:
        case: the case's number.
        known: leave out what was recorded later: the case as the register knew it then.
        happened: leave out what happened later: what is known today about that moment.
    """

    case: str
    known: datetime | None = None
    happened: datetime | None = None

    @classmethod
    def of(
        cls, register: Register, text: str, known: datetime | None, happened: datetime | None
    ) -> Asked:
        """Take the case by its number, by one of its things, or by a scanned label.

        Raises:
            InputError: there is no such case or label, or the case was not yet open then.
        """
        number = text
        if not (is_case_number(text) and register.store.case_by_name(text)):
            if "." not in text and len(text) < _SHORTEST:
                register.case(text)
            thing = thing_of(register, text)
            number = case_of(thing)
            if thing not in register.case(number).things:
                raise InputError(f"thing {text}: no such thing in this register; check the number")
        asked = cls(number, known, happened)
        if (known or happened) and asked.read(register).opened is None:
            raise InputError(
                f"--at {local(known or happened)}: case {number} was not open then; give a later"
                " time"
            )
        return asked

    def read(self, register: Register) -> Case:
        """The case, as it was asked for.

        Raises:
            InputError: there is no such case.
        """
        return register.case(self.case, known_until=self.known, happened_until=self.happened)

    def covers(self, event: Event) -> bool:
        """Whether an entry is part of what was asked for."""
        return (self.known is None or event.recorded_at <= self.known) and (
            self.happened is None or event.occurred_at <= self.happened
        )

    @property
    def words(self) -> str:
        """As of when, in words."""
        if self.known:
            return f"as the register knew it at {local(self.known)}"
        if self.happened:
            return f"at {local(self.happened)}, as known now"
        return "as known now"


_SHORTEST = 20
"""Characters of a label's code; a case's number can be as long, and is looked for first."""
