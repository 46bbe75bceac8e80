"""Salted digests that stand for personal details, after the disclosures of RFC 9901.

The entry holds the digest; the disclosure lies where it can be deleted. A digest covers the very
text of its disclosure (RFC 9901 section 4.2.3), so no spelling of it can be swapped for another.
"""

from __future__ import annotations

import binascii
import hashlib
import secrets
from typing import Any

from continuity.errors import FormatError
from continuity.ledger import canonical

SALT_BYTES = 16
"""Fewest bytes of salt: 128 bits (RFC 9901 section 9.3)."""

MAX_DISCLOSURE_BYTES = 16_384
"""Longest disclosure, in characters."""

_SALT_CHARACTERS = 22  # 16 bytes in base64url
_PARTS = 3
_RESERVED = ("_sd", "...")


def disclose(name: str, value: Any, salt: bytes | None = None) -> tuple[str, str]:
    """Make the disclosure of one detail, and its digest.

    Args:
        name: The detail's name.
        value: Its value: whatever canonical JSON can hold.
        salt: At least 16 random bytes, never used twice; None draws them from the system.

    Returns:
        The disclosure's text, and the digest that stands in the entry.

    Raises:
        FormatError: The salt is too short, the name is reserved, or the value cannot be held.
    """
    salt = secrets.token_bytes(SALT_BYTES) if salt is None else salt
    if len(salt) < SALT_BYTES:
        raise FormatError(f"The salt is {len(salt)} bytes long; at least {SALT_BYTES} are needed.")
    text = _to_base64url(canonical.encode([_to_base64url(salt), name, value]))
    read(text)
    return text, digest_of(text)


def digest_of(disclosure: str) -> str:
    """Give the digest of a disclosure's text: base64url SHA-256 (RFC 9901 section 4.2.3).

    Raises:
        FormatError: The text is not ASCII.
    """
    try:
        return _to_base64url(hashlib.sha256(disclosure.encode("ascii")).digest())
    except UnicodeEncodeError:
        raise FormatError("The disclosure is not base64url.") from None


def read(disclosure: str) -> tuple[str, str, Any]:
    """Read a disclosure's salt, name and value (RFC 9901 section 4.2.1).

    Raises:
        FormatError: Not base64url without padding in its canonical form, not an array of three, a
            reserved name, a salt shorter than 128 bits, or JSON that two readers may see twice.
    """
    if len(disclosure) > MAX_DISCLOSURE_BYTES:
        raise FormatError(f"The disclosure is longer than {MAX_DISCLOSURE_BYTES} characters.")
    parts = canonical.parse(_from_base64url(disclosure))
    if type(parts) is not list or len(parts) != _PARTS:
        raise FormatError("The disclosure is not an array of salt, name and value.")
    salt, name, value = parts
    if type(salt) is not str or len(salt) < _SALT_CHARACTERS:
        raise FormatError("The disclosure's salt is shorter than 128 bits.")
    if type(name) is not str or name in _RESERVED:
        raise FormatError("The disclosure's name is not text, or is reserved.")
    return salt, name, value


def _to_base64url(data: bytes) -> str:
    spelling = binascii.b2a_base64(data, newline=False).decode()
    return spelling.rstrip("=").replace("+", "-").replace("/", "_")


def _from_base64url(text: str) -> bytes:
    spelling = text.replace("-", "+").replace("_", "/") + "=" * (-len(text) % 4)
    try:
        data = binascii.a2b_base64(spelling)
    except ValueError:
        data = b""
    if not data or _to_base64url(data) != text:
        raise FormatError("The disclosure is not base64url in its canonical form.")
    return data
