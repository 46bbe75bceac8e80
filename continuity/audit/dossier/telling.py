"""What each kind of entry says, in one plain sentence.

Every kind has its sentence here; a test holds the list against the kinds there are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from continuity.care.things import (
    HERE,
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

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from continuity.care.acts.base import Act
    from continuity.care.case import Case
    from continuity.care.house import House
    from continuity.care.things import Whereabouts


@dataclass(frozen=True, slots=True)
class Names:
    """What things, places and holders are called, beside their numbers and short names."""

    case: Case
    house: House

    def thing(self, thing_id: str) -> str:
        """A thing by number and description."""
        thing = self.case.things.get(thing_id) or self.case.parted.get(thing_id)
        return f"{thing_id} ({thing.description})" if thing else thing_id

    def things(self, ids: Iterable[str]) -> str:
        """Several things."""
        return _and(self.thing(one) for one in ids)

    def place(self, place_id: str | None) -> str:
        """A place as the firm describes it."""
        place = self.house.places.get(place_id or "")
        return f"{place_id} ({place.description})" if place else (place_id or "a place not named")

    def holder(self, holder_id: str) -> str:
        """A holder as the firm describes it."""
        if holder_id == HERE:
            return self.house.firm or "the firm"
        holder = self.house.holders.get(holder_id)
        return f"{holder_id} ({holder.description})" if holder else holder_id

    def where(self, where: Whereabouts) -> str:  # noqa: PLR0911 - one line for each whereabouts
        """Where a thing is, in words."""
        match where:
            case AtPlace(place):
                return f"at {self.place(place)}"
            case Inside(thing):
                return f"in {self.thing(thing)}"
            case WithHolder(holder, accepted):
                signed = "" if accepted else ", who has not signed"
                return f"with {self.holder(holder)}{signed}"
            case PartOf(thing):
                return f"part of {self.thing(thing)} again"
            case Divided(into):
                return f"divided into {_and(into)}"
            case Released(authority):
                return f"released, {_by(authority)}"
            case Disposed(manner, authority):
                return f"{_words(manner.value)}, {_by(authority)}"
            case Discarded():
                return "discarded packaging"
            case Unseen():
                return "never seen here"
        raise AssertionError(where)


def sentence(act: Act, names: Names) -> str:
    """What an act says, in plain words; its remark, and what it was recorded in spite of."""
    parts = [_SENTENCES.get(act.kind, _plainly)(act, names)]
    if act.despite:
        parts.append(f"Found so, in spite of: {', '.join(act.despite)}.")
    if act.remark:
        parts.append(f"Remark: {act.remark}")
    return " ".join(parts)


def _plainly(act: Act, names: Names) -> str:
    """What an act without a sentence of its own says: its kind, and the things it names."""
    return f"{_words(act.kind).capitalize()}: {names.things(act.mentions())}."


def _and(parts: Iterable[str]) -> str:
    found = list(parts)
    if len(found) < 2:  # noqa: PLR2004 - one, or none
        return "".join(found) or "nothing"
    return f"{', '.join(found[:-1])} and {found[-1]}"


def _words(code: str) -> str:
    return code.replace("-", " ")


def _by(authority: str | None) -> str:
    return f"on the authority of: {authority}" if authority else "with no authority named"


def _given(*pairs: tuple[str, Any]) -> str:
    return "".join(f", {label}{value}" for label, value in pairs if value is not None)


def _opened_case(act: Any, _: Names) -> str:
    day = f" on {act.day}" if act.day else ""
    who = "remains not yet identified" if act.unidentified else "a decedent"
    more = _given(
        ("coroner's reference ", act.coroner_reference), ("released by: ", act.release_authority)
    )
    return (
        f"Case {act.number} was opened for {who}; planned: {_words(act.disposition.value)}{day}"
        f"{more}."
    )


_SIGNED = {True: "who signed", False: "who did not sign", None: "whose signature is not stated"}
_AGREE = {
    True: "all agree with the papers",
    False: "they do NOT agree with the papers",
    None: "whether they agree with the papers is not stated",
}
"""What nobody said is told as not stated, never as so."""


def _source(read_from: str | None) -> str:
    return f"from {_words(read_from)}" if read_from else "from where is not stated"


def _received(act: Any, names: Names) -> str:
    listed = []
    for item in act.items:
        note = "" if item.receipt == "as-declared" else f" [{item.receipt}]"
        seal = f", seal {item.found_seal}" if item.found_seal else ""
        held = f", in {item.within}" if item.within else ""
        listed.append(f"{item.thing} ({item.description}{held}{seal}){note}")
    signed = _SIGNED[act.giver_signed]
    return (
        f"Received from {names.holder(act.giver)}, {signed}, and set down at"
        f" {names.place(act.place)}: {_and(listed)}."
    )


def _identified(act: Any, names: Names) -> str:
    read = _and(f"{_words(i.what)} ({_source(i.read_from)})" for i in act.identifiers)
    agree = _AGREE[act.agree]
    return f"{names.thing(act.thing)} was identified ({act.stage}) by {read}; {agree}."


def _inspected(act: Any, names: Names) -> str:
    seen = [
        f"{'' if value else 'no '}{word}" if word != "dry" else ("dry" if value else "not dry")
        for word, value in (("leak", act.leak), ("odour", act.odour), ("dry", act.dry))
        if value is not None
    ]
    seen += [f"suture {act.suture}"] if act.suture else []
    number = f" ({act.seal_number})" if act.seal_number else ""
    seen += [f"seal {act.seal}{number}"] if act.seal else []
    seen += [f"implants {act.implants}"] if act.implants else []
    seen += [] if act.empty is None else ["empty" if act.empty else "not empty"]
    return f"{names.thing(act.thing)} was inspected: {_and(seen)}."


def _provided(act: Any, names: Names) -> str:
    items = _and(f"{i.thing} ({i.description})" for i in act.items)
    return f"The firm provided {items}, set down at {names.place(act.place)}."


def _scanned(act: Any) -> str:
    return ", labels scanned" if act.scanned else ""


def _taken_out(act: Any, names: Names) -> str:
    source = f" out of {names.thing(act.out_of)}" if act.out_of else " out"
    to = (
        f"put into {names.thing(act.into)}" if act.into else f"set down at {names.place(act.place)}"
    )
    return f"{names.things(act.things)} taken{source} and {to}{_scanned(act)}."


def _handed_over(act: Any, names: Names) -> str:
    signed = "who signed" if act.accepted else "who has not signed yet"
    return (
        f"{names.things(act.things)} handed over to {names.holder(act.taker)}, {signed},"
        f" {_by(act.authority)}."
    )


def _returned(act: Any, names: Names) -> str:
    return (
        f"{names.things(act.things)} came back from {names.holder(act.giver)},"
        f" {_SIGNED[act.giver_signed]}, set down at {names.place(act.place)}."
    )


def _sighted(act: Any, names: Names) -> str:
    how = "by scanning the label" if act.scanned else "by eye"
    at = f" at {names.place(act.place)}" if act.place else ""
    why = ", for the closing check" if act.for_closing else ""
    return f"{names.things(act.things)} seen {how}{at}{why}."


def _counted(act: Any, names: Names) -> str:
    told = (
        ("found", act.seen),
        ("NOT found", act.missing),
        ("found, and recorded elsewhere", act.unexpected),
        ("shut in something found, and not seen", act.uncounted),
    )
    parts = [f"{what}: {names.things(things)}" for what, things in told if things]
    found = "; ".join(parts) or "nothing of this case was there"
    return f"{names.place(act.place)} was counted: {found}."


def _separated(act: Any, names: Names) -> str:
    pieces = _and(
        f"{p.thing} ({p.description}, {f'in {p.within}' if p.within else f'at {p.place}'})"
        for p in act.into
    )
    how = "was divided entirely into" if act.entirely else "gave"
    return f"{names.thing(act.thing)} {how} {pieces}."


def _cared_for(act: Any, names: Names) -> str:
    formaldehyde = act.formaldehyde_tenths
    strength = None if formaldehyde is None else f"{formaldehyde // 10}.{formaldehyde % 10} %"
    more = _given(
        ("with ", act.product),
        ("lot ", act.lot),
        ("", None if act.millilitres is None else f"{act.millilitres} ml"),
        ("formaldehyde ", strength),
        ("removed: ", act.removed and names.thing(act.removed)),
    )
    return f"{names.thing(act.thing)}: {_words(act.step.value)}{more}."


def _retained(act: Any, names: Names) -> str:
    items = _and(
        [f"{i.thing} ({i.description})" for i in act.items] + [names.thing(t) for t in act.things]
    )
    told = {None: None, True: "told", False: "not told"}[act.family_told]
    more = _given(("because: ", act.reason), ("until ", act.until), ("family ", told))
    return f"{names.holder(act.holder)} keeps {items}{more}."


def _released(act: Any, names: Names) -> str:
    checks = _and(
        [
            "identity checked" if act.identity_checked else "identity not checked",
            "signed for" if act.signed else "not signed for",
        ]
    )
    return (
        f"{names.things(act.things)} released to: {act.relation}, {_by(act.authority)}; {checks}."
    )


def _ashes(act: Any, names: Names) -> str:
    grams = list(act.grams) + [None] * len(act.items)
    items = _and(
        f"{i.thing} ({i.description}{f', {g} g' if g is not None else ''})"
        for i, g in zip(act.items, grams, strict=False)
    )
    disc = f"; identity disc {act.identity_disc}" if act.identity_disc else ""
    return f"From {names.holder(act.giver)} came back {items}{disc}."


def _check_signed(act: Any, names: Names) -> str:
    coffin = f" over {names.thing(act.coffin)}" if act.coffin else ""
    if not act.over:
        return f"The closing check was signed{coffin}: clear."
    return (
        f"The closing check was signed{coffin}, closed over {len(act.over)} findings"
        f" ({', '.join(act.over)}), because: {act.reason}."
    )


def _erased(act: Any, _: Names) -> str:
    which = f"of entries {_and(map(str, act.entries))}" if act.entries else "of the whole case"
    fields = f" ({', '.join(act.fields)})" if act.fields else ""
    return f"Personal details {which}{fields} were erased; ground: {act.ground}."


def _corrected(act: Any, names: Names) -> str:
    replacement = act.replacement()
    instead = f" Read instead: {sentence(replacement, names)}" if replacement else ""
    return f"An earlier entry was struck, because: {act.reason}.{instead}"


_SENTENCES: dict[str, Callable[[Any, Names], str]] = {
    "case-opened": _opened_case,
    "disposition-changed": lambda a, _: (
        f"Planned from now on: {_words(a.disposition.value)}{_given(('on ', a.day))},"
        f" {_by(a.authority)}."
    ),
    "retention-stated": lambda a, _: (
        f"Organs kept by the examiner: {a.kept}, according to {a.according_to}."
    ),
    "received": _received,
    "identified": _identified,
    "inspected": _inspected,
    "moved": lambda a, n: f"{n.things(a.things)} taken to {n.place(a.place)}{_scanned(a)}.",
    "put-in": lambda a, n: f"{n.things(a.things)} put into {n.thing(a.into)}{_scanned(a)}.",
    "taken-out": _taken_out,
    "handed-over": _handed_over,
    "hand-over-accepted": lambda a, n: (
        f"{n.holder(a.taker)} signed afterwards for {n.things(a.things)}."
    ),
    "returned": _returned,
    "sighted": _sighted,
    "place-counted": _counted,
    "opened": lambda a, n: (
        f"{n.thing(a.thing)} was opened, because: {a.reason}"
        f"{_given(('seal found: ', a.seal_found))}."
    ),
    "sealed": lambda a, n: f"{n.thing(a.thing)} was closed{_given(('seal ', a.seal))}.",
    "packaging-discarded": lambda a, n: (
        f"{n.thing(a.thing)} was discarded, {'empty' if a.empty else 'NOT looked into'}."
    ),
    "labelled": lambda a, n: f"A label {a.code} was printed for {n.thing(a.thing)}.",
    "label-voided": lambda a, n: (
        f"The label {a.code} of {n.thing(a.thing)} is void, because: {a.reason}."
    ),
    "separated": _separated,
    "joined": lambda a, n: f"{n.things(a.things)} joined to {n.thing(a.to)}.",
    "associated": lambda a, n: (
        f"{n.things(a.things)} turned out to belong to case {a.to_case}, {_by(a.authority)}."
    ),
    "cared-for": _cared_for,
    "weighed": lambda a, n: f"{n.thing(a.thing)} weighed {a.grams} g.",
    "retained": _retained,
    "instructed": lambda a, n: (
        f"Instruction of {a.relation} for {n.things(a.things)}: {_words(a.wish.value)}."
    ),
    "released": _released,
    "provided": _provided,
    "coffin-closed": lambda a, n: f"{n.thing(a.thing)} was closed{_given(('seal ', a.seal))}.",
    "coffin-reopened": lambda a, n: f"{n.thing(a.thing)} was opened again, because: {a.reason}.",
    "coffin-shared": lambda a, n: (
        f"{n.thing(a.coffin)} may be shared by cases {_and(a.with_cases)}, {_by(a.authority)}."
    ),
    "disposed": lambda a, n: (
        f"{n.things(a.things)}: {_words(a.manner.value)} at {a.where}, {_by(a.authority)}"
        f"{_given(('method: ', a.method))}."
    ),
    "ashes-received": _ashes,
    "recalled": lambda a, n: (
        f"{n.things(a.things)} called back by {n.holder(a.taker)}, {_by(a.authority)}."
    ),
    "irregularity-raised": lambda a, n: (
        f"Irregular{' with ' + n.things(a.things) if a.things else ''}: {a.what}"
    ),
    "irregularity-resolved": lambda a, _: (
        f"The irregularity of entry {a.irregularity} was resolved: {a.resolution}"
    ),
    "corrected": _corrected,
    "closing-check-signed": _check_signed,
    "personal-details-erased": _erased,
}
"""What each kind says."""
