"""continuity-verification/1: what `verify` answers for a register; `audit.report` makes it."""

from __future__ import annotations

from typing_extensions import TypedDict

from continuity.audit.report import SHAPE

__all__ = ["SHAPE", "Answer"]


class FindingAnswer(TypedDict):
    """One thing that is not as it must be; `weight` is `broken` or `doubt`."""

    code: str
    weight: str
    sentence: str
    position: int | None
    case: str | None
    name: str | None
    number: int | None


class AnchorAnswer(TypedDict):
    """Something outside the register that shows its first `size` entries as they are."""

    size: int
    how: str
    by: str
    at: str | None
    until: str | None


class ReceiptAnswer(TypedDict):
    """What a receipt that somebody kept shows; `says` is the act, told anew from the entry.

    `words_hold` is false where the words on it are not those.
    """

    by: str
    sound: bool
    words_hold: bool
    size: int
    position: int | None
    given_at_size: int
    says: str | None
    findings: list[FindingAnswer]
    words: str


class Answer(TypedDict):
    """The verdict: how far it is sound, what it rests on, and what nobody can know from here.

    `words_hold` is false where the words on a receipt are not what its entry says.
    """

    shape: str
    register: str
    scope: str
    case: str | None
    start: int
    size: int
    checked: int
    sound: bool
    words_hold: bool
    sound_to: int
    signed_to: int
    anchored_to: int
    unanchored: int
    pinned: bool
    rests_on: list[str]
    unknown: list[str]
    anchors: list[AnchorAnswer]
    receipts: list[ReceiptAnswer]
    findings: list[FindingAnswer]
    more: int
    words: str
