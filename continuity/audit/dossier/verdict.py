"""What checking a dossier found, and what it rests on.

A dossier shows that its entries are authentic, in order, complete and under one checkpoint. It
cannot show that the checkpoint is the latest or the only one; the words say so every time.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from continuity.audit.report import (
    CODES,
    KEY_UNGIVEN,
    LATEST_UNKNOWN,
    UNKNOWN,
    Anchor,
    Finding,
    Weight,
)
from continuity.ledger.keyring import Keyring

if TYPE_CHECKING:
    from collections.abc import Iterable

    from continuity.audit.dossier.what import Dossier
    from continuity.audit.receiptcheck import ReceiptVerdict
    from continuity.ledger.chain import Entry
    from continuity.ledger.checkpoint import Checkpoint

SHAPE = "continuity-dossier-verification/1"

MOST_FINDINGS = 100
"""Most findings listed; a dossier with more is no sounder for it."""

OWN_CODES = {
    "beyond-index": (Weight.BROKEN, "the case index counts more entries than the dossier holds"),
    "not-in-the-tree": (Weight.BROKEN, "an entry is not shown to lie under the checkpoint"),
    "position-wrong": (Weight.BROKEN, "entries do not stand in the order of their positions"),
    "page-differs": (Weight.BROKEN, "the page does not say what the machine part says"),
    "page-of-another-version": (
        Weight.DOUBT,
        "another version of the program tells the page otherwise; its words were not compared",
    ),
    "page-too-large": (Weight.DOUBT, "the case is too large for its page to be compared"),
}
"""What may be wrong with a dossier alone; all else bears the codes of an audit."""

_UNCOMPARED = {"page-of-another-version", "page-too-large"}


@dataclass(frozen=True, slots=True)
class Fault(Finding):
    """One thing that is not as it must be in a dossier."""

    @property
    def weight(self) -> Weight:
        """What it does to the verdict."""
        return (OWN_CODES.get(self.code) or CODES[self.code])[0]


@dataclass(slots=True)
class Report:
    """A dossier's verdict, filled step by step.

    Attributes:
        dossier: What was checked.
        findings: What is not as it must be.
        more: How many further findings were not listed.
        entries: The case's entries that could be followed, in order, with their leaf hashes.
        house: The same of the register's own chain.
        keyring: Keys by position, as the register's own chain gives them.
        checkpoint: The checkpoint, once its signature was found good.
        pinned: Whether a key given from outside stands behind it all.
        rests_on: What the verdict takes as given, a sentence each.
        anchors: Who outside has seen the checkpoint, when.
        proved: How many of the case's entries lie under the checkpoint.
        complete_to: How many of them the case index vouches for; None without an index.
        receipts: What receipts that somebody kept show of it.
    """

    dossier: Dossier
    findings: list[Fault] = field(default_factory=list)
    more: int = 0
    entries: list[tuple[Entry, bytes]] = field(default_factory=list)
    house: list[tuple[Entry, bytes]] = field(default_factory=list)
    keyring: Keyring = field(default_factory=Keyring)
    checkpoint: Checkpoint | None = None
    pinned: bool = False
    rests_on: tuple[str, ...] = ()
    anchors: tuple[Anchor, ...] = ()
    proved: int = 0
    complete_to: int | None = None
    receipts: tuple[ReceiptVerdict, ...] = ()

    def hold(self, receipts: Iterable[ReceiptVerdict]) -> None:
        """Take what receipts that somebody kept show, and note what they found."""
        self.receipts = tuple(receipts)
        for one in (found for receipt in self.receipts for found in receipt.findings):
            if (one.code, one.sentence) not in {(f.code, f.sentence) for f in self.findings}:
                self.add(
                    one.code, one.sentence, case=one.case, number=one.number, position=one.position
                )

    def add(
        self,
        code: str,
        sentence: str,
        *,
        case: str | None = None,
        number: int | None = None,
        position: int | None = None,
    ) -> None:
        """Note a finding."""
        if len(self.findings) < MOST_FINDINGS:
            self.findings.append(Fault(code, sentence, position, case, number))
        else:
            self.more += 1

    @property
    def sound(self) -> bool:
        """Whether nothing broken was found; never more than that."""
        return not self.more and not any(f.weight is Weight.BROKEN for f in self.findings)

    @property
    def entries_sound(self) -> bool:
        """Whether nothing broken was found but the page's words."""
        broken = {f.code for f in self.findings if f.weight is Weight.BROKEN}
        return not self.more and broken <= {"page-differs"}

    @property
    def page_compared(self) -> bool:
        """Whether no page was left whose words nobody compared with the entries."""
        return _UNCOMPARED.isdisjoint(self.codes)

    @property
    def words_hold(self) -> bool:
        """Whether the words of the page, and of receipts, are those that the entries tell."""
        compared = self.page_compared and "page-differs" not in self.codes
        return compared and all(receipt.words_hold for receipt in self.receipts)

    @property
    def keys_known(self) -> bool:
        """Whether the register's own chain could be followed to its end."""
        return len(self.house) == len(self.dossier.register_entries) > 0

    @property
    def followed(self) -> bool:
        """Whether the case's chain could be followed to its end."""
        return len(self.entries) == len(self.dossier.entries)

    @property
    def unanchored(self) -> int:
        """How many of the case's entries no checkpoint covers."""
        return len(self.dossier.entries) - self.proved

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes of the findings, each once."""
        return tuple(dict.fromkeys(finding.code for finding in self.findings))

    @property
    def words(self) -> str:
        """The verdict in one sentence."""
        parts = []
        if self.sound:
            parts.append(f"sound in {len(self.entries)} entries of the case")
        else:
            parts.append(f"NOT SOUND: {', '.join(self.codes)}")
        if self.checkpoint:
            parts.append(f"{self.proved} of them under the checkpoint of {self.checkpoint.size}")
        if self.complete_to is None:
            parts.append("no case index: later entries, and revocations of keys, may be left out")
        else:
            parts.append(f"complete to its entry {self.complete_to}")
        best = self.anchors[0].words if self.anchors else "anchored by nobody outside"
        parts.append(best)
        parts.append(f"{self.unanchored} entries not anchored")
        if not self.page_compared:
            parts.append("the page's words NOT compared with them")
        key = "" if self.pinned else f"; {KEY_UNGIVEN}"
        return f"{', '.join(parts)}{key}; {LATEST_UNKNOWN}"

    def as_json(self) -> dict[str, Any]:
        """Give the report as JSON holds it, in the shape that `SHAPE` names."""
        return {
            "shape": SHAPE,
            "register": self.dossier.register,
            "case": self.dossier.case,
            "made_at": self.dossier.made_at,
            "entries": len(self.dossier.entries),
            "sound": self.sound,
            "words_hold": self.words_hold,
            "proved": self.proved,
            "complete_to": self.complete_to,
            "unanchored": self.unanchored,
            "checkpoint_size": self.checkpoint.size if self.checkpoint else None,
            "pinned": self.pinned,
            "rests_on": list(self.rests_on),
            "unknown": list(UNKNOWN),
            "anchors": [anchor.as_json() for anchor in self.anchors],
            "receipts": [receipt.as_json() for receipt in self.receipts],
            "findings": [finding.as_json() for finding in self.findings],
            "more": self.more,
            "words": self.words,
        }
