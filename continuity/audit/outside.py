"""What the words of others say about the register's time, and whether enough of them spoke."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from continuity.audit.report import Finding
from continuity.errors import FormatError
from continuity.ledger.chain import read_entry

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from continuity.audit.report import Anchor
    from continuity.audit.trust import Trust
    from continuity.store.protocol import Reads, Stored

CLOCKS_DIFFER = timedelta(minutes=5)
"""How far two honest clocks may stand apart (common practice, no source)."""


def judge_outside(
    reads: Reads, anchors: Sequence[Anchor], trust: Trust, now: datetime
) -> Iterator[Finding]:
    """Everything that others' words say."""
    yield from judge_quorum(anchors, trust)
    yield from judge_age(anchors, trust, now)
    yield from judge_ends(anchors, now)
    for anchor in anchors:
        last = reads.entry_at(anchor.size - 1) if anchor.at else None
        if last is not None:
            yield from judge_clock(anchor, last)


def judge_quorum(anchors: Iterable[Anchor], trust: Trust) -> Iterator[Finding]:
    """Enough different witnesses have cosigned one checkpoint."""
    witnesses: dict[int, set[str]] = {}
    for anchor in anchors:
        if anchor.how == "cosignature":
            witnesses.setdefault(anchor.size, set()).add(anchor.by)
    most = max(map(len, witnesses.values()), default=0)
    if most < trust.quorum:
        sentence = f"{most} witnesses have cosigned one checkpoint, and {trust.quorum} must."
        yield Finding("quorum-missing", sentence)


def judge_age(anchors: Sequence[Anchor], trust: Trust, now: datetime) -> Iterator[Finding]:
    """The last sighting from outside is not older than was asked for."""
    if trust.max_age is None:
        return
    latest = max((anchor.at for anchor in anchors if anchor.at is not None), default=None)
    if latest is None:
        yield Finding("stale", "Nobody outside has seen the register at a known time.")
    elif now - latest > trust.max_age:
        sentence = f"The register was last seen outside at {latest:%Y-%m-%dT%H:%M:%SZ}."
        yield Finding("stale", sentence)


def judge_ends(anchors: Iterable[Anchor], now: datetime) -> Iterator[Finding]:
    """What vouches for the record can still be checked by anybody today."""
    for anchor in anchors:
        if anchor.until is not None and anchor.until < now:
            sentence = (
                f"What {anchor.by} said of the first {anchor.size} entries could be checked until"
                f" {anchor.until:%Y-%m-%dT%H:%M:%SZ}; let an authority stamp a newer checkpoint."
            )
            yield Finding("anchor-ended", sentence)


def judge_clock(anchor: Anchor, last: Stored) -> Iterator[Finding]:
    """The last entry an anchor covers was not recorded after the anchor's time."""
    try:
        entry, _ = read_entry(last.note)
    except (FormatError, TypeError):
        return
    if (
        anchor.at is not None
        and datetime.fromisoformat(entry.recorded_at) > anchor.at + CLOCKS_DIFFER
    ):
        sentence = (
            f"entry {entry.number} of case {entry.case} says it was recorded {entry.recorded_at},"
            f" and {anchor.by} had seen it by {anchor.at:%Y-%m-%dT%H:%M:%SZ}."
        )
        yield Finding("clock-ahead", sentence, last.position, entry.case, entry.number)
