"""What can be said of one entry by itself: its bytes, its row, its keys and its signatures.

Half of an audit's time goes into the signatures' arithmetic, which needs no other entry and tells
no more than yes or no: other processes do it ahead where there are any. All else is done here, in
order, and `walk` follows the results; nothing that was read is carried from process to process.
"""

from __future__ import annotations

from contextlib import suppress
from itertools import repeat
from typing import TYPE_CHECKING, Any, NamedTuple

from continuity.care.acts.house import DIRECTORS_TO_RESTORE
from continuity.care.entries import read_act
from continuity.care.things import case_of
from continuity.errors import DamagedRegisterError, FormatError, InputError, RegisterError
from continuity.ledger import merkle
from continuity.ledger.chain import TYPE_LINE, Entry, read_entry
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from continuity.audit.authority import Authority
    from continuity.audit.parallel import Desk, Workers
    from continuity.care.acts.base import Act
    from continuity.store.protocol import Reads, Stored

TWO_DIRECTORS = frozenset({"register-restored"})
"""The kinds that two directors must sign, whatever the firm's policy says."""


Fits = dict[bytes, tuple[bool, ...]]
"""Of entries by their leaf hashes: whether each signature fits the key that it names."""
NOT_TOLD: Fits = {}


class Checked(NamedTuple):
    """One entry as it was found.

    Attributes:
        position: Where it stands in the register.
        leaf: The hash of its bytes, 32 bytes.
        case: Its case, as number and kind: what its bytes state, or its row where they cannot be
            read.
        body: What its bytes say, None where they cannot be read.
        faults: What is wrong with it, codes with sentences.
        act: What care reads of it, None where it cannot.
        meaning: What of that stands elsewhere too.
    """

    position: int
    leaf: bytes
    case: str
    number: int
    kind: str
    body: Entry | None
    faults: tuple[tuple[str, str], ...]
    act: Act | None = None
    meaning: Meaning | None = None

    @property
    def mirrors(self) -> bytes | None:
        """The leaf hash of the entry that it repeats, if any."""
        return self.body.mirrors if self.body else None

    @property
    def details(self) -> dict[str, Any]:
        """Its particulars as they stand written."""
        return self.body.details if self.body else {}


class Meaning(NamedTuple):
    """What an entry's particulars say that stands elsewhere too.

    The case number it opens, the label code and thing it joins, the other cases it touches.
    """

    name: str | None
    label: tuple[str, str] | None
    touches: tuple[str, ...]


class EntryChecker:
    """Checks entries one by one against the keys of one register."""

    def __init__(self, reads: Reads, authority: Authority) -> None:
        self._reads = reads
        self._register = reads.register
        self._authority = authority
        self._original: tuple[bytes, Entry] | None = None

    def check(self, rows: Iterable[Stored], fits: Fits = NOT_TOLD) -> Iterator[Checked]:
        """Check each row as it comes; `fits` tells which signatures were found to fit already."""
        for row in rows:
            yield self._check_one(row, fits)

    def _check_one(self, row: Stored, fits: Fits) -> Checked:
        faults: list[tuple[str, str]] = []
        if type(row.note) is not bytes:
            return _unreadable(row, b"", "entry-malformed", "It holds no bytes at all.")
        leaf = merkle.leaf_hash(row.note)
        if row.leaf != leaf:
            faults.append(("leaf-differs", "The leaf hash kept is not that of the entry's bytes."))
        try:
            entry, note = read_entry(row.note)
        except FormatError as error:
            code = "version-unknown" if _is_other_version(row.note) else "entry-malformed"
            return _unreadable(row, leaf, code, str(error), faults)
        if (entry.case, entry.number, entry.kind) != (row.case_id, row.number, row.kind):
            filed = f"Filed as {row.kind} {row.number} of case {row.case_id}; it states"
            stated = f"{entry.kind} {entry.number} of case {entry.case}."
            faults.append(("row-differs", f"{filed} {stated}"))
        if entry.register != self._register:
            faults.append(("wrong-register", f"It is of register {entry.register}."))
        self._check_keys(row.position, entry, note, fits.get(leaf), faults)
        if entry.mirrors is None:
            self._original = (leaf, entry)
        else:
            self._check_mirror(entry, faults)
        act = _read_act(entry, faults)
        meaning = None if act is None else _meaning(act)
        told = (entry.case, entry.number, entry.kind)
        return Checked(row.position, leaf, *told, entry, tuple(faults), act, meaning)

    def _check_keys(
        self,
        position: int,
        entry: Entry,
        note: Note,
        told: tuple[bool, ...] | None,
        faults: list[tuple[str, str]],
    ) -> None:
        persons = set()
        directors = set()
        fits = _fitting(note, self._authority) if told is None else told
        for reference, fit in zip(entry.signers, fits, strict=True):
            enrolment = self._authority.find(reference)
            if enrolment is None or not enrolment.valid_at(position):
                faults.append(("key-not-valid", f"{reference} signed, and is not valid here."))
                continue
            persons.add(enrolment.person)
            if enrolment.role == "director":
                directors.add(enrolment.person)
            if not fit:
                faults.append(("signature-wrong", f"The signature of {reference} does not fit."))
            elif enrolment.suspect_since is not None and enrolment.suspect_since <= position:
                faults.append(
                    ("key-suspect", f"{reference} was declared compromised from here on.")
                )
        if entry.recorded_by not in persons and not faults:
            sentence = f"{entry.recorded_by} recorded it, and signed with no key."
            faults.append(("recorder-differs", sentence))
        if entry.kind in TWO_DIRECTORS and len(directors) < DIRECTORS_TO_RESTORE:
            faults.append(("second-person-missing", f"{entry.kind} needs two directors."))

    def _check_mirror(self, entry: Entry, faults: list[tuple[str, str]]) -> None:
        if self._original is None or self._original[0] != entry.mirrors:
            self._original = self._read_original(entry.mirrors or b"")
        if self._original is None or _repeated(self._original[1]) != _repeated(entry):
            faults.append(("mirror-unpaired", "It does not repeat the entry it says it repeats."))

    def _read_original(self, leaf: bytes) -> tuple[bytes, Entry] | None:
        row = self._reads.entry_of_leaf(leaf)
        if row is None or merkle.leaf_hash(row.note) != leaf:
            return None
        try:
            return leaf, read_entry(row.note)[0]
        except FormatError:
            return None


RANGE = 512
"""Entries checked at a stretch: some 60 ms, so that an interrupt is not kept waiting."""


def all_checked(workers: Workers, start: int, stop: int) -> Iterator[Checked]:
    """Check the entries from `start` up to `stop`, in order; ends early where none are left.

    Raises:
        DamagedRegisterError: The tables cannot be read as a register's.
        RegisterError: They cannot be read.
    """
    desk = workers.desk
    checker = EntryChecker(desk.reads, desk.authority)
    ahead: Iterable[Fits] = repeat(NOT_TOLD)
    if not workers.alone:
        ahead = workers.map(fit_range, _ranges(start, stop))
    for ends, fits in zip(_ranges(start, stop), ahead, strict=False):
        try:
            found = list(checker.check(desk.reads.scan(*ends), fits))
        except (TypeError, ValueError, AttributeError) as error:
            raise DamagedRegisterError(
                f"The entries from position {ends[0]} on are not laid out as a register's"
                f" ({error})."
            ) from error
        yield from found
        if not found:
            return


def _ranges(start: int, stop: int) -> Iterator[tuple[int, int]]:
    """Divide positions into stretches, one at a time: a head may claim more than memory holds."""
    return ((begin, min(begin + RANGE, stop)) for begin in range(start, stop, RANGE))


def fit_range(desk: Desk, ends: tuple[int, int]) -> Fits:
    """Verify the signatures of the entries between two positions, ahead of all else.

    They go by the hash of the bytes that they were verified over, so that they are an answer about
    what is read later only if the same bytes are read. What cannot be read is left out.
    """
    found: Fits = {}
    with suppress(RegisterError, FormatError, TypeError, AttributeError):
        for row in desk.reads.scan(*ends):
            note = Note.parse(row.note)
            found[merkle.leaf_hash(row.note)] = _fitting(note, desk.authority)
    return found


def _fitting(note: Note, authority: Authority) -> tuple[bool, ...]:
    """Which of a note's signatures fit the keys that they name."""
    fits = []
    for line in note.signatures:
        enrolment = authority.find(line.reference)
        fits.append(enrolment is not None and enrolment.key.verify(note.text, line.blob))
    return tuple(fits)


def _read_act(entry: Entry, faults: list[tuple[str, str]]) -> Act | None:
    try:
        return read_act({"kind": entry.kind, **entry.details})
    except InputError as error:
        faults.append(("act-unreadable", str(error)))
        return None


def _meaning(act: Act) -> Meaning:
    touches: tuple[str, ...] = ()
    if act.mirrored and not act.for_house:
        named = (*act.in_cases, *act.cases(), *map(case_of, act.mentions()))
        touches = tuple(dict.fromkeys(named))
    return Meaning(act.opens(), act.labels(), touches)


def _repeated(entry: Entry) -> tuple[Any, ...]:
    """What an entry in another case's chain must repeat; personal details stay in one place."""
    details = {name: value for name, value in entry.details.items() if name != "personal"}
    times = (entry.occurred_at, entry.recorded_at, entry.utc_offset)
    return entry.kind, details, *times, entry.recorded_by, entry.signers, entry.seen


def _is_other_version(note: bytes) -> bool:
    family, _, _ = TYPE_LINE.rpartition(b"/")
    return note.startswith(family + b"/") and not note.startswith(TYPE_LINE + b"\n")


def _unreadable(
    row: Stored, leaf: bytes, code: str, sentence: str, faults: Iterable[tuple[str, str]] = ()
) -> Checked:
    told = (str(row.case_id), row.number, str(row.kind))
    return Checked(row.position, leaf, *told, None, (*faults, (code, sentence)))
