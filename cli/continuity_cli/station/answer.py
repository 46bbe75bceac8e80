"""What the station answers to a scan, before anybody shows it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from continuity.errors import LockedRegisterError

if TYPE_CHECKING:
    from continuity.errors import ContinuityError
    from continuity.recording import Receipt

_WORDS = {
    "damaged-code": "DAMAGED",
    "other-register": "NOT OURS",
    "superseded": "OLD LABEL",
    "label-void": "VOID LABEL",
    "never-seen": "UNKNOWN",
    "print-unknown": "UNKNOWN",
    "badge-void": "OLD BADGE",
}
"""The large words of refusals that are told apart at a glance; any other is REFUSED."""


class Tone(StrEnum):
    """The kinds of answer; each has a shape, a colour and a bell of its own."""

    READY = "ready"
    GO_ON = "go-on"
    RECORDED = "recorded"
    CLEAR = "clear"
    REFUSED = "refused"
    WRONG_CASE = "wrong-case"
    DROPPED = "dropped"


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to a scan, or to time having passed.

    Attributes:
        tone: which kind.
        word: the large word: RECORDED, REFUSED, OLD LABEL, ...
        what: what was recorded, what is wanted, or why not.
        mend: what would mend it, or what else to do.
        code: the stable code of a refusal; empty for anything else.
        case: the case it is about.
        next_step: the care step due next in that case.
        missing: what a closing check still finds.
        relabel: things whose label has to warn of something else by now.
        receipts: what was recorded.
    """

    tone: Tone
    word: str
    what: str = ""
    mend: str = ""
    code: str = ""
    case: str | None = None
    next_step: str = ""
    missing: tuple[str, ...] = ()
    relabel: tuple[str, ...] = ()
    receipts: tuple[Receipt, ...] = ()


@dataclass(frozen=True, slots=True)
class Immersion:
    """A treatment under way.

    Attributes:
        thing: what is in the solution.
        words: what that is.
        elapsed: seconds since it went in.
        needed: seconds that the policy asks for.
        due: when it may come out, local time, for people.
    """

    thing: str
    words: str
    elapsed: float
    needed: float
    due: str

    @property
    def over(self) -> bool:
        """Whether it may come out."""
        return self.elapsed >= self.needed


@dataclass(frozen=True, slots=True)
class View:
    """What stands around the answer.

    Attributes:
        who: who is signed in.
        second: who signs the next entry as well.
        key_left: seconds until the key is put away.
        begun: the sequence that is not complete.
        left: seconds until it is dropped.
        span: seconds it had.
        pin: whether a PIN is awaited: what is typed must not be shown.
        closing: the case whose closing check is under way.
        immersions: treatments under way, the one due first first.
        clock: local time, for people.
    """

    who: str | None
    second: str | None
    key_left: float
    begun: str
    left: float
    span: float
    pin: bool
    closing: str | None
    immersions: tuple[Immersion, ...]
    clock: str


def refused(code: str, why: str, mend: str) -> Answer:
    """A refusal; a wrong case is the loudest."""
    if code == "wrong-case":
        return Answer(Tone.WRONG_CASE, "WRONG CASE", why, mend, code)
    return Answer(Tone.REFUSED, _WORDS.get(code, "REFUSED"), why, mend, code)


def cannot(error: ContinuityError) -> Answer:
    """The register cannot be used, or not now; nothing was recorded."""
    word = "BUSY" if isinstance(error, LockedRegisterError) else "NO REGISTER"
    mend = "nothing was recorded; scan it all again"
    return Answer(Tone.REFUSED, word, str(error), mend, "register")
