"""Personal details in a dossier: each is disclosed, withheld or erased, and exactly one of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from continuity.errors import FormatError
from continuity.ledger.disclosure import digest_of
from continuity.ledger.disclosure import read as read_disclosure

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from continuity.audit.dossier.verdict import Report
    from continuity.audit.dossier.what import Disclosed, Dossier
    from continuity.ledger.chain import Entry

ERASING = "personal-details-erased"

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
    standing: dict[str, set[int]] = {}
    for entry in entries:
        if entry.kind == ERASING:
            by = Erased(entry.number, str(entry.details.get("ground", "")))
            numbers = set(_list(entry.details.get("entries")))
            for name in _list(entry.details.get("fields")) or list(standing):
                left = standing.get(name, set())
                gone = left & numbers if numbers else set(left)
                erased.update(((number, name), by) for number in gone)
                left -= gone
        for name in personal_of(entry):
            standing.setdefault(name, set()).add(entry.number)
    return erased


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
