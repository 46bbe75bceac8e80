"""What the register says of itself: its start, keys, places, holders, policy, case index."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal

from pydantic import Field, StringConstraints, field_validator

from continuity.care.acts.base import Act
from continuity.care.house import Holder, Key, Place, Role
from continuity.care.policy import Policy
from continuity.care.refusal import Objection
from continuity.care.things import HERE, Digest, HolderKind, PlaceKind, Slug, Text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case
    from continuity.care.house import House
    from continuity.care.records import Event
    from continuity.care.scene import Scene

KeyText = Annotated[str, StringConstraints(min_length=16, max_length=200)]
"""A public key as C2SP signed-note writes it: name, key id, type and key."""
KeyReference = Annotated[str, StringConstraints(pattern=r"^[^\s+]+\+[0-9a-f]{8}$")]


class HouseAct(Act):
    """An act of the register's own chain."""

    for_house: ClassVar[bool] = True

    def apply(self, case: Case, event: Event) -> None:
        """Change nothing: no case is concerned."""
        del case, event

    def apply_house(self, house: House, event: Event) -> None:
        """Change the house as this act did."""


class RegisterStarted(HouseAct):
    """The register came into being, with its own key and its first director's."""

    kind: Literal["register-started"] = "register-started"
    firm: Text
    register_key: KeyText
    key: KeyText
    person: Slug
    role: Literal["director"]

    def brings_key(self) -> str | None:
        """The new key."""
        return self.key

    def apply_house(self, house: House, event: Event) -> None:
        """Name the firm and enrol the first director."""
        del event
        house.firm = self.firm
        house.register_key = self.register_key
        key = Key(self.key, self.person, Role.DIRECTOR)
        house.keys[key.reference] = key


class KeyEnrolled(HouseAct):
    """A person, a station or a witness may sign from here on."""

    kind: Literal["key-enrolled"] = "key-enrolled"
    key: KeyText
    person: Slug = Field(description="the person, station or witness whose key it is")
    role: Role

    def brings_key(self) -> str | None:
        """The new key."""
        return self.key

    def apply_house(self, house: House, event: Event) -> None:
        """Enrol the key."""
        del event
        key = Key(self.key, self.person, self.role)
        house.keys[key.reference] = key

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """One person has one standing key; a second is a replacement."""
        held = [k for k in scene.house.keys.values() if k.person == self.person and not k.revoked]
        if held:
            yield Objection(
                "already-enrolled",
                f"{self.person} already has the key {held[0].reference}",
                "replace that key, or revoke it first",
                findable=False,
            )


class KeyReplaced(HouseAct):
    """A new key took an old one's place."""

    kind: Literal["key-replaced"] = "key-replaced"
    key: KeyText
    replaces: KeyReference

    def brings_key(self) -> str | None:
        """The new key."""
        return self.key

    def apply_house(self, house: House, event: Event) -> None:
        """Move person and role to the new key."""
        del event
        old = house.keys.get(self.replaces)
        if old is None:
            house.register_key = self.key
            return
        house.keys[self.replaces] = Key(old.vkey, old.person, old.role, revoked=True)
        new = Key(self.key, old.person, old.role)
        house.keys[new.reference] = new


class KeyRevoked(HouseAct):
    """A key signs no more; from a stated position on, what it signed is suspect."""

    kind: Literal["key-revoked"] = "key-revoked"
    key: KeyReference
    reason: Text
    compromised_since: int | None = Field(None, ge=0, description="position in the register")

    def apply_house(self, house: House, event: Event) -> None:
        """Mark the key revoked."""
        del event
        old = house.keys.get(self.key)
        if old is not None:
            house.keys[self.key] = Key(old.vkey, old.person, old.role, revoked=True)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """The last director cannot be locked out."""
        directors = [
            reference
            for reference, key in scene.house.keys.items()
            if key.role is Role.DIRECTOR and not key.revoked
        ]
        if directors == [self.key]:
            yield Objection(
                "last-director",
                f"{self.key} is the only director's key left",
                "enrol another director first, or replace the key",
                findable=False,
            )


class PlaceNamed(HouseAct):
    """A place of the firm was named."""

    kind: Literal["place-named"] = "place-named"
    place: Slug
    what: PlaceKind
    description: Text

    def apply_house(self, house: House, event: Event) -> None:
        """Name the place."""
        del event
        house.places[self.place] = Place(self.place, self.what, self.description)


class HolderNamed(HouseAct):
    """Somebody outside the firm who can answer for a thing was named."""

    kind: Literal["holder-named"] = "holder-named"
    holder: Slug
    what: HolderKind
    description: Text

    @field_validator("holder")
    @classmethod
    def _not_us(cls, holder: str) -> str:
        if holder == HERE:
            raise ValueError(f"'{HERE}' is the firm itself; name the holder otherwise")
        return holder

    def apply_house(self, house: House, event: Event) -> None:
        """Name the holder."""
        del event
        house.holders[self.holder] = Holder(self.holder, self.what, self.description)


class PolicyAdopted(HouseAct):
    """The firm adopted a policy; the auditor reads here what was in force."""

    kind: Literal["policy-adopted"] = "policy-adopted"
    policy: dict[str, Any]

    @field_validator("policy")
    @classmethod
    def _is_policy(cls, policy: dict[str, Any]) -> dict[str, Any]:
        return Policy.model_validate(policy).model_dump(mode="json")

    def apply_house(self, house: House, event: Event) -> None:
        """Put the policy in force."""
        house.policies.append((event.recorded_at, Policy.model_validate(self.policy)))


class CasesIndexed(HouseAct):
    """The root of the case index, written just before a published checkpoint."""

    kind: Literal["cases-indexed"] = "cases-indexed"
    root: Digest
    count: int = Field(ge=0, description="how many cases it covers")
    size: int = Field(ge=0, description="entries of the register that the index covers")


DIRECTORS_TO_RESTORE = 2
"""How many directors must sign that a register was restored; an audit asks for as many."""


class RegisterRestored(HouseAct):
    """The register was restored from a copy older than its guard; two directors say so."""

    kind: Literal["register-restored"] = "register-restored"
    guard_size: int = Field(ge=0, description="entries the guard had seen")
    guard_root: Digest
    size: int = Field(ge=0, description="entries the restored copy held")
    reason: Text

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Whatever the policy says: else one director could put an older record in its place."""
        directors = [p for p in scene.persons if Role.DIRECTOR in scene.house.roles(p)]
        if len(set(directors)) < DIRECTORS_TO_RESTORE:
            yield Objection(
                "second-director",
                f"{self.kind} needs two directors, and {len(set(directors))} signed",
                "let a second director sign as well",
                findable=False,
            )
