"""An invented firm's register on the disk, with a key for each of many stations; nothing is real."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from continuity.audit.trust import Trust
from continuity.audit.verify import verify
from continuity.care.intent import read_intent
from continuity.ledger.keys import SigningKey, save_private
from continuity.register import Receipt, Register, Signatory
from continuity.store.sqlite import WAIT, SqliteStore

if TYPE_CHECKING:
    from pathlib import Path

    from continuity.audit.report import Report

REGISTER = "continuity-register/" + "7e" * 16
CASES = ("2026-0001", "2026-0002")
STATIONS = tuple(f"m{number}" for number in range(1, 17))
BAG, COFFIN = ".2", ".4"
ITEMS = (
    {"what": "decedent", "description": "adult"},
    {"what": "container", "form": "bag", "description": "viscera bag", "within": "#1"},
    {"what": "viscera", "description": "viscera", "within": "#2"},
    {"what": "container", "form": "coffin", "description": "oak coffin"},
    {"what": "container", "form": "box", "description": "a box"},
)
HOUSE = (
    {"kind": "place-named", "place": "table-1", "what": "table", "description": "table one"},
    {"kind": "place-named", "place": "cold-room", "what": "cold-room", "description": "cold"},
    {"kind": "holder-named", "holder": "coroner", "what": "coroner", "description": "coroner"},
)


def key(name: str) -> SigningKey:
    seed = 99 if name == REGISTER else 98 if name == "d1" else int(name[1:])
    return SigningKey.from_seed(name, bytes([seed]) * 32)


def by(*persons: str) -> list[Signatory]:
    return [Signatory(person, key(person)) for person in persons]


PINNED = Trust(register_key=key(REGISTER).verify_key)


@dataclass(frozen=True)
class Firm:
    """The files of a register."""

    folder: Path

    @property
    def path(self) -> Path:
        return self.folder / "register.db"

    @property
    def keys(self) -> Path:
        return self.folder / "keys"

    @property
    def guard(self) -> Path:
        return self.folder / "guard"

    def open(self, *, guarded: bool = False, wait: float = WAIT) -> Register:
        return Register.open(self.path, guard=self.guard if guarded else None, wait=wait)

    def record(self, *persons: str, **fields: Any) -> Receipt:
        """Record one act, as a program of its own would."""
        register = self.open()
        with register.store:
            return register.record(read_intent(fields), by(*(persons or ("m1",))))

    def sighted(self, case: str = CASES[0]) -> Receipt:
        return self.record(kind="sighted", case=case, things=[f"{case}.1"], scanned=True)

    def verify(self, trust: Trust = PINNED) -> Report:
        with SqliteStore.open(self.path) as store:
            return verify(store, trust, processes=1)

    def size(self) -> int:
        with SqliteStore.open(self.path) as store:
            return store.head().size

    def leaves(self) -> list[str]:
        """The leaf hash of every entry, in order."""
        with SqliteStore.open(self.path) as store:
            return [stored.leaf.hex() for stored in store.scan()]

    def copy(self, folder: Path) -> Firm:
        shutil.copytree(self.folder, folder, dirs_exist_ok=True)
        return Firm(folder)


def make(folder: Path) -> Firm:
    """Two cases, each with a body, a bag in it, viscera in that, a coffin and a box."""
    firm = Firm(folder)
    firm.keys.mkdir(mode=0o700)
    for name in ("d1", *STATIONS, REGISTER):
        file = "register" if name == REGISTER else name
        save_private(key(name), firm.keys / f"{file}.key", None)
    director = by("d1")[0]
    register = Register.create(
        firm.path, "Hollow Lane (invented)", REGISTER, key(REGISTER), director
    )
    with register.store:
        for name in STATIONS:
            fields = {"key": str(key(name).verify_key), "person": name, "role": "mortician"}
            register.record(read_intent({"kind": "key-enrolled", **fields}), by("d1", name))
        intents = [read_intent(fields) for fields in HOUSE]
        for case in CASES:
            opened = {"kind": "case-opened", "number": case, "disposition": "burial"}
            personal = {"name": f"Invented Person of {case}", "date-of-birth": "1950-02-03"}
            intents.append(read_intent({**opened, "personal": personal}))
            received = {
                "giver": "coroner",
                "giver_signed": True,
                "place": "table-1",
                "items": ITEMS,
            }
            intents.append(read_intent({"kind": "received", "case": case, **received}))
        register.record_all(intents, by("m1"))
    guarded = firm.open(guarded=True)
    with guarded.store:
        guarded.publish(by("d1"), key(REGISTER))
    return firm
