"""An invented firm at its station: two cases with labels, and codes by name. Nothing is real."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from continuity.care.intent import read_intent
from continuity.ledger.keys import SigningKey, save_private
from continuity.register import Receipt, Register, Signatory
from continuity.store.memory import MemoryStore
from continuity_cli.labelling import codes
from continuity_cli.station.desk import Desk
from continuity_labels.actions import Action, action_code
from continuity_labels.code import CodeBook, CodeType

if TYPE_CHECKING:
    from pathlib import Path

    from continuity.store.protocol import Store
    from continuity_cli.station.answer import Answer
    from continuity_cli.station.settings import Settings

REGISTER = "continuity-register/" + "0" * 32
ONE, TWO = "2026-0001", "2026-0002"


def key(name: str, seed: int) -> SigningKey:
    return SigningKey.from_seed(name, bytes([seed]) * 32)


@dataclass
class Post:
    """A desk whose clocks stand until they are moved; scans by name."""

    register: Register
    keys: Path
    signs: dict[str, Signatory]
    now: list[datetime]
    seconds: list[float] = field(default_factory=lambda: [1000.0])
    names: dict[str, str] = field(default_factory=dict)
    desk: Desk = field(init=False)

    def __post_init__(self) -> None:
        self.book = CodeBook(self.register.id)
        house = self.register.house()
        for action in Action:
            self.names[action.heading.upper()] = action_code(self.book, action).text
        for place in house.places:
            self.names[place] = codes.place_code(self.book, place).text
        for holder in house.holders:
            self.names[holder] = codes.holder_code(self.book, holder).text
        for reference, known in house.keys.items():
            name = known.person + ("-old" if known.revoked else "")
            self.names[name] = codes.badge_code(self.book, known.person, reference).text
        self.restart()

    def restart(self, settings: Settings | None = None) -> Answer:
        """Start the station anew on the same register."""
        self.desk = Desk(
            self.register,
            self.keys,
            seconds=lambda: self.seconds[0],
            now=lambda: self.now[0],
            settings=settings,
        )
        return self.desk.answer

    def wait(self, seconds: float) -> Answer | None:
        """Let time pass, in one step."""
        self.seconds[0] += seconds
        self.now[0] += timedelta(seconds=seconds)
        return self.desk.tick()

    def scan(self, *names: str, apart: float = 3.0) -> Answer:
        """Scan names, or text as it is, so many seconds apart; the last answer."""
        answer = None
        for name in names:
            self.wait(apart)
            answer = self.desk.scan(self.names.get(name, name.strip('"')))
        assert answer is not None
        return answer

    def record(self, kind: str, case: str | None = None, **fields: Any) -> Receipt:
        """Record as the mortician, past the station."""
        by = fields.pop("by", ("m1",))
        if case:
            fields["case"] = case
        self.wait(1)
        intent = read_intent({"kind": kind, **fields})
        return self.register.record(intent, [self.signs[person] for person in by])

    def kinds(self, case: str = ONE) -> list[str]:
        """The kinds of a case's entries."""
        return [event.act.kind for event in self.register.entries(case)]

    def label(self, name: str, thing: str) -> str:
        """Print the thing's label, and know it by a name."""
        code = self.book.mint(CodeType.THING)
        self.record("labelled", thing=thing, code=code.text)
        self.names[name] = code.text
        return code.text


def _things(post: Post) -> None:
    for number, strange in ((ONE, ""), (TWO, "strange-")):
        post.record(
            "case-opened",
            number,
            disposition="burial",
            release_authority="release 7",
            day=None,
            personal={"name": f"Invented {number}", "date-of-birth": "1931-02-03"},
        )
        post.record(
            "received",
            number,
            giver="coroner",
            giver_signed=True,
            place="table-1",
            items=[
                {"what": "decedent", "description": "adult"},
                _container("bag", "viscera bag", within="#1"),
                {"what": "viscera", "description": "viscera", "within": "#2"},
                _container("coffin", "oak coffin"),
                _container("tub", "tub"),
                {"what": "part", "organ": "heart", "description": "heart"},
                {"what": "part", "organ": "kidney", "description": "kidney"},
                _container("box", "box", found_seal="S-881"),
            ],
        )
        post.record(
            "retained",
            number,
            holder="coroner",
            items=[{"what": "specimen", "description": "sample"}],
        )
        names = ("body", "bag", "viscera", "coffin", "tub", "heart", "kidney", "box", "sample")
        for item, name in enumerate(names, 1):
            post.label(f"{strange}{name}", f"{number}.{item}")


def _container(form: str, description: str, **fields: Any) -> dict[str, Any]:
    return {"what": "container", "form": form, "description": description, **fields}


def furnished(store: Store, folder: Path) -> Post:
    """A register in a store, its keys in a folder: m1, m2 and d1, whose key wants the PIN 4711."""
    now = [datetime(2026, 3, 2, 8, 0, tzinfo=UTC)]
    signs = {person: Signatory(person, key(person, n)) for n, person in enumerate(("d1", "m1"), 1)}
    signs["m2"] = Signatory("m2", key("m2", 3))
    old = Signatory("m1", key("m1", 4))
    folder.mkdir()
    for person, pin in (("d1", b"4711"), ("m1", None), ("m2", None)):
        save_private(signs[person].key, folder / f"{person}.key", pin)
    director = signs["d1"]
    register = Register.start(store, "An invented firm", key(REGISTER, 9), director, lambda: now[0])

    def enrol(signatory: Signatory, **fields: Any) -> None:
        vkey = str(signatory.key.verify_key)
        register.record(read_intent({"key": vkey, **fields}), [director, signatory])

    enrol(old, kind="key-enrolled", person="m1", role="mortician")
    enrol(signs["m1"], kind="key-replaced", replaces=old.key.reference)
    enrol(signs["m2"], kind="key-enrolled", person="m2", role="mortician")
    for place, what in (("table-1", "table"), ("cold-room", "cold-room")):
        fields = {"kind": "place-named", "place": place, "what": what, "description": place}
        register.record(read_intent(fields), [director])
    for holder in ("coroner", "crematory"):
        fields = {"kind": "holder-named", "holder": holder, "what": holder, "description": holder}
        register.record(read_intent(fields), [director])
    post = Post(register, folder, signs, now)
    _things(post)
    return post


@pytest.fixture
def post(tmp_path: Path) -> Post:
    """m1 is signed in; m2 and d1 have badges, d1's key wants the PIN 4711."""
    post = furnished(MemoryStore(REGISTER), tmp_path / "keys")
    post.restart()
    post.scan("m1")
    return post
