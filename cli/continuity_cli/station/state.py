"""What the meaning of the next scan depends on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from continuity_cli.station.tokens import Deed, Outcome, Thing, Work
    from continuity_labels.actions import Action


@dataclass(frozen=True, slots=True)
class Begun:
    """A sequence that is not complete.

    Attributes:
        action: the act that began it, if one did.
        things: the things scanned so far.
        giver: the holder from whom things come back, if one was scanned first.
        typed: what was typed, or read from a seal.
        noted: what was seen of what is looked at.
    """

    action: Action | None = None
    things: tuple[Thing, ...] = ()
    giver: str | None = None
    typed: str | None = None
    noted: tuple[Action, ...] = ()

    @property
    def words(self) -> str:
        """What was scanned so far, as it stands on the screen."""
        parts = [self.action.heading] if self.action else []
        parts += [action.heading for action in self.noted]
        parts += [f"from {self.giver}"] if self.giver else []
        parts += [self.typed] if self.typed else []
        return " → ".join((*parts, *(thing.told for thing in self.things)))


@dataclass(frozen=True, slots=True)
class State:
    """All that the meaning of the next scan depends on.

    Attributes:
        who: who is signed in.
        begun: the sequence that is not complete.
        closing: the case whose closing check is under way.
        pin_of: whose PIN is awaited.
        wants_second: SECOND PERSON was scanned; a badge is awaited, or its PIN.
        held: what waits for a second person.
        refused: what a rule of care has just refused, and FOUND would record.
        interrupted: something was just refused, or dropped by time, and nothing scanned since: a
            CANCEL that follows is meant for that, and does not put the key away.
    """

    who: str | None = None
    begun: Begun | None = None
    closing: str | None = None
    pin_of: str | None = None
    wants_second: bool = False
    held: Deed | None = None
    refused: Work | None = None
    interrupted: bool = False

    @property
    def open(self) -> bool:
        """Whether something is awaited that time can drop, the closing check apart."""
        return bool(self.begun or self.pin_of or self.wants_second or self.held)

    @property
    def words(self) -> str:
        """What is open, for people."""
        if self.pin_of:
            return f"PIN of {self.pin_of}"
        if self.held or self.wants_second:
            return "second person"
        return self.begun.words if self.begun else ""

    def idle(self) -> State:
        """With nothing begun; who is signed in and a closing check stay."""
        return State(who=self.who, closing=self.closing)


Step = tuple[State, "Outcome"]
"""The state after a scan, and what the scan came to."""
