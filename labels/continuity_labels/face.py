"""What a label says to people, checked before anything is drawn.

Outside a body bag or container stands no name and no age: those are for the decedent's own tag
alone, which carries three identifiers (HTA standard T1(c): three, at least one of them unique;
"identification must not be written on the outside of body bags"; "age is not a robust
identifier, use date of birth").
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from continuity_labels.code import CodeType
from continuity_labels.errors import FaceError

if TYPE_CHECKING:
    from datetime import date, datetime

    from continuity_labels.code import Code
    from continuity_labels.hazard import HazardState

IDENTIFIERS: Final = 3


class FaceKind(StrEnum):
    """What the label is fixed to; only the first may carry a person's identifiers."""

    DECEDENT = "decedent"
    THING = "thing"
    PLACE = "place"
    BADGE = "badge"
    HOLDER = "holder"


_TYPES: Final = {
    FaceKind.DECEDENT: CodeType.THING,
    FaceKind.THING: CodeType.THING,
    FaceKind.PLACE: CodeType.PLACE,
    FaceKind.BADGE: CodeType.BADGE,
    FaceKind.HOLDER: CodeType.HOLDER,
}


@dataclass(frozen=True)
class Identifier:
    """One of the three identifiers on a decedent's own tag.

    Attributes:
        label: what it is: name, date of birth, date of death, case number.
        value: as it is printed.
        unique: whether no other decedent can have it.
    """

    label: str
    value: str
    unique: bool = False


@dataclass(frozen=True)
class Moment:
    """A time on the label: opened, immersed.

    Attributes:
        label: the word before it.
        at: the local time, with its offset; None leaves room to write it in.
    """

    label: str
    at: datetime | None = None


@dataclass(frozen=True)
class Face:
    """Everything a label says.

    Attributes:
        kind: what the label is fixed to.
        code: printed as symbol and in groups.
        what: what it is, in the trade's words; never a person's name on a thing.
        ordinal: (2, 3) for "2 of 3".
        case_number: the firm's own.
        day: the date on the label.
        moments: times opened or immersed, where they apply.
        initials: how many persons' initials there is room for.
        identifiers: three, for a decedent's own tag; empty for every other kind.
        hazard: the state from which the hazard panels follow; None for none.
        responsible: name and address of the responsible party, for the formaldehyde panel.

    Raises:
        FaceError: something may not stand on this kind of label, or contradicts itself.
    """

    kind: FaceKind
    code: Code
    what: str
    ordinal: tuple[int, int] | None = None
    case_number: str | None = None
    day: date | None = None
    moments: tuple[Moment, ...] = ()
    initials: int = 0
    identifiers: tuple[Identifier, ...] = ()
    hazard: HazardState | None = None
    responsible: str | None = None

    def __post_init__(self) -> None:
        if self.code.type is not _TYPES[self.kind]:
            raise FaceError(
                f"the code {self.code.grouped} is a {self.code.type.name.lower()}'s "
                f"and cannot stand on a {self.kind.value}'s label."
            )
        if not self.what.strip():
            raise FaceError("a label must say what it is fixed to.")
        if self.ordinal is not None:
            number, count = self.ordinal
            if not 1 <= number <= count:
                raise FaceError(f"{number} of {count} is no count; say 1 of 1 or more.")
        if self.initials not in range(4):
            raise FaceError(f"there is room for up to three initials, not {self.initials}.")
        if any(moment.at is not None and moment.at.tzinfo is None for moment in self.moments):
            raise FaceError("a time on a label needs its offset from UTC.")
        self._check_identifiers()

    def _check_identifiers(self) -> None:
        if self.kind is not FaceKind.DECEDENT:
            if self.identifiers:
                raise FaceError(
                    f"a {self.kind.value}'s label carries no name and no other personal detail; "
                    "only the decedent's own tag does."
                )
            return
        if len(self.identifiers) != IDENTIFIERS or not any(
            identifier.unique for identifier in self.identifiers
        ):
            raise FaceError(
                "a decedent's tag carries three identifiers, at least one of them unique, "
                f"and was given {len(self.identifiers)}; a case number is unique."
            )
        for identifier in self.identifiers:
            if not identifier.label.strip() or not identifier.value.strip():
                raise FaceError("an identifier on a decedent's tag is empty.")
            if re.search(r"\bage\b", identifier.label, re.IGNORECASE):
                raise FaceError("age identifies nobody for long; give the date of birth.")
