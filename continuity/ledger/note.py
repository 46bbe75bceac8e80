"""Signed notes: a text, a blank line, and signature lines.

After C2SP signed-note v1.0.0 (https://c2sp.org/signed-note). A parsed note encodes to the very
bytes it was read from; key ids are recomputed by whoever holds the key, never believed.
"""

from __future__ import annotations

import binascii
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Protocol

from continuity.errors import FormatError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

MAX_NOTE_BYTES = 1_000_000
"""Longest note read, in bytes: the limit of golang.org/x/mod/sumdb/note."""

MAX_SIGNATURES = 100
"""Most signature lines read: the limit of golang.org/x/mod/sumdb/note (the standard asks 16)."""

MAX_NAME_BYTES = 255
"""Longest key name, in bytes: what a one-byte length can carry (C2SP tlog-cosignature)."""

KEY_ID_BYTES = 4

_DASH = "— ".encode()
_CONTROLS = bytes(code for code in range(0x20) if code != ord("\n"))


class SignatureError(FormatError):
    """A signature is wrong, or the one that is needed is missing."""


@dataclass(frozen=True)
class SignatureLine:
    """One signature: the key's name, its 4-byte id, and the signature bytes."""

    name: str
    key_id: bytes
    blob: bytes

    @property
    def reference(self) -> str:
        """The key's name and id: `<name>+<8 hex digits>`."""
        return f"{self.name}+{self.key_id.hex()}"


class Signer(Protocol):
    """What signs a note."""

    @property
    def name(self) -> str:
        """The key's name."""

    @property
    def key_id(self) -> bytes:
        """The key's id: 4 bytes."""

    def sign(self, message: bytes, /) -> SignatureLine:
        """Sign a note's text."""


class Verifier(Protocol):
    """What checks the signatures of one key."""

    @property
    def name(self) -> str:
        """The key's name."""

    @property
    def key_id(self) -> bytes:
        """The key's id: 4 bytes."""

    def verify(self, message: bytes, blob: bytes, /) -> bool:
        """Tell whether `blob` is this key's signature over a note's text."""


@dataclass(frozen=True)
class Note:
    """A text (UTF-8, ends with a newline) and its signature lines, in the order they stand."""

    text: bytes
    signatures: tuple[SignatureLine, ...]

    @classmethod
    def parse(cls, data: bytes) -> Note:
        """Read a note without verifying anything.

        Raises:
            FormatError: The bytes are not a signed note, to the letter.
        """
        if len(data) > MAX_NOTE_BYTES:
            raise FormatError(f"The note is {len(data)} bytes long; at most 1,000,000 are read.")
        try:
            data.decode()
        except UnicodeDecodeError:
            raise FormatError("The note is not UTF-8.") from None
        if len(data.translate(None, _CONTROLS)) != len(data):
            raise FormatError("The note holds a control character other than a newline.")
        end = data.rfind(b"\n\n")
        if end < 0 or not data.endswith(b"\n"):
            raise FormatError("The note has no signature lines after a blank line.")
        lines = data[end + 2 : -1].split(b"\n")
        if len(lines) > MAX_SIGNATURES:
            raise FormatError(f"The note has {len(lines)} signature lines; at most 100 are read.")
        return cls(data[: end + 1], tuple(map(_parse_line, lines)))

    def encode(self) -> bytes:
        """Give the note's bytes."""
        lines = b"".join(
            b"%b%b %b\n" % (_DASH, line.name.encode(), to_base64(line.key_id + line.blob).encode())
            for line in self.signatures
        )
        return self.text + b"\n" + lines


def sign(text: bytes, signers: Iterable[Signer]) -> Note:
    """Sign a text with each signer in turn.

    Raises:
        FormatError: The text cannot stand in a note, or there is no signer.
    """
    note = Note(text, tuple(signer.sign(text) for signer in signers))
    if not text.endswith(b"\n") or Note.parse(note.encode()) != note:
        raise FormatError("The text cannot stand in a signed note: end it with a newline.")
    return note


def verify(note: Note, verifiers: Sequence[Verifier]) -> tuple[SignatureLine, ...]:
    """Give the lines that known keys signed; lines of unknown keys are passed over.

    A key is known by its name and id together.

    Raises:
        SignatureError: A known key's signature is wrong, or no known key signed.
    """
    known = {(verifier.name, verifier.key_id): verifier for verifier in verifiers}
    if len(known) != len(verifiers):
        raise SignatureError("Two of the keys to verify with have the same name and id.")
    good = []
    for line in note.signatures:
        verifier = known.get((line.name, line.key_id))
        if verifier is None:
            continue
        if not verifier.verify(note.text, line.blob):
            raise SignatureError(f"The signature of {line.reference} does not fit the note's text.")
        good.append(line)
    if not good:
        names = ", ".join(verifier.name for verifier in verifiers) or "no key at all"
        raise SignatureError(f"The note bears no signature of a trusted key ({names}).")
    return tuple(good)


def check_name(name: str) -> str:
    """Give back a key name that may stand in a signature line.

    Raises:
        FormatError: Empty, too long, or with a space, a plus sign or a control character.
    """
    try:
        length = len(name.encode())
    except UnicodeEncodeError:
        raise FormatError("The key name holds a lone surrogate.") from None
    if name.split() != [name] or "+" in name or min(name) < " " or length > MAX_NAME_BYTES:
        raise FormatError(
            f"The key name {name[:64]!r} is empty, longer than 255 bytes, or holds a space, a plus "
            "sign or a control character."
        )
    return name


def to_base64(data: bytes) -> str:
    """Write standard base64 with padding (RFC 4648 section 4)."""
    return binascii.b2a_base64(data, newline=False).decode()


def from_base64(text: str | bytes) -> bytes:
    """Read standard base64 with padding, in its one canonical spelling (RFC 4648 section 3.5).

    Raises:
        FormatError: Anything else, spare bits in the last character included.
    """
    spelling = text.encode(errors="replace") if isinstance(text, str) else text
    try:
        data = binascii.a2b_base64(spelling)
    except ValueError:
        data = b""
    if binascii.b2a_base64(data, newline=False) != spelling:
        raise FormatError(f"{spelling[:64]!r} is not base64 in its canonical form.")
    return data


def _parse_line(line: bytes) -> SignatureLine:
    if not line.startswith(_DASH):
        raise FormatError("A signature line does not begin with an em dash and a space.")
    name, _, spelling = line[len(_DASH) :].partition(b" ")
    data = from_base64(spelling)
    if len(data) <= KEY_ID_BYTES:
        raise FormatError("A signature line holds no signature after its key id.")
    return SignatureLine(_known_name(name), data[:KEY_ID_BYTES], data[KEY_ID_BYTES:])


@lru_cache(maxsize=4096)
def _known_name(name: bytes) -> str:
    return check_name(name.decode())
