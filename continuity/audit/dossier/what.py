"""What a dossier holds: its machine part, `continuity-dossier/1`.

Nothing in it is believed. Whatever can be computed from the entries (leaf hashes, the case's
number, what the case index must say) is left out, so that no two parts can tell two stories.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from continuity.errors import FormatError
from continuity.ledger import canonical
from continuity.ledger.chain import MAX_ENTRY_BYTES, Entry, read_entry
from continuity.ledger.merkle import HASH_BYTES, MAX_PROOF
from continuity.ledger.note import from_base64, to_base64

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

FORMAT = "continuity-dossier/1"
FAMILY = "continuity-dossier/"

MAX_BYTES = 64 * 1024 * 1024
"""Longest dossier read, in bytes."""
MAX_ENTRIES = 100_000
"""Most entries read, of the case and of the register's own chain each."""
MAX_SMALL = 100_000
"""Most of anything else that is listed: disclosures, withheld fields, earlier checkpoints."""
MAX_TEXT = 2_000_000
"""Longest text of a checkpoint or a time-stamp token, in characters."""

Proof = tuple[bytes, ...]

_Item = TypeVar("_Item")


@dataclass(frozen=True)  # no slots, for what is read once
class Placed:
    """One entry, verbatim, and where it stands in the whole register.

    Attributes:
        position: Its position in the register, from 0.
        note: The signed note's exact bytes.
        proof: Inclusion proof up to the checkpoint; None where none is given.
    """

    position: int
    note: bytes
    proof: Proof | None = None

    @cached_property
    def entry(self) -> Entry:
        """What the note says; FormatError where it cannot be read."""
        return read_entry(self.note)[0]


@dataclass(frozen=True, slots=True)
class Indexed:
    """The case index's word on one chain; record and root are computed, never given.

    Attributes:
        length: How many of the chain's entries the index counts.
        position: Position of the record in its bucket.
        bucket_size: How many records the bucket holds.
        path: From the record to the bucket's root.
        index_path: From the bucket's root to the index's.
    """

    length: int
    position: int
    bucket_size: int
    path: Proof
    index_path: Proof


@dataclass(frozen=True, slots=True)
class Index:
    """Where the case index's root is recorded, and its word on the case and on the register.

    Attributes:
        entry: The entry that records the root; of its chain nothing else is needed.
        case: Its word on the case.
        register: Its word on the register's own chain, by which no change of keys is hidden.
    """

    entry: Placed
    case: Indexed | None
    register: Indexed


@dataclass(frozen=True, slots=True)
class Earlier:
    """Proof that a tree of this size, signed earlier, is the beginning of the checkpoint's."""

    size: int
    proof: Proof


@dataclass(frozen=True, slots=True)
class Attestation:
    """What somebody else said of the checkpoint: a time-stamp token, say."""

    kind: str
    blob: bytes


@dataclass(frozen=True, slots=True)
class Disclosed:
    """A personal detail shown: the entry it stands in, and the disclosure's text (RFC 9901)."""

    entry: int
    disclosure: str


@dataclass(frozen=True, slots=True)
class Withheld:
    """A personal detail the maker has, and chose not to show."""

    entry: int
    field: str


@dataclass(frozen=True, slots=True)
class Dossier:
    """The machine part.

    Attributes:
        made_at: When it was made, `YYYY-MM-DDTHH:MM:SS.mmmZ`; the hour of the closing check.
        made_with: Name and version of the program that made it.
        register: The register's id.
        case: The case's id in the record.
        checkpoint: The signed checkpoint's note, cosignatures included; None if none was signed.
        attestations: What others said of the checkpoint beside its note.
        index: What proves the case and the keys complete; None without a published index.
        entries: The case's chain, whole.
        register_entries: The register's own chain, whole: keys, places, holders, policy.
        earlier: Of trees that authors had seen, and of the latest that were signed: that the
            checkpoint's begins with them.
        disclosures: The personal details shown.
        withheld: The personal details kept back.
    """

    made_at: str
    made_with: str
    register: str
    case: str
    checkpoint: bytes | None
    attestations: tuple[Attestation, ...]
    index: Index | None
    entries: tuple[Placed, ...]
    register_entries: tuple[Placed, ...]
    earlier: tuple[Earlier, ...]
    disclosures: tuple[Disclosed, ...]
    withheld: tuple[Withheld, ...]

    def encode(self) -> bytes:
        """Give the machine part's bytes: canonical JSON (RFC 8785)."""
        value = {
            "format": FORMAT,
            "made_at": self.made_at,
            "made_with": self.made_with,
            "register": self.register,
            "case": self.case,
            "checkpoint": None if self.checkpoint is None else self.checkpoint.decode(),
            "attestations": [
                {"kind": a.kind, "blob": to_base64(a.blob)} for a in self.attestations
            ],
            "index": None if self.index is None else _index_value(self.index),
            "entries": [_placed_value(e) for e in self.entries],
            "register_entries": [_placed_value(e) for e in self.register_entries],
            "earlier": [{"size": e.size, "proof": _proof_value(e.proof)} for e in self.earlier],
            "disclosures": [
                {"entry": d.entry, "disclosure": d.disclosure} for d in self.disclosures
            ],
            "withheld": [{"entry": w.entry, "field": w.field} for w in self.withheld],
        }
        return canonical.encode(value, max_bytes=MAX_BYTES)

    @classmethod
    def decode(cls, data: bytes) -> Dossier:
        """Read a machine part's bytes, verifying nothing but its shape.

        Raises:
            FormatError: Not a machine part of this version, to the letter.
        """
        return cls.of(canonical.decode(data, max_bytes=MAX_BYTES))

    @classmethod
    def of(cls, value: dict[str, Any]) -> Dossier:
        """Read a machine part that has been parsed.

        Raises:
            FormatError: Not a machine part of this version.
        """
        form = value.get("format")
        if form != FORMAT:
            if isinstance(form, str) and form.startswith(FAMILY):
                raise FormatError("The dossier is of a version this program does not know.")
            raise FormatError("This is no dossier: it does not say so in its format.")
        fields = _object(value, cls._FIELDS, "the dossier")
        checkpoint = fields["checkpoint"]
        index = fields["index"]
        return cls(
            made_at=_text(fields["made_at"], "made_at"),
            made_with=_text(fields["made_with"], "made_with"),
            register=_text(fields["register"], "register"),
            case=_text(fields["case"], "case"),
            checkpoint=None if checkpoint is None else _text(checkpoint, "checkpoint").encode(),
            attestations=_list(fields["attestations"], "attestations", _attestation),
            index=None if index is None else _index(index),
            entries=_list(fields["entries"], "entries", _placed, MAX_ENTRIES),
            register_entries=_list(
                fields["register_entries"], "register_entries", _placed, MAX_ENTRIES
            ),
            earlier=_list(fields["earlier"], "earlier", _earlier),
            disclosures=_list(fields["disclosures"], "disclosures", _disclosed),
            withheld=_list(fields["withheld"], "withheld", _withheld),
        )

    _FIELDS: ClassVar[tuple[str, ...]] = (
        "attestations",
        "case",
        "checkpoint",
        "disclosures",
        "earlier",
        "entries",
        "format",
        "index",
        "made_at",
        "made_with",
        "register",
        "register_entries",
        "withheld",
    )


def _placed_value(entry: Placed) -> dict[str, Any]:
    return {
        "position": entry.position,
        "note": entry.note.decode(),
        "proof": None if entry.proof is None else _proof_value(entry.proof),
    }


def _index_value(index: Index) -> dict[str, Any]:
    return {
        "entry": _placed_value(index.entry),
        "case": None if index.case is None else _indexed_value(index.case),
        "register": _indexed_value(index.register),
    }


def _indexed_value(indexed: Indexed) -> dict[str, Any]:
    return {
        "length": indexed.length,
        "position": indexed.position,
        "bucket_size": indexed.bucket_size,
        "path": _proof_value(indexed.path),
        "index_path": _proof_value(indexed.index_path),
    }


def _proof_value(proof: Proof) -> list[str]:
    return [to_base64(found) for found in proof]


def _placed(value: Any) -> Placed:
    fields = _object(value, ("note", "position", "proof"), "an entry")
    note = _text(fields["note"], "note").encode()
    if len(note) > MAX_ENTRY_BYTES:
        raise FormatError("An entry in the dossier is longer than 65,535 bytes.")
    proof = fields["proof"]
    return Placed(
        _count(fields["position"], "position"), note, None if proof is None else _proof(proof)
    )


def _index(value: Any) -> Index:
    fields = _object(value, ("case", "entry", "register"), "index")
    case = fields["case"]
    return Index(
        _placed(fields["entry"]),
        None if case is None else _indexed(case),
        _indexed(fields["register"]),
    )


def _indexed(value: Any) -> Indexed:
    fields = _object(
        value, ("bucket_size", "index_path", "length", "path", "position"), "the index's word"
    )
    return Indexed(
        _count(fields["length"], "length"),
        _count(fields["position"], "position"),
        _count(fields["bucket_size"], "bucket_size"),
        _proof(fields["path"]),
        _proof(fields["index_path"]),
    )


def _earlier(value: Any) -> Earlier:
    fields = _object(value, ("proof", "size"), "an earlier tree")
    return Earlier(_count(fields["size"], "size"), _proof(fields["proof"]))


def _attestation(value: Any) -> Attestation:
    fields = _object(value, ("blob", "kind"), "an attestation")
    return Attestation(_text(fields["kind"], "kind"), from_base64(_text(fields["blob"], "blob")))


def _disclosed(value: Any) -> Disclosed:
    fields = _object(value, ("disclosure", "entry"), "a disclosure")
    return Disclosed(_count(fields["entry"], "entry"), _text(fields["disclosure"], "disclosure"))


def _withheld(value: Any) -> Withheld:
    fields = _object(value, ("entry", "field"), "a withheld field")
    return Withheld(_count(fields["entry"], "entry"), _text(fields["field"], "field"))


def _object(value: Any, names: Sequence[str], what: str) -> dict[str, Any]:
    if type(value) is not dict or sorted(value) != list(names):
        raise FormatError(f"The dossier is misshapen: {what} lacks fields or has others.")
    return value


def _list(
    value: Any, what: str, read: Callable[[Any], _Item], most: int = MAX_SMALL
) -> tuple[_Item, ...]:
    if type(value) is not list:
        raise FormatError(f"The dossier is misshapen: {what} is no list.")
    if len(value) > most:
        raise FormatError(f"The dossier lists {len(value)} {what}; at most {most} are read.")
    return tuple(map(read, value))


def _proof(value: Any) -> Proof:
    if type(value) is not list or len(value) > MAX_PROOF:
        raise FormatError(f"The dossier is misshapen: a proof is no list of up to {MAX_PROOF}.")
    hashes = tuple(from_base64(_text(found, "proof")) for found in value)
    if any(len(found) != HASH_BYTES for found in hashes):
        raise FormatError("The dossier is misshapen: a hash in a proof is not 32 bytes long.")
    return hashes


def _count(value: Any, what: str) -> int:
    if type(value) is not int or value < 0:
        raise FormatError(f"The dossier is misshapen: {what} is no count.")
    return value


def _text(value: Any, what: str) -> str:
    if type(value) is not str or len(value) > MAX_TEXT:
        raise FormatError(f"The dossier is misshapen: {what} is no text, or too long a one.")
    return value
