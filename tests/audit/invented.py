"""An invented firm's register on the disk, made the same in every run; nothing in it is real.

Two cases run side by side. What is published when, and who holds which key, is told in `Invented`.
"""

from __future__ import annotations

import secrets
import shutil
import sqlite3
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from continuity.audit.guard import Guard
from continuity.audit.trust import Held, Trust
from continuity.audit.verify import verify
from continuity.care.intent import read_intent
from continuity.ledger import checkpoint, merkle
from continuity.ledger.chain import read_entry
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.keys import SigningKey
from continuity.ledger.merkle import leaf_hash
from continuity.ledger.note import Note
from continuity.recording import Signatory
from continuity.register import Register
from continuity.store.sqlite import SqliteStore, personal_path

if TYPE_CHECKING:
    from pathlib import Path

    from continuity.audit.report import Report
    from continuity.ledger.chain import Entry

REGISTER = "continuity-register/" + "5a" * 16
A, B, C = "2031-0001", "2031-0002", "2031-0003"
START = datetime(2031, 4, 7, 8, 0, tzinfo=UTC)
LABEL = "TEK1G9QWE2MN8XYZ4189"


def key(name: str, seed: int) -> SigningKey:
    return SigningKey.from_seed(name, bytes([seed]) * 32)


REGISTER_KEY = key(REGISTER, 1)
DIRECTOR, SECOND, MORTICIAN, LEAVER = key("d1", 2), key("d2", 3), key("m1", 4), key("m2", 5)
OUTSIDER = key("outsider", 6)
WITNESS, OTHER_WITNESS = key("coroner-office.example", 7), key("north-branch.example", 8)


@dataclass
class Firm:
    """A register being kept, with a clock that moves a minute at each entry."""

    register: Register
    now: list[datetime] = field(default_factory=list)

    def record(
        self, kind: str, case: str | None = None, *, by: tuple = (MORTICIAN,), **fields: Any
    ):
        self.now[0] += timedelta(minutes=1)
        given = {"kind": kind, **fields} | ({"case": case} if case else {})
        signatories = [Signatory(one.name, one) for one in by]
        return self.register.record(read_intent(given), signatories)

    def publish(self) -> bytes:
        self.now[0] += timedelta(minutes=1)
        by = [Signatory(MORTICIAN.name, MORTICIAN)]
        return self.register.publish(by, REGISTER_KEY).checkpoint.note

    def sighted(self, case: str, count: int = 1) -> None:
        for _ in range(count):
            self.record("sighted", case, things=[f"{case}.1"], scanned=True)


def start(store: SqliteStore) -> Firm:
    now = [START]
    director = Signatory("d1", DIRECTOR)
    register = Register.start(
        store, "Hollow Lane (invented)", REGISTER_KEY, director, clock=lambda: now[0]
    )
    firm = Firm(register, now)
    for newcomer, role in ((SECOND, "director"), (MORTICIAN, "mortician"), (LEAVER, "mortician")):
        firm.record(
            "key-enrolled",
            by=(DIRECTOR, newcomer),
            key=str(newcomer.verify_key),
            person=newcomer.name,
            role=role,
        )
    firm.record(
        "place-named", by=(DIRECTOR,), place="table-1", what="table", description="table one"
    )
    firm.record(
        "holder-named", by=(DIRECTOR,), holder="coroner", what="coroner", description="the coroner"
    )
    return firm


def open_case(firm: Firm, case: str, name: str) -> None:
    firm.record("case-opened", case, disposition="burial", personal={"name": name, "birth": "1950"})
    firm.record(
        "received",
        case,
        giver="coroner",
        place="table-1",
        items=[
            {"what": "decedent", "description": "adult"},
            {"what": "container", "form": "bag", "description": "viscera bag", "within": "#1"},
            {"what": "viscera", "description": "viscera", "within": "#2"},
        ],
    )


@dataclass(frozen=True)
class Invented:
    """A register that was made once, to be copied and tampered with.

    Its entries: 0 start, 1-3 keys, 4-5 place and holder, then both cases opened and received,
    a label, one act that touches both (found so), a first publication, five sightings of each,
    a third case that ends with a correction, `m2` revoked, the details of case B erased, a second
    publication, and five entries after it, those of A repeated in B. A backup was made when the
    first publication was.
    """

    path: Path
    backup: Path
    first: bytes
    second: bytes
    size: int

    def copy(self, target: Path, path: Path | None = None) -> Copy:
        """Copy the register as it is, or its backup of the time of the first publication."""
        path = path or self.path
        for one in (path, personal_path(path)):
            shutil.copy(one, target / one.name)
        return Copy(target / path.name)


def make(folder: Path, monkeypatch) -> Invented:
    drawn = iter(range(1, 1_000_000))
    monkeypatch.setattr(secrets, "token_hex", lambda n: next(drawn).to_bytes(n).hex())
    monkeypatch.setattr(secrets, "token_bytes", lambda n: next(drawn).to_bytes(n))
    path = folder / "register"
    with SqliteStore.create(path, REGISTER) as store:
        firm = start(store)
        open_case(firm, A, "Ada Invented")
        open_case(firm, B, "Bo Invented")
        firm.record("labelled", A, thing=f"{A}.2", code=LABEL)
        firm.record("put-in", A, things=[f"{B}.2"], into=f"{A}.1", found=True)
        first = firm.publish()
        store.backup(folder / "backup")
        for _ in range(5):
            firm.sighted(A)
            firm.record("sighted", B, by=(LEAVER,), things=[f"{B}.1"], scanned=True)
        open_case(firm, C, "Cy Invented")
        sighted = firm.record("sighted", C, things=[f"{C}.1"], scanned=True)
        firm.record("corrected", C, strikes=sighted.leaf, reason="it was another's tag")
        firm.record("key-revoked", by=(DIRECTOR,), key=LEAVER.reference, reason="left the firm")
        erased = firm.record("personal-details-erased", B, by=(DIRECTOR,), ground="a test's ground")
        assert erased.case == B
        opened = store.entries(store.case_by_name(B).case_id)[0]
        store.erase([opened.position])
        second = firm.publish()
        firm.sighted(A, 2)
        firm.sighted(B)
        size = store.head().size
    return Invented(path, folder / "backup", first, second, size)


@dataclass(frozen=True)
class Copy:
    """One copy of the register, to do with as one likes."""

    path: Path

    def sql(
        self, statement: str, *values: Any, personal: bool = False, counted: bool = True
    ) -> None:
        """Change the file behind the program's back, its guard rails dropped first."""
        path = personal_path(self.path) if personal else self.path
        connection = sqlite3.connect(path, isolation_level=None)
        names = connection.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
        for (name,) in names.fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        changed = connection.execute(statement, values).rowcount
        connection.close()
        assert changed or not counted, "the tampering changed nothing"

    def rows(self, statement: str, *values: Any) -> list[Any]:
        connection = sqlite3.connect(self.path)
        try:
            return connection.execute(statement, values).fetchall()
        finally:
            connection.close()

    def note(self, position: int) -> bytes:
        return self.rows("SELECT note FROM entry WHERE position = ?", position)[0][0]

    def put(self, position: int, note: bytes) -> None:
        """Put other bytes in an entry's place, and the leaf hash that belongs to them."""
        sql = "UPDATE entry SET note = ?, leaf = ? WHERE position = ?"
        self.sql(sql, note, leaf_hash(note), position)

    def notes(self) -> list[bytes]:
        return [note for (note,) in self.rows("SELECT note FROM entry ORDER BY position")]

    def entry(self, position: int) -> Entry:
        return read_entry(self.note(position))[0]

    def case_id(self, name: str) -> str:
        return self.rows("SELECT case_id FROM case_head WHERE name = ?", name)[0][0]

    def positions(self, name: str) -> list[int]:
        sql = "SELECT position FROM entry WHERE case_id = ? ORDER BY number"
        return [at for (at,) in self.rows(sql, self.case_id(name))]

    def verify(self, trust: Trust | None = None, **options: Any) -> Report:
        with SqliteStore.open(self.path) as store:
            return verify(store, trust or Trust(), now=START + timedelta(days=1), **options)


PINNED = Trust(register_key=REGISTER_KEY.verify_key)


def holding(*notes: bytes) -> Trust:
    """The register's key and checkpoints that somebody outside kept."""
    return Trust(REGISTER_KEY.verify_key, held=tuple(Held(n, "the coroner") for n in notes))


def rewrite(copy: Copy, notes: list[bytes], checkpoints: tuple[bytes, ...] | None = None) -> Copy:
    """Write another register of these notes, all its tables in order, beside the first.

    Whoever can write the file can do this much without any key. Personal details go along with
    their entries; labels stay; checkpoints are kept, or replaced where others are given.
    """
    target = copy.path.with_name("rewritten")
    kept = copy.rows("SELECT note FROM checkpoint ORDER BY size")
    with SqliteStore.create(target, REGISTER) as store, SqliteStore.open(copy.path) as old:
        details = {row.leaf: old.disclosures(row.position) for row in old.scan()}
        for note in notes:
            entry, _ = read_entry(note)
            with store.writing() as pen:
                name = entry.details["number"] if entry.kind == "case-opened" else None
                row = pen.append(note, entry.case, entry.number, entry.kind, name)
                for name, text in details.get(row.leaf, {}).items():
                    pen.put_disclosure(row.position, name, text)
        with store.writing() as pen:
            for row in old.labels():
                pen.put_label(row.code, row.case_id, row.thing, row.print)
            for case, _ in old.in_care():
                if pen.case_head(case):
                    pen.put_in_care(case, pen.entries(case)[0].position)
            for note in [n for (n,) in kept] if checkpoints is None else checkpoints:
                found = Checkpoint.parse(Note.parse(note).text)
                pen.put_checkpoint(found.size, found.root, note)
    return Copy(target)


def signed_tree(
    notes: list[bytes], size: int | None = None, signer: SigningKey = REGISTER_KEY
) -> bytes:
    """The checkpoint of the first `size` notes, as whoever holds the key can sign it."""
    leaves = [leaf_hash(note) for note in notes[:size]]
    root = merkle.root(len(leaves), merkle.reader_of(leaves))
    return checkpoint.sign(Checkpoint(REGISTER, len(leaves), root), signer).encode()


def size_of(note: bytes) -> int:
    return Checkpoint.parse(Note.parse(note).text).size


def opened(path: Path, guard: Path | None = None) -> Register:
    """The register opened again the next morning."""
    morning = START + timedelta(days=1)
    return Register(SqliteStore.open(path), lambda: morning, Guard(guard) if guard else None)
