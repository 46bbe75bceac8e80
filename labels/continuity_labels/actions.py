"""The acts that a scan can name, and their codes.

An action's code follows from the register's id and the action's word alone, so that a board of
them is printed without being recorded, and every board of one register is the same.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from continuity_labels.code import Code, CodeBook


class Action(StrEnum):
    """What the next or the last scanned label is about to undergo."""

    OPEN = "open"
    SEAL = "seal"
    EMPTY = "empty"
    INTO = "into"
    OUT = "out"
    HAND_OVER = "hand-over"
    SIGNED_FOR = "signed-for"
    RINSE = "rinse"
    IMMERSE = "immerse"
    DRAIN = "drain"
    DRY = "dry"
    POWDER = "powder"
    SUTURE = "suture"
    WEIGH = "weigh"
    INSPECT = "inspect"
    LEAK = "leak"
    ODOUR = "odour"
    BROKEN = "broken"
    IDENTIFY = "identify"
    AGREE = "agree"
    DIFFER = "differ"
    SIGHTED = "sighted"
    SECOND_PERSON = "second-person"
    CLOSING_CHECK = "closing-check"
    FOUND = "found"
    UNDO = "undo"
    CANCEL = "cancel"

    @property
    def heading(self) -> str:
        """The word as it stands on the board."""
        return self.value.replace("-", " ").capitalize()

    @property
    def explained(self) -> str:
        """One line for whoever stands before the board for the first time."""
        return _EXPLAINED[self]


_EXPLAINED = {
    Action.OPEN: "A bag or container is opened",
    Action.SEAL: "A bag or container is closed and sealed",
    Action.EMPTY: "A pack is empty and goes out; organs are emptied",
    Action.INTO: "Scan the thing, then where it goes",
    Action.OUT: "Scan the thing that is taken out",
    Action.HAND_OVER: "Scan the thing, then who receives it",
    Action.SIGNED_FOR: "Scan who signed for what was handed over",
    Action.RINSE: "The contents are rinsed",
    Action.IMMERSE: "The contents go into the solution",
    Action.DRAIN: "The solution is drained off",
    Action.DRY: "The contents are dried",
    Action.POWDER: "Powder is applied",
    Action.SUTURE: "An incision or the body is closed",
    Action.WEIGH: "A weight is entered next",
    Action.INSPECT: "Looked at: sound, but for what is scanned before its label",
    Action.LEAK: "Looked at: it leaks",
    Action.ODOUR: "Looked at: it smells",
    Action.BROKEN: "Looked at: seal broken, suture gaping",
    Action.IDENTIFY: "Scan the body's own tag, read it aloud",
    Action.AGREE: "All on the tag agrees with the papers",
    Action.DIFFER: "Something on the tag differs",
    Action.SIGHTED: "I see this label here, now",
    Action.SECOND_PERSON: "Scan the badge of who confirms",
    Action.CLOSING_CHECK: "Is anything still elsewhere?",
    Action.FOUND: "It was refused, and yet it is so",
    Action.UNDO: "Correct the last entry; nothing is erased",
    Action.CANCEL: "Drop what was begun; nothing is recorded",
}


def action_code(book: CodeBook, action: Action) -> Code:
    """The action's code in this register, the same on every board."""
    return book.derived(action.value)
