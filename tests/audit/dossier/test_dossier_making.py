"""Making a dossier from a store: what it covers, and which personal details go into it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from scenario import BODY, CASE, WITNESS, Firm, start, whole

from continuity.audit.anchors import attach_cosignatures
from continuity.audit.dossier.checking import check
from continuity.audit.dossier.making import Choice, make
from continuity.audit.dossier.what import Withheld
from continuity.errors import InputError
from continuity.ledger import checkpoint as checkpoints
from continuity.ledger.checkpoint import cosigner_key
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from continuity.audit.dossier.what import Dossier
    from continuity.audit.trust import Trust


def test_nothing_is_published_yet(pinned: Trust) -> None:
    firm = start()
    firm.tell("case-opened", disposition="burial")
    dossier = firm.dossier()
    assert dossier.checkpoint is None
    assert dossier.index is None
    assert all(entry.proof is None for entry in dossier.entries)
    report = check(dossier, pinned)
    assert report.sound
    assert report.unanchored == 1
    assert "no case index: later entries, and revocations of keys, may be left out" in report.words


def test_the_index_is_computed_as_it_was_when_the_case_has_grown(pinned: Trust) -> None:
    firm = whole()
    firm.tell("weighed", thing=BODY, grams=68_400)
    firm.record("moved", case="2026-0002", things=["2026-0002.1"], place="table-1")
    report = check(firm.dossier(), pinned)
    assert report.codes == ()
    assert (report.complete_to, report.unanchored) == (25, 1)


def test_a_case_opened_after_the_index_is_not_in_it(pinned: Trust) -> None:
    firm = start()
    firm.publish()
    firm.tell("case-opened", disposition="burial")
    dossier = firm.dossier()
    assert dossier.index
    assert dossier.index.case is None
    report = check(dossier, pinned)
    assert report.codes == ()
    assert (report.complete_to, report.unanchored) == (None, 1)


def test_the_latest_checkpoint_with_an_index_is_taken(pinned: Trust) -> None:
    firm = whole()
    published = firm.dossier()
    firm.tell("weighed", thing=BODY, grams=68_400)
    firm.register.checkpoint(firm.register_key)
    dossier = firm.dossier()
    assert dossier.checkpoint == published.checkpoint
    assert check(dossier, pinned).unanchored == 1


def test_cosignatures_kept_beside_the_checkpoint_go_into_its_note(
    pinned: Trust,
) -> None:
    firm = whole()
    row = firm.register.store.latest_checkpoint()
    assert row
    note = checkpoints.cosign(Note.parse(row.note), WITNESS, 1_772_600_000)
    attach_cosignatures(firm.register.store, note.encode(), [cosigner_key(WITNESS.verify_key)])
    dossier = firm.dossier()
    assert dossier.checkpoint == note.encode()
    assert dossier.attestations == ()


def test_details_are_withheld_unless_they_are_named(firm: Firm) -> None:
    none = firm.dossier()
    assert none.disclosures == ()
    assert none.withheld == (
        Withheld(0, "date-of-birth"),
        Withheld(0, "name"),
        Withheld(0, "next-of-kin"),
        Withheld(22, "recipient"),
    )
    some = firm.dossier("name", "recipient")
    assert [d.entry for d in some.disclosures] == [0, 22]
    assert some.withheld == (Withheld(0, "date-of-birth"), Withheld(0, "next-of-kin"))
    assert firm.dossier(everything=True).withheld == ()


def test_another_case_s_details_and_entries_stay_out(sound: Dossier, firm: Firm) -> None:
    data = firm.dossier(everything=True).encode()
    assert b"2026-0002" not in data
    assert b"Benno" not in data
    other = firm.register.store.case_by_name("2026-0002")
    assert other
    assert other.case_id.encode() not in sound.encode()


def test_a_case_or_a_field_that_is_not_there_is_told(firm: Firm) -> None:
    with pytest.raises(InputError, match="case 2026-0404: no such case"):
        make(firm.register.store, "2026-0404", firm.now)
    with pytest.raises(InputError, match="shoe-size: the case has no such personal detail; it has"):
        make(firm.register.store, CASE, firm.now, Choice(frozenset({"shoe-size"})))
