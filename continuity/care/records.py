"""The records a case is made of: each a small thing that was said once, at a moment."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum, auto
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from datetime import datetime

    from continuity.care.things import Disposition


@dataclass(frozen=True, slots=True, order=True)
class Moment:
    """When something happened; entries of one instant keep the order of their numbers.

    Attributes:
        at: when, UTC.
        number: the number of the entry it stands under.
        told: the number of the entry that says so: a correction's, where it is read instead.
    """

    at: datetime
    number: int
    told: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a case's chain, as care reads it.

    Attributes:
        moment: Where the event stands in the order of what happened.
    """

    act: Any
    case: str
    number: int
    occurred_at: datetime
    recorded_at: datetime
    by: str
    persons: tuple[str, ...]
    leaf: str
    mirrors: str | None = None
    utc_offset: str = "+00:00"
    corrected_by: int | None = None
    moment: Moment = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        told = self.number if self.corrected_by is None else self.corrected_by
        object.__setattr__(self, "moment", Moment(self.occurred_at, self.number, told))

    @property
    def origin(self) -> str:
        """The leaf by which every case that it touches knows it: its own, or the one it repeats."""
        return self.mirrors or self.leaf


@dataclass(frozen=True, slots=True)
class Closure:
    """A container, a body or a coffin was shut, or opened.

    The seal is the one put on, or, for an opening, the one that was read as it was broken.
    """

    moment: Moment
    shut: bool
    how: str
    seal: str | None = None


@dataclass(frozen=True, slots=True)
class Sighting:
    """A label was scanned, or a thing was seen, at a moment.

    Attributes:
        moment: when.
        scanned: a label in force was scanned, or the body's own tag read.
        for_closing: it was done for the closing check.
        no_label: it was recorded as a scan, and nothing was there to be scanned.
    """

    moment: Moment
    scanned: bool
    for_closing: bool
    no_label: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """A care step done on a thing."""

    moment: Moment
    step: str
    product: str | None = None
    lot: str | None = None
    millilitres: int | None = None
    formaldehyde_tenths: int | None = None


@dataclass(frozen=True, slots=True)
class Condition:
    """What an inspection found; None where it was not looked at."""

    moment: Moment
    leak: bool | None = None
    odour: bool | None = None
    dry: bool | None = None
    suture: str | None = None
    seal: str | None = None
    seal_number: str | None = None
    implants: str | None = None
    empty: bool | None = None

    @property
    def noted(self) -> bool:
        """Whether it says how the thing looked from outside, not only what is in it."""
        return any(x is not None for x in (self.leak, self.odour, self.suture, self.seal))


@dataclass(frozen=True, slots=True)
class Weight:
    """A weighing, in grams."""

    moment: Moment
    grams: int


class Sight(Enum):
    """What the count of a place found of a thing."""

    SEEN = auto()
    MISSING = auto()
    UNEXPECTED = auto()


@dataclass(frozen=True, slots=True)
class Counted:
    """What the last count that looked for a thing found of it, and at which place."""

    moment: Moment
    place: str
    sight: Sight


@dataclass(frozen=True, slots=True)
class Label:
    """The print of a thing's label that is in force."""

    moment: Moment
    code: str
    panels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Retention:
    """A thing kept by the examiner: why, until when, and whether the family was told."""

    moment: Moment
    holder: str
    reason: str | None
    until: str | None
    authority: str | None
    family_told: bool | None


@dataclass(frozen=True, slots=True)
class Instruction:
    """What the family, or whoever may, said is to become of a thing."""

    moment: Moment
    instruction: str
    relation: str | None


@dataclass(frozen=True, slots=True)
class Leaving:
    """How a thing left for good, and what stands behind it."""

    moment: Moment
    way: str
    authority: str | None = None
    relation: str | None = None
    identity_checked: bool = False
    signed: bool = False
    method: str | None = None


@dataclass(frozen=True, slots=True)
class Identification:
    """The decedent was identified, from what and by whom."""

    moment: Moment
    thing: str
    stage: str
    identifiers: tuple[tuple[str, str | None], ...]
    agree: bool | None
    persons: tuple[str, ...]


@dataclass(slots=True)
class Irregularity:
    """Something that should not be so, open until a named person resolves it."""

    number: int
    moment: Moment
    codes: tuple[str, ...]
    things: tuple[str, ...]
    text: str
    resolved: Moment | None = None
    resolution: str | None = None
    resolved_by: str | None = None
    about: tuple[str, ...] = ()


@dataclass(slots=True)
class Transfer:
    """Custody of things went from one holder to another."""

    moment: Moment
    things: tuple[str, ...]
    giver: str
    taker: str
    authority: str | None
    document: str | None
    accepted: Moment | None
    entry: int
    unstated: bool = False
    """Whether nobody said that the giver signed, nor that they did not."""


@dataclass(frozen=True, slots=True)
class CheckSigned:
    """A closing check was signed: clear, or closed over findings."""

    moment: Moment
    coffin: str | None
    over: tuple[str, ...]
    persons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sharing:
    """Authority for several cases to share one coffin."""

    moment: Moment
    coffin: str
    cases: tuple[str, ...]
    authority: str


@dataclass(frozen=True, slots=True)
class Planned:
    """The disposition planned since a moment."""

    moment: Moment
    disposition: Disposition
    day: str | None
    authority: str | None
    long_delay: bool
    above_ground: bool
