"""Ed25519 keys: RFC 8032's values, text forms, weak points, and the files of private keys."""

from __future__ import annotations

import os
import pickle
import stat

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key

from continuity.errors import FormatError, KeyFileError
from continuity.ledger.keys import (
    SigningKey,
    VerifyKey,
    load_private,
    read_label,
    save_private,
)

# RFC 8032 section 7.1: secret key, public key, message, signature (TEST 1, 2, 3, SHA(abc)).
RFC_8032 = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
    (
        "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ),
]

# golang.org/x/mod/sumdb/note, example_test.go: a published test key.
PETER = "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW"
PETER_PRIVATE = "PRIVATE+KEY+PeterNeumann+c74f20a3+AYEKFALVFGyNhPJEMzD1QIDr+Y7hfZx09iUvxdXHKDFz"


@pytest.mark.parametrize(("seed", "public", "message", "signature"), RFC_8032)
def test_rfc_8032(seed, public, message, signature):
    key = SigningKey.from_seed("rfc", bytes.fromhex(seed))
    message, signature = bytes.fromhex(message), bytes.fromhex(signature)
    assert key.verify_key.raw.hex() == public
    assert key.sign(message).blob == signature
    assert key.verify_key.verify(message, signature)
    assert not key.verify_key.verify(message + b"\n", signature)


def test_signature_with_the_group_order_added_is_refused():
    """RFC 8032 section 5.1.7: S must be below L, else a second signature of the same text fits."""
    order = 2**252 + 27742317777372353535851937790883648493
    _, public, message, signature = RFC_8032[1]
    key = VerifyKey("rfc", bytes.fromhex(public))
    r, s = bytes.fromhex(signature[:64]), int.from_bytes(bytes.fromhex(signature[64:]), "little")
    assert key.verify(bytes.fromhex(message), r + s.to_bytes(32, "little"))
    assert not key.verify(bytes.fromhex(message), r + (s + order).to_bytes(32, "little"))


@pytest.mark.parametrize("length", [0, 63, 65])
def test_a_signature_of_another_length_does_not_fit(length):
    _, public, message, signature = RFC_8032[0]
    blob = (bytes.fromhex(signature) + b"\0")[:length]
    assert not VerifyKey("rfc", bytes.fromhex(public)).verify(bytes.fromhex(message), blob)


def test_key_text_round_trip():
    key = VerifyKey.parse(PETER)
    assert (key.name, key.key_id.hex(), key.reference) == (
        "PeterNeumann",
        "c74f20a3",
        "PeterNeumann+c74f20a3",
    )
    assert str(key) == PETER
    assert SigningKey.parse(PETER_PRIVATE).verify_key == key


@pytest.mark.parametrize(
    "text",
    [
        # golang.org/x/mod/sumdb/note, note_test.go TestNewVerifier
        "PeterNeumann+cc469956+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TWBADKEY==",
        "PeterNeumann+173116ae+ZRpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW",
        PETER.replace("c74f20a3", "c74f20a4"),
        PETER.replace("c74f20a3", "C74F20A3"),
        PETER.replace("c74f20a3", "0c74f20a3"),
        PETER.replace("PeterNeumann", "PeterNeuman"),
        PETER.replace("PeterNeumann", "Peter Neumann"),
        PETER.replace("PeterNeumann", ""),
        PETER.replace("+AR", "+BR"),
        PETER + "=",
        PETER + "\n",
        " " + PETER,
        PETER[:-4],
        "PeterNeumann+c74f20a3",
        "PeterNeumann",
        "",
        "\ud800+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW",
        PETER_PRIVATE,
    ],
)
def test_a_key_text_that_is_not_to_the_letter_is_refused(text):
    with pytest.raises(FormatError):
        VerifyKey.parse(text)


@pytest.mark.parametrize(
    "text",
    [
        PETER,
        PETER_PRIVATE.replace("c74f20a3", "c74f20a4"),
        PETER_PRIVATE.replace("+AY", "+BY"),
        PETER_PRIVATE[:-4],
        PETER_PRIVATE + "*",
        "",
    ],
)
def test_a_private_key_text_that_is_not_to_the_letter_is_refused_without_telling_it(text):
    with pytest.raises(FormatError) as caught:
        SigningKey.parse(text)
    assert "KFALVFGyNhPJEMzD1QIDr" not in str(caught.value)


@pytest.mark.parametrize("name", ["", " ", "a b", "a+b", "a\u00a0b", "a\x07", "x" * 256, "\ud800"])
def test_names_that_may_not_stand_in_a_note(name):
    with pytest.raises(FormatError):
        SigningKey.from_seed(name, bytes(32))


def times_eight_is_neutral(encoding: bytes) -> bool:
    """RFC 8032 section 5.1: decode a point of edwards25519 and double it three times."""
    p = 2**255 - 19
    d = -121665 * pow(121666, -1, p) % p
    y = (int.from_bytes(encoding, "little") & (2**255 - 1)) % p
    square = (y * y - 1) * pow(d * y * y + 1, -1, p) % p
    x = pow(square, (p + 3) // 8, p)
    if (x * x - square) % p:
        x = x * pow(2, (p - 1) // 4, p) % p
    assert (x * x - square) % p == 0
    for _ in range(3):
        k = d * x * x * y * y % p
        x, y = (
            2 * x * y * pow(1 + k, -1, p) % p,
            (y * y + x * x) * pow(1 - k, -1, p) % p,
        )
    return (x, y) == (0, 1)


@pytest.mark.parametrize(
    "encoding",
    [
        "00" * 32,
        "01" + "00" * 31,
        "ec" + "ff" * 30 + "7f",
        "ed" + "ff" * 30 + "7f",
        "ee" + "ff" * 30 + "7f",
        "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
        "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
    ],
)
@pytest.mark.parametrize("sign", [0, 0x80])
def test_keys_of_small_order_are_refused(encoding, sign):
    raw = bytearray.fromhex(encoding)
    raw[-1] |= sign
    assert times_eight_is_neutral(bytes(raw))
    with pytest.raises(FormatError, match="small order"):
        VerifyKey("weak", bytes(raw))


def test_a_sound_key_is_not_of_small_order():
    assert not times_eight_is_neutral(bytes.fromhex(RFC_8032[0][1]))


def test_generated_keys_differ():
    assert SigningKey.generate("a").verify_key != SigningKey.generate("a").verify_key


def test_the_secret_shows_nowhere(anna):
    secret = bytes([2]) * 32
    assert repr(anna) == f"SigningKey({anna.reference})"
    assert secret.hex() not in repr(anna) + str(anna)
    with pytest.raises(TypeError):
        pickle.dumps(anna)


@pytest.mark.parametrize("passphrase", [None, b"a passphrase of several words"])
def test_a_saved_key_is_loaded_again(anna, tmp_path, passphrase):
    path = tmp_path / "anna.key"
    save_private(anna, path, passphrase)
    loaded = load_private(path, passphrase)
    assert loaded.verify_key == anna.verify_key
    assert loaded.sign(b"text\n") == anna.sign(b"text\n")
    assert read_label(path) == anna.verify_key
    lines = path.read_text().splitlines()
    assert lines[0] == f"continuity key {anna.verify_key}"
    kind = "PRIVATE" if passphrase is None else "ENCRYPTED PRIVATE"
    assert lines[1] == f"-----BEGIN {kind} KEY-----"
    for expected in (anna.verify_key, anna.name, anna.reference):
        assert load_private(path, passphrase, expected).verify_key == anna.verify_key


@pytest.mark.skipif(os.name != "posix", reason="modes are of POSIX systems")
def test_a_key_file_is_for_its_owner_alone(anna, tmp_path):
    path = tmp_path / "anna.key"
    before = os.umask(0)
    try:
        save_private(anna, path, None)
    finally:
        os.umask(before)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    for mode in (0o640, 0o604, 0o610, 0o602):
        path.chmod(mode)
        with pytest.raises(KeyFileError, match="chmod 600"):
            load_private(path, None)
    path.chmod(0o400)
    assert load_private(path, None).reference == anna.reference


def test_a_key_file_is_never_overwritten(anna, bruno, tmp_path):
    path = tmp_path / "a.key"
    save_private(anna, path, None)
    before = path.read_bytes()
    with pytest.raises(KeyFileError, match="never overwritten"):
        save_private(bruno, path, None)
    assert path.read_bytes() == before
    link = tmp_path / "link.key"
    link.symlink_to(tmp_path / "elsewhere")
    with pytest.raises(KeyFileError):
        save_private(bruno, link, None)
    assert not (tmp_path / "elsewhere").exists()


def test_a_key_file_where_none_can_be(anna, tmp_path):
    with pytest.raises(KeyFileError, match="cannot be written"):
        save_private(anna, tmp_path / "missing" / "a.key", None)
    with pytest.raises(KeyFileError, match="cannot be read"):
        load_private(tmp_path / "missing.key", None)
    with pytest.raises(KeyFileError, match="is not a file, so it is no key file"):
        load_private(tmp_path, None)


@pytest.mark.parametrize("passphrase", [b"", b"x" * 2000])
def test_a_passphrase_that_locks_nothing_is_refused(anna, tmp_path, passphrase):
    with pytest.raises(KeyFileError, match="passphrase"):
        save_private(anna, tmp_path / "a.key", passphrase)
    assert not (tmp_path / "a.key").exists()


def test_the_passphrase_must_be_the_right_one(anna, tmp_path):
    locked, open_ = tmp_path / "locked.key", tmp_path / "open.key"
    save_private(anna, locked, b"right")
    save_private(anna, open_, None)
    with pytest.raises(KeyFileError, match="passphrase is wrong") as caught:
        load_private(locked, b"wrong-secret")
    assert "wrong-secret" not in str(caught.value)
    with pytest.raises(KeyFileError, match="is locked; give its passphrase"):
        load_private(locked, None)
    with pytest.raises(KeyFileError, match="is not locked; give no passphrase"):
        load_private(open_, b"right")


def test_another_key_than_asked_for_is_refused(anna, bruno, tmp_path):
    path = tmp_path / "a.key"
    save_private(anna, path, None)
    for other in (bruno.verify_key, bruno.name, bruno.reference, ""):
        with pytest.raises(KeyFileError, match="not the key asked for"):
            load_private(path, None, other)


def rewrite(path, data: bytes) -> None:
    path.write_bytes(data)
    path.chmod(0o600)


def test_a_swapped_or_renamed_key_is_refused(anna, bruno, tmp_path):
    """The first line is bound to the key beneath it."""
    path, other = tmp_path / "a.key", tmp_path / "b.key"
    save_private(anna, path, None)
    save_private(bruno, other, None)
    swapped = path.read_bytes().split(b"\n")[0] + b"\n" + other.read_bytes().split(b"\n", 1)[1]
    rewrite(path, swapped)
    with pytest.raises(KeyFileError, match="another key than its first line"):
        load_private(path, None)
    renamed = VerifyKey(bruno.name, anna.verify_key.raw)
    rewrite(path, f"continuity key {renamed}\n".encode() + anna.private_pem(None))
    assert load_private(path, None).reference == renamed.reference != anna.reference
    with pytest.raises(KeyFileError, match="not the key asked for"):
        load_private(path, None, anna.verify_key)


def test_every_truncated_key_file_is_refused(anna, tmp_path):
    path = tmp_path / "a.key"
    save_private(anna, path, None)
    data = path.read_bytes()
    for length in range(len(data) - 1):  # without its last newline a file is still whole
        rewrite(path, data[:length])
        with pytest.raises(KeyFileError):
            load_private(path, None)


def test_other_files_are_not_key_files(anna, tmp_path):
    path = tmp_path / "a.key"
    label = f"continuity key {anna.verify_key}\n".encode()
    other_kind = generate_private_key(SECP256R1()).private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    for data, words in (
        (anna.private_pem(None), "first line"),
        (b"continuity key anna\n" + anna.private_pem(None), "sound key"),
        (b"continuity key \xff\n" + anna.private_pem(None), "sound key"),
        (label + b"\n" + anna.private_pem(None), "first line"),
        (label + other_kind, "another kind of key"),
        (label + anna.private_pem(None) + b"x" * 20_000, "too long"),
        (b"", "first line"),
    ):
        rewrite(path, data)
        with pytest.raises(KeyFileError, match=words):
            load_private(path, None)
