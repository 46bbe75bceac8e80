"""The lock on a private key's file: PKCS#8 under a passphrase that is slow to guess.

The file is what RFC 5958 section 3 calls EncryptedPrivateKeyInfo, by scheme PBES2 (RFC 8018 section
6.2): scrypt (RFC 7914) makes the key, AES-256-CBC encrypts. Any program that knows the standards
opens it, as the library underneath does; only that library cannot be told to write it so, and its
own way is PBKDF2 with 2,048 rounds.
"""

from __future__ import annotations

import os

from cryptography.hazmat.primitives.ciphers import Cipher, algorithms, modes
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt
from cryptography.hazmat.primitives.padding import PKCS7

from continuity.ledger.note import to_base64

COST, BLOCK, LANES = 2**14, 8, 5
"""scrypt's N, r and p: 16 MiB for each guess, five times over. OWASP's Password Storage Cheat Sheet
lists this among its equal least settings, and of those it is the one OpenSSL reads unaided, which
stops at 32 MiB."""

SALT_BYTES = 16
KEY_BYTES = 32
IV_BYTES = 16
LONGEST_PASSPHRASE = 1023  # bytes, what OpenSSL takes

_PBES2 = bytes.fromhex("2a864886f70d01050d")  # 1.2.840.113549.1.5.13, RFC 8018 appendix A.4
_SCRYPT = bytes.fromhex("2b06010401da47040b")  # 1.3.6.1.4.1.11591.4.11, RFC 7914 section 7
_AES_256_CBC = bytes.fromhex("60864801650304012a")  # 2.16.840.1.101.3.4.1.42, NIST

_INTEGER, _OCTETS, _OID, _SEQUENCE = 0x02, 0x04, 0x06, 0x30
_LINE = 64  # characters of base64, RFC 7468 section 2


def locked(private: bytes, passphrase: bytes) -> bytes:
    """Lock a private key.

    Args:
        private: PrivateKeyInfo (RFC 5958 section 2), DER.
        passphrase: 1 to 1,023 bytes.

    Returns:
        EncryptedPrivateKeyInfo as PEM (RFC 7468 section 11).

    Raises:
        ValueError: the passphrase is empty or too long.
    """
    if not 0 < len(passphrase) <= LONGEST_PASSPHRASE:
        raise ValueError(f"a passphrase has 1 to {LONGEST_PASSPHRASE} bytes")
    salt, iv = os.urandom(SALT_BYTES), os.urandom(IV_BYTES)
    key = Scrypt(salt=salt, length=KEY_BYTES, n=COST, r=BLOCK, p=LANES).derive(passphrase)
    padder = PKCS7(algorithms.AES.block_size).padder()
    encryptor = Cipher(algorithms.AES(key), modes.CBC(iv)).encryptor()
    data = encryptor.update(padder.update(private) + padder.finalize()) + encryptor.finalize()
    costs = (_der(_INTEGER, _number(n)) for n in (COST, BLOCK, LANES))
    kdf = _sequence(_der(_OID, _SCRYPT), _sequence(_der(_OCTETS, salt), *costs))
    cipher = _sequence(_der(_OID, _AES_256_CBC), _der(_OCTETS, iv))
    scheme = _sequence(_der(_OID, _PBES2), _sequence(kdf, cipher))
    return _pem(_sequence(scheme, _der(_OCTETS, data)))


def _pem(der: bytes) -> bytes:
    text = to_base64(der)
    lines = [text[at : at + _LINE] for at in range(0, len(text), _LINE)]
    kind = "ENCRYPTED PRIVATE KEY"
    return "\n".join((f"-----BEGIN {kind}-----", *lines, f"-----END {kind}-----", "")).encode()


def _der(tag: int, content: bytes) -> bytes:
    """One value in the Distinguished Encoding Rules (ITU-T X.690 section 8.1)."""
    size = len(content)
    if size < 0x80:  # noqa: PLR2004 - the short form of a length
        return bytes([tag, size]) + content
    return bytes([tag, 0x81, size]) + content  # up to 255 bytes: all that an Ed25519 key takes


def _sequence(*values: bytes) -> bytes:
    return _der(_SEQUENCE, b"".join(values))


def _number(value: int) -> bytes:
    return value.to_bytes(value.bit_length() // 8 + 1)
