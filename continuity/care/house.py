"""House: what the register's own chain adds up to - places, holders, persons, policy."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from continuity.care.policy import Policy, default

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from continuity.care.records import Event


class Role(StrEnum):
    """What a key's holder may do."""

    DIRECTOR = "director"
    MORTICIAN = "mortician"
    ASSISTANT = "assistant"
    AUDITOR = "auditor"
    STATION = "station"
    WITNESS = "witness"


@dataclass(frozen=True, slots=True)
class Place:
    """A named place of the firm."""

    id: str
    what: str
    description: str


@dataclass(frozen=True, slots=True)
class Holder:
    """A named holder outside the firm."""

    id: str
    what: str
    description: str


@dataclass(frozen=True, slots=True)
class Key:
    """An enrolled key, as care needs it: whose it is and whether it still signs."""

    vkey: str
    person: str
    role: Role
    revoked: bool = False

    @property
    def reference(self) -> str:
        """Name and key id, as entries name their signers."""
        return "+".join(self.vkey.split("+")[:2])


@dataclass(slots=True)
class House:
    """The register's own state. Change it only by folding entries."""

    firm: str = ""
    register_key: str = ""
    places: dict[str, Place] = field(default_factory=dict)
    holders: dict[str, Holder] = field(default_factory=dict)
    keys: dict[str, Key] = field(default_factory=dict)
    policies: list[tuple[datetime, Policy]] = field(default_factory=list)

    @property
    def policy(self) -> Policy:
        """The policy in force."""
        return self.policies[-1][1] if self.policies else default()

    def policy_at(self, when: datetime) -> Policy:
        """The policy that was in force at a moment; the shipped one before any was adopted."""
        return next((p for since, p in reversed(self.policies) if since <= when), default())

    def ever_roles(self, person: str) -> frozenset[Role]:
        """The roles any key of a person gave at any time, replaced and revoked ones too."""
        return frozenset(k.role for k in self.keys.values() if k.person == person)

    def roles(self, person: str) -> frozenset[Role]:
        """The roles a person's standing keys give."""
        return frozenset(k.role for k in self.keys.values() if k.person == person and not k.revoked)

    def person_of(self, reference: str) -> str | None:
        """Whose key it is."""
        key = self.keys.get(reference)
        return key.person if key else None

    def apply(self, event: Event) -> None:
        """Fold one event of the register's chain in."""
        if event.act.for_house:
            event.act.apply_house(self, event)


def furnish(events: Iterable[Event], *, known_until: datetime | None = None) -> House:
    """Add up the register's own chain, to a moment if one is given."""
    house = House()
    for event in sorted(events, key=lambda e: e.number):
        if known_until is None or event.recorded_at <= known_until:
            house.apply(event)
    return house
