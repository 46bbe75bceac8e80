"""Entries and chains: what is bound, what is refused, and every flipped bit."""

from __future__ import annotations

import json
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.errors import FormatError
from continuity.ledger import canonical, chain, merkle
from continuity.ledger.chain import (
    ChainChecker,
    ChainError,
    Seen,
    check_signatures,
    genesis,
    read_entry,
    sign_entry,
)
from continuity.ledger.keys import SigningKey
from continuity.ledger.note import Note, SignatureError


def keys_of(*keys):
    return {key.reference: key.verify_key for key in keys}.get


def signed_body(body: bytes, key: SigningKey, type_line=b"continuity-entry/1\n") -> bytes:
    """A note over any body at all, well signed."""
    text = type_line + body + b"\n"
    return Note(text, (key.sign(text),)).encode()


def body_of(entry) -> dict:
    return json.loads(entry.text().split(b"\n")[1])


def test_an_entry_to_the_byte(make_entry, anna):
    """The one complete example of the format."""
    data = sign_entry(make_entry(), [anna])
    text, signatures = data.split(b"\n\n")
    assert text.decode() == (
        "continuity-entry/1\n"
        '{"case":"c-7f3a90",'
        '"details":{"grams":1200,"note":"Tüte dicht","thing":"bag-1","to":"cavity"},'
        '"kind":"container-moved",'
        '"number":0,'
        '"occurred_at":"2025-03-01T14:05:00.000Z",'
        f'"previous":"{genesis("hollow-lane.example/register", "c-7f3a90").hex()}",'
        '"recorded_at":"2025-03-01T14:06:30.250Z",'
        '"recorded_by":"anna",'
        '"register":"hollow-lane.example/register",'
        '"seen":{"root":"AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8=","size":5},'
        f'"signers":["{anna.reference}"],'
        '"utc_offset":"+01:00"}'
    )
    assert signatures.startswith("— hollow-lane.example/anna ".encode())
    assert signatures.count(b"\n") == 1


def test_genesis_binds_register_and_case():
    assert genesis("r", "c") == sha256(b"continuity-genesis/1\nr\nc\n").digest()
    assert len({genesis("r", "c"), genesis("c", "r"), genesis("r", "cc")}) == 3


def test_what_is_signed_is_read_again(make_entry, anna, bruno):
    entry = make_entry(
        signers=(bruno.reference, anna.reference), seen=None, mirrors=bytes(range(32, 64))
    )
    data = sign_entry(entry, [anna, bruno])
    found, note = read_entry(data)
    assert found == entry
    assert note.encode() == data
    assert [line.reference for line in note.signatures] == list(entry.signers)
    check_signatures(found, note, keys_of(anna, bruno))


json_text = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)


@given(
    st.dictionaries(
        json_text,
        st.recursive(
            json_text | st.integers(-(2**53) + 1, 2**53 - 1) | st.booleans() | st.none(),
            lambda inner: (
                st.lists(inner, max_size=3) | st.dictionaries(json_text, inner, max_size=3)
            ),
            max_leaves=8,
        ),
        max_size=5,
    ),
    st.integers(0, 2**53 - 1),
)
def test_any_details_come_back_as_they_were(make_entry, anna, details, number):
    entry = make_entry(details=details, number=number)
    assert read_entry(sign_entry(entry, [anna]))[0] == entry


def test_every_flipped_bit_is_refused_or_fails_to_verify(make_entry, anna, bruno):
    data = sign_entry(make_entry(signers=(anna.reference, bruno.reference)), [anna, bruno])
    key_of = keys_of(anna, bruno)
    for bit in range(len(data) * 8):
        flipped = bytearray(data)
        flipped[bit // 8] ^= 1 << bit % 8
        with pytest.raises(FormatError):
            check_signatures(*read_entry(bytes(flipped)), key_of)


def test_every_flipped_bit_changes_the_leaf(make_entry, anna):
    """The leaf covers the signatures too."""
    data = sign_entry(make_entry(), [anna])
    leaf = merkle.leaf_hash(data)
    for byte in range(len(data)):
        flipped = bytearray(data)
        flipped[byte] ^= 1
        assert merkle.leaf_hash(bytes(flipped)) != leaf


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("register", ""),
        ("register", "two words"),
        ("register", "a\nb"),
        ("register", 5),
        ("register", None),
        ("case", ""),
        ("case", "a\tb"),
        ("case", "x" * 256),
        ("case", ["a"]),
        ("number", -1),
        ("number", True),
        ("number", "0"),
        ("number", None),
        ("previous", ""),
        ("previous", "ab" * 31),
        ("previous", "AB" * 32),
        ("previous", "ab " * 32),
        ("previous", 0),
        ("kind", ""),
        ("kind", "Moved"),
        ("kind", "moved_on"),
        ("kind", "-moved"),
        ("kind", "moved-"),
        ("kind", "moved\n"),
        ("occurred_at", ""),
        ("occurred_at", 1740838000),
        ("occurred_at", "2025-03-01T14:05:00Z"),
        ("occurred_at", "2025-03-01T14:05:00.000000Z"),
        ("occurred_at", "2025-03-01T14:05:00.000+00:00"),
        ("occurred_at", "2025-03-01 14:05:00.000Z"),
        ("occurred_at", "2025-03-01t14:05:00.000z"),
        ("occurred_at", "2025-02-29T14:05:00.000Z"),
        ("occurred_at", "2025-13-01T14:05:00.000Z"),
        ("occurred_at", "0000-01-01T14:05:00.000Z"),
        ("occurred_at", "2025-03-01T24:05:00.000Z"),
        ("occurred_at", "2025-03-01T14:05:60.000Z"),
        ("occurred_at", "\uff12025-03-01T14:05:00.000Z"),
        ("recorded_at", "2025-03-01T14:05:00.000Z\n"),
        ("recorded_at", "2025-02-30T14:05:00.000Z"),
        ("recorded_at", None),
        ("utc_offset", "Z"),
        ("utc_offset", "01:00"),
        ("utc_offset", "+1:00"),
        ("utc_offset", "+24:00"),
        ("utc_offset", "+01:60"),
        ("utc_offset", 60),
        ("recorded_by", ""),
        ("recorded_by", "an na"),
        ("recorded_by", {}),
        ("signers", []),
        ("signers", {}),
        ("signers", None),
        ("signers", [5]),
        ("signers", "hollow-lane.example/anna"),
        ("seen", None),
        ("seen", {}),
        ("seen", {"root": "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8="}),
        ("seen", {"root": "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8=", "size": -1}),
        ("seen", {"root": "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8=", "size": True}),
        ("seen", {"root": "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh9=", "size": 5}),
        ("seen", {"root": "AAEC", "size": 5}),
        ("seen", {"root": 5, "size": 5}),
        ("seen", {"extra": 1, "root": "AAEC", "size": 5}),
        ("mirrors", None),
        ("mirrors", "ab"),
        ("mirrors", "AB" * 32),
        ("details", None),
        ("details", []),
        ("details", "moved"),
        ("extra", 1),
    ],
)
def test_a_field_that_is_not_as_it_must_be_is_refused(make_entry, anna, field, value):
    body = body_of(make_entry()) | {field: value}
    with pytest.raises(FormatError):
        read_entry(signed_body(canonical.encode(body), anna))


@pytest.mark.parametrize("field", sorted(chain._FIELDS))
def test_a_missing_field_is_refused(make_entry, anna, field):
    body = body_of(make_entry())
    del body[field]
    with pytest.raises(FormatError, match=field):
        read_entry(signed_body(canonical.encode(body), anna))


@pytest.mark.parametrize(
    ("type_line", "words"),
    [
        (b"continuity-entry/2\n", "version this program does not know"),
        (b"continuity-entry/1 \n", "version this program does not know"),
        (b"continuity-entry/1\n\n", "cannot be read"),
        (b"Continuity-entry/1\n", "not an entry"),
        (b"example.com/log\n", "not an entry"),
        (b"", "not an entry"),
    ],
)
def test_another_type_line_is_refused(make_entry, anna, type_line, words):
    body = canonical.encode(body_of(make_entry()))
    assert read_entry(signed_body(body, anna))
    with pytest.raises(FormatError, match=words):
        read_entry(signed_body(body, anna, type_line))


def test_a_body_that_is_not_canonical_is_refused(make_entry, anna):
    body = canonical.encode(body_of(make_entry()))
    for spelling in (
        body + b" ",
        body.replace(b":0,", b": 0,"),
        body.replace(b'"number":0', b'"number":0,"number":0'),
        body.replace(b'"number":0', b'"number":0.0'),
        body.replace("ü".encode(), b"\\u00fc"),
        body + b"\n" + body,
    ):
        with pytest.raises(FormatError):
            read_entry(signed_body(spelling, anna))


def test_the_signature_lines_are_exactly_the_declared_ones(make_entry, anna, bruno):
    text = make_entry(signers=(anna.reference, bruno.reference)).text()
    by_anna, by_bruno = anna.sign(text), bruno.sign(text)
    assert read_entry(Note(text, (by_anna, by_bruno)).encode())
    for lines in (
        (by_anna,),
        (by_bruno, by_anna),
        (by_anna, by_bruno, by_bruno),
        (by_anna, by_anna),
        (by_anna, by_bruno, SigningKey.from_seed("other", bytes(32)).sign(text)),
    ):
        with pytest.raises(FormatError, match="exactly the keys it declares"):
            read_entry(Note(text, lines).encode())


def test_no_signer_is_declared_twice(make_entry, anna):
    entry = make_entry(signers=(anna.reference, anna.reference))
    with pytest.raises(FormatError):
        sign_entry(entry, [anna, anna])
    text = entry.text()
    with pytest.raises(FormatError, match="signers"):
        read_entry(Note(text, (anna.sign(text), anna.sign(text))).encode())


def test_only_the_declared_keys_sign(make_entry, anna, bruno):
    for keys in ([], [bruno], [anna, bruno], [anna, anna]):
        with pytest.raises(FormatError, match="not those that must sign"):
            sign_entry(make_entry(), keys)


def test_what_could_not_be_read_is_not_signed(make_entry, anna):
    for changes in ({"kind": "Moved"}, {"details": {"grams": 1.5}}, {"utc_offset": "UTC"}):
        with pytest.raises(FormatError):
            sign_entry(make_entry(**changes), [anna])


def test_65535_bytes_are_the_longest_entry(make_entry, anna):
    room = 65_535 - len(sign_entry(make_entry(details={"note": ""}), [anna]))
    longest = make_entry(details={"note": "x" * room})
    data = sign_entry(longest, [anna])
    assert len(data) == 65_535
    assert read_entry(data)[0] == longest
    with pytest.raises(FormatError, match="65,535"):
        sign_entry(make_entry(details={"note": "x" * (room + 1)}), [anna])


def test_a_key_that_is_not_valid_there_is_refused(make_entry, anna, bruno):
    entry, note = read_entry(sign_entry(make_entry(), [anna]))
    with pytest.raises(SignatureError, match="not valid there"):
        check_signatures(entry, note, keys_of(bruno))


def test_a_key_given_for_anothers_reference_is_refused(make_entry, anna, bruno):
    entry, note = read_entry(sign_entry(make_entry(), [anna]))
    with pytest.raises(SignatureError, match="where it says so"):
        check_signatures(entry, note, lambda reference: bruno.verify_key)


def test_every_declared_signature_must_fit(make_entry, anna, bruno):
    entry = make_entry(signers=(anna.reference, bruno.reference))
    text, other = entry.text(), make_entry(number=7).text()
    good, bad = anna.sign(text), bruno.sign(other)
    found, note = read_entry(Note(text, (good, bad)).encode())
    with pytest.raises(SignatureError, match=r"bruno.* on Entry 0 of case c-7f3a90"):
        check_signatures(found, note, keys_of(anna, bruno))
    with pytest.raises(SignatureError, match="exactly the keys it declares"):
        check_signatures(found, Note(text, (good,)), keys_of(anna, bruno))


def chain_of(make_entry, key, length):
    head = make_entry().previous
    for number in range(length):
        entry, _ = read_entry(sign_entry(make_entry(number=number, previous=head), [key]))
        head = merkle.leaf_hash(sign_entry(entry, [key]))
        yield entry, head


def checker():
    return ChainChecker("hollow-lane.example/register", "c-7f3a90")


def test_a_chain_is_followed(make_entry, anna):
    follower = checker()
    for length, (entry, leaf) in enumerate(chain_of(make_entry, anna, 5), 1):
        follower.accept(entry, leaf)
        assert (follower.length, follower.head) == (length, leaf)


def test_a_chain_with_a_gap_a_swap_or_a_repetition_is_refused(make_entry, anna):
    entries = list(chain_of(make_entry, anna, 4))
    for *good, bad in ((1,), (0, 2), (0, 0), (0, 1, 3), (0, 1, 1), (0, 2)):
        follower = checker()
        for number in good:
            follower.accept(*entries[number])
        with pytest.raises(ChainError, match=f"Entry {bad} of .* where entry {len(good)} should"):
            follower.accept(*entries[bad])


def test_an_entry_that_follows_another_is_refused(make_entry, anna):
    (first, leaf), (second, second_leaf) = chain_of(make_entry, anna, 2)
    follower = checker()
    follower.accept(first, merkle.leaf_hash(b"another spelling"))
    with pytest.raises(ChainError, match="Entry 1 of case c-7f3a90 does not follow"):
        follower.accept(second, second_leaf)
    with pytest.raises(ChainError, match="does not follow"):
        checker().accept(make_entry(previous=bytes(32)), leaf)


def test_an_entry_of_another_case_or_register_is_refused(make_entry):
    for changes in ({"case": "c-other"}, {"register": "elsewhere.example"}):
        with pytest.raises(ChainError, match="stands in the chain of case c-7f3a90"):
            checker().accept(make_entry(**changes), bytes(32))


def test_seen_is_kept(make_entry, anna):
    entry = make_entry(seen=Seen(0, merkle.EMPTY_ROOT))
    assert read_entry(sign_entry(entry, [anna]))[0].seen == Seen(0, merkle.EMPTY_ROOT)
