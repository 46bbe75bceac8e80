"""Neighbours: other decedents in care, now or at a moment, whose name is the same or similar."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.findings.base import Neighbour
from continuity.care.names import alike

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from continuity.chains import Chains
    from continuity.store.protocol import Reads


def neighbours(
    chains: Chains,
    reads: Reads,
    number: str,
    *,
    known_until: datetime | None = None,
    happened_until: datetime | None = None,
) -> tuple[Neighbour, ...]:
    """The other cases in care whose decedent's name is alike, most alike first.

    Of the past every case is asked, for none is noted as having been in care once. A name erased
    since is compared no more: nobody has it.

    Raises:
        InputError: there is no such case.
    """
    past = known_until is not None or happened_until is not None
    name = _name(chains, reads, chains.by_number(reads, number).opened)
    least = chains.house(reads, known_until).policy.threshold("similar-name")
    found = []
    for case_id, opened in (_all(reads) if past else reads.in_care()) if name else ():
        head = reads.case_head(case_id)
        if head and head.name and head.name != number:
            percent = alike(name, _name(chains, reads, opened))
            if percent >= least:
                case = chains.by_id(reads, case_id).at(known_until, happened_until)
                if case.events and case.in_care:
                    found.append(Neighbour(head.name, percent))
    return tuple(sorted(found, key=lambda n: (-n.percent, n.case)))


def _all(reads: Reads) -> Iterator[tuple[str, int]]:
    """Every case's id and the position of its first entry, as `in_care` tells of some."""
    for head in reads.cases():
        for first in reads.entries(head.case_id)[:1] if head.name else ():
            yield head.case_id, first.position


def _name(chains: Chains, reads: Reads, opened: int) -> str:
    stored = reads.entry_at(opened)
    return chains.details(reads, stored).get("name", "") if stored else ""
