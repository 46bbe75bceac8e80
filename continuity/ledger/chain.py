"""Entries, and the chain of each case: what an entry binds, and how the next one follows it.

An entry is a signed note. Its text is two lines: the type line, and the body as one line of
canonical JSON. Its leaf covers the whole note, signatures included (RFC 9162 section 11.3 tells
why: a signature that can be swapped unseen proves nothing).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from continuity.errors import FormatError
from continuity.ledger import canonical
from continuity.ledger.merkle import HASH_BYTES
from continuity.ledger.note import Note, SignatureError, from_base64, to_base64

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from continuity.ledger.keys import SigningKey, VerifyKey

TYPE_LINE = b"continuity-entry/1"
MAX_ENTRY_BYTES = canonical.MAX_BYTES

_FAMILY = b"continuity-entry/"
_HEAD = TYPE_LINE + b"\n"
# In the order in which canonical JSON sorts them; `mirrors` and `seen` may stand beside them.
_FIELDS = (
    "case",
    "details",
    "kind",
    "number",
    "occurred_at",
    "previous",
    "recorded_at",
    "recorded_by",
    "register",
    "signers",
    "utc_offset",
)
_ID = r"[^\s\x00-\x1f\x7f]{1,255}"
_TIME = r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z"
_FORMS = {
    "case": _ID,
    "kind": r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*",
    "occurred_at": _TIME,
    "recorded_at": _TIME,
    "recorded_by": _ID,
    "register": _ID,
    "utc_offset": r"[+-](?:[01][0-9]|2[0-3]):[0-5][0-9]",
}
# One match for all of them, a newline between: none of the forms lets a newline in.
_fit = re.compile("\n".join(_FORMS.values())).fullmatch


class ChainError(FormatError):
    """An entry does not follow the one before it in its case."""


@dataclass(frozen=True)
class Seen:
    """The last checkpoint an entry's author had seen: the tree's size and root (32 bytes)."""

    size: int
    root: bytes


@dataclass(frozen=True)
class Entry:
    """What an entry says.

    Attributes:
        register: The register's id.
        case: The case's id; the register's own chain is a case too.
        number: The entry's number in its case, from 0.
        previous: Leaf hash of the case's previous entry, 32 bytes; `genesis` for the first.
        kind: What happened, as lower-case words joined by hyphens.
        occurred_at: When it happened, `YYYY-MM-DDTHH:MM:SS.mmmZ` (RFC 3339, UTC).
        recorded_at: When it was recorded, in the same form.
        utc_offset: What the local clock added to UTC, `+HH:MM` or `-HH:MM`.
        recorded_by: Who recorded it: a person's or a station's id.
        signers: References of the keys that must sign, in the order of the signature lines.
        seen: The last checkpoint the author had seen, if any.
        details: The particulars, by kind.
        mirrors: Leaf hash of the entry in another case's chain that this one repeats, if any.
    """

    register: str
    case: str
    number: int
    previous: bytes
    kind: str
    occurred_at: str
    recorded_at: str
    utc_offset: str
    recorded_by: str
    signers: tuple[str, ...]
    seen: Seen | None
    details: dict[str, Any]
    mirrors: bytes | None = None

    def text(self) -> bytes:
        """Give the text that is signed: the type line and the body, each ending in a newline.

        Raises:
            FormatError: The details cannot stand in canonical JSON.
        """
        body: dict[str, Any] = {
            "case": self.case,
            "details": self.details,
            "kind": self.kind,
            "number": self.number,
            "occurred_at": self.occurred_at,
            "previous": self.previous.hex(),
            "recorded_at": self.recorded_at,
            "recorded_by": self.recorded_by,
            "register": self.register,
            "signers": list(self.signers),
            "utc_offset": self.utc_offset,
        }
        if self.seen is not None:
            body["seen"] = {"root": to_base64(self.seen.root), "size": self.seen.size}
        if self.mirrors is not None:
            body["mirrors"] = self.mirrors.hex()
        return _HEAD + canonical.encode(body) + b"\n"


def genesis(register: str, case: str) -> bytes:
    """Give what the first entry of a case has as its previous leaf hash: 32 bytes."""
    return sha256(f"continuity-genesis/1\n{register}\n{case}\n".encode()).digest()


def sign_entry(entry: Entry, keys: Sequence[SigningKey]) -> bytes:
    """Sign an entry with the keys it declares, in the order it declares them.

    Returns:
        The note's bytes: what is stored, hashed into the tree, and read by `read_entry`.

    Raises:
        FormatError: The keys are not the declared ones, a field is not as it must be, or the note
            is longer than 65,535 bytes.
    """
    by_reference = {key.reference: key for key in keys}
    if len(keys) != len(entry.signers) or by_reference.keys() != set(entry.signers):
        raise FormatError(
            f"The keys at hand ({', '.join(by_reference)}) are not those that must sign "
            f"({', '.join(entry.signers)})."
        )
    text = entry.text()
    lines = tuple(by_reference[reference].sign(text) for reference in entry.signers)
    data = Note(text, lines).encode()
    read_entry(data)  # what we could not read back must not be written
    return data


def read_entry(data: bytes) -> tuple[Entry, Note]:
    """Read an entry's note strictly, without verifying its signatures.

    Raises:
        FormatError: Not an entry of this version to the letter: another type line, a body that is
            not canonical or has other fields, or signature lines that are not the declared ones.
    """
    if len(data) > MAX_ENTRY_BYTES:
        raise FormatError(f"The entry is {len(data)} bytes long; at most 65,535 are allowed.")
    note = Note.parse(data)
    text = note.text
    if not text.startswith(_HEAD):
        if text.startswith(_FAMILY):
            raise FormatError("The entry is of a version this program does not know; update it.")
        raise FormatError("The note is not an entry: its first line is not the type line.")
    entry = _entry_of(canonical.decode(text[len(_HEAD) : -1]))
    if [line.reference for line in note.signatures] != list(entry.signers):
        raise FormatError(f"{_place(entry)} is not signed by exactly the keys it declares.")
    return entry, note


def check_signatures(entry: Entry, note: Note, key_of: Callable[[str], VerifyKey | None]) -> None:
    """Verify the signature of every key an entry declares.

    Args:
        entry: What `read_entry` gave.
        note: What `read_entry` gave with it.
        key_of: Gives the key of a reference, or None where it is not valid for this entry.

    Raises:
        SignatureError: A key is not valid here, or its signature does not fit.
    """
    if len(note.signatures) != len(entry.signers):
        raise SignatureError(f"{_place(entry)} is not signed by exactly the keys it declares.")
    for reference, line in zip(entry.signers, note.signatures, strict=True):
        key = key_of(reference)
        if key is None:
            raise SignatureError(f"{_place(entry)} is signed by {reference}, not valid there.")
        if key.key_id != line.key_id or key.name != line.name:
            raise SignatureError(f"{_place(entry)} is not signed by {reference} where it says so.")
        if not key.verify(note.text, line.blob):
            raise SignatureError(f"The signature of {reference} on {_place(entry)} does not fit.")


class ChainChecker:
    """Follows one case: each entry has the next number and names the leaf before it."""

    __slots__ = ("case", "head", "length", "register")

    def __init__(self, register: str, case: str) -> None:
        self.register = register
        self.case = case
        self.length = 0
        self.head = genesis(register, case)

    def accept(self, entry: Entry, leaf: bytes) -> None:
        """Take the next entry and its leaf hash.

        Raises:
            ChainError: It belongs elsewhere, skips or repeats a number, or follows another entry.
        """
        if entry.register != self.register or entry.case != self.case:
            raise ChainError(
                f"{_place(entry)} of register {entry.register} stands in the chain of case "
                f"{self.case} of register {self.register}."
            )
        if entry.number != self.length:
            raise ChainError(f"{_place(entry)} stands where entry {self.length} should.")
        if entry.previous != self.head:
            raise ChainError(f"{_place(entry)} does not follow the entry before it.")
        self.length += 1
        self.head = leaf


def _entry_of(body: dict[str, Any]) -> Entry:
    seen = _seen(body.pop("seen")) if "seen" in body else None
    mirrors = _hash(body.pop("mirrors"), "mirrors") if "mirrors" in body else None
    if tuple(body) != _FIELDS:
        names = ", ".join(sorted(body.keys() ^ set(_FIELDS)))
        raise FormatError(f"The entry's body lacks fields or has others than declared: {names}.")
    (
        case,
        details,
        kind,
        number,
        occurred_at,
        previous,
        recorded_at,
        recorded_by,
        register,
        signers,
        utc_offset,
    ) = body.values()
    _check_texts((case, kind, occurred_at, recorded_at, recorded_by, register, utc_offset))
    if type(number) is not int or number < 0:
        raise _misshapen("number", number)
    if type(details) is not dict:
        raise _misshapen("details", details)
    return Entry(
        register,
        case,
        number,
        _hash(previous, "previous"),
        kind,
        occurred_at,
        recorded_at,
        utc_offset,
        recorded_by,
        _signers(signers),
        seen,
        details,
        mirrors,
    )


def _check_texts(texts: tuple[Any, ...]) -> None:
    try:
        if _fit("\n".join(texts)):
            _, _, occurred_at, recorded_at, *_ = texts
            datetime.fromisoformat(occurred_at)  # the 30th of February has the form as well
            datetime.fromisoformat(recorded_at)
            return
    except (TypeError, ValueError):
        pass
    for (field, form), value in zip(_FORMS.items(), texts, strict=True):
        if type(value) is not str or not re.fullmatch(form, value):
            raise _misshapen(field, value)
    raise FormatError("The entry's occurred_at or recorded_at is a time that never was.")


def _misshapen(field: str, value: Any) -> FormatError:
    return FormatError(f"The entry's {field} is not of the form it must have: {value!r:.80}.")


def _hash(value: Any, field: str) -> bytes:
    try:
        found = bytes.fromhex(value)
    except (TypeError, ValueError):
        found = b""
    if len(found) == HASH_BYTES and found.hex() == value:
        return found
    raise _misshapen(field, value)


def _signers(value: Any) -> tuple[str, ...]:
    # That each is a key's reference shows when they are compared with the signature lines.
    if type(value) is list and value and all(type(one) is str for one in value):
        signers = tuple(value)
        if len(set(signers)) == len(signers):
            return signers
    raise _misshapen("signers", value)


def _seen(value: Any) -> Seen:
    if type(value) is dict and tuple(value) == ("root", "size"):
        root, size = value.values()
        if type(root) is str and type(size) is int and size >= 0:
            found = from_base64(root)
            if len(found) == HASH_BYTES:
                return Seen(size, found)
    raise _misshapen("seen", value)


def _place(entry: Entry) -> str:
    return f"Entry {entry.number} of case {entry.case}"
