"""An invented firm and two invented cases; no person, firm or place in it is real."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from continuity.audit.dossier.making import Choice, make
from continuity.care.intent import read_intent
from continuity.ledger.keys import SigningKey
from continuity.register import Register, Signatory
from continuity.store.memory import MemoryStore

if TYPE_CHECKING:
    from continuity.audit.dossier.what import Dossier
    from continuity.recording import Receipt
    from continuity.store.protocol import Store

REGISTER = "continuity-register/" + "5a" * 16
CASE = "2026-0001"
BODY, COFFIN, POUCH = f"{CASE}.1", f"{CASE}.7", f"{CASE}.8"
BAG, VISCERA, LIMB, BOX, RING = (f"{CASE}.{n}" for n in (2, 3, 4, 5, 6))


def seeded(name: str, number: int) -> SigningKey:
    return SigningKey.from_seed(name, bytes([number]) * 32)


REGISTER_KEY = seeded(REGISTER, 1)
PIN = str(REGISTER_KEY.verify_key)
WITNESS = seeded("witness.example/elm", 41)
PAPER = sha256(b"an invented delivery paper\n").hexdigest()
PHOTOGRAPH = sha256(b"an invented photograph\n").hexdigest()


@dataclass
class Firm:
    """A register with a clock that stands until it is moved."""

    register: Register
    people: dict[str, Signatory]
    register_key: SigningKey = REGISTER_KEY
    clock: list[datetime] = field(default_factory=list)

    @property
    def now(self) -> datetime:
        return self.clock[0]

    def wait(self, minutes: int) -> None:
        self.clock[0] += timedelta(minutes=minutes)

    def record(self, kind: str, by: str = "m1", after: int = 7, **fields: Any) -> Receipt:
        """Record as these persons (`d1 m1`), so many minutes after the last."""
        self.wait(after)
        signatories = [self.people[name] for name in by.split()]
        return self.register.record(read_intent({"kind": kind, **fields}), signatories)

    def tell(self, kind: str, **fields: Any) -> Receipt:
        """Record into the first case."""
        return self.record(kind, case=CASE, **fields)

    def publish(self) -> None:
        """Record the case index and sign a checkpoint over it."""
        self.wait(1)
        self.register.publish([self.people["d1"]], self.register_key)

    def dossier(self, *fields: str, everything: bool = False) -> Dossier:
        """The first case's dossier, showing these personal details."""
        choice = Choice(frozenset(fields), everything)
        return make(self.register.store, CASE, self.now, choice)


def start(register_key: SigningKey = REGISTER_KEY, store: Store | None = None) -> Firm:
    """The firm with its people, places and holders."""
    clock = [datetime(2026, 3, 2, 7, 30, tzinfo=UTC)]
    people = {
        name: Signatory(name, seeded(name, number))
        for number, name in enumerate(("d1", "d2", "m1", "m2", "station-1"), 2)
    }
    register = Register.start(
        store or MemoryStore(REGISTER),
        "Alder & Wren, an invented firm",
        register_key,
        people["d1"],
        lambda: clock[0],
    )
    firm = Firm(register, people, register_key, clock)
    for name, role in (("d2", "director"), ("m1", "mortician"), ("m2", "mortician")):
        vkey = str(people[name].key.verify_key)
        firm.record("key-enrolled", f"d1 {name}", 1, key=vkey, person=name, role=role)
    for place, what, words in (
        ("cold-room", "cold-room", "cold room, bay two"),
        ("table-1", "table", "the table by the window"),
        ("shelf-3", "shelf", "third shelf of the preparation room"),
        ("safe", "safe", "the safe for effects"),
    ):
        firm.record("place-named", after=1, place=place, what=what, description=words)
    for holder, what, words in (
        ("coroner", "coroner", "the invented district coroner"),
        ("pathologist", "pathologist", "pathology of the invented hospital"),
        ("crematory", "crematory", "the invented crematory"),
    ):
        firm.record("holder-named", after=1, holder=holder, what=what, description=words)
    return firm


def receive(firm: Firm) -> None:
    """A case is opened, received, identified, and looked at."""
    firm.tell(
        "case-opened",
        after=20,
        disposition="burial",
        day="2026-03-06",
        coroner_reference="IC-114",
        release_authority="release form 12 of the invented coroner",
        personal={
            "name": "Ottilie Brandauer (invented)",
            "date-of-birth": "1951-07-09",
            "next-of-kin": "a daughter, named in the papers",
        },
    )
    firm.tell(
        "received",
        giver="coroner",
        giver_signed=True,
        place="cold-room",
        document=PAPER,
        items=[
            {"what": "decedent", "description": "adult, examined by the coroner"},
            {
                "what": "container",
                "form": "bag",
                "description": "viscera bag",
                "within": "#1",
                "declared_seal": "88142",
                "found_seal": "88142",
            },
            {"what": "viscera", "description": "viscera", "within": "#2", "inferred": True},
            {"what": "part", "description": "left forearm", "within": "#5", "organ": "forearm"},
            {"what": "container", "form": "box", "description": "box with a separated part"},
            {"what": "effect", "description": "ring of yellow metal", "intention": "release"},
        ],
    )
    firm.tell(
        "provided",
        place="cold-room",
        items=[
            {"what": "container", "form": "coffin", "description": "oak coffin"},
            {"what": "container", "form": "pouch", "description": "pouch for effects"},
        ],
    )
    firm.tell(
        "identified",
        by="m1 m2",
        thing=BODY,
        stage="receipt",
        agree=True,
        identifiers=[
            {"what": what, "read_from": "body-tag"}
            for what in ("name", "date-of-birth", "mortuary-number")
        ],
    )
    firm.tell(
        "inspected", thing=BODY, leak=True, odour=False, suture="sound", photograph=PHOTOGRAPH
    )
    firm.tell("put-in", things=[RING], into=POUCH, scanned=True)
    firm.tell("moved", things=[POUCH], place="safe", scanned=True)


def treat(firm: Firm) -> None:
    """The body is opened, its contents treated and returned; the limb is reattached."""
    firm.tell("moved", after=600, things=[BODY], place="table-1", scanned=True)
    firm.tell("opened", thing=BODY, reason="leak")
    firm.tell("taken-out", things=[BAG], place="shelf-3", scanned=True)
    firm.tell("opened", thing=BAG, reason="to treat the viscera", seal_found="88142")
    firm.tell(
        "separated",
        thing=VISCERA,
        into=[
            {"what": "specimen", "description": "tissue block sent back", "place": "shelf-3"},
        ],
    )
    firm.tell("cared-for", thing=VISCERA, step="immersed", product="fluid", millilitres=3000)
    firm.tell("cared-for", after=300, thing=VISCERA, step="drained")
    firm.tell("weighed", thing=VISCERA, grams=6420)
    firm.tell("sealed", thing=BAG, seal="90077")
    firm.tell("put-in", things=[BAG], into=BODY, scanned=True)
    firm.tell("opened", thing=BOX, reason="to take the part out")
    firm.tell("taken-out", things=[LIMB], place="table-1", scanned=True)
    firm.tell("joined", things=[LIMB], to=BODY)
    firm.tell("cared-for", thing=BODY, step="sutured")
    firm.tell("handed-over", things=[f"{CASE}.9"], taker="pathologist", authority="letter 3")
    firm.tell(
        "released",
        things=[RING],
        relation="daughter",
        authority="next of kin",
        identity_checked=True,
        signed=True,
        personal={"recipient": "Ilse Brandauer (invented)"},
    )
    wrong = firm.tell("weighed", thing=BODY, grams=81_000)
    firm.tell(
        "corrected",
        strikes=wrong.leaf,
        reason="the scale was not set to nought",
        instead={"kind": "weighed", "thing": BODY, "grams": 68_400},
    )


def other_case(firm: Firm) -> None:
    """A second case, so that the index has a neighbour."""
    firm.record(
        "case-opened",
        case="2026-0002",
        disposition="cremation",
        personal={"name": "Benno Achleitner (invented)"},
    )
    firm.record(
        "received",
        case="2026-0002",
        giver="coroner",
        giver_signed=True,
        place="cold-room",
        items=[{"what": "decedent", "description": "adult"}],
    )


def whole(
    *,
    treated: bool = True,
    register_key: SigningKey = REGISTER_KEY,
    store: Store | None = None,
) -> Firm:
    """Everything told, and published."""
    firm = start(register_key, store)
    receive(firm)
    other_case(firm)
    firm.publish()
    if treated:
        treat(firm)
        firm.publish()
    return firm
