"""Checkpoints, cosignatures and proof texts: published ones, and every flipped bit."""

from __future__ import annotations

import pytest

from continuity.errors import FormatError
from continuity.ledger import checkpoint as checkpoints
from continuity.ledger import merkle
from continuity.ledger.checkpoint import Checkpoint, CosignerKey, cosigner_key
from continuity.ledger.keys import SigningKey, VerifyKey
from continuity.ledger.note import Note, SignatureError

# A checkpoint of sum.golang.org (github.com/transparency-dev/formats, log/note_test.go).
SUMDB_KEY = VerifyKey.parse("sum.golang.org+033de0ae+Ac4zctda0e5eza+HJyk9SxEdh+s3Ux18htTTAD8OuAn8")
SUMDB = (
    "go.sum database tree\n6476701\nmb8QLQIs0Z0yP5Cstq6guj87oXWeC9gEM8oVikmm9Wk=\n\n"
    "— sum.golang.org Az3grsLX85Gz+s1SiTbgkuqxgItqFq7gsMUEyVnrsa9LM7Us9S+1xbFIGu95949rj4nPRYfvimWE"
    "PWL+o3GeoWwOoAw=\n"
).encode()

# A cosigned checkpoint (github.com/FiloSottile/sunlight, cmd/skylight/testdata/witness); its log's
# own signature is of another type (0x05), unknown here.
WITNESS = CosignerKey.parse(
    "witness.example.org+b8a2cf20+BFLN3yikSfFkVAJtrnh/CiY3Zozkoy7clp+P7XB28qUN"
)
COSIGNED = (
    "rome2026h1.example.org\n300\nlCkHUpkmVBEms2r2T1K6Og69+wUuuN3MIEW1/ezu2v0=\n\n"
    "— rome2026h1.example.org kVB1JgAAAZtxtEwABAMARzBFAiEAi+mTa2xjL1IdWpH82OeciGsGvwRAP+f1WkfKaSZC"
    "fFECIHoNPZ/Q3y6UNzvKOO9cuLr6V16vPNfhwhle9f6r5H/Z\n"
    "— witness.example.org uKLPIAAAAABpVGeAhm2bOvKc3LaB9PFN1ruG19Y5yqslmcAAbhftnn1Zznmo0LXFZq4LGvqK"
    "qLX8jWlwLKasxEGTLIqAVusneCBmBw==\n"
).encode()

# The published test log of github.com/transparency-dev/tessera (testdata/log): its last state,
# and the proof of its seventh entry in the text of C2SP tlog-proof.
TESSERA = SigningKey.parse(
    "PRIVATE+KEY+example.com/log/testdata+33d7b496+AeymY/SZAX0jZcJ8enZ5FY1Dz+wTML2yWSkK+9DSF3eg"
)
TESSERA_15 = (
    "example.com/log/testdata\n15\nrKbDipCvhuX1GZ7g5BBe8sA6BbJ7ja/1nk427v383cs=\n\n"
    "— example.com/log/testdata M9e0luh4jTG+UMBqOUo9/q+yAEvx1ilBEniMvjf1zfcBOhg+CKubMt53MvIt/uEWP6"
    "zdkdIQzd/fmwlM/dlPWF74ewI=\n"
).encode()
PROOF_6 = (
    b"c2sp.org/tlog-proof@v1\n"
    b"index 6\n"
    b"ThcgoV2DYcK+VCxBUDWAlNxmLy2r7dq7dK7+OlgQKWs=\n"
    b"ycRkkNklus5eMVRUvkD1pK321vMrA+jjOiZKU8aOcY4=\n"
    b"zY1lN35vrXYAPixXSd59LsU29xUJtuW4o2dNNg5Y2Co=\n"
    b"5jLpqTgjsBDSEX6SgZiRnbTMdTuRd8bQ5tSsAOxe0Ks=\n"
    b"\n" + TESSERA_15
)

ROOT = bytes(range(32))
ROOT_TEXT = b"AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8="


def test_a_real_checkpoint_is_opened():
    checkpoint = checkpoints.open(SUMDB, SUMDB_KEY)
    assert (checkpoint.origin, checkpoint.size) == ("go.sum database tree", 6476701)
    assert checkpoint.root.hex().startswith("99bf102d022cd19d")
    assert checkpoint.text() == Note.parse(SUMDB).text


def test_a_checkpoint_is_signed_to_the_byte_of_the_published_one():
    checkpoint = checkpoints.open(TESSERA_15, TESSERA.verify_key)
    assert checkpoints.sign(checkpoint, TESSERA).encode() == TESSERA_15


def test_another_key_opens_nothing():
    with pytest.raises(SignatureError, match="no signature of a trusted key"):
        checkpoints.open(SUMDB, TESSERA.verify_key)


def test_a_signed_note_that_is_no_checkpoint_is_refused(register_key):
    line = register_key.sign(b"two\nlines\n")
    with pytest.raises(FormatError, match="three lines"):
        checkpoints.open(Note(b"two\nlines\n", (line,)).encode(), register_key.verify_key)


def test_every_flipped_bit_of_a_checkpoint_shows():
    for bit in range(len(SUMDB) * 8):
        flipped = bytearray(SUMDB)
        flipped[bit // 8] ^= 1 << bit % 8
        with pytest.raises(FormatError):
            checkpoints.open(bytes(flipped), SUMDB_KEY)


def test_the_empty_trees_text():
    """C2SP tlog-checkpoint: the root of size 0 is the SHA-256 of nothing."""
    checkpoint = Checkpoint("hollow-lane.example/register", 0, merkle.EMPTY_ROOT)
    assert checkpoint.text() == (
        b"hollow-lane.example/register\n0\n47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=\n"
    )
    assert Checkpoint.parse(checkpoint.text()) == checkpoint


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"o\n1\n",
        b"o\n1\n" + ROOT_TEXT,
        b"\n1\n" + ROOT_TEXT + b"\n",
        b"o\x07\n1\n" + ROOT_TEXT + b"\n",
        b"\xff\n1\n" + ROOT_TEXT + b"\n",
        b"o\n1\n" + ROOT_TEXT + b"\nextension\n",
        b"o\n1\n" + ROOT_TEXT + b"\n\n",
        b"o\n1\n" + ROOT_TEXT[:-4] + b"\n",
        b"o\n1\n" + ROOT_TEXT[:-1] + b"\n",
        b"o\n1\n" + ROOT_TEXT.replace(b"h8=", b"h9=") + b"\n",
        *(
            b"o\n" + size + b"\n" + ROOT_TEXT + b"\n"
            for size in (
                b"",
                b"-1",
                b"+5",
                b"01",
                b"00",
                b" 1",
                b"1 ",
                b"1_0",
                b"0x1",
                b"1.0",
                b"9223372036854775808",
                b"1" * 5000,
                "\uff11\uff12".encode(),
            )
        ),
    ],
)
def test_a_checkpoint_that_is_not_to_the_letter_is_refused(text):
    with pytest.raises(FormatError):
        Checkpoint.parse(text)


def test_the_greatest_size():
    checkpoint = Checkpoint("o", 2**63 - 1, ROOT)
    assert Checkpoint.parse(checkpoint.text()) == checkpoint


@pytest.mark.parametrize(
    "checkpoint",
    [
        Checkpoint("", 1, ROOT),
        Checkpoint("a\nb", 1, ROOT),
        Checkpoint("\ud800", 1, ROOT),
        Checkpoint("o", -1, ROOT),
        Checkpoint("o", 2**63, ROOT),
        Checkpoint("o", 1, ROOT[:31]),
    ],
)
def test_what_cannot_be_a_checkpoint_is_not_signed(checkpoint, register_key):
    with pytest.raises(FormatError):
        checkpoints.sign(checkpoint, register_key)


def test_a_real_cosignature():
    note = Note.parse(COSIGNED)
    assert checkpoints.open_cosignatures(note, [WITNESS]) == [("witness.example.org", 1767139200)]
    assert checkpoints.open_cosignatures(note, []) == []


def test_a_cosigners_key_is_not_a_logs_key():
    with pytest.raises(FormatError, match="not the text of a public key of type 01"):
        VerifyKey.parse(str(WITNESS))
    with pytest.raises(FormatError, match="not the text of a public key of type 04"):
        CosignerKey.parse(str(SUMDB_KEY))


def test_cosigning_adds_a_line(register_key, bruno):
    note = checkpoints.sign(Checkpoint("hollow-lane.example/register", 7, ROOT), register_key)
    witness = cosigner_key(bruno.verify_key)
    assert witness.key_id != bruno.key_id
    cosigned = checkpoints.cosign(note, bruno, 1_740_838_000)
    assert cosigned.text == note.text
    assert cosigned.signatures[:1] == note.signatures
    again = Note.parse(cosigned.encode())
    assert checkpoints.open_cosignatures(again, [witness]) == [(bruno.name, 1_740_838_000)]
    assert checkpoints.open(cosigned.encode(), register_key.verify_key).size == 7
    with pytest.raises(SignatureError):  # the witness's plain signature is another thing
        checkpoints.open(cosigned.encode(), bruno.verify_key)


def test_a_cosignature_binds_its_time_and_the_text(register_key, bruno):
    note = checkpoints.cosign(
        checkpoints.sign(Checkpoint("o", 7, ROOT), register_key), bruno, 1_740_838_000
    )
    witness = cosigner_key(bruno.verify_key)
    line = note.signatures[1]
    later = line.__class__(line.name, line.key_id, (1).to_bytes(8) + line.blob[8:])
    other_text = Checkpoint("o", 8, ROOT).text()
    for bad in (
        Note(note.text, (later,)),
        Note(other_text, (line,)),
        Note(note.text, (line.__class__(line.name, line.key_id, line.blob[:-1]),)),
        Note(note.text, (line.__class__(line.name, line.key_id, b"\xff" + line.blob[1:]),)),
        Note(note.text, (line.__class__(line.name, line.key_id, line.blob[:4]),)),
    ):
        with pytest.raises(SignatureError, match="cosignature"):
            checkpoints.open_cosignatures(bad, [witness])


def test_a_cosignature_of_a_time_beyond_2_63_does_not_fit(bruno):
    witness = cosigner_key(bruno.verify_key)
    text = Checkpoint("o", 7, ROOT).text()
    for time, expected in ((2**63 - 1, 2**63 - 1), (2**63, None)):
        signature = bruno.signature(b"cosignature/v1\ntime %d\n" % time + text)
        assert witness.time_of(text, time.to_bytes(8) + signature) == expected


@pytest.mark.parametrize("time", [-1, 2**63])
def test_a_cosignatures_time_is_in_range(time, register_key, bruno):
    note = checkpoints.sign(Checkpoint("o", 7, ROOT), register_key)
    with pytest.raises(FormatError, match="out of range"):
        checkpoints.cosign(note, bruno, time)


def test_only_checkpoints_are_cosigned(register_key, bruno):
    note = Note(b"hello\n", (register_key.sign(b"hello\n"),))
    with pytest.raises(FormatError, match="three lines"):
        checkpoints.cosign(note, bruno, 1)


def test_a_proof_text_made_from_the_published_log():
    proof = checkpoints.parse_proof(PROOF_6)
    assert (proof.index, len(proof.hashes), proof.extra) == (6, 4, None)
    checkpoint = checkpoints.open(proof.checkpoint, TESSERA.verify_key)
    merkle.verify_inclusion(
        merkle.leaf_hash(b"seven"), proof.index, checkpoint.size, proof.hashes, checkpoint.root
    )
    assert checkpoints.format_proof(proof.index, proof.hashes, proof.checkpoint) == PROOF_6


def test_a_proof_text_with_extra_bytes_and_without_hashes(register_key):
    leaf = merkle.leaf_hash(b"only")
    note = checkpoints.sign(Checkpoint("o", 1, leaf), register_key).encode()
    data = checkpoints.format_proof(0, [], note, extra=b"case 7")
    assert data.startswith(b"c2sp.org/tlog-proof@v1\nextra Y2FzZSA3\nindex 0\n\no\n1\n")
    proof = checkpoints.parse_proof(data)
    assert (proof.index, proof.hashes, proof.extra) == (0, (), b"case 7")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"@v1", b"@v2"),
        (b"index 6\n", b""),
        (b"index 6", b"index 06"),
        (b"index 6", b"index -6"),
        (b"index 6", b"Index 6"),
        (b"index 6", b"index 6\nindex 6"),
        (b"index 6", b"index 6\nextra QQ=="),
        (b"index 6", b"extra QQ=\nindex 6"),
        (b"5jLp", b"5j*p"),
        (b"5jLp", b""),
        (b"KWs=\n", b"KWs=\n\n"),
        (b"\n\n", b"\n"),
        (b"\n15\n", b"\n015\n"),
        (b"index 6\n", b"index 6\n" + b"ThcgoV2DYcK+VCxBUDWAlNxmLy2r7dq7dK7+OlgQKWs=\n" * 64),
    ],
)
def test_a_proof_text_that_is_not_to_the_letter_is_refused(old, new):
    assert old in PROOF_6
    with pytest.raises(FormatError):
        checkpoints.parse_proof(PROOF_6.replace(old, new, 1))
