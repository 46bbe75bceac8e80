"""Believable days of an invented firm, written many at a time. Nobody and nothing in it is real.

One case's life is told through the register's own door, so that every rule has judged it. Then it
is told again for case after case, ten arriving each day and each staying two days, their entries
mixed as they would be in a house; a day is one transaction and ends with a count of each place and,
each `PUBLISHED_EVERY` days, a signed checkpoint over the case index. The last day's cases are still
in care when it ends, so a large register and one of ten cases have equally much in care.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from continuity.care.entries import read_act
from continuity.care.intent import read_intent
from continuity.ledger.keys import SigningKey
from continuity.recording import Stamp
from continuity.register import Register, Signatory
from continuity.store.memory import MemoryStore
from continuity.store.sqlite import SqliteStore
from continuity_labels.code import CodeBook, CodeType

if TYPE_CHECKING:
    from continuity.care.acts.base import Act
    from continuity.care.counting import Count
    from continuity.care.intent import Intent

REGISTER = "continuity-register/" + "b" * 32
A_DAY = 10
PUBLISHED_EVERY = 7
TOLD = "2025-000000"
BODY, BAG, VISCERA, DEVICE, RING, COFFIN, TUB, CLEAN, ASHES, URN = (
    f"{TOLD}.{number}" for number in range(1, 11)
)


def _key(name: str, seed: int) -> SigningKey:
    return SigningKey.from_seed(name, bytes([seed]) * 32)


REGISTER_KEY = _key(REGISTER, 9)
DIRECTOR, MORTICIAN = (Signatory(name, _key(name, n)) for n, name in enumerate(("d1", "m1"), 1))
ONE, BOTH = (MORTICIAN,), (DIRECTOR, MORTICIAN)

HOUSE: tuple[dict[str, Any], ...] = (
    {"kind": "place-named", "place": "table-1", "what": "table", "description": "first table"},
    {"kind": "place-named", "place": "cold-room", "what": "cold-room", "description": "cold room"},
    {"kind": "place-named", "place": "safe", "what": "safe", "description": "safe for effects"},
    {"kind": "holder-named", "holder": "coroner", "what": "coroner", "description": "coroner"},
    {
        "kind": "holder-named",
        "holder": "crematory",
        "what": "crematory",
        "description": "crematory",
    },
)
PLACES = ("table-1", "cold-room", "safe")

Step = tuple[tuple[Signatory, ...], str, dict[str, Any]]


def _one(kind: str, **fields: Any) -> Step:
    return ONE, kind, fields


def _both(kind: str, **fields: Any) -> Step:
    return BOTH, kind, fields


def _care(thing: str, step: str, **fields: Any) -> Step:
    return _one("cared-for", thing=thing, step=step, **fields)


def _put(thing: str, into: str) -> Step:
    return _one("put-in", things=[thing], into=into, scanned=True)


def _move(place: str, *things: str) -> Step:
    return _one("moved", things=list(things), place=place, scanned=True)


IDENTIFIERS = [
    {"what": what, "read_from": "body-tag"}
    for what in ("name", "date-of-birth", "coroner-reference")
]
PACKED = {"what": "container", "form": "bag"}

FIRST_DAY: tuple[Step, ...] = (
    _one(
        "case-opened",
        number=TOLD,
        disposition="cremation",
        coroner_reference="C-44",
        release_authority="coroner's release C-44",
        sex="male",
        age_group="adult",
        personal={"name": "PERSON", "date-of-birth": "1948-11-30"},
    ),
    _one(
        "received",
        giver="coroner",
        giver_signed=True,
        place="table-1",
        items=[
            {"what": "decedent", "description": "adult"},
            {
                **PACKED,
                "description": "viscera bag",
                "within": "#1",
                "declared_seal": "771",
                "found_seal": "771",
            },
            {"what": "viscera", "description": "viscera", "within": "#2"},
            {"what": "device", "power": "battery", "description": "pacemaker", "within": "#1"},
            {"what": "effect", "description": "ring"},
        ],
    ),
    *(_one("labelled", thing=thing, code=f"label of {thing}") for thing in (BODY, BAG, RING)),
    _both("identified", thing=BODY, stage="receipt", agree=True, identifiers=IDENTIFIERS),
    _one("inspected", thing=BODY, suture="sound", odour=False, leak=False, implants="found"),
    _one("inspected", thing=BAG, leak=True, odour=True, seal="intact", seal_number="771"),
    _one("retention-stated", kept="none", according_to="examiner's letter of 1 March"),
    _one("instructed", things=[RING], wish="release", relation="son"),
    _move("safe", RING),
    _move("cold-room", BODY),
    _one("sighted", things=[BODY], scanned=True),
    _one(
        "provided",
        place="table-1",
        items=[
            {"what": "container", "form": "coffin", "description": "plain coffin"},
            {"what": "container", "form": "tub", "description": "covered tub"},
            {**PACKED, "description": "clean bag"},
        ],
    ),
    *(_one("labelled", thing=thing, code=f"label of {thing}") for thing in (COFFIN, TUB, CLEAN)),
    _move("table-1", BODY),
    _one("opened", thing=BODY, reason="to treat the viscera"),
    _one("taken-out", things=[BAG], place="table-1", scanned=True),
    _one("opened", thing=BAG, reason="to treat the viscera", seal_found="771"),
    _one("taken-out", things=[VISCERA], into=TUB, scanned=True),
    _care(VISCERA, "rinsed"),
    _care(VISCERA, "emptied"),
    _care(TUB, "immersed", product="cavity fluid", lot="A12", millilitres=6000),
    _care(BODY, "device-removed", removed=DEVICE, place="safe"),
    _one("packaging-discarded", thing=BAG, empty=True),
    _move("cold-room", BODY),
)
SECOND_DAY: tuple[Step, ...] = (
    _move("table-1", BODY),
    _care(TUB, "drained"),
    _care(VISCERA, "dried"),
    _care(VISCERA, "powdered"),
    _one("taken-out", things=[VISCERA], into=CLEAN, scanned=True),
    _one("sealed", thing=CLEAN, seal="904"),
    _put(CLEAN, BODY),
    _care(BODY, "sutured"),
    _one(
        "released",
        things=[DEVICE],
        relation="crematory",
        authority="son, form of 4 March",
        identity_checked=True,
        signed=True,
        personal={"recipient": "Invented Carrier"},
    ),
    _one(
        "released",
        things=[RING],
        relation="son",
        authority="next of kin",
        identity_checked=True,
        signed=True,
        personal={"recipient": "Invented PERSON"},
    ),
    _put(BODY, COFFIN),
    _one("sighted", things=[BODY, COFFIN], scanned=True),
    _both("identified", thing=BODY, stage="closing", agree=True, identifiers=IDENTIFIERS),
    _one("packaging-discarded", thing=TUB, empty=True),
    _both("closing-check-signed", coffin=COFFIN),
    _one("coffin-closed", thing=COFFIN),
    _one("handed-over", things=[COFFIN], taker="crematory", authority="order 9", accepted=True),
    _one("disposed", things=[COFFIN], manner="cremation", where="the hill", authority="order 9"),
    _one(
        "ashes-received",
        giver="crematory",
        place="safe",
        identity_disc="55",
        disc_agrees=True,
        items=[
            {"what": "ashes", "description": "ashes"},
            {"what": "container", "form": "urn", "description": "urn"},
        ],
    ),
    _put(ASHES, URN),
    _one(
        "released",
        things=[URN],
        relation="son",
        authority="applicant for the cremation",
        identity_checked=True,
        signed=True,
        personal={"recipient": "Invented PERSON"},
    ),
)
EACH = len(FIRST_DAY) + len(SECOND_DAY)


class Clock:
    """It moves on by a second whenever it is asked; the last of its days lies in the past."""

    def __init__(self, days: int) -> None:
        self.now = datetime(2026, 1, 1, 7, 0, tzinfo=UTC) - timedelta(days=days)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now

    def next_morning(self) -> None:
        self.now = (self.now + timedelta(days=1)).replace(hour=7, minute=0, second=0)


@dataclass(frozen=True)
class Told:
    """One step of the life that was told: its act as JSON, to be told again of other cases."""

    by: tuple[Signatory, ...]
    act: str

    def of(self, case: str, label: str) -> Act:
        """The same act about another case."""
        text = self.act.replace(TOLD, case).replace("LABEL", label).replace("PERSON", _name(case))
        return read_act(json.loads(text))


def _furnish(register: Register) -> None:
    enrolled = {"key": str(MORTICIAN.key.verify_key), "person": "m1", "role": "mortician"}
    register.record(read_intent({"kind": "key-enrolled", **enrolled}), BOTH)
    register.record_all([read_intent(fields) for fields in HOUSE], ONE)


def _counted(case: str, count: Count) -> Intent:
    told = {"seen": count.seen, "missing": count.missing, "uncounted": count.uncounted}
    return read_intent({"kind": "place-counted", "case": case, "place": count.place, **told})


def _told(steps: tuple[Step, ...], register: Register, book: CodeBook) -> list[Told]:
    told = []
    for by, kind, fields in steps:
        code = book.mint(CodeType.THING).text if kind == "labelled" else ""
        given = {**fields, "code": code} if code else fields
        receipt = register.record(read_intent({"kind": kind, "case": TOLD, **given}), by)
        told.append(Told(by, _json(receipt.act, code)))
    return told


def _json(act: Act, code: str) -> str:
    text = json.dumps({"kind": act.kind, **act.details()})
    return text.replace(code, "LABEL") if code else text


def _name(case: str) -> str:
    """An invented name, unlike most others."""
    digest = sha256(case.encode()).digest()
    given, family = (
        "".join(_SYLLABLES[byte % 16 * 2 :][:2] for byte in digest[n : n + 4]) for n in (0, 4)
    )
    return f"{given.title()} {family.title()}"


_SYLLABLES = "badekilomunepirasotuvawexiyozufe"


def cases_for(entries: int) -> int:
    """How many cases make about so many entries."""
    days = max(1, round(entries / (A_DAY * EACH + len(PLACES))))
    return A_DAY * days


def make(path: Path, cases: int) -> Path:
    """Write a register of so many cases, a multiple of ten; the last ten are in care."""
    clock, book = Clock(2), CodeBook(REGISTER)
    rehearsal = Register.start(MemoryStore(REGISTER), "Hollow Lane", REGISTER_KEY, DIRECTOR, clock)
    _furnish(rehearsal)
    first = _told(FIRST_DAY, rehearsal, book)
    clock.next_morning()
    second = _told(SECOND_DAY, rehearsal, book)
    clock = Clock(cases // A_DAY)
    store = SqliteStore.create(path, REGISTER)
    register = Register.start(store, "Hollow Lane (invented)", REGISTER_KEY, DIRECTOR, clock)
    with store:
        _furnish(register)
        staying: list[tuple[str, str]] = []
        for day in range(cases // A_DAY):
            come = [(_number(day * A_DAY + n), f"{day * A_DAY + n:032x}") for n in range(A_DAY)]
            with register._recording() as (pen, recorder):
                for steps, present in ((second, staying), (first, come)):
                    for told in steps:
                        for number, case_id in present:
                            label = book.mint(CodeType.THING).text
                            now = clock()
                            keys = tuple(signatory.key for signatory in told.by)
                            stamp = Stamp(now, now, told.by[0].person, keys)
                            recorder.write(case_id, told.of(number, label), stamp)
                for _, case_id in staying:
                    pen.put_in_care(case_id, None)
                for _, case_id in come:
                    pen.put_in_care(case_id, pen.entries(case_id)[0].position)
            register._chains.forget([case_id for _, case_id in (*staying, *come)])
            seen = [f"{number}.1" for number, _ in come]
            for place in PLACES:
                counts = register.count(place, seen if place == "cold-room" else [])
                register.record_all(map(_counted, counts, counts.values()), ONE)
            if not day % PUBLISHED_EVERY:
                register.publish((DIRECTOR,), REGISTER_KEY)
            staying = come
            clock.next_morning()
    return path


def size_of(path: Path) -> int:
    """How many entries a register has."""
    with SqliteStore.open(path) as store:
        return store.head().size


def cases_of(path: Path) -> int:
    """How many cases a register has."""
    with SqliteStore.open(path) as store:
        return sum(1 for head in store.cases() if head.name)


def last_case(cases: int) -> str:
    """The last case to come: it is in care, and half of its life is told."""
    return _number(cases - 1)


def _number(running: int) -> str:
    return f"2025-{running + 1:06d}"


if __name__ == "__main__":
    make(Path(sys.argv[1]), int(sys.argv[2]))
