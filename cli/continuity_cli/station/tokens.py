"""What a scan can be, and what a sequence of scans can ask to have done."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from continuity.care.things import HOLDS_THINGS, Form, ThingKind

if TYPE_CHECKING:
    from continuity_labels.actions import Action


@dataclass(frozen=True, slots=True)
class Thing:
    """The label of a thing.

    Attributes:
        id: its number.
        case: the case it belongs to, also by association.
        words: what it is, for people.
        what: its kind.
        form: of a container, what it is.
        scanned: whether its label was scanned; a number typed in is no evidence.
        as_of: how many entries the register held when it was scanned.
    """

    id: str
    case: str
    words: str
    what: ThingKind = ThingKind.CONTAINER
    form: Form | None = None
    scanned: bool = True
    as_of: int = field(default=0, compare=False)

    @property
    def holds(self) -> bool:
        """Whether something can be put into it."""
        return self.what in HOLDS_THINGS

    def takes(self, other: Thing) -> bool:
        """Whether another thing can mean to go into it: a body goes into a coffin or a pouch."""
        if other.what is ThingKind.DECEDENT:
            return self.form in (Form.COFFIN, Form.POUCH)
        return self.holds

    @property
    def told(self) -> str:
        """Its words and its number."""
        return f"{self.words} {self.id}"


@dataclass(frozen=True, slots=True)
class Place:
    """The label of a place."""

    id: str


@dataclass(frozen=True, slots=True)
class Holder:
    """The label of a holder outside the firm."""

    id: str


@dataclass(frozen=True, slots=True)
class Badge:
    """A person's badge; `locked` where the key behind it wants its PIN."""

    person: str
    locked: bool = True


@dataclass(frozen=True, slots=True)
class Act:
    """A code of the action board."""

    action: Action


@dataclass(frozen=True, slots=True)
class Typed:
    """What is no label: a number or a PIN from a keypad, the bar code on a seal."""

    text: str


@dataclass(frozen=True, slots=True)
class Unread:
    """A label that stands for nothing here, and why; each reason has its own code."""

    code: str
    why: str
    mend: str


Token = Thing | Place | Holder | Badge | Act | Typed | Unread
"""One scan, read."""


@dataclass(frozen=True, slots=True)
class SignIn:
    """Unlock a person's key: as who records from here on, or as who signs the next entry too."""

    person: str
    pin: str | None = None
    second: bool = False


@dataclass(frozen=True, slots=True)
class SignOut:
    """Put the key away."""


@dataclass(frozen=True, slots=True)
class Move:
    """Things went to a place; `out` where OUT was scanned."""

    things: tuple[Thing, ...]
    place: str
    out: bool = False


@dataclass(frozen=True, slots=True)
class PutIn:
    """Things went into a container, the coffin or the cavity; `out` where OUT was scanned."""

    things: tuple[Thing, ...]
    into: Thing
    out: bool = False


@dataclass(frozen=True, slots=True)
class ComeBack:
    """Things came back from a holder."""

    things: tuple[Thing, ...]
    giver: str
    place: str


@dataclass(frozen=True, slots=True)
class HandOver:
    """Things went to a holder, on an authority if one was scanned or typed."""

    things: tuple[Thing, ...]
    taker: str
    authority: str | None = None


@dataclass(frozen=True, slots=True)
class SignedFor:
    """A holder signed for things handed over; without things, for what was handed over last."""

    taker: str
    things: tuple[Thing, ...] = ()


@dataclass(frozen=True, slots=True)
class Inspect:
    """A thing was looked at: what was noted, and the number read from its seal."""

    thing: Thing
    noted: frozenset[Action] = frozenset()
    seal: str | None = None


@dataclass(frozen=True, slots=True)
class Identify:
    """The body's own tag was scanned and read aloud; `closing` while its closing check runs."""

    thing: Thing
    agree: bool
    closing: bool = False


@dataclass(frozen=True, slots=True)
class Do:
    """An act of the board on one thing, with what was typed or read from a seal for it."""

    action: Action
    thing: Thing
    typed: str | None = None


@dataclass(frozen=True, slots=True)
class Tick:
    """A label of the closing check was scanned; `begins` with the first."""

    thing: Thing
    case: str
    begins: bool = False


@dataclass(frozen=True, slots=True)
class SignCheck:
    """The closing check of a case is to be signed."""

    case: str


@dataclass(frozen=True, slots=True)
class Undo:
    """The last entry was wrong: strike it by a correction."""


Work = Move | PutIn | ComeBack | HandOver | SignedFor | Inspect | Identify | Do | Tick | SignCheck


@dataclass(frozen=True, slots=True)
class Found:
    """What was just refused is so all the same: it is recorded as found, an irregularity."""

    deed: Work


Deed = Work | Found | Undo
"""What is to be recorded."""


@dataclass(frozen=True, slots=True)
class Ask:
    """The sequence goes on; what is wanted next."""

    wants: str
    dropped: str = ""


@dataclass(frozen=True, slots=True)
class Refuse:
    """The scan means nothing here; nothing was recorded."""

    code: str
    why: str
    mend: str


@dataclass(frozen=True, slots=True)
class Dropped:
    """What was begun was dropped, by hand or by time; nothing more was recorded.

    Attributes:
        what: what it was, for people.
        by_time: whether time dropped it.
        closing: whether it was a closing check, of which each label that was seen stays recorded.
    """

    what: str
    by_time: bool = False
    closing: bool = False


Outcome = SignIn | SignOut | Deed | Ask | Refuse | Dropped
"""What a scan comes to."""
