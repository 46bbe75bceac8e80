"""What a scanned text is, in this register; why a label is not read is told apart."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from continuity.care.things import CASE_NUMBER, ThingKind, case_of
from continuity_cli.labelling.codes import Directory
from continuity_cli.station.tokens import (
    Act,
    Badge,
    Holder,
    Place,
    Thing,
    Token,
    Typed,
    Unread,
)
from continuity_labels.actions import Action
from continuity_labels.code import LAST_PRINT, CodeBook, CodeType
from continuity_labels.errors import DamagedCodeError, LabelError, OtherRegisterError

if TYPE_CHECKING:
    from collections.abc import Callable

    from continuity.register import Register
    from continuity_labels.code import Code

_NUMBER = re.compile(rf"{CASE_NUMBER}\.[1-9]\d{{0,3}}")
_TYPED = re.compile(r"[ -~]{1,40}")


class Reader:
    """Reads scans against one register.

    Args:
        register: the open register.
        locked: whether a person's key wants its PIN.
    """

    def __init__(self, register: Register, locked: Callable[[str], bool]) -> None:
        self._register = register
        self._locked = locked
        self._book = CodeBook(register.id)
        self._directory = Directory(self._book)

    def warm(self) -> None:
        """Work out the codes that follow from names, so that the first scan does not wait."""
        self._directory.find(self._book.derived(""), self._register.house())

    def read(self, text: str, *, pin: bool = False) -> Token:
        """What a text stands for.

        Args:
            text: as the scanner gave it, or as it was typed.
            pin: whether a PIN is awaited: then what is no whole label is one.

        Raises:
            RegisterError: the register cannot be read.
        """
        try:
            code = self._book.parse(text)
        except LabelError as error:
            return Typed(text) if pin else self._no_code(text.strip(), error)
        return self._label(code) if code.type is CodeType.THING else self._derived(code)

    def _derived(self, code: Code) -> Token:
        stands = self._directory.find(code, self._register.house())
        if stands is None:
            return Unread(
                "never-seen",
                f"no {code.type.name.lower()} of this register has the label {code.grouped}",
                "print it again: continuity label",
            )
        if stands.void:
            return Unread(
                "badge-void",
                f"this badge of {stands.name} is of a key that signs no more",
                "print the badge of the present key: continuity label --badge",
            )
        if stands.type is CodeType.BADGE:
            return Badge(stands.name, self._locked(stands.name))
        if stands.type is CodeType.ACTION:
            return Act(Action(stands.name))
        return Place(stands.name) if stands.type is CodeType.PLACE else Holder(stands.name)

    def _no_code(self, text: str, error: LabelError) -> Token:
        if isinstance(error, OtherRegisterError):
            mend = "it is not ours: set it apart, and find out whose it is"
            return Unread(error.finding, str(error).rstrip("."), mend)
        if isinstance(error, DamagedCodeError):
            mend = "wipe it and scan again, type the five groups, or print it again"
            return Unread(error.finding, "a character of this label was misread", mend)
        number = text.upper()
        if _NUMBER.fullmatch(number) and self._register.store.case_by_name(case_of(number)):
            return self._thing(number, scanned=False)
        other = self._register.thing_of_label(text)
        if other is not None:
            return self._in_force(other, text, text)
        if _TYPED.fullmatch(text):
            return Typed(text)
        return Unread("not-a-label", "that is no label of this register", "scan its own label")

    def _label(self, code: Code) -> Token:
        thing = self._register.thing_of_label(code.text)
        if thing is not None:
            return self._in_force(thing, code.text, f"print {code.print_number}")
        others = (replace(code, print_number=n).text for n in range(1, LAST_PRINT + 1))
        known = next((t for t in map(self._register.thing_of_label, others) if t), None)
        if known is not None:
            return Unread(
                "print-unknown",
                f"print {code.print_number} of {known} was never recorded",
                f"take it off; print again: continuity label {known}",
            )
        return Unread(
            "never-seen",
            f"this register never printed {code.grouped}",
            "find out what it hangs on; print that thing's own label",
        )

    def _in_force(self, thing: str, code: str, told: str) -> Token:
        found = self._thing(thing, scanned=True)
        if isinstance(found, Unread):
            return found
        known = self._register.case(case_of(thing)).things[thing]
        if known.label and known.label.code == code:
            return found
        if known.label:
            return Unread(
                "superseded",
                f"{told} of {found.told} is void: a later print is in force",
                "take it off, and scan the later print; if that is lost, print again",
            )
        return Unread(
            "label-void",
            f"{told} of {found.told} is void, and no other is in force",
            f"take it off, and print again: continuity label {thing}",
        )

    def _thing(self, number: str, *, scanned: bool) -> Thing | Unread:
        as_of = self._register.store.head().size
        case = self._register.case(case_of(number))
        thing = case.things.get(number)
        if thing is None:
            return Unread("no-such-thing", f"there is no thing {number}", "check the number")
        words = "body" if thing.what is ThingKind.DECEDENT else thing.description
        belongs = case.associated.get(number, case.number)
        return Thing(number, belongs, words, thing.what, thing.form, scanned, as_of)
