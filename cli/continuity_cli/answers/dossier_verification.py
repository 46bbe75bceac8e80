"""continuity-dossier-verification/1: what `verify` answers for a dossier."""

from __future__ import annotations

from typing_extensions import TypedDict

from continuity.audit.dossier.verdict import SHAPE
from continuity_cli.answers.verification import (  # noqa: TC001 - the schema is made from them
    AnchorAnswer,
    FindingAnswer,
    ReceiptAnswer,
)

__all__ = ["SHAPE", "Answer"]


class Answer(TypedDict):
    """The verdict on a dossier: how much of it is proved, and what nobody can know from it.

    `words_hold` is false where the words of its page, or of a receipt, are not those its entries
    tell, or could not be compared with them.
    """

    shape: str
    register: str
    case: str
    made_at: str
    entries: int
    sound: bool
    words_hold: bool
    proved: int
    complete_to: int | None
    unanchored: int
    checkpoint_size: int | None
    pinned: bool
    rests_on: list[str]
    unknown: list[str]
    anchors: list[AnchorAnswer]
    receipts: list[ReceiptAnswer]
    findings: list[FindingAnswer]
    more: int
    words: str
