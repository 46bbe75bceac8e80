"""Signed notes: published examples, strictness, and every single flipped bit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.errors import FormatError
from continuity.ledger import note as notes
from continuity.ledger.keys import SigningKey, VerifyKey
from continuity.ledger.note import MAX_SIGNATURES, Note, SignatureError, SignatureLine

# golang.org/x/mod/sumdb/note, example_test.go: a published test key, and a note of two signatures.
PETER = VerifyKey.parse("PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW")
PETER_PRIVATE = SigningKey.parse(
    "PRIVATE+KEY+PeterNeumann+c74f20a3+AYEKFALVFGyNhPJEMzD1QIDr+Y7hfZx09iUvxdXHKDFz"
)
ENOCH = VerifyKey.parse("EnochRoot+af0cfe78+ATtqJ7zOtqQtYqOo0CpvDXNlMhV3HeJDpjrASKGLWdop")
ENOCH_PRIVATE = SigningKey.from_seed("EnochRoot", bytes(32))
TEXT = (
    b"If you think cryptography is the answer to your problem,\n"
    b"then you don't know what your problem is.\n"
)
PETER_LINE = (
    "— PeterNeumann x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSNXgKvqfqdng"
    "otpRZb6KE6RyyBwJnAM=\n"
).encode()
ENOCH_LINE = (
    "— EnochRoot rwz+eBzmZa0SO3NbfRGzPCpDckykFXSdeX+MNtCOXm2/5n2tiOHp+vAF1aGrQ5ovTG01oOTGwnWL"
    "ox33WWd1RvMc+QQ=\n"
).encode()
BOTH = TEXT + b"\n" + PETER_LINE + ENOCH_LINE

# C2SP signed-note v1.0.0, section "Example".
C2SP_KEY = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"
C2SP_NOTE = (
    "This is an example message.\n\n— example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONn"
    "cAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n"
).encode()


def test_go_example_is_read_verified_and_signed_anew_to_the_byte():
    note = Note.parse(BOTH)
    assert note.text == TEXT
    assert [line.reference for line in note.signatures] == [PETER.reference, ENOCH.reference]
    assert notes.verify(note, [PETER, ENOCH]) == note.signatures
    assert note.encode() == BOTH
    assert notes.sign(TEXT, [PETER_PRIVATE, ENOCH_PRIVATE]).encode() == BOTH


def test_c2sp_example_verifies():
    note = Note.parse(C2SP_NOTE)
    assert notes.verify(note, [VerifyKey.parse(C2SP_KEY)]) == note.signatures
    assert note.encode() == C2SP_NOTE


def test_unknown_keys_are_passed_over():
    assert notes.verify(Note.parse(BOTH), [ENOCH]) == (Note.parse(BOTH).signatures[1],)


def test_a_note_without_a_known_signature_is_refused():
    for verifiers in ([], [VerifyKey.parse(C2SP_KEY)]):
        with pytest.raises(SignatureError, match="no signature of a trusted key"):
            notes.verify(Note.parse(BOTH), verifiers)


def test_one_wrong_signature_of_a_known_key_spoils_the_good_one_beside_it():
    good, other = Note.parse(BOTH).signatures
    bad = SignatureLine(other.name, other.key_id, good.blob)
    with pytest.raises(SignatureError, match="EnochRoot"):
        notes.verify(Note(TEXT, (good, bad)), [PETER, ENOCH])
    assert notes.verify(Note(TEXT, (good, bad)), [PETER]) == (good,)


def test_a_key_is_known_by_name_and_id_together():
    line = Note.parse(BOTH).signatures[0]
    renamed = SignatureLine("EnochRoot", line.key_id, line.blob)
    other_id = SignatureLine(line.name, ENOCH.key_id, line.blob)
    for stranger in (renamed, other_id):
        with pytest.raises(SignatureError, match="no signature of a trusted key"):
            notes.verify(Note(TEXT, (stranger,)), [PETER, ENOCH])


def test_two_verifiers_of_one_name_and_id_are_refused():
    with pytest.raises(SignatureError, match="same name and id"):
        notes.verify(Note.parse(BOTH), [PETER, PETER])


def test_the_text_may_hold_blank_lines():
    text = b"one\n\ntwo\n\n\n"
    note = notes.sign(text, [PETER_PRIVATE])
    assert Note.parse(note.encode()) == note
    assert note.text == text


BODY = PETER_LINE.removeprefix("— ".encode())


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\n",
        b"\n\n",
        TEXT,
        TEXT + b"\n",
        TEXT + PETER_LINE,
        b"\n" + PETER_LINE,
        TEXT + b"\n" + PETER_LINE.rstrip(),
        TEXT + b"\n" + PETER_LINE + b"\n",
        TEXT + b"\n" + PETER_LINE + b"more\n",
        TEXT + b"\n" + b" " + PETER_LINE,
        TEXT + b"\n" + b"- " + BODY,
        TEXT + b"\n" + "—".encode() + BODY,
        TEXT + b"\n" + "—  ".encode() + BODY,
        TEXT + b"\n" + "— PeterNeumann\n".encode(),
        TEXT + b"\n" + "— PeterNeumann \n".encode(),
        TEXT + b"\n" + "— PeterNeumann x08gow==\n".encode(),
        TEXT + b"\n" + PETER_LINE.replace(b"=\n", b"\n"),
        TEXT + b"\n" + PETER_LINE.replace(b"AM=", b"AN="),
        TEXT + b"\n" + PETER_LINE.replace(b"x08", b"x*8"),
        TEXT + b"\n" + PETER_LINE.replace(b"\n", b" \n"),
        TEXT + b"\n" + PETER_LINE.replace(b"\n", b"\r\n"),
        TEXT + b"\n" + PETER_LINE.replace(b"rN", b"r+N"),
        TEXT + b"\n" + PETER_LINE.replace(b"rN", b"r\tN"),
        TEXT + b"\n" + PETER_LINE.replace(b"rN", "r\u2003N".encode()),
        TEXT.replace(b" ", b"\t") + b"\n" + PETER_LINE,
        TEXT.replace(b" ", b"\x00") + b"\n" + PETER_LINE,
        TEXT.replace(b" ", b"\xff") + b"\n" + PETER_LINE,
        pytest.param(TEXT + b"\n" + PETER_LINE * (MAX_SIGNATURES + 1), id="101 signatures"),
        pytest.param(b"x" * 1_000_000 + b"\n\n" + PETER_LINE, id="too long"),
    ],
)
def test_what_is_not_a_note_to_the_letter_is_refused(data):
    with pytest.raises(FormatError):
        Note.parse(data)


@pytest.mark.parametrize("text", [b"", b"no newline", b"tab\t\n", b"\xff\n", b"\n\xed\xa0\x80\n"])
def test_what_cannot_be_a_text_is_not_signed(text):
    with pytest.raises(FormatError):
        notes.sign(text, [PETER_PRIVATE])


def test_nothing_is_signed_by_nobody():
    with pytest.raises(FormatError):
        notes.sign(TEXT, [])


def test_a_hundred_signatures_are_read():
    data = TEXT + b"\n" + PETER_LINE * MAX_SIGNATURES
    assert len(Note.parse(data).signatures) == 100


def test_every_flipped_bit_is_refused_or_fails_to_verify():
    for bit in range(len(BOTH) * 8):
        flipped = bytearray(BOTH)
        flipped[bit // 8] ^= 1 << bit % 8
        try:
            good = notes.verify(Note.parse(bytes(flipped)), [PETER, ENOCH])
        except FormatError:
            continue
        # A line whose name or id was changed is an unknown key's: the other still holds alone.
        assert len(good) == 1
        assert bit // 8 > len(TEXT)


@pytest.mark.parametrize("text", ["QQ==", "QUI=", "QUJD", ""])
def test_base64_round_trip(text):
    assert notes.to_base64(notes.from_base64(text)) == text


@pytest.mark.parametrize(
    "text", ["QR==", "QQ", "QQ=", "QQ===", "QQ==\n", " QQ==", "Q Q==", "QUI-", "é", "=", "QQ==QQ=="]
)
def test_other_spellings_of_base64_are_refused(text):
    with pytest.raises(FormatError, match="base64"):
        notes.from_base64(text)


@given(st.binary(max_size=80).map(lambda tail: TEXT + b"\n" + PETER_LINE[:30] + tail))
def test_what_is_read_encodes_to_the_same_bytes(data):
    try:
        note = Note.parse(data)
    except FormatError:
        return
    assert note.encode() == data
