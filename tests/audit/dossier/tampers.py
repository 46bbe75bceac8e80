"""Named ways to falsify a dossier, and the codes that must be found; one fault each.

Numbers are those of the catalogue of tampers. What is signed anew here is signed with keys that
the forger holds: the firm's own people may lie too.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from scenario import BODY, CASE, PIN, REGISTER, Firm, receive, seeded, start, whole

from continuity.audit.dossier.what import Disclosed, Dossier, Placed, Withheld
from continuity.care.acts.house import RegisterRestored
from continuity.care.acts.treatment import Weighed
from continuity.care.times import write_time
from continuity.ledger import merkle
from continuity.ledger.chain import Entry, Seen, read_entry, sign_entry
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.disclosure import disclose
from continuity.ledger.keys import SigningKey
from continuity.ledger.note import Note, SignatureLine, to_base64

if TYPE_CHECKING:
    from collections.abc import Callable

Q = 2**252 + 27742317777372353535851937790883648493
"""The order of the group: RFC 8032 section 5.1."""


@dataclass(frozen=True)
class Tamper:
    """What is done to a dossier, and what must be found.

    Attributes:
        name: How it is called.
        numbers: Its classes in the catalogue.
        alter: Makes the falsified dossier out of the sound one.
        codes: The codes that must be found, no more and no fewer.
        sound: Whether it is sound all the same: a doubt, or what nobody can see.
    """

    name: str
    numbers: tuple[int, ...]
    alter: Callable[[Dossier], Dossier]
    codes: frozenset[str]
    sound: bool = False


TAMPERS: list[Tamper] = []


def tamper(*numbers: int, codes: str, sound: bool = False) -> Any:
    def enter(alter: Callable[[Dossier], Dossier]) -> Callable[[Dossier], Dossier]:
        name = alter.__name__.replace("_", "-")
        TAMPERS.append(Tamper(name, numbers, alter, frozenset(codes.split()), sound))
        return alter

    return enter


def with_entry(dossier: Dossier, number: int, **changes: Any) -> Dossier:
    entries = list(dossier.entries)
    entries[number] = replace(entries[number], **changes)
    return replace(dossier, entries=tuple(entries))


def with_note(dossier: Dossier, number: int, change: Callable[[bytes], bytes]) -> Dossier:
    note = dossier.entries[number].note
    changed = change(note)
    assert changed != note
    return with_entry(dossier, number, note=changed)


def signed_again(dossier: Dossier, number: int, key: SigningKey, change: Any) -> Dossier:
    """The last entry with another body, signed by a key that may sign there."""
    entry, _ = read_entry(dossier.entries[number].note)
    return with_entry(dossier, number, note=sign_entry(change(entry), [key]))


def resigned_text(dossier: Dossier, change: Callable[[str], str], name: str = "m1") -> Dossier:
    """The last entry with another spelling of its text, signed as it then stands."""
    number = len(dossier.entries) - 1
    _, note = read_entry(dossier.entries[number].note)
    text = change(note.text.decode()).encode()
    assert text != note.text
    key = KEYS[name]
    return with_entry(dossier, number, note=Note(text, (key.sign(text),)).encode())


KEYS = {name: seeded(name, n) for n, name in enumerate(("d1", "d2", "m1", "m2"), 2)}


@tamper(1, 2, codes="signature-wrong not-in-the-tree chain-broken")
def body_edited(dossier: Dossier) -> Dossier:
    return with_note(dossier, 4, lambda note: note.replace(b'"leak":true', b'"leak":false'))


@tamper(3, 11, codes="signature-wrong not-in-the-tree index-differs")
def body_edited_and_rehashed_without_keys(dossier: Dossier) -> Dossier:
    entries, previous = [], None
    for one in dossier.entries:
        note = one.note.replace(b'"leak":true', b'"leak":false')
        if previous:
            entry, _ = read_entry(note)
            note = note.replace(entry.previous.hex().encode(), previous.encode())
        previous = merkle.leaf_hash(note).hex() if note != one.note else None
        entries.append(replace(one, note=note))
    return replace(dossier, entries=tuple(entries))


@tamper(4, codes="entry-malformed")
def signature_stripped(dossier: Dossier) -> Dossier:
    def strip(note: bytes) -> bytes:
        parsed = Note.parse(note)
        return Note(parsed.text, parsed.signatures[:1]).encode()

    return with_note(dossier, 3, strip)


@tamper(4, codes="entry-malformed")
def signatures_swapped(dossier: Dossier) -> Dossier:
    def swap(note: bytes) -> bytes:
        parsed = Note.parse(note)
        return Note(parsed.text, parsed.signatures[::-1]).encode()

    return with_note(dossier, 3, swap)


@tamper(5, codes="signature-wrong not-in-the-tree index-differs")
def signature_malleated(dossier: Dossier) -> Dossier:
    def lift(note: bytes) -> bytes:
        parsed = Note.parse(note)
        (line,) = parsed.signatures
        s = int.from_bytes(line.blob[32:], "little") + Q
        blob = line.blob[:32] + s.to_bytes(32, "little")
        return Note(parsed.text, (SignatureLine(line.name, line.key_id, blob),)).encode()

    return with_note(dossier, len(dossier.entries) - 1, lift)


@tamper(5, 30, codes="entry-malformed")
def signature_base64_with_spare_bits(dossier: Dossier) -> Dossier:
    def spare(note: bytes) -> bytes:
        alphabet = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
        body, last = note[:-3], note[-3:]
        assert last.endswith(b"=\n")
        return body + bytes([alphabet[alphabet.index(last[0]) | 1]]) + last[1:]

    return with_note(dossier, len(dossier.entries) - 1, spare)


@tamper(6, 35, codes="chain-broken")
def middle_entry_removed(dossier: Dossier) -> Dossier:
    return replace(dossier, entries=dossier.entries[:9] + dossier.entries[10:])


@tamper(7, 35, 36, codes="beyond-index")
def tail_removed(dossier: Dossier) -> Dossier:
    """The last entry is the correction: without it the struck weight would look final."""
    return replace(dossier, entries=dossier.entries[:-1])


@tamper(12, codes="chain-broken position-wrong")
def entries_swapped(dossier: Dossier) -> Dossier:
    entries = list(dossier.entries)
    entries[9], entries[10] = entries[10], entries[9]
    return replace(dossier, entries=tuple(entries))


@tamper(14, codes="chain-broken")
def entry_replayed(dossier: Dossier) -> Dossier:
    return with_entry(dossier, 9, note=dossier.entries[8].note)


@tamper(15, codes="not-in-the-tree index-differs")
def case_forked_by_its_own_author(dossier: Dossier) -> Dossier:
    def other(entry: Entry) -> Entry:
        return replace(entry, details={**entry.details, "reason": "another story"})

    return signed_again(dossier, len(dossier.entries) - 1, KEYS["m1"], other)


@tamper(18, codes="not-in-the-tree index-differs position-wrong")
def position_moved(dossier: Dossier) -> Dossier:
    number = len(dossier.entries) - 1
    return with_entry(dossier, number, position=dossier.entries[number].position - 1)


@tamper(19, codes="not-in-the-tree")
def proof_emptied(dossier: Dossier) -> Dossier:
    return with_entry(dossier, 9, proof=())


@tamper(19, codes="not-in-the-tree")
def proof_lengthened(dossier: Dossier) -> Dossier:
    proof = dossier.entries[9].proof or ()
    return with_entry(dossier, 9, proof=(*proof, bytes(32)))


@tamper(35, codes="not-in-the-tree")
def proof_left_out(dossier: Dossier) -> Dossier:
    return with_entry(dossier, 9, proof=None)


@tamper(21, codes="not-in-the-tree")
def proof_of_another_leaf(dossier: Dossier) -> Dossier:
    return with_entry(dossier, 9, proof=dossier.entries[10].proof)


@tamper(20, codes="entry-malformed")
def node_shown_as_an_entry(dossier: Dossier) -> Dossier:
    left, right = (merkle.leaf_hash(one.note) for one in dossier.entries[:2])
    return with_entry(dossier, 0, note=to_base64(left + right).encode())


@tamper(22, codes="beyond-index")
def index_counts_more(dossier: Dossier) -> Dossier:
    return with_index(dossier, length=len(dossier.entries) + 1)


@tamper(22, codes="index-differs")
def index_proof_altered(dossier: Dossier) -> Dossier:
    assert dossier.index
    assert dossier.index.case
    path = dossier.index.case.index_path
    return with_index(dossier, index_path=(bytes(32), *path[1:]))


def with_index(dossier: Dossier, **changes: Any) -> Dossier:
    assert dossier.index
    assert dossier.index.case
    case = replace(dossier.index.case, **changes)
    return replace(dossier, index=replace(dossier.index, case=case))


@tamper(35, codes="index-differs")
def index_word_left_out(dossier: Dossier) -> Dossier:
    assert dossier.index
    return replace(dossier, index=replace(dossier.index, case=None))


@tamper(7, 35, codes="", sound=True)
def index_left_out(dossier: Dossier) -> Dossier:
    """Sound, and the words say that the end of the case may have been left out."""
    return replace(dossier, index=None)


@tamper(25, 35, codes="beyond-index")
def register_chain_cut_before_its_end(dossier: Dossier) -> Dossier:
    return replace(dossier, register_entries=dossier.register_entries[:-1])


def with_index_entry(dossier: Dossier, entry: Placed) -> Dossier:
    assert dossier.index
    return replace(dossier, index=replace(dossier.index, entry=entry))


@tamper(7, codes="index-differs")
def index_entry_not_proved(dossier: Dossier) -> Dossier:
    assert dossier.index
    return with_index_entry(dossier, replace(dossier.index.entry, proof=None))


@tamper(7, codes="index-differs position-wrong")
def index_entry_that_is_another(dossier: Dossier) -> Dossier:
    return with_index_entry(dossier, dossier.entries[-1])


@tamper(7, codes="index-differs")
def index_entry_altered(dossier: Dossier) -> Dossier:
    assert dossier.index
    one = dossier.index.entry
    altered = one.note.replace(b'"count":', b'"count":1')
    return with_index_entry(dossier, replace(one, note=altered))


@tamper(7, codes="index-differs")
def index_under_no_checkpoint(dossier: Dossier) -> Dossier:
    """Nothing stands in a tree, so the page would tell an index that nothing holds."""

    def bare(placed: tuple[Placed, ...]) -> tuple[Placed, ...]:
        return tuple(replace(one, proof=None) for one in placed)

    own = bare(dossier.register_entries)
    without = replace(dossier, checkpoint=None, earlier=(), register_entries=own)
    return replace(without, entries=bare(dossier.entries))


@tamper(7, codes="entry-malformed")
def index_entry_unreadable(dossier: Dossier) -> Dossier:
    assert dossier.index
    return with_index_entry(dossier, replace(dossier.index.entry, note=b"nothing\n"))


@tamper(23, codes="keys-broken")
def register_key_with_a_false_id(dossier: Dossier) -> Dossier:
    own = list(dossier.register_entries)
    name, _, rest = PIN.split("+", 2)
    false = f"{name}+{'0' * 8}+{rest}"
    note = own[0].note.replace(PIN.encode(), false.encode())
    assert note != own[0].note
    own[0] = replace(own[0], note=note)
    return replace(dossier, register_entries=tuple(own))


@tamper(27, codes="checkpoint-signature")
def checkpoint_signed_by_another_key(dossier: Dossier) -> Dossier:
    forged = SigningKey.from_seed(REGISTER, bytes([77]) * 32)
    note = Note.parse(dossier.checkpoint or b"")
    return replace(dossier, checkpoint=Note(note.text, (forged.sign(note.text),)).encode())


@tamper(18, 23, codes="checkpoint-signature not-in-the-tree index-differs")
def checkpoint_enlarged(dossier: Dossier) -> Dossier:
    """A larger size under the same root: a proof alone would not bind it."""
    note = Note.parse(dossier.checkpoint or b"")
    size = Checkpoint.parse(note.text).size
    text = note.text.replace(b"\n%d\n" % size, b"\n%d\n" % (size + 1))
    return replace(dossier, checkpoint=Note(text, note.signatures).encode())


@tamper(29, codes="checkpoint-malformed not-in-the-tree")
def entry_shown_as_the_checkpoint(dossier: Dossier) -> Dossier:
    return replace(dossier, checkpoint=dossier.register_entries[0].note)


@tamper(29, codes="entry-malformed")
def checkpoint_shown_as_an_entry(dossier: Dossier) -> Dossier:
    return with_entry(dossier, len(dossier.entries) - 1, note=dossier.checkpoint)


@tamper(35, codes="not-in-the-tree index-differs")
def checkpoint_left_out(dossier: Dossier) -> Dossier:
    return replace(dossier, checkpoint=None)


@tamper(30, codes="entry-malformed")
def name_doubled_and_signed(dossier: Dossier) -> Dossier:
    return resigned_text(dossier, lambda t: t.replace('{"case":', '{"case":"x","case":'))


@tamper(30, codes="entry-malformed")
def number_as_a_float_and_signed(dossier: Dossier) -> Dossier:
    return resigned_text(dossier, lambda t: t.replace('"number":24', '"number":24.0'))


@tamper(30, codes="entry-malformed")
def names_out_of_order_and_signed(dossier: Dossier) -> Dossier:
    def turn(text: str) -> str:
        head, body, _ = text.split("\n")
        value = dict(reversed(json.loads(body).items()))
        return f"{head}\n{json.dumps(value, separators=(',', ':'), ensure_ascii=False)}\n"

    return resigned_text(dossier, turn)


@tamper(30, codes="entry-malformed")
def lone_surrogate_and_signed(dossier: Dossier) -> Dossier:
    return resigned_text(dossier, lambda t: t.replace("the scale", "\\ud800 scale"))


@tamper(46, codes="version-unknown")
def version_of_an_entry_unknown(dossier: Dossier) -> Dossier:
    return resigned_text(dossier, lambda t: t.replace("continuity-entry/1", "continuity-entry/2"))


@tamper(46, codes="entry-malformed")
def field_unknown_and_signed(dossier: Dossier) -> Dossier:
    return resigned_text(dossier, lambda t: t.replace('{"case":', '{"alg":"none","case":'))


@tamper(32, codes="disclosure-missing")
def detail_redacted_silently(dossier: Dossier) -> Dossier:
    return replace(dossier, withheld=dossier.withheld[1:])


@tamper(33, codes="disclosure-differs disclosure-missing")
def disclosed_detail_swapped(dossier: Dossier) -> Dossier:
    text, _ = disclose("name", "Somebody Else (invented)")
    return replace(dossier, disclosures=(Disclosed(0, text),))


@tamper(33, codes="disclosure-differs")
def detail_shown_and_withheld(dossier: Dossier) -> Dossier:
    return replace(dossier, withheld=(*dossier.withheld, Withheld(0, "name")))


@tamper(33, codes="disclosure-differs")
def detail_never_recorded(dossier: Dossier) -> Dossier:
    return replace(dossier, withheld=(*dossier.withheld, Withheld(0, "shoe-size")))


@tamper(10, codes="seen-differs")
def growth_not_shown(dossier: Dossier) -> Dossier:
    assert dossier.earlier
    return replace(dossier, earlier=())


@tamper(10, 16, codes="seen-differs")
def growth_from_another_tree(dossier: Dossier) -> Dossier:
    one = dossier.earlier[-1]
    return replace(dossier, earlier=(replace(one, proof=(bytes(32), *one.proof[1:])),))


@tamper(9, 10, 17, codes="", sound=True)
def stale_but_genuine(_: Dossier) -> Dossier:
    """A genuine dossier of an earlier state: nobody can see that from the file."""
    return whole(treated=False).dossier("name")


@tamper(11, 16, codes="", sound=True)
def rewritten_with_every_key(_: Dossier) -> Dossier:
    """Another history, signed with all the right keys: only what is held outside shows it."""
    firm = start()
    receive(firm)
    firm.publish()
    return firm.dossier("name")


@tamper(23, codes="not-the-pinned-key")
def register_made_up_under_another_key(_: Dossier) -> Dossier:
    return whole(register_key=SigningKey.from_seed(REGISTER, bytes([77]) * 32)).dossier("name")


@tamper(13, 43, 44, codes="", sound=True)
def recorded_after_the_checkpoint(_: Dossier) -> Dossier:
    """What no checkpoint covers is sound, and counted as not anchored."""
    firm = whole()
    firm.tell("weighed", thing=BODY, grams=68_300)
    return firm.dossier("name")


@tamper(24, codes="key-not-valid")
def key_used_after_its_revocation(_: Dossier) -> Dossier:
    firm = whole()
    firm.record("key-revoked", "d1", key=firm.people["m1"].key.reference, reason="left the firm")
    write(firm, "m1", Weighed(thing=BODY, grams=68_300))
    firm.publish()
    return firm.dossier("name")


@tamper(25, codes="beyond-index")
def revocation_hidden(_: Dossier) -> Dossier:
    firm = whole()
    firm.record("key-revoked", "d1", key=firm.people["m1"].key.reference, reason="left the firm")
    write(firm, "m1", Weighed(thing=BODY, grams=68_300))
    firm.publish()
    dossier = firm.dossier("name")
    own = dossier.register_entries
    assert b"key-revoked" in own[-1].note
    return replace(dossier, register_entries=own[:-1])


@tamper(25, codes="", sound=True)
def revocation_hidden_with_the_index(_: Dossier) -> Dossier:
    """Sound, and the words say that revocations may have been left out."""
    firm = whole()
    firm.record("key-revoked", "d1", key=firm.people["m1"].key.reference, reason="left the firm")
    write(firm, "m1", Weighed(thing=BODY, grams=68_300))
    firm.publish()
    dossier = firm.dossier("name")
    return replace(dossier, register_entries=dossier.register_entries[:-1], index=None)


@tamper(26, 27, codes="key-suspect", sound=True)
def key_later_found_compromised(_: Dossier) -> Dossier:
    firm = whole()
    firm.record(
        "key-revoked",
        "d1",
        key=firm.people["m1"].key.reference,
        reason="its file was copied",
        compromised_since=20,
    )
    firm.publish()
    return firm.dossier("name")


@tamper(10, 13, codes="seen-differs")
def author_had_seen_another_tree(_: Dossier) -> Dossier:
    firm = whole()
    write(firm, "m1", Weighed(thing=BODY, grams=68_300), seen=Seen(12, bytes(32)))
    firm.publish()
    return firm.dossier("name")


@tamper(45, codes="signature-wrong")
def signed_by_somebody_else_in_another_name(_: Dossier) -> Dossier:
    """The recorder's key id, and a signature that is not his."""
    firm = whole()

    def forge(note: bytes) -> bytes:
        parsed = Note.parse(note)
        blob = KEYS["m2"].signature(parsed.text)
        line = replace(parsed.signatures[0], blob=blob)
        return Note(parsed.text, (line,)).encode()

    write(firm, "m1", Weighed(thing=BODY, grams=68_300), forge=forge)
    firm.publish()
    return firm.dossier("name")


@tamper(45, codes="recorder-differs")
def recorded_in_another_name(_: Dossier) -> Dossier:
    """Signed by one who may sign, and said to be recorded by another."""
    firm = whole()
    write(firm, "m1", Weighed(thing=BODY, grams=68_300), recorded_by="d1")
    firm.publish()
    return firm.dossier("name")


@tamper(10, codes="second-person-missing")
def restored_on_one_director_s_word(_: Dossier) -> Dossier:
    firm = whole()
    act = RegisterRestored(guard_size=99, guard_root="0" * 64, size=40, reason="a lost disk")
    write(firm, "d1", act, chain="register")
    firm.publish()
    return firm.dossier("name")


@tamper(32, codes="disclosure-erased-kept", sound=True)
def detail_erased_and_shown(_: Dossier) -> Dossier:
    """Somebody kept what was erased, and shows it again."""
    firm = whole()
    kept = firm.dossier("name").disclosures
    firm.tell("personal-details-erased", by="d1 d2", ground="an invented ground")
    firm.publish()
    return replace(firm.dossier(), disclosures=kept)


def write(
    firm: Firm,
    person: str,
    act: Any,
    *,
    seen: Seen | None = None,
    recorded_by: str | None = None,
    chain: str | None = None,
    forge: Callable[[bytes], bytes] = lambda note: note,
) -> None:
    """Write an entry past every judgement, as somebody who holds the store can."""
    firm.wait(3)
    time = write_time(firm.now)
    with firm.register.store.writing() as pen:
        head = pen.case_head(chain) if chain else pen.case_by_name(CASE)
        assert head
        entry = Entry(
            register=REGISTER,
            case=head.case_id,
            number=head.length,
            previous=head.head,
            kind=act.kind,
            occurred_at=time,
            recorded_at=time,
            utc_offset="+00:00",
            recorded_by=recorded_by or person,
            signers=(firm.people[person].key.reference,),
            seen=seen,
            details=act.details(),
        )
        note = forge(sign_entry(entry, [firm.people[person].key]))
        pen.append(note, head.case_id, entry.number, act.kind)
