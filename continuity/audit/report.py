"""What an audit says: findings under stable codes, what anchors the record, and what stays unknown.

A report never says simply that all is well. It says how far the record is sound, who outside has
seen it when, how many entries nobody outside has seen, and that nobody can tell from a register
alone whether it is the latest one or the only one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC
from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from continuity.audit.receiptcheck import ReceiptVerdict

SHAPE = "continuity-verification/1"
"""Names the JSON form; a later shape gets another number."""


class Weight(StrEnum):
    """What a finding does to the verdict."""

    BROKEN = "broken"
    """The record is not sound from here on."""
    DOUBT = "doubt"
    """The record is sound, and this is to be known about it."""


_BROKEN = {
    "entry-missing": "no entry lies at this position",
    "entry-malformed": "the bytes are not an entry to the letter",
    "version-unknown": "an entry of a version or algorithm this program does not know",
    "wrong-register": "an entry of another register",
    "row-differs": "the table files the entry under another case, number or kind than it states",
    "leaf-differs": "the leaf hash kept is not that of the entry's bytes",
    "signature-wrong": "a signature does not fit the entry",
    "key-not-valid": "a key signed that is not valid at this position",
    "keys-broken": "an entry changes keys as those who signed it may not",
    "recorder-differs": "the recorder named did not sign",
    "second-person-missing": "an act that needs two directors is signed by fewer",
    "chain-broken": "the entry does not follow the one before it in its case",
    "case-unlinked": "an entry of the case rests on one that cannot be found",
    "mirror-unpaired": "an entry repeats one that does not stand right before it, or alters it",
    "mirror-missing": "an act that touches another case was not written into that case's chain",
    "seen-differs": "the checkpoint the author had seen is not one of this register",
    "node-differs": "a stored node of the tree is not the hash of what lies below it",
    "head-differs": "the head row is not that of the entries",
    "checkpoint-malformed": "the bytes are not a signed checkpoint to the letter",
    "checkpoint-signature": "the register's key valid at that size did not sign the checkpoint",
    "checkpoint-differs": "a signed checkpoint states another root than the entries have",
    "shorter-than-checkpoint": "the register is shorter than a checkpoint it signed",
    "index-differs": "the case index published is not that of the cases",
    "index-unchecked": "the case index is published too often to be followed in linear time",
    "not-in-tree": "the entry is not what the signed tree has at its position",
    "case-head-differs": "what is kept of a case's length or head is not what its entries say",
    "name-differs": "a case is filed under another number than it was opened with",
    "label-differs": "a label stands for another thing than was recorded",
    "in-care-differs": "the list of cases in care is not what the entries add up to",
    "case-unfoldable": "the case's entries do not add up to a case",
    "act-unreadable": "the entry's particulars do not fit its kind",
    "disclosure-differs": "a personal detail is not the one whose digest stands in the entry",
    "disclosure-missing": "a personal detail is gone and no entry says it was erased",
    "not-the-pinned-register": "the register is not the one whose origin was given",
    "not-the-pinned-key": "the key given is none of this register's own",
    "rewritten": "the register does not continue a checkpoint that was kept outside",
    "shorter-than-held": "the register is shorter than a checkpoint that was kept outside",
    "receipt-differs": "the receipt's own proof does not lead to its checkpoint",
    "forked": "two checkpoints, both signed by the register, contradict each other",
    "cosignature-wrong": "a known witness's cosignature does not fit",
    "time-stamp-wrong": "a time stamp does not fit the checkpoint or its authority",
    "quorum-missing": "fewer witnesses than the policy asks for have cosigned",
    "file-damaged": "the file cannot be read further",
    "layout-differs": "the file holds a table, index, view or trigger that no register has",
    "table-differs": "a table or an index holds, or hides, what the entries do not account for",
}
_DOUBT = {
    "key-suspect": "a key signed that was later declared compromised from this position on",
    "clock-back": "the clock stood earlier than at the entry before",
    "clock-ahead": "the entry claims to be later than the time its checkpoint was witnessed",
    "disclosure-orphan": "a personal detail is kept that no entry has a digest of",
    "disclosure-erased-kept": "a personal detail is kept though an entry says it was erased",
    "stale": "the last sighting from outside is older than was asked for",
    "anchor-ended": "an authority's certificate, by which a time stamp is checked, has run out",
    "receipt-words-differ": "the words on a receipt are not what the entry it proves says",
    "anchor-unusable": "a witness's word or time stamp cannot be checked with the keys given",
}
CODES = {code: (Weight.BROKEN, text) for code, text in _BROKEN.items()} | {
    code: (Weight.DOUBT, text) for code, text in _DOUBT.items()
}
"""Every code a finding may bear: its weight, and what it means."""

OF_TABLES = frozenset({"case-head-differs", "name-differs", "label-differs"})
"""Codes about tables made from the entries: the entries are as sound as they were."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is not as it must be.

    Attributes:
        code: One of `CODES`.
        sentence: What, where, and how it shows.
        position: The entry's position in the register, from 0; None if it is about none.
        case: The case's id; None if it is about none.
        number: The entry's number in its case.
        name: The number people know the case by.
    """

    code: str
    sentence: str
    position: int | None = None
    case: str | None = None
    number: int | None = None
    name: str | None = None

    @property
    def weight(self) -> Weight:
        """What it does to the verdict."""
        return CODES[self.code][0]

    def as_json(self) -> dict[str, Any]:
        """Give the finding as JSON holds it."""
        return {
            "code": self.code,
            "weight": self.weight.value,
            "sentence": self.sentence,
            "position": _plain(self.position),
            "case": _plain(self.case),
            "name": _plain(self.name),
            "number": _plain(self.number),
        }


@dataclass(frozen=True, slots=True)
class Anchor:
    """Something outside the register that shows its first `size` entries as they are.

    Attributes:
        size: How many entries, from the first on, it covers.
        how: `held-checkpoint`, `guard`, `receipt`, `cosignature` or `time-stamp`.
        by: Who vouches: a witness, an authority, or whoever kept the checkpoint.
        at: When it was seen, UTC; None where that is not part of it.
        until: How long it can be checked, UTC; None where no end is set.
    """

    size: int
    how: str
    by: str
    at: datetime | None = None
    until: datetime | None = None

    @property
    def words(self) -> str:
        """The anchor in words: `anchored to entry N at T by W`."""
        at = f" at {_time(self.at)}" if self.at else ""
        until = f", checkable until {_time(self.until)}" if self.until else ""
        return f"anchored to entry {self.size}{at} by {self.by} ({self.how}){until}"

    def as_json(self) -> dict[str, Any]:
        """Give the anchor as JSON holds it."""
        return {
            "size": self.size,
            "how": self.how,
            "by": self.by,
            "at": _time(self.at) if self.at else None,
            "until": _time(self.until) if self.until else None,
        }


UNKNOWN = (
    "whether this is the latest state of the register",
    "whether it is the only one its keeper shows to anybody",
    "whether something happened that was never recorded",
)
"""What no verifier can know from a register and its key."""

KEY_UNGIVEN = "its key is its own word, for none was given from outside"
LATEST_UNKNOWN = "whether this is the latest state cannot be told from here"
"""What a verdict's one sentence ends with."""


def own_word(reference: str, of: str) -> str:
    """What a verdict rests on where the reader gave no key of the register, or of the dossier."""
    return (
        f"register key {reference}, which is the {of}'s own word: give the one that was handed out"
        " when the register was started (--key)"
    )


@dataclass(frozen=True)
class Report:
    """An audit's answer.

    Attributes:
        register: The register's id.
        scope: What was checked: `register`, `case`, or `since`.
        case: The case's number where one case was checked.
        start: First position that was checked entry by entry.
        size: How many entries the register held when the audit began.
        checked: How many entries were checked.
        sound_to: How many entries, from the first on, nothing broken was found in.
        signed_to: Size of the largest sound checkpoint in the register; 0 without one.
        pinned: Whether origin and key were given from outside.
        rests_on: What the verdict takes as given, a sentence each.
        anchors: What outside shows the record as it is, largest first.
        findings: What is not as it must be, in order of position; the first bad entry of each case
            only.
        more: How many further findings were not listed.
        positions: Where the case's entries stand, if one case was checked.
        receipts: What receipts that somebody kept show of it.
        uncovered: What this scope leaves out, each in words.
    """

    register: str
    scope: str
    case: str | None
    start: int
    size: int
    checked: int
    sound_to: int
    signed_to: int
    pinned: bool
    rests_on: tuple[str, ...]
    anchors: tuple[Anchor, ...] = ()
    findings: tuple[Finding, ...] = ()
    more: int = 0
    positions: tuple[int, ...] | None = None
    receipts: tuple[ReceiptVerdict, ...] = ()
    uncovered: tuple[str, ...] = ()

    def holding(self, receipts: Iterable[ReceiptVerdict]) -> Report:
        """The same report with what receipts that somebody kept show of the register."""
        held = tuple(receipts)
        told = {(one.code, one.sentence) for one in self.findings}
        fresh = [one for verdict in held for one in verdict.findings]
        fresh = [one for one in fresh if (one.code, one.sentence) not in told]
        broken = [one.position for one in fresh if one.weight is Weight.BROKEN]
        sound_to = min([self.sound_to, *(at for at in broken if at is not None)])
        findings = (*self.findings, *dict.fromkeys(fresh))
        return replace(self, findings=findings, sound_to=sound_to, receipts=held)

    @property
    def sound(self) -> bool:
        """Whether nothing broken was found; never more than that."""
        return not any(finding.weight is Weight.BROKEN for finding in self.findings)

    @property
    def words_hold(self) -> bool:
        """Whether the words of no receipt held against it were found to differ from its entries."""
        return all(receipt.words_hold for receipt in self.receipts)

    @property
    def anchored_to(self) -> int:
        """How many entries, from the first on, somebody outside has seen as they are."""
        return min(max((anchor.size for anchor in self.anchors), default=0), self.sound_to)

    @property
    def unanchored(self) -> int:
        """How many of the register's entries, or of the case's, nobody outside has seen."""
        if self.positions is not None:
            return sum(position >= self.anchored_to for position in self.positions)
        return self.size - self.anchored_to

    @property
    def unknown(self) -> tuple[str, ...]:
        """What this verdict cannot say: what its scope leaves out, and what nobody can know."""
        before = f"whether entries 1 to {self.start} still stand as they were verified:"
        again = (f"{before} not gone through again",) if self.scope == "since" else ()
        return (*again, *self.uncovered, *UNKNOWN)

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes of the findings, each once."""
        return tuple(dict.fromkeys(finding.code for finding in self.findings))

    def first_bad(self) -> dict[str, Finding]:
        """The first broken finding of each case, by the case's id: where to begin looking."""
        first: dict[str, Finding] = {}
        for finding in self.findings:
            if finding.case is not None and finding.weight is Weight.BROKEN:
                first.setdefault(finding.case, finding)
        return first

    @property
    def words(self) -> str:
        """The verdict in one sentence."""
        parts = [self._extent()]
        best = next((a for a in self.anchors if a.size <= self.sound_to), None)
        parts.append(best.words if best else "anchored by nobody outside")
        parts.append(f"{self.unanchored} entries not anchored")
        key = "" if self.pinned else f"; {KEY_UNGIVEN}"
        return f"{', '.join(parts)}{key}; {LATEST_UNKNOWN}"

    def _extent(self) -> str:
        if self.positions is not None:
            good = sum(position < self.sound_to for position in self.positions)
            extent = f"case {self.case}: {{}} to its entry {good}"
            whole = self.checked
        else:
            extent, whole = f"{{}} to entry {self.sound_to}", self.size
        if self.scope == "since":
            extent += f" (checked from entry {self.start + 1} on)"
        if self.sound:
            return extent.format("sound")
        return extent.format("NOT SOUND: sound") + f" of {whole}"

    def as_json(self) -> dict[str, Any]:
        """Give the report as JSON holds it, in the shape that `SHAPE` names."""
        return {
            "shape": SHAPE,
            "register": self.register,
            "scope": self.scope,
            "case": self.case,
            "start": self.start,
            "size": self.size,
            "checked": self.checked,
            "sound": self.sound,
            "words_hold": self.words_hold,
            "sound_to": self.sound_to,
            "signed_to": self.signed_to,
            "anchored_to": self.anchored_to,
            "unanchored": self.unanchored,
            "pinned": self.pinned,
            "rests_on": list(self.rests_on),
            "unknown": list(self.unknown),
            "anchors": [anchor.as_json() for anchor in self.anchors],
            "receipts": [receipt.as_json() for receipt in self.receipts],
            "findings": [finding.as_json() for finding in self.findings],
            "more": self.more,
            "words": self.words,
        }


def _plain(value: object) -> str | int | None:
    """A value as its table should hold it; a damaged one can hold anything."""
    return value if isinstance(value, str | int | None) else repr(value)


def _time(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
