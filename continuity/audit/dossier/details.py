"""Personal details in a dossier: each is disclosed, withheld or erased, and exactly one of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from continuity.care.entries import ERASING
from continuity.errors import FormatError
from continuity.ledger.disclosure import digest_of
from continuity.ledger.disclosure import read as read_disclosure

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from continuity.audit.dossier.verdict import Report
    from continuity.audit.dossier.what import Disclosed, Dossier
    from continuity.ledger.chain import Entry

Key = TypeVar("Key")
Value = TypeVar("Value")

Place = tuple[int, str]
"""Where a personal detail stands: the entry's number, and the field."""


@dataclass(frozen=True, slots=True)
class Erased:
    """The entry that erased a detail, and its ground."""

    by: int
    ground: str


@dataclass(frozen=True, slots=True)
class Detail:
    """One personal detail as a reader sees it.

    Attributes:
        entry: Number of the entry it stands in.
        field: Its name.
        value: The value, where it is disclosed.
        erased: By which entry and on what ground it was erased.
    """

    entry: int
    field: str
    value: str | None
    erased: Erased | None

    @property
    def state(self) -> str:
        """`disclosed`, `withheld` or `erased`."""
        if self.value is not None:
            return "disclosed"
        return "erased" if self.erased else "withheld"


def personal_of(entry: Entry) -> dict[str, str]:
    """The digests of an entry's personal details by field; empty where there are none."""
    personal = entry.details.get("personal")
    if not isinstance(personal, dict):
        return {}
    return {name: digest for name, digest in personal.items() if isinstance(digest, str)}


def details_of(dossier: Dossier, entries: Sequence[Entry]) -> list[Detail]:
    """Every personal detail of the case, in order, as the dossier shows it."""
    values = {(d.entry, name): value for d in dossier.disclosures for name, value in _read(d)}
    erased = erased_in(entries)
    return [
        Detail(
            entry.number, name, values.get((entry.number, name)), erased.get((entry.number, name))
        )
        for entry in entries
        for name in sorted(personal_of(entry))
    ]


def check_details(dossier: Dossier, entries: Sequence[Entry], report: Report) -> None:
    """Find details that are another's, said twice, or gone without an entry that erased them."""
    personal = {entry.number: personal_of(entry) for entry in entries}
    erased = erased_in(entries)
    shown: set[Place] = set()
    unread = 0 if report.followed else len(dossier.entries)
    for disclosed in dossier.disclosures:
        if len(entries) <= disclosed.entry < unread:
            continue
        place = _place(disclosed, personal)
        if place is None or place in shown:
            sentence = f"A detail shown for entry {disclosed.entry} is another, or is shown twice."
            report.add("disclosure-differs", sentence, case=dossier.case, number=disclosed.entry)
            continue
        if place in erased:
            sentence = f"{_name(place)} is shown, and was erased."
            report.add("disclosure-erased-kept", sentence, case=dossier.case, number=place[0])
        shown.add(place)
    withheld = {
        (one.entry, one.field) for one in dossier.withheld if not len(entries) <= one.entry < unread
    }
    recorded = {(number, name) for number, digests in personal.items() for name in digests}
    for place in sorted(withheld & shown | withheld - recorded):
        sentence = f"{_name(place)} is withheld, and is shown as well or was never recorded."
        report.add("disclosure-differs", sentence, case=dossier.case, number=place[0])
    missing = recorded - shown - withheld - erased.keys()
    for place in sorted(missing) if report.followed else ():
        sentence = f"{_name(place)} is not shown, and no entry erased it."
        report.add("disclosure-missing", sentence, case=dossier.case, number=place[0])


def erased_in(entries: Iterable[Entry]) -> dict[Place, Erased]:
    """Which details were erased, by which entry of the case."""
    erased: dict[Place, Erased] = {}
    standing = _Standing()
    for entry in entries:
        if entry.kind == ERASING:
            by = Erased(entry.number, str(entry.details.get("ground", "")))
            numbers, fields = (set(_list(entry.details.get(one))) for one in ("entries", "fields"))
            erased.update(dict.fromkeys(standing.take(numbers, fields), by))
        for name in personal_of(entry):
            standing.add(entry.number, name)
    return erased


class _Standing:
    """The details not erased yet, found from either side: none is looked at twice for nothing."""

    def __init__(self) -> None:
        self._fields: dict[int, set[str]] = {}
        self._numbers: dict[str, set[int]] = {}

    def add(self, number: int, field: str) -> None:
        """A detail of an entry."""
        self._fields.setdefault(number, set()).add(field)
        self._numbers.setdefault(field, set()).add(number)

    def take(self, numbers: set[int], fields: set[str]) -> list[Place]:
        """Take those of these entries and fields away; an empty set stands for all."""
        if numbers:
            found = [
                (number, field)
                for number in numbers & self._fields.keys()
                for field in (self._fields[number] & fields if fields else self._fields[number])
            ]
        else:
            chosen = fields & self._numbers.keys() if fields else self._numbers.keys()
            found = [(number, field) for field in chosen for number in self._numbers[field]]
        for number, field in found:
            _drop(self._fields, number, field)
            _drop(self._numbers, field, number)
        return found


def _drop(held: dict[Key, set[Value]], key: Key, value: Value) -> None:
    held[key].discard(value)
    if not held[key]:
        del held[key]


def _list(value: Any) -> list[Any]:
    return [one for one in value if type(one) in (int, str)] if isinstance(value, list) else []


def _place(disclosed: Disclosed, personal: dict[int, dict[str, str]]) -> Place | None:
    """Where a disclosure belongs, if its digest stands there."""
    for name, _ in _read(disclosed):
        digest = personal.get(disclosed.entry, {}).get(name)
        if digest == digest_of(disclosed.disclosure):
            return disclosed.entry, name
    return None


def _read(disclosed: Disclosed) -> list[tuple[str, str]]:
    """The name and the value of a disclosure, if it is one of a text."""
    try:
        _, name, value = read_disclosure(disclosed.disclosure)
    except FormatError:
        return []
    return [(name, value)] if type(value) is str else []


def _name(place: Place) -> str:
    return f"{place[1][:40]!r} of entry {place[0]}"
