"""An invented firm's register, and its answers in the world's own words. Nothing in it is real."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import TYPE_CHECKING, Any

from continuity.care.intent import read_intent
from continuity.care.things import (
    AtPlace,
    Discarded,
    Disposed,
    Divided,
    Inside,
    PartOf,
    Released,
    Unseen,
    WithHolder,
)
from continuity.ledger.keys import SigningKey
from continuity.register import Receipt, Register, Signatory
from continuity.store.memory import MemoryStore

if TYPE_CHECKING:
    from continuity.care.case import Case
    from continuity.care.things import Whereabouts

REGISTER = "continuity-register/" + "5" * 32
PLACES = ("table-1", "cold-room", "shelf-3")
HOLDERS = ("coroner", "crematory", "laboratory")
TWO_SIGN = {
    "identified",
    "closing-check-signed",
    "coffin-shared",
    "irregularity-resolved",
}


def _key(name: str, seed: int) -> SigningKey:
    return SigningKey.from_seed(name, bytes([seed]) * 32)


REGISTER_KEY = _key(REGISTER, 9)
DIRECTOR = Signatory("d1", _key("d1", 1))
MORTICIAN = Signatory("m1", _key("m1", 2))


class Drawn:
    """In place of `secrets`: a history told twice must be the same to the byte, case ids too."""

    def __init__(self) -> None:
        self.begin_again()

    def begin_again(self) -> None:
        """Every firm draws the same numbers."""
        self._numbers = count()

    def token_hex(self, size: int) -> str:
        """The next number, as so many bytes in hexadecimal."""
        return f"{next(self._numbers):0{2 * size}x}"


DRAWN = Drawn()


@dataclass
class Clock:
    """It stands still until somebody waits."""

    now: datetime = field(default_factory=lambda: datetime(2031, 3, 3, 7, 0, tzinfo=UTC))

    def __call__(self) -> datetime:
        return self.now

    def wait(self, minutes: float) -> datetime:
        self.now += timedelta(minutes=minutes)
        return self.now


class Firm:
    """A register in memory with two persons, three places and three holders."""

    def __init__(self) -> None:
        DRAWN.begin_again()
        self.clock = Clock()
        self.register = Register.start(
            MemoryStore(REGISTER), "An invented firm", REGISTER_KEY, DIRECTOR, self.clock
        )
        self.record(
            None,
            {
                "kind": "key-enrolled",
                "key": str(MORTICIAN.key.verify_key),
                "person": "m1",
                "role": "mortician",
            },
        )
        for place in PLACES:
            self.record(
                None,
                {"kind": "place-named", "place": place, "what": "other", "description": place},
            )
        for holder in HOLDERS:
            self.record(
                None,
                {"kind": "holder-named", "holder": holder, "what": "other", "description": holder},
            )

    def record(
        self,
        case: str | None,
        fields: dict[str, Any],
        *,
        occurred_at: datetime | None = None,
        found: bool = False,
    ) -> Receipt:
        """Record it, signed by whoever may; raises whatever the register answers."""
        given = dict(fields, found=found)
        if case:
            given["case"] = case
        if occurred_at:
            given["occurred_at"] = occurred_at
        both = case is None or fields["kind"] in TWO_SIGN
        return self.register.record(
            read_intent(given), (DIRECTOR, MORTICIAN) if both else (MORTICIAN,)
        )

    def read_anew(self) -> Register:
        """The same bytes, read by a register that remembers nothing."""
        return Register(self.register.store, self.clock)


def at(where: Whereabouts) -> tuple[Any, ...]:
    """Whereabouts as the world writes them."""
    match where:
        case AtPlace(place):
            return ("place", place)
        case Inside(thing):
            return ("in", thing)
        case WithHolder(holder, accepted):
            return ("with", holder, accepted)
        case PartOf(thing):
            return ("one-with", thing)
        case Divided(into):
            return ("pieces", into)
        case Released(authority):
            return ("released", authority)
        case Disposed(manner, authority):
            return ("disposed", manner.value, authority)
        case Discarded():
            return ("discarded",)
        case Unseen():
            return ("never",)
    raise AssertionError(f"{where}: the world has no word for it")


def whereabouts(case: Case) -> dict[str, tuple[Any, ...]]:
    """Where each of the case's own things is."""
    return {thing.id: at(thing.where) for thing in case.own}
