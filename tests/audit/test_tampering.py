"""Fifty ways to falsify a register, each with the verdict it must get.

The numbers are those of the project's tamper catalogue. Where nobody can see a class in the
register alone, the test shows it unseen without, and seen with, what somebody outside holds. The
verifier of the library and the second one, written from the format page, must agree each time.
"""

from __future__ import annotations

import base64
import sqlite3
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from hashlib import sha256
from itertools import pairwise

import pytest
import second_verifier
from invented import (
    DIRECTOR,
    LEAVER,
    MORTICIAN,
    OTHER_WITNESS,
    OUTSIDER,
    PINNED,
    REGISTER,
    REGISTER_KEY,
    SECOND,
    START,
    WITNESS,
    A,
    B,
    C,
    Copy,
    holding,
    key,
    make,
    rewrite,
    signed_tree,
    size_of,
)

from continuity.audit import folds
from continuity.audit.anchors import attach_cosignatures
from continuity.audit.dossier.checking import check as check_dossier
from continuity.audit.dossier.making import make as make_dossier
from continuity.audit.dossier.page import write_page
from continuity.audit.dossier.story import tell
from continuity.audit.guard import Guard
from continuity.audit.receiptcheck import verify_receipt
from continuity.audit.receipts import Receipt, make_receipt, read_receipt
from continuity.audit.trust import Trust
from continuity.audit.verify import verify
from continuity.care.intent import read_intent
from continuity.errors import (
    BehindGuardError,
    DamagedRegisterError,
    FormatError,
    RegisterError,
)
from continuity.ledger import checkpoint, merkle
from continuity.ledger.caseindex import CaseRecord, case_digest
from continuity.ledger.chain import Entry, Seen, genesis, read_entry, sign_entry
from continuity.ledger.checkpoint import Checkpoint, cosigner_key
from continuity.ledger.keys import VerifyKey
from continuity.ledger.note import Note, SignatureLine, to_base64
from continuity.recording import Signatory
from continuity.register import Register
from continuity.store.sqlite import SqliteStore

ORDER = 2**252 + 27742317777372353535851937790883648493  # of Ed25519's base point, RFC 8032 5.1
INSIDERS = {
    one.reference: one for one in (REGISTER_KEY, DIRECTOR, SECOND, MORTICIAN, LEAVER, OUTSIDER)
}


def both(copy: Copy, trust: Trust = PINNED):
    """The library's report, which the second verifier must agree with."""
    report = copy.verify(trust)
    vkey = None if trust.register_key is None else str(trust.register_key)
    second = second_verifier.verify(copy.path, vkey, [held.note for held in trust.held])
    assert (second.sound, second.sound_to) == (report.sound, report.sound_to), second.broken
    return report


def again(entry: Entry, *signers, **changes) -> bytes:
    """The entry with other particulars, signed by keys the forger holds."""
    keys = signers or tuple(INSIDERS[one] for one in entry.signers)
    references = tuple(one.reference for one in keys)
    return sign_entry(replace(entry, **{"signers": references, **changes}), keys)


def appended(copy: Copy, *notes: bytes) -> Copy:
    return rewrite(copy, [*copy.notes(), *notes])


def reforged(old: list[bytes], entries: list[Entry]) -> tuple[list[bytes], tuple[bytes, ...]]:
    """Chain and sign a whole story anew, with all keys, index and checkpoints; nothing shows."""
    leaves = {merkle.leaf_hash(note): read_entry(note)[0] for note in old}
    new_leaf: dict[int, bytes] = {}
    heads: dict[str, tuple[int, bytes, int]] = {}
    notes, checkpoints, seen = [], [], None
    for at, entry in enumerate(entries):
        number, previous, _ = heads.get(entry.case, (0, genesis(REGISTER, entry.case), 0))
        details = dict(entry.details)
        if entry.kind == "cases-indexed":
            root = second_verifier.index_root(heads).hex()
            details |= {"root": root, "count": len(heads), "size": at}
        if "strikes" in details:
            details["strikes"] = new_leaf[id(leaves[bytes.fromhex(details["strikes"])])].hex()
        mirrors = entry.mirrors and new_leaf[id(leaves[entry.mirrors])]
        chained = {"number": number, "previous": previous, "details": details, "seen": seen}
        note = again(entry, **chained, mirrors=mirrors)
        leaf = merkle.leaf_hash(note)
        same = next((was for was in leaves.values() if was == entry), entry)
        new_leaf[id(same)] = leaf
        heads[entry.case] = (number + 1, leaf, at)
        notes.append(note)
        if entry.kind == "cases-indexed":
            checkpoints.append(signed_tree(notes))
            signed = Checkpoint.parse(Note.parse(checkpoints[-1]).text)
            seen = Seen(signed.size, signed.root)
    return notes, tuple(checkpoints)


def following(copy: Copy, case: str, **changes) -> Entry:
    """An entry that follows on the last of a case, as its chain asks."""
    last = copy.positions(case)[-1]
    note = copy.note(last)
    entry, _ = read_entry(note)
    fresh = {
        "number": entry.number + 1,
        "previous": merkle.leaf_hash(note),
        "recorded_at": "2031-04-07T09:00:00.000Z",
    }
    return replace(entry, **{**fresh, **changes})


def test_the_untouched_register_is_sound_to_both(copy, original):
    assert both(copy).findings == ()
    assert both(copy, holding(original.first, original.second)).sound


def test_01_a_body_edited(copy, original):
    at = copy.positions(A)[4]
    copy.put(at, copy.note(at).replace(b'["2031-0001.1"]', b'["2031-0001.2"]'))
    report = both(copy)
    assert {"signature-wrong", "mirror-unpaired", "checkpoint-differs"} <= set(report.codes)
    assert report.first_bad()[copy.case_id(A)].position == at
    assert report.sound_to == size_of(original.first)


def test_02_a_body_edited_and_its_leaf_hash_left(copy):
    at = copy.positions(A)[4]
    edited = copy.note(at).replace(b'["2031-0001.1"]', b'["2031-0001.2"]')
    copy.sql("UPDATE entry SET note = ? WHERE position = ?", edited, at)
    report = both(copy)
    assert {"leaf-differs", "signature-wrong"} <= set(report.codes)


def test_03_a_body_edited_and_everything_computed_again_without_a_key(copy):
    notes = copy.notes()
    chain = copy.positions(A)[4:]
    notes[chain[0]] = notes[chain[0]].replace(b'["2031-0001.1"]', b'["2031-0001.2"]')
    for before, at in pairwise(chain):
        old = read_entry(notes[at])[0].previous.hex().encode()
        notes[at] = notes[at].replace(old, merkle.leaf_hash(notes[before]).hex().encode())
    report = both(rewrite(copy, notes))
    assert {"signature-wrong", "checkpoint-differs"} <= set(report.codes)
    assert "chain-broken" not in [f.code for f in report.findings if f.name == A]


@pytest.mark.parametrize("how", ["strip", "swap", "replace"])
def test_04_signatures_stripped_replaced_or_in_another_order(copy, how):
    note = Note.parse(copy.note(1))
    first, second = note.signatures
    forged = SignatureLine(first.name, first.key_id, OUTSIDER.signature(note.text))
    lines = {"strip": (first,), "swap": (second, first), "replace": (forged, second)}[how]
    copy.put(1, Note(note.text, lines).encode())
    report = both(copy)
    assert report.findings[0].position == 1
    assert report.codes[0] == ("signature-wrong" if how == "replace" else "entry-malformed")


def test_05_a_signature_in_another_spelling(copy):
    at = copy.positions(A)[4]
    note = Note.parse(copy.note(at))
    (line,) = note.signatures
    scalar = int.from_bytes(line.blob[32:], "little") + ORDER
    other = replace(line, blob=line.blob[:32] + scalar.to_bytes(32, "little"))
    copy.put(at, Note(note.text, (other,)).encode())
    assert "signature-wrong" in both(copy).codes
    spelling = to_base64(line.key_id + line.blob)
    assert spelling.endswith("=")
    last = spelling.rstrip("=")[-1]
    loose = {"A": "B", "E": "F", "I": "J", "M": "N", "Q": "R", "U": "V", "Y": "Z", "c": "d"}
    loose |= {"g": "h", "k": "l", "o": "p", "s": "t", "w": "x", "0": "1", "4": "5", "8": "9"}
    stem = spelling.rstrip("=")[:-1]
    odd = note.encode().replace(spelling.encode(), f"{stem}{loose[last]}=".encode())
    copy.put(at, odd)
    assert "entry-malformed" in both(copy).codes


def test_06_an_entry_deleted_from_the_middle_of_a_case(copy):
    at = copy.positions(A)[4]
    copy.sql("DELETE FROM entry WHERE position = ?", at)
    report = both(copy)
    assert report.codes[0] == "entry-missing"
    assert report.sound_to == at


def test_06_an_entry_deleted_and_the_gap_closed(copy):
    at = copy.positions(C)[2]
    notes = copy.notes()
    del notes[at]
    gone = Copy(copy.path.with_name("closed"))
    with SqliteStore.create(gone.path, REGISTER) as store, store.writing() as pen:
        for note in notes:
            entry, _ = read_entry(note)
            head = pen.case_head(entry.case)
            name = entry.details["number"] if entry.kind == "case-opened" else None
            pen.append(note, entry.case, head.length if head else 0, entry.kind, name)
    report = both(gone)
    assert {"row-differs", "chain-broken"} <= {f.code for f in report.findings if f.name == C}


def test_07_the_tail_of_a_case_deleted_by_whoever_has_the_registers_key(copy, original):
    """C's correction is cut off, and every checkpoint is signed again."""
    notes = copy.notes()
    del notes[copy.positions(C)[-1]]
    size = size_of(original.second) - 1
    signed = (original.first, signed_tree(notes, size))
    report = both(rewrite(copy, notes, signed))
    assert "index-differs" in report.codes
    assert "checkpoint-differs" not in report.codes
    with SqliteStore.open(copy.path.with_name("rewritten")) as store:
        assert "index-differs" in verify(store, PINNED, case=C).codes


def test_08_a_whole_case_deleted(copy, original):
    copy.sql("DELETE FROM entry WHERE case_id = ?", copy.case_id(C))
    assert both(copy).codes[0] == "entry-missing"


def test_08_a_whole_case_deleted_and_everything_signed_again(copy, original):
    gone = set(copy.positions(C))
    notes = [note for at, note in enumerate(copy.notes()) if at not in gone]
    signed = (original.first, signed_tree(notes, size_of(original.second) - len(gone)))
    assert "index-differs" in both(rewrite(copy, notes, signed)).codes


def test_09_the_tail_after_the_last_checkpoint_deleted(copy, original):
    """Nobody can see it in the register; whoever holds a later checkpoint can."""
    notes = copy.notes()
    given = signed_tree(notes)
    shorter = rewrite(copy, notes[: size_of(original.second)])
    assert both(shorter).findings == ()
    report = both(shorter, holding(given))
    assert report.codes == ("shorter-than-held",)
    assert report.sound_to == size_of(original.second)


def test_10_rolled_back_to_an_older_checkpoint(original, tmp_path):
    """As 9; and the guard stops whoever would go on recording."""
    older = original.copy(tmp_path, original.backup)
    assert both(older).findings == ()
    assert both(older, holding(original.second)).codes == ("shorter-than-held",)
    guard = Guard(tmp_path / "guard")
    guard.lay(original.second)
    register = Register(SqliteStore.open(older.path), guard=guard)
    sighting = read_intent({"kind": "sighted", "case": A, "things": [f"{A}.1"]})
    with pytest.raises(BehindGuardError, match="let two directors record"):
        register.record(sighting, [Signatory("m1", MORTICIAN)])
    register.store.close()


def test_11_everything_rewritten_by_whoever_holds_all_keys(copy, original, tmp_path, monkeypatch):
    """The other story is sound by itself; any checkpoint or witness outside gives it away."""
    other = another_story(tmp_path, monkeypatch)
    assert both(other).findings == ()
    assert "rewritten" in both(other, holding(original.second)).codes
    witnessed = replace(PINNED, witnesses=(cosigner_key(WITNESS.verify_key),), quorum=1)
    assert other.verify(witnessed).codes == ("quorum-missing",)


def another_story(tmp_path, monkeypatch) -> Copy:
    """The same firm with the same keys, its clock an hour later: another register, as sound."""
    folder = tmp_path / "other"
    folder.mkdir()
    monkeypatch.setattr("invented.START", START + timedelta(hours=1))
    return Copy(make(folder, monkeypatch).path)


def test_12_two_entries_in_each_others_place(copy):
    notes = copy.notes()
    first, second = copy.positions(A)[4], copy.positions(C)[0]
    notes[first], notes[second] = notes[second], notes[first]
    swapped = Copy(copy.path)
    for at in (first, second):
        swapped.sql("UPDATE entry SET leaf = ? WHERE position = ?", b"%d" % at, at)
    for at in (first, second):
        swapped.put(at, notes[at])
    report = both(swapped)
    assert {"row-differs", "checkpoint-differs"} <= set(report.codes)


def test_13_an_entry_dated_back(copy, original):
    """By position it stands where it was written, and the clock goes back before it."""
    early = "2031-04-07T08:10:00.000Z"
    late = appended(copy, again(following(copy, C, occurred_at=early, recorded_at=early)))
    report = both(late)
    assert report.codes == ("clock-back",)
    assert report.sound


def test_13_an_entry_inserted_in_the_past_by_whoever_holds_all_keys(copy, original):
    """All that follows is signed anew, so it is sound by itself; the checkpoint outside is not."""
    entries = [read_entry(note)[0] for note in copy.notes()]
    at = copy.positions(C)[-1]
    between = replace(entries[at - 1], details={"things": [f"{C}.2"]})
    forged = rewrite(copy, *reforged(copy.notes(), [*entries[:at], between, *entries[at:]]))
    assert both(forged).findings == ()
    report = both(forged, holding(original.second))
    assert report.codes == ("rewritten",)
    assert report.sound_to == size_of(original.first)


@pytest.mark.parametrize("where", ["case", "register", "position"])
def test_14_an_entry_used_a_second_time(copy, where):
    note = copy.note(copy.positions(C)[2])
    entry, _ = read_entry(note)
    if where == "case":
        there = copy.positions(A)[-1] + 1
        copy.sql(
            "INSERT INTO entry VALUES (?, ?, ?, 'sighted', ?, ?)",
            len(copy.notes()),
            copy.case_id(A),
            there,
            note,
            b"not the same",
        )
        report = both(copy)
        assert "head-differs" in report.codes
        return
    if where == "register":
        forged = again(entry, register="continuity-register/" + "0" * 32)
    else:
        forged = again(entry, number=entry.number + 2)
    report = both(raw_appended(copy, forged))
    assert {"register": "wrong-register", "position": "chain-broken"}[where] in report.codes


def raw_appended(copy: Copy, note: bytes) -> Copy:
    """Append a note that no honest program would, its tables in order all the same."""
    entry, _ = read_entry(note)
    made = rewrite(copy, copy.notes())
    with SqliteStore.open(made.path) as store, store.writing() as pen:
        head = pen.case_head(entry.case)
        pen.append(note, entry.case, head.length if head else 0, entry.kind)
    return made


def test_15_a_case_forked(copy):
    """Two entries follow the same one; the second breaks the chain, and both are evidence."""
    twin = again(replace(copy.entry(copy.positions(C)[-1]), recorded_at="2031-04-07T09:59:00.000Z"))
    report = both(raw_appended(copy, twin))
    assert "chain-broken" in report.codes
    assert report.first_bad()[copy.case_id(C)].position == len(copy.notes())


def test_16_two_registers_shown_to_two_people(copy, original, tmp_path, monkeypatch):
    other = another_story(tmp_path, monkeypatch)
    theirs = other.rows("SELECT note FROM checkpoint ORDER BY size")[-1][0]
    assert both(copy).sound
    assert both(other).sound
    assert size_of(theirs) == size_of(original.second)
    assert {"rewritten", "forked"} <= set(both(copy, holding(theirs)).codes)


def test_17_an_old_state_shown_as_the_latest(original, tmp_path):
    """Sound, and stale: seen by whoever asks how long ago a witness saw it."""
    older = original.copy(tmp_path, original.backup)
    seen_at = int((START + timedelta(hours=1)).timestamp())
    cosigned = checkpoint.cosign(Note.parse(original.first), WITNESS, seen_at).encode()
    keys = (cosigner_key(WITNESS.verify_key),)
    with SqliteStore.open(older.path) as store:
        attach_cosignatures(store, cosigned, keys)
    trust = replace(PINNED, witnesses=keys)
    assert older.verify(trust).findings == ()
    assert older.verify(replace(trust, max_age=timedelta(days=2))).findings == ()
    assert older.verify(replace(trust, max_age=timedelta(hours=6))).codes == ("stale",)


def receipt_of(copy: Copy, position: int) -> Receipt:
    with SqliteStore.open(copy.path) as store:
        return make_receipt(store, position, "an act in words")


def shown(copy: Copy, receipt):
    with SqliteStore.open(copy.path) as store:
        return verify_receipt(receipt, store, PINNED)


def test_18_a_genuine_proof_with_another_position_or_size(copy):
    """Position and size are not bound by a proof; the size is the signed checkpoint's alone."""
    receipt = receipt_of(copy, 7)
    assert shown(copy, receipt).sound
    assert shown(copy, replace(receipt, position=6)).findings[0].code == "receipt-differs"
    size = size_of(receipt.checkpoint)
    resized = receipt.checkpoint.replace(b"\n%d\n" % size, b"\n%d\n" % (size - 1))
    codes = [f.code for f in shown(copy, replace(receipt, checkpoint=resized)).findings]
    assert codes[0] == "checkpoint-signature"


def test_19_a_proof_that_is_empty_or_too_long(copy):
    receipt = receipt_of(copy, 7)
    for proof in ((), receipt.proof[:-1], (*receipt.proof, bytes(32)), (bytes(32),) * 63):
        assert shown(copy, replace(receipt, proof=proof)).findings[0].code == "receipt-differs"
    with pytest.raises(FormatError, match="at most 63"):
        read_receipt(
            receipt.text()
            .replace("\nindex", "\nindex")
            .replace(to_base64(receipt.proof[0]), "\n".join([to_base64(bytes(32))] * 70))
        )


def test_20_a_node_presented_as_a_leaf(copy):
    receipt = receipt_of(copy, 0)
    with SqliteStore.open(copy.path) as store:
        left, right = store.read_hashes([(0, 0), (0, 1)])
        (parent,) = store.read_hashes([(1, 0)])
    as_leaf = replace(receipt, leaf=parent, proof=receipt.proof[1:])
    assert shown(copy, as_leaf).findings[0].code == "receipt-differs"
    assert merkle.leaf_hash(left + right) != parent
    copy.put(0, left + right)
    assert "entry-malformed" in both(copy).codes


def test_21_the_chain_says_one_thing_and_the_tree_another(copy):
    """Entries signed anew by an insider, their rows in order, and the old tree left in place."""
    notes = copy.notes()
    at = copy.positions(C)[2]
    forged = again(read_entry(notes[at])[0], details={"things": [f"{C}.2"], "scanned": True})
    follower = again(read_entry(notes[at + 1])[0], previous=merkle.leaf_hash(forged))
    copy.sql("UPDATE entry SET note = ? WHERE position = ?", forged, at)
    copy.sql("UPDATE entry SET note = ? WHERE position = ?", follower, at + 1)
    copy.sql("UPDATE case_head SET head = ? WHERE name = ?", merkle.leaf_hash(follower), C)
    report = both(copy)
    assert {"leaf-differs", "checkpoint-differs"} <= set(report.codes)
    assert "node-differs" in report.codes


def test_22_a_hash_supplied_beside_what_it_should_be_computed_from(copy):
    """The receipt's leaf is compared with the hash of the entry's bytes, not with a stored one."""
    receipt = receipt_of(copy, 7)
    copy.sql("UPDATE entry SET note = ? WHERE position = 7", copy.note(9))
    assert [f.code for f in shown(copy, receipt).findings] == ["rewritten"]


def test_23_another_key_in_the_registers_place(tmp_path, monkeypatch):
    """A whole register under another key is sound by itself, and not the one that was pinned."""
    monkeypatch.setattr("invented.REGISTER_KEY", key(REGISTER, 99))
    other = Copy(make(tmp_path, monkeypatch).path)
    assert both(other, Trust()).sound
    assert both(other).codes[0] == "not-the-pinned-key"


def test_23_a_key_text_that_claims_another_keys_id():
    honest = str(REGISTER_KEY.verify_key)
    name, _, rest = honest.partition("+")
    with pytest.raises(FormatError, match="not the key's own"):
        VerifyKey.parse(f"{name}+00000000+{rest.partition('+')[2]}")


@pytest.mark.parametrize("signer", [LEAVER, OUTSIDER], ids=["revoked", "never enrolled"])
def test_24_a_key_used_when_it_was_not_valid(copy, signer):
    entry = following(copy, C, recorded_by=signer.name)
    report = both(appended(copy, again(entry, signer)))
    assert report.codes == ("key-not-valid",)
    assert report.sound_to == len(copy.notes())


def test_24_a_key_used_before_it_was_enrolled(copy):
    notes = copy.notes()[:3]
    entry = read_entry(copy.note(4))[0]
    early = again(entry, LEAVER, recorded_by="m2", number=3, previous=merkle.leaf_hash(notes[-1]))
    enrolment = again(read_entry(copy.note(3))[0], number=4, previous=merkle.leaf_hash(early))
    report = both(rewrite(copy, [*notes, early, enrolment], ()))
    assert report.codes[0] == "key-not-valid"
    assert report.sound_to == 3


def test_25_a_revocation_hidden_under_another_kind(copy):
    at = copy.positions(C)[-1] + 1
    assert copy.entry(at).kind == "key-revoked"
    copy.sql("UPDATE entry SET kind = 'place-named' WHERE position = ?", at)
    assert "row-differs" in both(copy).codes


def test_25_a_revocation_left_out(copy, original):
    notes = copy.notes()
    at = copy.positions(C)[-1] + 1
    notes[at] = notes[at + 1]
    report = both(raw(copy, notes))
    assert {"row-differs", "index-differs"} <= set(report.codes)


def raw(copy: Copy, notes: list[bytes]) -> Copy:
    """Put notes in the old ones' places, behind the program's back."""
    for at, note in enumerate(notes):
        if note != copy.note(at):
            sql = "UPDATE entry SET note = ?, leaf = ? WHERE position = ?"
            copy.sql(sql, note, merkle.leaf_hash(note + b"%d" % at), at)
    return copy


def test_25_a_revocation_at_the_end_left_out(copy):
    """Unseen in the register; seen by whoever holds a checkpoint that covers it."""
    entry = copy.entry(copy.positions(C)[-1] + 1)
    last = max(at for at in range(len(copy.notes())) if copy.entry(at).case == "register")
    revoked = again(
        entry,
        number=copy.entry(last).number + 1,
        previous=merkle.leaf_hash(copy.note(last)),
        details={"key": MORTICIAN.reference, "reason": "lost"},
        recorded_at="2031-04-07T10:00:00.000Z",
    )
    longer = appended(copy, revoked)
    assert both(longer).findings == ()
    given = signed_tree(longer.notes())
    assert both(copy).findings == ()
    assert both(copy, holding(given)).codes == ("shorter-than-held",)


def test_26_a_false_entry_signed_with_a_stolen_key(copy):
    """No arithmetic can tell; once the key is revoked, what it signed since is in doubt."""
    false = appended(copy, again(following(copy, C)))
    assert both(false).findings == ()
    last = max(at for at in range(len(copy.notes())) if copy.entry(at).case == "register")
    revocation = again(
        copy.entry(copy.positions(C)[-1] + 1),
        number=copy.entry(last).number + 1,
        previous=merkle.leaf_hash(copy.note(last)),
        details={
            "key": MORTICIAN.reference,
            "reason": "stolen",
            "compromised_since": len(copy.notes()),
        },
        recorded_at="2031-04-07T10:00:00.000Z",
    )
    again_path = Copy(false.path)
    with SqliteStore.open(again_path.path) as store, store.writing() as pen:
        entry, _ = read_entry(revocation)
        pen.append(revocation, "register", entry.number, entry.kind)
    report = both(again_path)
    assert report.codes == ("key-suspect",)
    assert report.sound
    assert report.findings[0].position == len(copy.notes())


def test_27_a_checkpoint_signed_with_the_stolen_register_key(copy, original):
    """What the thief shows others contradicts the register: both are signed, and that is proof."""
    size = size_of(original.second)
    rogue = checkpoint.sign(Checkpoint(REGISTER, size, bytes(32)), REGISTER_KEY).encode()
    assert both(copy).sound
    assert {"rewritten", "forked"} <= set(both(copy, holding(rogue)).codes)


def test_27_the_old_register_key_after_it_was_replaced(copy):
    fresh = key(REGISTER, 77)
    last = max(at for at in range(len(copy.notes())) if copy.entry(at).case == "register")
    entry = copy.entry(last)
    replaced = again(
        entry,
        DIRECTOR,
        REGISTER_KEY,
        fresh,
        number=entry.number + 1,
        previous=merkle.leaf_hash(copy.note(last)),
        kind="key-replaced",
        recorded_by="d1",
        recorded_at="2031-04-07T10:00:00.000Z",
        details={"key": str(fresh.verify_key), "replaces": REGISTER_KEY.reference},
    )
    later = following(copy, C, recorded_at="2031-04-07T10:01:00.000Z")
    with_new = appended(copy, replaced, again(later))
    size = len(with_new.notes())
    with SqliteStore.open(with_new.path) as store, store.writing() as pen:
        signed = signed_tree(with_new.notes(), signer=REGISTER_KEY)
        pen.put_checkpoint(size, Checkpoint.parse(Note.parse(signed).text).root, signed)
    assert both(with_new).codes == ("checkpoint-signature",)


def test_28_the_clock_put_forward(copy, original):
    """The witness saw the entry before the time it claims."""
    seen_at = int((START - timedelta(hours=3)).timestamp())
    cosigned = checkpoint.cosign(Note.parse(original.second), WITNESS, seen_at).encode()
    keys = (cosigner_key(WITNESS.verify_key),)
    with SqliteStore.open(copy.path) as store:
        attach_cosignatures(store, cosigned, keys)
    assert both(copy).findings == ()
    report = copy.verify(replace(PINNED, witnesses=keys))
    assert report.codes == ("clock-ahead",)
    assert report.sound


def test_29_a_signature_made_for_something_else(copy, original):
    """A checkpoint is no entry, and the type line is signed with the body."""
    at = len(copy.notes()) - 1
    copy.put(at, original.second)
    assert "entry-malformed" in both(copy).codes


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"scanned":true', b'"scanned":true,"scanned":true'),
        (b'"scanned":true', b'"scanned":1.0'),
        (b'"scanned":true', b'"scanned":1e2'),
        (b'"scanned":true', b'"scanned":NaN'),
        (b'"scanned":true', b'"scanned": true'),
        (b'"scanned":true', b'"scanned":"\\ud800"'),
        (b'"scanned":true', b'"scanned":"\\u0041"'),
        (b'"scanned":true', b'"scanned":9007199254740993'),
        (b'"scanned":true', b'"scanned":-0'),
        (b'"number":3', b'"number":"3"'),
        (b'"number":3', b'"number":true'),
        (b'"kind":"sighted"', b'"kind":"sighted","zkind":1'),
        (b'"kind":"sighted"', b'"kind":"Sighted"'),
        (b".000Z", b".000+00:00"),
        (b"2031-04-07T", b"2031-02-30T"),
        (b'{"case"', b'\xef\xbb\xbf{"case"'),
        (b'{"case"', b' {"case"'),
    ],
)
def test_30_a_body_that_two_readers_would_read_differently(copy, old, new):
    """Signed as it should be, by a key that is valid: only the spelling is not the one."""
    sighted = following(copy, C, kind="sighted", number=3, details={"scanned": True})
    text = again(sighted)
    forged = Note.parse(text).text.replace(old, new, 1)
    assert forged != Note.parse(text).text
    line = MORTICIAN.sign(forged)
    copy.put(len(copy.notes()) - 1, Note(forged, (line,)).encode())
    assert "entry-malformed" in both(copy).codes


def test_31_letters_that_look_alike(copy):
    """The register holds what was written; the dossier shows what would hide in it."""
    odd = "2026\u2011\u200b0001 \u202eflipped\u202c"
    add = following(copy, C, kind="irregularity-raised", number=4, details={"what": odd})
    copy = appended(copy, again(add))
    assert both(copy).findings == ()
    with SqliteStore.open(copy.path) as store:
        page = write_page(make_dossier(store, C, START)).decode()
    assert "\u202e" not in page.partition("<script")[0]
    assert "\u2011⟨U+200B⟩0001 ⟨U+202E⟩flipped⟨U+202C⟩" in page


def test_32_a_personal_detail_taken_away_silently(copy):
    copy.sql("DELETE FROM disclosure WHERE leaf = ?", copy_leaf(copy, A), personal=True)
    report = both(copy)
    assert report.codes == ("disclosure-missing",)
    assert report.sound_to == copy.positions(A)[0]


def copy_leaf(copy: Copy, case: str) -> bytes:
    return merkle.leaf_hash(copy.note(copy.positions(case)[0]))


def test_32_an_erasure_that_an_entry_explains(copy):
    with SqliteStore.open(copy.path) as store:
        assert store.disclosures(copy.positions(B)[0]) == {}
    assert both(copy).findings == ()


def test_33_a_personal_detail_exchanged(copy):
    made = base64.urlsafe_b64encode(b'["AAAAAAAAAAAAAAAAAAAAAA","name","Eve"]').rstrip(b"=")
    sql = "UPDATE disclosure SET disclosure = ? WHERE leaf = ? AND field = 'name'"
    copy.sql(sql, made.decode(), copy_leaf(copy, A), personal=True)
    assert both(copy).codes == ("disclosure-differs",)


def test_33_a_personal_detail_smuggled_in(copy):
    """It harms no proof, and is to be known: nobody signed for it."""
    sql = "INSERT INTO disclosure VALUES (?, 'name', 'anything')"
    copy.sql(sql, bytes(32), personal=True)
    report = both(copy)
    assert report.codes == ("disclosure-orphan",)
    assert report.sound


def test_34_another_file_under_a_digest(copy):
    """Files are kept elsewhere: the entry's digest tells which one it was."""
    photograph = b"an invented photograph"
    digest = sha256(photograph).hexdigest()
    details = {"what": "a stain", "photograph": digest}
    add = following(copy, C, kind="irregularity-raised", number=4, details=details)
    copy = appended(copy, again(add))
    with SqliteStore.open(copy.path) as store:
        story = tell(make_dossier(store, C, START))
    assert [paper.digest for paper in story.papers] == [digest]
    assert story.paper_of(photograph) == story.papers[0]
    assert story.paper_of(photograph + b".") is None


@pytest.mark.parametrize(
    ("sql", "code"),
    [
        ("UPDATE entry SET kind = 'place-named' WHERE position = ?", "key-not-valid"),
        ("UPDATE entry SET case_id = 'elsewhere' WHERE position = ?", "index-differs"),
        ("DELETE FROM entry WHERE position = ?", "index-differs"),
    ],
)
def test_25_a_revocation_hidden_from_who_looks_at_a_part(copy, original, sql, code):
    """Whose key was revoked signs once more; nothing after the revocation follows it in its chain."""
    at = copy.positions(C)[-1] + 1
    assert copy.entry(at).kind == "key-revoked"
    late = again(following(copy, A, recorded_by="m2", mirrors=None), LEAVER)
    forged = appended(copy, late)
    for part in ({"since": original.second}, {"case": A}):
        assert "key-not-valid" in forged.verify(PINNED, **part).codes
    forged.sql(sql, at)
    kept = "UPDATE case_head SET length = length - 1, head = ?, position = 5 WHERE case_id = ?"
    forged.sql(kept, merkle.leaf_hash(copy.note(5)), "register")
    for part in ({"since": original.second}, {"case": A}):
        assert code in forged.verify(PINNED, **part).codes


def test_25_the_case_index_taken_away_from_who_looks_at_a_part(copy, original):
    copy.sql("DELETE FROM entry WHERE position = ?", size_of(original.second) - 1)
    for part in ({"since": original.second}, {"case": A}):
        assert "entry-missing" in copy.verify(PINNED, **part).codes


def test_25_what_no_case_index_covers_is_said(copy, original):
    """A checkpoint signed without an index shows no end of the register's own chain."""
    later = signed_tree(copy.notes())
    assert "change of keys" not in str(copy.verify(PINNED, since=original.second).rests_on)
    report = copy.verify(PINNED, since=later)
    assert report.codes == ()
    assert "no case index covers entries 37 to 41" in str(report.rests_on)
    at = size_of(original.second) - 1
    copy.put(at, again(copy.entry(at), utc_offset="+01:00"))
    assert "not-in-tree" in copy.verify(PINNED, since=later).codes


def dossier_codes(dossier, trust: Trust = PINNED):
    """What is found in a dossier; the second verifier must agree."""
    report = check_dossier(dossier, trust)
    vkey = str(trust.register_key) if trust.register_key else None
    assert second_verifier.verify_dossier(dossier.encode(), vkey).sound is report.sound
    return set(report.codes)


@pytest.mark.parametrize("case", [A, B, C])
def test_35_a_part_left_out(copy, case):
    """Of the dossier: an entry, the last one, a key, a proof, a detail; each is missed."""
    with SqliteStore.open(copy.path) as store:
        dossier = make_dossier(store, case, START)
    assert dossier_codes(dossier) == set()
    entries, own = dossier.entries, dossier.register_entries
    published = sum(one.proof is not None for one in entries)
    for missing, codes in (
        ({"entries": entries[:1] + entries[2:]}, {"chain-broken"}),
        ({"entries": entries[: published - 1]}, {"beyond-index"}),
        ({"entries": (replace(entries[0], proof=None), *entries[1:])}, {"not-in-the-tree"}),
        ({"register_entries": own[:2] + own[3:]}, {"chain-broken"}),
        ({"register_entries": own[:-1]}, {"beyond-index"}),
        ({"index": replace(dossier.index, entry=entries[0])}, {"index-differs", "position-wrong"}),
        ({"earlier": ()}, {"seen-differs"}),
        ({"withheld": dossier.withheld[1:]}, {"disclosure-missing"} if case != B else set()),
    ):
        found = dossier_codes(replace(dossier, **missing))
        # Of case B the erasure may be what is missing; then its details have no excuse either.
        assert found - ({"disclosure-missing"} if case == B else set()) == codes, missing.keys()


def test_36_a_correction_dropped_so_that_the_struck_entry_looks_final(copy, original):
    """The correction lies in the same chain; cut off at its end, the case index misses it."""
    at = copy.positions(C)[-1]
    assert copy.entry(at).kind == "corrected"
    notes = copy.notes()
    del notes[at]
    signed = (original.first, signed_tree(notes, size_of(original.second) - 1))
    assert "index-differs" in both(rewrite(copy, notes, signed)).codes


@pytest.mark.parametrize(
    ("sql", "code"),
    [
        ("UPDATE case_head SET length = length - 1 WHERE name = '2031-0001'", "case-head-differs"),
        (
            "UPDATE case_head SET head = randomblob(32) WHERE name = '2031-0001'",
            "case-head-differs",
        ),
        ("UPDATE case_head SET name = '2031-0009' WHERE name = '2031-0001'", "name-differs"),
        ("DELETE FROM case_head WHERE name = '2031-0001'", "case-head-differs"),
        (
            "INSERT INTO case_head VALUES ('x', randomblob(32), '2031-0009', 1, randomblob(32), 3)",
            "case-head-differs",
        ),
        ("UPDATE label SET thing = '2031-0001.1'", "label-differs"),
        ("UPDATE label SET print = print - 1", "label-differs"),
        ("DELETE FROM label", "label-differs"),
        (
            "INSERT INTO label SELECT 'TEK1G0000000000000', case_id, thing, print FROM label",
            "label-differs",
        ),
    ],
)
def test_37_a_table_made_from_the_entries_altered(copy, sql, code):
    copy.sql(sql)
    report = both(copy)
    assert code in report.codes
    assert report.sound_to == len(copy.notes())


@pytest.mark.parametrize(
    "sql",
    [
        "DELETE FROM in_care WHERE opened = 6",
        "UPDATE in_care SET opened = 7 WHERE opened = 6",
        "INSERT INTO in_care VALUES ('no such case', 1)",
    ],
)
@pytest.mark.parametrize("kept", [0, 3, folds.KEPT])
def test_37_the_list_of_cases_in_care_altered(copy, sql, kept, monkeypatch):
    """A working table, of which the format page says nothing: only the library looks at it.

    It is found whether a case was folded as its entries came by, too early, or read again.
    """
    monkeypatch.setattr(folds, "KEPT", kept)
    assert copy.verify(PINNED).codes == ()
    copy.sql(sql)
    report = copy.verify(PINNED)
    assert report.codes == ("in-care-differs",)
    assert report.sound_to == len(copy.notes())


def test_an_entry_whose_particulars_fit_no_kind(copy):
    """Signed and chained as it should be, so sound to whoever knows the record alone."""
    odd = again(following(copy, C, details={"things": 7}))
    assert appended(copy, odd).verify(PINNED).codes == ("act-unreadable",)


def test_38_the_guard_rails_in_the_file_dropped(copy):
    """They are no evidence, so nothing is found: what they let through is found by itself."""
    copy.sql("UPDATE head SET size = size")
    assert copy.rows("SELECT count(*) FROM sqlite_schema WHERE type = 'trigger'") == [(0,)]
    assert both(copy).findings == ()


def flipped(copy: Copy, at: int) -> None:
    note = bytearray(copy.note(at))
    note[len(note) // 2] ^= 1
    copy.sql("UPDATE entry SET note = ? WHERE position = ?", bytes(note), at)


def test_39_a_bit_lost_before_it_was_signed(copy):
    """The key never vouches for it: what is signed is read from the disk and hashed first."""
    flipped(copy, len(copy.notes()) - 1)
    assert not both(copy).sound
    register = Register(SqliteStore.open(copy.path))
    with pytest.raises(DamagedRegisterError, match="Nothing was signed"):
        register.checkpoint(REGISTER_KEY)
    with pytest.raises(DamagedRegisterError, match="Nothing was signed"):
        register.publish([Signatory("m1", MORTICIAN)], REGISTER_KEY)
    register.store.close()


def test_40_a_bit_lost_after_it_was_signed(copy):
    at = copy.positions(A)[4]
    good = copy.note(at)
    flipped(copy, at)
    assert not both(copy).sound
    copy.sql("UPDATE entry SET note = ? WHERE position = ?", good, at)
    assert both(copy).findings == ()


@pytest.mark.parametrize(
    ("sql", "code"),
    [
        ("DELETE FROM node WHERE level = 1 AND position = 3", "node-differs"),
        ("UPDATE node SET hash = randomblob(32) WHERE level = 2 AND position = 1", "node-differs"),
        ("UPDATE head SET frontier = randomblob(length(frontier))", "head-differs"),
        ("DELETE FROM entry WHERE position = (SELECT max(position) FROM entry)", "entry-missing"),
    ],
)
def test_41_a_write_that_was_torn(copy, sql, code):
    copy.sql(sql)
    assert code in both(copy).codes


def test_42_two_programs_keep_the_register(copy, original, tmp_path):
    """Two copies with one guard: the slower one is told, and records no more."""
    guard = Guard(tmp_path / "guard")
    guard.lay(original.second)
    (tmp_path / "clone").mkdir()
    clone = original.copy(tmp_path / "clone")
    by = [Signatory("m1", MORTICIAN)]
    ours = Register(SqliteStore.open(copy.path), guard=Guard(guard.path))
    theirs = Register(SqliteStore.open(clone.path), guard=Guard(guard.path))
    ours.publish(by, REGISTER_KEY)
    with pytest.raises(BehindGuardError):
        theirs.publish(by, REGISTER_KEY)
    ours.store.close()
    theirs.store.close()


def test_42_two_checkpoints_of_one_size(copy, original):
    size = size_of(original.second)
    rogue = checkpoint.sign(Checkpoint(REGISTER, size, bytes(32)), REGISTER_KEY).encode()
    copy.sql("UPDATE checkpoint SET note = ?, root = ? WHERE size = ?", rogue, bytes(32), size)
    report = both(copy)
    assert "checkpoint-differs" in report.codes
    assert report.sound_to == size_of(original.first)


def test_43_what_was_never_recorded(copy):
    """No verifier can see it, and the report says so."""
    report = both(copy)
    assert report.findings == ()
    assert "whether something happened that was never recorded" in report.as_json()["unknown"]


def test_44_an_act_that_was_acknowledged_and_not_kept(copy, original, tmp_path):
    """The receipt shows it: its entry is gone, or another stands there."""
    receipt = receipt_of(copy, copy.positions(C)[-1])
    older = original.copy(tmp_path, original.backup)
    assert both(older).sound
    verdict = shown(older, receipt)
    assert [f.code for f in verdict.findings] == ["shorter-than-held", "entry-missing"]
    assert verdict.words.startswith("NOT the register that gave this receipt")


def test_45_a_key_enrolled_without_its_holder_signing(copy):
    """Whoever denies having signed is answered by the enrolment, which the key itself signed."""
    last = max(at for at in range(len(copy.notes())) if copy.entry(at).case == "register")
    entry = copy.entry(last)
    forged = again(
        entry,
        DIRECTOR,
        number=entry.number + 1,
        previous=merkle.leaf_hash(copy.note(last)),
        kind="key-enrolled",
        recorded_by="d1",
        recorded_at="2031-04-07T10:00:00.000Z",
        details={"key": str(OUTSIDER.verify_key), "person": "outsider", "role": "mortician"},
    )
    assert both(appended(copy, forged)).codes == ("keys-broken",)


@pytest.mark.parametrize(
    "edit",
    [
        lambda text: text.replace(b"continuity-entry/1", b"continuity-entry/2"),
        lambda text: text.replace(b"continuity-entry/1", b"continuity-entry/1.0"),
        lambda text: text.replace(b"continuity-entry/1", b"continuity-entry/01"),
    ],
)
def test_46_an_entry_of_an_unknown_version(copy, edit):
    at = len(copy.notes()) - 1
    text = edit(Note.parse(copy.note(at)).text)
    signed = Note(text, (MORTICIAN.sign(text),)).encode()
    copy.put(at, signed)
    assert "version-unknown" in both(copy).codes


@pytest.mark.parametrize("kind", [0x00, 0x02, 0x04, 0x06, 0xFF])
def test_46_a_key_of_another_algorithm(copy, kind):
    """Ed25519 for notes is the one algorithm; any other key text is refused, enrolled or pinned."""
    raw_key = OUTSIDER.verify_key.raw
    typed = bytes([kind]) + raw_key
    identity = sha256(b"outsider\n" + typed).hexdigest()[:8]
    vkey = f"outsider+{identity}+{to_base64(typed)}"
    with pytest.raises(FormatError):
        VerifyKey.parse(vkey)
    with pytest.raises(second_verifier.BadError):
        second_verifier.read_key(vkey)


def test_47_a_body_nested_beyond_reason(copy):
    at = len(copy.notes()) - 1
    deep = b'"things":' + b"[" * 20_000 + b"]" * 20_000
    text = Note.parse(copy.note(at)).text
    text = text.replace(b'"things":["2031-0002.1"]', deep)
    assert deep in text
    copy.put(at, Note(text, (MORTICIAN.sign(text),)).encode())
    assert "entry-malformed" in both(copy).codes


@pytest.mark.parametrize("size", [65_536, 1_000_001, 20_000_000])
def test_47_a_note_beyond_reason(copy, size):
    copy.sql("UPDATE entry SET note = zeroblob(?) WHERE position = 20", size)
    report = copy.verify(PINNED)
    assert not report.sound
    assert report.sound_to <= 20


def test_47_ten_thousand_signature_lines(copy):
    note = Note.parse(copy.note(20))
    copy.put(20, note.encode() + Note(b"", note.signatures).encode()[1:] * 10_000)
    assert "entry-malformed" in both(copy).codes


def test_47_a_head_that_counts_to_the_stars(copy):
    """The work is that of the entries that are there, not of those that are claimed."""
    size = (1 << 62) - 1
    copy.sql("UPDATE head SET size = ?, frontier = zeroblob(?)", size, 32 * size.bit_count())
    report = both(copy)
    assert report.codes[0] == "entry-missing"
    assert report.sound_to == len(copy.notes())


def test_47_tables_of_another_shape(copy):
    """A file that is no register's any more is said to be damaged, never a traceback."""
    connection = sqlite3.connect(copy.path, isolation_level=None)
    connection.execute("DROP TABLE entry")
    connection.execute("CREATE TABLE entry (position, case_id, number, kind, note, leaf)")
    connection.execute("INSERT INTO entry VALUES (0, NULL, 'x', 7, 'text', 9)")
    connection.close()
    with suppress(RegisterError):  # it says that the file is damaged, which is as good
        assert copy.verify(PINNED).sound_to == 0


@pytest.mark.parametrize("table", ["checkpoint", "case_head", "label", "node"])
def test_47_a_table_without_types(copy, table):
    connection = sqlite3.connect(copy.path, isolation_level=None)
    columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
    connection.execute("PRAGMA foreign_keys = OFF")
    connection.execute(f"ALTER TABLE {table} RENAME TO old_{table}")
    connection.execute(f"CREATE TABLE {table} ({', '.join(columns)})")
    connection.execute(f"INSERT INTO {table} VALUES ({', '.join(['NULL'] * len(columns))})")
    connection.execute(f"INSERT INTO {table} VALUES ({', '.join(['1.5'] * len(columns))})")
    connection.close()
    with suppress(RegisterError):  # it says that the file is damaged, which is as good
        assert not copy.verify(PINNED).sound


def test_48_the_case_index_tells_nothing_of_other_cases(copy):
    """Its records name cases by a digest of an id drawn by chance; no number, no date, no name."""
    assert CaseRecord(case_digest("x"), 1, bytes(32), 1).encode().startswith(b'{"case":"')
    for name in (A, B, C):
        case_id = copy.case_id(name)
        assert len(case_id) == 32
        assert name not in case_id


def test_49_entries_thrown_out_to_save_space(copy):
    """Its hashes are all still there; an entry that is gone is missing all the same."""
    copy.sql("DELETE FROM entry WHERE position BETWEEN 14 AND 20")
    report = both(copy)
    assert report.codes[0] == "entry-missing"
    assert "position 14 to 20" in report.findings[0].sentence


def test_50_a_second_signature_of_another_algorithm_does_no_harm(copy, original):
    """When Ed25519 ages, another kind can stand beside it; what is unknown is passed over."""
    note = Note.parse(original.second)
    other = SignatureLine(REGISTER, b"\x06abc", bytes(2420))
    longer = Note(note.text, (*note.signatures, other)).encode()
    copy.sql("UPDATE checkpoint SET note = ? WHERE size = ?", longer, size_of(original.second))
    assert both(copy).findings == ()
    only = Note(note.text, (other,)).encode()
    copy.sql("UPDATE checkpoint SET note = ? WHERE size = ?", only, size_of(original.second))
    assert both(copy).codes == ("checkpoint-signature",)


def test_witnesses_enough_of_them(copy, original):
    """Class 16 once more: a quorum of witnesses has seen one and the same checkpoint."""
    keys = tuple(cosigner_key(one.verify_key) for one in (WITNESS, OTHER_WITNESS))
    seen_at = int((START + timedelta(hours=4)).timestamp())
    cosigned = checkpoint.cosign(Note.parse(original.second), WITNESS, seen_at)
    both_of_them = checkpoint.cosign(cosigned, OTHER_WITNESS, seen_at)
    trust = replace(PINNED, witnesses=keys, quorum=2)
    with SqliteStore.open(copy.path) as store:
        attach_cosignatures(store, cosigned.encode(), keys)
        assert copy.verify(trust).codes == ("quorum-missing",)
        attach_cosignatures(store, both_of_them.encode(), keys)
    report = copy.verify(trust)
    assert report.findings == ()
    assert [(one.by, one.size) for one in report.anchors] == [
        ("coroner-office.example", size_of(original.second)),
        ("north-branch.example", size_of(original.second)),
    ]
    assert "at 2031-04-07T12:00:00Z by coroner-office.example (cosignature)" in report.words
