"""An invented firm with two persons, two places and two holders; nothing in it is real."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from continuity.care.intent import read_intent
from continuity.ledger.keys import SigningKey
from continuity.register import Receipt, Register, Signatory
from continuity.store.memory import MemoryStore

REGISTER = "continuity-register/" + "0" * 32


def key(name: str, seed: int) -> SigningKey:
    return SigningKey.from_seed(name, bytes([seed]) * 32)


@dataclass
class Firm:
    """A register with a clock that stands until it is moved."""

    register: Register
    director: Signatory
    mortician: Signatory
    now: list[datetime] = field(default_factory=list)

    def wait(self, minutes: int = 1) -> datetime:
        self.now[0] += timedelta(minutes=minutes)
        return self.now[0]

    def record(self, kind: str, case: str | None = None, **fields: Any) -> Receipt:
        """Record as the mortician; `by` names other signatories."""
        by = fields.pop("by", (self.mortician,))
        if case:
            fields["case"] = case
        self.wait()
        return self.register.record(read_intent({"kind": kind, **fields}), by)

    def open(self, number: str = "2026-0001", **fields: Any) -> str:
        """A case with decedent .1, viscera bag .2 in the cavity, viscera .3 in it, coffin .4."""
        self.record("case-opened", number, disposition="burial", **fields)
        self.record(
            "received",
            number,
            giver="coroner",
            place="table-1",
            items=[
                {"what": "decedent", "description": "adult"},
                {
                    "what": "container",
                    "form": "bag",
                    "description": "viscera bag",
                    "within": "#1",
                },
                {"what": "viscera", "description": "viscera", "within": "#2"},
                {"what": "container", "form": "coffin", "description": "coffin"},
            ],
        )
        return number


@pytest.fixture
def firm() -> Firm:
    now = [datetime(2026, 3, 2, 8, 0, tzinfo=UTC)]
    director = Signatory("d1", key("d1", 1))
    mortician = Signatory("m1", key("m1", 2))
    register = Register.start(
        MemoryStore(REGISTER),
        "An invented firm",
        key(REGISTER, 9),
        director,
        clock=lambda: now[0],
    )
    firm = Firm(register, director, mortician, now)
    firm.record(
        "key-enrolled",
        key=str(mortician.key.verify_key),
        person="m1",
        role="mortician",
        by=(director, mortician),
    )
    for place in ("table-1", "cold-room"):
        what = "table" if place == "table-1" else place
        firm.record("place-named", place=place, what=what, description=place)
    for holder in ("coroner", "crematory"):
        firm.record("holder-named", holder=holder, what=holder, description=holder)
    return firm
