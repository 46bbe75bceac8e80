"""The things a case is made of, the places they lie, the holders who answer for them.

The words are the trade's. A thing's number is its case's number, a point and a running number
(every item gets a sequential number beside its case number: ASTM E1492-05, 4.1.1), and is never
used again.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from pydantic import Field, StringConstraints

MAX_TEXT = 2000
CASE_NUMBER = r"[A-Z0-9][A-Z0-9-]{0,23}"

CaseNumber = Annotated[str, StringConstraints(pattern=rf"^{CASE_NUMBER}$")]
ThingId = Annotated[str, StringConstraints(pattern=rf"^{CASE_NUMBER}\.[1-9][0-9]{{0,3}}$")]
ItemRef = Annotated[
    str, StringConstraints(pattern=rf"^({CASE_NUMBER}\.[1-9][0-9]{{0,3}}|#[1-9][0-9]{{0,3}})$")
]
"""A thing, or `#2` for the second new thing of the same act."""
Slug = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]{0,31}$")]
"""How a firm names a person, a place or a holder: `cold-room`, `m2`. Never a person's name."""
Text = Annotated[str, StringConstraints(min_length=1, max_length=MAX_TEXT)]
Digest = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
"""A SHA-256 in lower-case hexadecimal, of a document or photograph kept elsewhere."""
Grams = Annotated[int, Field(ge=0, le=500_000)]
Millilitres = Annotated[int, Field(ge=0, le=500_000)]

PersonalField = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z-]{0,31}$")]

HERE = "here"
"""The holder that stands for the firm which keeps the register."""


class ThingKind(StrEnum):
    """What a thing is."""

    DECEDENT = "decedent"
    VISCERA = "viscera"
    PART = "part"
    SPECIMEN = "specimen"
    EFFECT = "effect"
    DEVICE = "device"
    CONTAINER = "container"
    ASHES = "ashes"


REMAINS = frozenset(
    {ThingKind.DECEDENT, ThingKind.VISCERA, ThingKind.PART, ThingKind.SPECIMEN, ThingKind.ASHES}
)
"""The kinds that are part of the person; their container may not leave before they do."""

TISSUE = frozenset({ThingKind.VISCERA, ThingKind.PART, ThingKind.SPECIMEN})
"""The remains that come apart from the body, are packed and treated."""

HOLDS_THINGS = frozenset({ThingKind.DECEDENT, ThingKind.CONTAINER})
"""The kinds something can be put into: a container, and the cavity of the body."""


class Form(StrEnum):
    """What a container is."""

    BAG = "bag"
    NET = "net"
    TUB = "tub"
    BOX = "box"
    ENVELOPE = "envelope"
    POUCH = "pouch"
    COFFIN = "coffin"
    URN = "urn"


class Power(StrEnum):
    """What makes a device dangerous in a cremator."""

    NONE = "none"
    BATTERY = "battery"
    RADIOACTIVE = "radioactive"
    UNKNOWN = "unknown"


class Intention(StrEnum):
    """What is to become of an effect."""

    WORN = "worn"
    GOES_ALONG = "goes-along"
    RELEASE = "release"
    UNKNOWN = "unknown"


class Sex(StrEnum):
    """What the tables of organ weights distinguish; identifies nobody."""

    FEMALE = "female"
    MALE = "male"


class AgeGroup(StrEnum):
    """The spans between the ages the tables of reference masses give; identifies nobody."""

    UNBORN = "unborn"
    UNDER_1 = "under-1"
    FROM_1 = "1-to-4"
    FROM_5 = "5-to-9"
    FROM_10 = "10-to-14"
    FROM_15 = "15-to-17"
    ADULT = "adult"


class PlaceKind(StrEnum):
    """What a place is."""

    COLD_ROOM = "cold-room"
    TABLE = "table"
    SHELF = "shelf"
    STORE = "store"
    SAFE = "safe"
    CHAPEL = "chapel"
    VEHICLE = "vehicle"
    OTHER = "other"


class HolderKind(StrEnum):
    """Who can answer for a thing outside the firm."""

    CORONER = "coroner"
    PATHOLOGIST = "pathologist"
    HOSPITAL = "hospital"
    CREMATORY = "crematory"
    CEMETERY = "cemetery"
    CARRIER = "carrier"
    FUNERAL_HOME = "funeral-home"
    FAMILY = "family"
    AUTHORITY = "authority"
    OTHER = "other"


class Disposition(StrEnum):
    """What is planned for, or was done with, the remains."""

    BURIAL = "burial"
    CREMATION = "cremation"
    ENTOMBMENT = "entombment"
    SENDING_ABROAD = "sending-abroad"
    DONATION = "donation"
    LAWFUL_DISPOSAL = "lawful-disposal"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class AtPlace:
    """Lies at a place of the firm."""

    place: str


@dataclass(frozen=True, slots=True)
class Inside:
    """Lies in a container, in the coffin, or in the cavity."""

    thing: str


@dataclass(frozen=True, slots=True)
class WithHolder:
    """Is in the custody of somebody outside the firm."""

    holder: str
    accepted: bool


@dataclass(frozen=True, slots=True)
class PartOf:
    """Is one with another thing again: a limb reattached, contents joined."""

    thing: str


@dataclass(frozen=True, slots=True)
class Divided:
    """Exists only as the things it was divided into."""

    into: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Released:
    """Was given to a person outside, on recorded authority."""

    authority: str | None


@dataclass(frozen=True, slots=True)
class Disposed:
    """Reached its final disposition."""

    manner: Disposition
    authority: str | None


@dataclass(frozen=True, slots=True)
class Discarded:
    """Packaging that was recorded empty and thrown away."""


@dataclass(frozen=True, slots=True)
class Unseen:
    """Was declared, and has never been seen here."""


Whereabouts = (
    AtPlace | Inside | WithHolder | PartOf | Divided | Released | Disposed | Discarded | Unseen
)

GONE = (PartOf, Divided, Released, Disposed, Discarded)
"""Whereabouts after which nothing more can happen to the thing under its own number."""


def case_of(thing: str) -> str:
    """The number of the case a thing belongs to."""
    return thing.rsplit(".", 1)[0]


def natural(thing: str) -> tuple[str, int]:
    """Sort key: `2026-0001.10` after `2026-0001.9`."""
    case, _, item = thing.rpartition(".")
    return case, int(item)


def is_case_number(text: str) -> bool:
    """Whether the text has the form of a case number."""
    return re.fullmatch(CASE_NUMBER, text) is not None
