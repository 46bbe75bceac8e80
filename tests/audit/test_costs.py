"""Twice as much that is hostile costs about twice as much: calls are counted, not seconds.

Each is made so that something could multiply: cases with indexes, keys with checkpoints, labels
with entries.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest
from invented import PINNED, REGISTER, A, key, signed_tree

from continuity.audit import walk
from continuity.audit.authority import Authority
from continuity.audit.checkpoints import Checkpoints
from continuity.audit.dossier.details import ERASING, erased_in
from continuity.audit.projections import Labels
from continuity.audit.walk import ChainOrder, Index
from continuity.ledger import caseindex
from continuity.ledger.caseindex import INDEX_CASE
from continuity.ledger.keyring import REGISTER_ROLE, Enrolment
from continuity.ledger.merkle import leaf_hash
from continuity.store.protocol import CheckpointRow, LabelRow
from continuity.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from collections.abc import Callable


def calls(work: Callable[[], object]) -> int:
    """How many functions are called, Python's own and those of its libraries."""
    counted = [0]

    def count(_frame, event: str, _arg) -> None:
        counted[0] += event in {"call", "c_call"}

    sys.setprofile(count)
    try:
        work()
    finally:
        sys.setprofile(None)
    return counted[0]


@dataclass
class Row:
    """As much of a checked entry as a case index needs."""

    case: str
    kind: str
    position: int
    details: dict = field(default_factory=dict)


def in_one_bucket(count: int) -> list[str]:
    """Ids of cases whose digests all begin with the same byte, as whoever opens them can choose."""
    found, number = [], 0
    while len(found) < count:
        number += 1
        if caseindex.case_digest(f"{number:032x}")[0] == 0:
            found.append(f"{number:032x}")
    return found


def index_each(cases: list[str]) -> list[str]:
    """Cases opened one by one, each followed by an index; what the audit says of the indexes."""
    chains = ChainOrder(REGISTER)
    index, codes = Index(chains), []
    for number, case in enumerate(cases):
        for row in (
            Row(case, "case-opened", 2 * number),
            Row(INDEX_CASE, "cases-indexed", 2 * number + 1),
        ):
            codes += [code for code, _ in index.accept(row)]
            chains.heads[row.case] = (1, bytes(32), row.position)
    return codes


def test_cases_in_one_bucket_and_an_index_after_each(monkeypatch):
    monkeypatch.setattr(walk, "HASHES_TO_BEGIN_WITH", 2_000)
    monkeypatch.setattr(walk, "HASHES_AN_ENTRY", 16)
    cases = in_one_bucket(600)
    once, twice = (calls(lambda n=n: index_each(cases[:n])) for n in (300, 600))
    assert twice < 2.2 * once
    codes = index_each(cases)
    assert codes[0] == "index-differs"
    assert codes[-1] == "index-unchecked"


def test_what_firms_do_stays_far_below_that_bound():
    """300 cases, evenly spread as digests are, with an index after each entry."""
    assert "index-unchecked" not in index_each([f"{n:032x}" for n in range(300)])


def test_a_part_is_verified_however_many_cases_there_are(copy, original, monkeypatch):
    """The chains that stand in the file may be hashed once, whatever that bound."""
    monkeypatch.setattr(walk, "HASHES_TO_BEGIN_WITH", 0)
    monkeypatch.setattr(walk, "HASHES_AN_ENTRY", 0)
    assert copy.verify(PINNED, case=A).codes == ()
    assert copy.verify(PINNED, since=original.second).codes == ()


def judged(count: int) -> list[str]:
    """So many register keys, each replaced by the next, and so many checkpoints kept."""
    keys = [key(REGISTER, 1), *(key(f"{REGISTER}-{n}", n % 250 + 1) for n in range(1, count))]
    enrolments = [
        Enrolment(one.verify_key, "register", REGISTER_ROLE, n, n + 1) for n, one in enumerate(keys)
    ]
    judge = Checkpoints(REGISTER, Authority(tuple(enrolments)), PINNED, count, {}, None)
    note = signed_tree([b"note"], signer=keys[0])
    rows = [CheckpointRow(1, leaf_hash(b"note"), note)] * count
    return [finding.code for row in rows for finding in judge.kept(row)]


def test_many_keys_and_many_checkpoints():
    assert set(judged(3)) == {"checkpoint-differs"}
    once, twice = (calls(lambda n=n: judged(n)) for n in (200, 400))
    assert twice < 2.2 * once


def test_many_labels_that_all_name_one_long_entry(copy):
    """The entry is read once, not again for each."""
    with SqliteStore.open(copy.path) as store:
        asked = []
        rows = [LabelRow(f"code-{n}", "case", "thing", 8) for n in range(50)]
        reads = SimpleNamespace(
            labels=lambda: iter(rows),
            entry_at=lambda at: asked.append(at) or store.entry_at(at),
        )
        found = list(Labels(reads).surplus(0, 100))
    assert [one.code for one in found] == ["label-differs"] * 50
    assert asked == [8]


def erasing(count: int, **fields: object) -> list[SimpleNamespace]:
    """As many details as erasures that name other entries, or fields that are none."""
    recorded = [
        SimpleNamespace(kind="x", number=n, details={"personal": {f"field-{n}": "digest"}})
        for n in range(count)
    ]
    return [
        *recorded,
        *(SimpleNamespace(kind=ERASING, number=count + n, details=fields) for n in range(count)),
    ]


@pytest.mark.parametrize(
    "fields", [{"entries": [10**6]}, {"fields": ["none"]}, {}, {"entries": [1], "fields": ["none"]}]
)
def test_many_details_and_many_erasures(fields):
    once, twice = (calls(lambda n=n: erased_in(erasing(n, **fields))) for n in (100, 200))
    assert twice < 2.2 * once
    assert len(erased_in(erasing(100, **fields))) == (0 if fields else 100)


@pytest.mark.parametrize("count", [50])
def test_counting_counts(count):
    assert calls(lambda: [abs(n) for n in range(2 * count)]) >= 2 * count
