"""Invented keys and entries; the seeds are no secrets, so that every run signs the same bytes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from continuity.ledger.chain import Entry, Seen, genesis
from continuity.ledger.keys import SigningKey

if TYPE_CHECKING:
    from collections.abc import Callable

REGISTER = "hollow-lane.example/register"
CASE = "c-7f3a90"


def seeded(person: str, number: int) -> SigningKey:
    return SigningKey.from_seed(f"hollow-lane.example/{person}", bytes([number]) * 32)


@pytest.fixture(scope="session")
def register_key() -> SigningKey:
    return seeded("register", 1)


@pytest.fixture(scope="session")
def anna() -> SigningKey:
    """The first director's key."""
    return seeded("anna", 2)


@pytest.fixture(scope="session")
def bruno() -> SigningKey:
    return seeded("bruno", 3)


@pytest.fixture(scope="session")
def make_entry(anna: SigningKey) -> Callable[..., Entry]:
    """Makes an entry of the invented case; whatever is given by name takes another value."""
    plain = Entry(
        register=REGISTER,
        case=CASE,
        number=0,
        previous=genesis(REGISTER, CASE),
        kind="container-moved",
        occurred_at="2025-03-01T14:05:00.000Z",
        recorded_at="2025-03-01T14:06:30.250Z",
        utc_offset="+01:00",
        recorded_by="anna",
        signers=(anna.reference,),
        seen=Seen(5, bytes(range(32))),
        details={"thing": "bag-1", "to": "cavity", "grams": 1200, "note": "Tüte dicht"},
    )

    def make(**changes: Any) -> Entry:
        return replace(plain, **changes)

    return make
