"""Sound samples of everything that is read, for the fuzzers to spoil; all of it is invented."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING, Any

from continuity.audit.dossier.making import Choice, make
from continuity.audit.dossier.page import write_page
from continuity.audit.receiptpage import Page, write_html
from continuity.audit.receipts import make_receipt
from continuity.audit.saying import say
from continuity.audit.witness import ask
from continuity.care.intent import read_intent
from continuity.ledger import checkpoint
from continuity.ledger.disclosure import disclose
from continuity.ledger.keys import SigningKey, VerifyKey
from continuity.ledger.note import Note, to_base64
from continuity.register import Register, Signatory
from continuity.store.memory import MemoryStore

if TYPE_CHECKING:
    from collections.abc import Sequence

REGISTER = "continuity-register/" + "3c" * 16
CASES = ("2026-0001", "2026-0002")
START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def key(name: str, seed: int) -> SigningKey:
    return SigningKey.from_seed(name, bytes([seed]) * 32)


REGISTER_KEY, DIRECTOR, MORTICIAN = key(REGISTER, 1), key("d1", 2), key("m1", 3)
BY = (Signatory("d1", DIRECTOR), Signatory("m1", MORTICIAN))
ITEMS = [
    {"what": "decedent", "description": "adult"},
    {"what": "container", "form": "bag", "description": "viscera bag", "within": "#1"},
    {"what": "viscera", "description": "viscera", "within": "#2"},
    {"what": "container", "form": "coffin", "description": "oak coffin"},
    {"what": "effect", "description": "a ring", "intention": "release"},
    {"what": "device", "description": "pacemaker", "power": "battery", "within": "#1"},
]
HOUSE = (
    {"kind": "place-named", "place": "table-1", "what": "table", "description": "table one"},
    {"kind": "place-named", "place": "cold-room", "what": "cold-room", "description": "cold"},
    {"kind": "holder-named", "holder": "coroner", "what": "coroner", "description": "coroner"},
    {"kind": "holder-named", "holder": "family", "what": "family", "description": "family"},
)
DAY: tuple[dict[str, Any], ...] = (
    *(
        {
            "kind": "case-opened",
            "number": case,
            "disposition": "burial",
            "personal": {"name": "An Invented Person", "date-of-birth": "1950-02-03"},
        }
        for case in CASES
    ),
    *(
        {"kind": "received", "case": case, "giver": "coroner", "place": "table-1", "items": ITEMS}
        for case in CASES
    ),
    {"kind": "labelled", "thing": "2026-0001.2", "code": "TEK1G9QWE2MN8XYZ4189"},
    {"kind": "taken-out", "things": ["2026-0001.2"], "place": "table-1"},
    {"kind": "put-in", "things": ["2026-0001.2"], "into": "2026-0002.4", "found": True},
    {"kind": "weighed", "thing": "2026-0001.3", "grams": 4100},
    {"kind": "sealed", "thing": "2026-0001.2", "seal": "S-1"},
    {"kind": "sighted", "things": ["2026-0001.1"], "scanned": True},
)


@dataclass
class Kept:
    """A register in memory, with a clock that moves a second at each look."""

    register: Register
    now: list[datetime]


def started() -> Kept:
    """A register with a furnished house and two cases."""
    now = [START]

    def clock() -> datetime:
        now[0] += timedelta(seconds=1)
        return now[0]

    store = MemoryStore(REGISTER)
    register = Register.start(store, "Hollow Lane (invented)", REGISTER_KEY, BY[0], clock)
    enrolled = {"kind": "key-enrolled", "key": str(MORTICIAN.verify_key), "person": "m1"}
    register.record(read_intent({**enrolled, "role": "mortician"}), BY)
    for fields in (*HOUSE, *DAY):
        register.record(read_intent(fields), BY)
    return Kept(register, now)


@cache
def _published() -> tuple[Register, bytes]:
    register = started().register
    return register, register.publish([BY[0]], REGISTER_KEY).checkpoint.note


def lines() -> Sequence[bytes]:
    return [json.dumps(fields).encode() for fields in (*HOUSE, *DAY)]


def entries() -> Sequence[bytes]:
    return [stored.note for stored in _published()[0].store.scan()]


def checkpoints() -> Sequence[bytes]:
    note = _published()[1]
    return [note, checkpoint.cosign(Note.parse(note), key("witness", 4), 1_780_000_000).encode()]


def receipts() -> Sequence[bytes]:
    store = _published()[0].store
    receipt, stored = make_receipt(store, 9, "invented words\nof two lines"), store.entry_at(9)
    page = write_html(Page(receipt, say(store, stored))) if stored else b""
    return [receipt.text().encode(), (receipt.compact() or "").encode(), page, *checkpoints()]


def cosigning() -> Sequence[bytes]:
    return [ask(_published()[0].store, old).encode() for old in (0, 1, 9)]


def proofs() -> Sequence[bytes]:
    return [receipts()[0].partition(b"-" * 16 + b"\n")[2]]


def dossiers() -> Sequence[bytes]:
    dossier = make(
        _published()[0].store, CASES[0], START + timedelta(days=1), Choice(everything=True)
    )
    return [write_page(dossier), dossier.encode()]


def disclosures() -> Sequence[bytes]:
    return [disclose("name", value)[0].encode() for value in ("An Invented Person", 7, ["a"])]


def key_texts() -> Sequence[bytes]:
    private = f"PRIVATE+KEY+{MORTICIAN.reference}+{to_base64(VerifyKey.TYPE + bytes([3]) * 32)}"
    return [
        str(MORTICIAN.verify_key).encode(),
        str(checkpoint.cosigner_key(MORTICIAN.verify_key)).encode(),
        private.encode(),
    ]


def key_files() -> Sequence[bytes]:
    label = f"continuity key {MORTICIAN.verify_key}\n".encode()
    return [label + MORTICIAN.private_pem(None), label + MORTICIAN.private_pem(b"invented")]
