"""Which GS1 EPCIS 2.0 events each kind of entry is told in: what, where and why, not yet when.

The words are those of the Core Business Vocabulary (CBV 2.0) where it has one that says no more
than the entry does. Elsewhere the business step is this program's own, under its own URI, which
the vocabulary allows to private parties.

The first event of an entry carries what the entry says; those after it, what follows for an EPCIS
reader who knows only events: that what was put into one thing is no longer in another.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from continuity.audit.formats.names import TERMS, Names
from continuity.care.things import HERE, Disposition, natural

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from continuity.audit.formats.casefile import Change

Event = dict[str, Any]

_DESTROYED = frozenset({Disposition.CREMATION, Disposition.LAWFUL_DISPOSAL})
"""After these nothing is left under the number; after the others it rests elsewhere."""


@dataclass(frozen=True, slots=True)
class Telling:
    """One act to be told.

    Attributes:
        act: The act.
        case: The number of the case it is told in.
        names: The register's URIs.
        changes: What it changed; empty where it was struck, and so changed nothing.
    """

    act: Any
    case: str
    names: Names
    changes: tuple[Change, ...] = ()

    def things(self, things: Iterable[str]) -> list[str]:
        """The things' URIs, each once."""
        return [self.names.thing(thing) for thing in dict.fromkeys(things)]

    def at(self, place: str | None) -> Event:
        """Where it happened, and where the things are from then on."""
        if place is None:
            return {}
        where = {"id": self.names.place(place)}
        return {"readPoint": where, "bizLocation": where}

    def between(self, giver: str | None, taker: str | None) -> Event:
        """Whose possession ends, and whose begins."""
        found: Event = {}
        if giver:
            source = {"type": "possessing_party", "source": self.names.party(giver)}
            found["sourceList"] = [source]
        if taker:
            destination = {"type": "possessing_party", "destination": self.names.party(taker)}
            found["destinationList"] = [destination]
        return found

    def seen(self, things: Iterable[str], step: str, action: str = "OBSERVE", **more: Any) -> Event:
        """An ObjectEvent on things; on the case's own file where no thing is concerned."""
        objects = self.things(things) or [self.names.case(self.case)]
        return {
            "type": "ObjectEvent",
            "action": action,
            "epcList": objects,
            "bizStep": step,
            **more,
        }

    def held(
        self, action: str, parent: str, children: Iterable[str], step: str, **more: Any
    ) -> Event:
        """An AggregationEvent: things go into another, come out of it, or are in it."""
        return {
            "type": "AggregationEvent",
            "action": action,
            "parentID": self.names.thing(parent),
            "childEPCs": self.things(children),
            "bizStep": step,
            **more,
        }


def events(telling: Telling) -> list[Event]:
    """The events that tell an act; never none."""
    told = list(_KINDS.get(telling.act.kind, _noted)(telling))
    return [*told, *_containment(telling, told)]


def own(word: str) -> str:
    """A word of this program's, where the standard vocabulary has none."""
    return f"{TERMS}{word}"


def _noted(t: Telling) -> Iterator[Event]:
    """Something was said or done that moves nothing, and that the vocabulary has no word for."""
    things = () if t.act.strikes_leaf() else t.act.mentions()
    yield t.seen(things, own(t.act.kind))


def _received(t: Telling) -> Iterator[Event]:
    found = [i for i in t.act.items if i.receipt != "missing"]
    missing = [i.thing for i in t.act.items if i.receipt == "missing"]
    between = t.between(t.act.giver, HERE)
    if found:
        numbers = [item.thing for item in found]
        yield t.seen(numbers, "receiving", "ADD", **t.at(t.act.place), **between)
    if missing:
        # An observation that was expected and failed is an event too (EPCIS 2.0, ObjectEvent).
        yield t.seen(missing, "receiving", disposition="unknown", **between)
    within: defaultdict[tuple[str, bool], list[str]] = defaultdict(list)
    for item in found:
        if item.within:
            within[item.within, item.inferred].append(item.thing)
    for (outer, inferred), things in within.items():
        word = {"disposition": "completeness_inferred"} if inferred else {}
        yield t.held("OBSERVE", outer, things, "receiving", **word)


def _provided(t: Telling) -> Iterator[Event]:
    yield t.seen(t.act.mentions(), "commissioning", "ADD", **t.at(t.act.place))


def _ashes_received(t: Telling) -> Iterator[Event]:
    came = {**t.at(t.act.place), **t.between(t.act.giver, HERE)}
    parents = dict.fromkeys(p for change in t.changes for p in change.parents)
    if parents:
        came["continuity:cameFrom"] = t.things(parents)
    yield t.seen(t.act.mentions(), "receiving", "ADD", **came)


def _returned(t: Telling) -> Iterator[Event]:
    between = t.between(t.act.giver, HERE)
    yield t.seen(t.act.things, "receiving", disposition="returned", **t.at(t.act.place), **between)


def _handed_over(t: Telling) -> Iterator[Event]:
    between = t.between(HERE, t.act.taker)
    yield t.seen(t.act.things, "shipping", disposition="in_transit", **between)
    if t.act.accepted:
        yield t.seen(t.act.things, "accepting", **between)


def _accepted(t: Telling) -> Iterator[Event]:
    yield t.seen(t.act.things, "accepting", **t.between(HERE, t.act.taker))


def _retained(t: Telling) -> Iterator[Event]:
    kept = t.between(None, t.act.holder)
    new = [item.thing for item in t.act.items]
    if new:
        yield t.seen(new, "holding", "ADD", **kept)
    if t.act.things or not new:
        yield t.seen(t.act.things, "holding", **kept)


def _released(t: Telling) -> Iterator[Event]:
    yield t.seen(t.act.things, "decommissioning", "DELETE", disposition="inactive")


def _disposed(t: Telling) -> Iterator[Event]:
    along = sorted((change.thing for change in t.changes if change.after.gone), key=natural)
    destroyed = t.act.manner in _DESTROYED
    step = "destroying" if destroyed else "decommissioning"
    word = "destroyed" if destroyed else "inactive"
    yield t.seen([*t.act.things, *along], step, "DELETE", disposition=word)


def _discarded(t: Telling) -> Iterator[Event]:
    yield t.seen([t.act.thing], "destroying", "DELETE", disposition="destroyed")


def _moved(t: Telling) -> Iterator[Event]:
    yield t.seen(t.act.things, "storing", **t.at(t.act.place))


def _sighted(t: Telling) -> Iterator[Event]:
    yield t.seen(t.act.things, own("sighted"), **t.at(t.act.place))


def _put_in(t: Telling) -> Iterator[Event]:
    yield t.held("ADD", t.act.into, t.act.things, "packing")


def _taken_out(t: Telling) -> Iterator[Event]:
    where = t.at(t.act.place)
    if t.act.out_of:
        yield t.held("DELETE", t.act.out_of, t.act.things, "unpacking", **where)
    else:
        yield t.seen(t.act.things, "unpacking", **where)
    if t.act.into:
        yield t.held("ADD", t.act.into, t.act.things, "packing")


def _opened(t: Telling) -> Iterator[Event]:
    yield t.seen([t.act.thing], own(t.act.kind), disposition="container_open")


def _closed(t: Telling) -> Iterator[Event]:
    yield t.seen([t.act.thing], own(t.act.kind), disposition="container_closed")


def _separated(t: Telling) -> Iterator[Event]:
    places: defaultdict[str, list[str]] = defaultdict(list)
    within: defaultdict[str, list[str]] = defaultdict(list)
    for piece in t.act.into:
        (within[piece.within] if piece.within else places[piece.place]).append(piece.thing)
    yield {
        "type": "TransformationEvent",
        "inputEPCList": t.things([t.act.thing]),
        "outputEPCList": t.things(piece.thing for piece in t.act.into),
        "bizStep": "disassembling" if t.act.entirely else "removing",
    }
    for place, things in places.items():
        yield t.seen(things, "storing", **t.at(place))
    for outer, things in within.items():
        yield t.held("ADD", outer, things, "packing")


def _joined(t: Telling) -> Iterator[Event]:
    yield {
        **t.held("ADD", t.act.to, t.act.things, "assembling"),
        "type": "AssociationEvent",
    }


def _inspected(t: Telling) -> Iterator[Event]:
    faults = (
        t.act.leak,
        t.act.seal == "broken",
        t.act.suture == "gaping",
    )
    word = {"disposition": "non_conformant"} if any(faults) else {}
    yield t.seen([t.act.thing], "inspecting", **word)


def _identified(t: Telling) -> Iterator[Event]:
    word = {} if t.act.agree else {"disposition": "mismatch_instance"}
    yield t.seen([t.act.thing], own("identified"), **word)


def _cared_for(t: Telling) -> Iterator[Event]:
    yield t.seen([t.act.thing], own("cared-for"))
    if t.act.removed:
        yield t.seen([t.act.removed], "removing", **t.at(t.act.place))


def _weighed(t: Telling) -> Iterator[Event]:
    # GRM is the gram in UN/ECE Recommendation 20, whose codes EPCIS 2.0 takes for its units.
    report = {"type": "Mass", "value": t.act.grams, "uom": "GRM"}
    sensor = {"sensorReport": [report]}
    yield t.seen([t.act.thing], own("weighed"), sensorElementList=[sensor])


def _counted(t: Telling) -> Iterator[Event]:
    there = [thing for thing in t.act.mentions() if thing not in t.act.missing]
    if there or not t.act.missing:
        yield t.seen(there, "cycle_counting", **t.at(t.act.place))
    if t.act.missing:
        yield t.seen(t.act.missing, "cycle_counting", disposition="unknown")


_KINDS: dict[str, Callable[[Telling], Iterator[Event]]] = {
    "received": _received,
    "provided": _provided,
    "ashes-received": _ashes_received,
    "returned": _returned,
    "handed-over": _handed_over,
    "recalled": _handed_over,
    "hand-over-accepted": _accepted,
    "retained": _retained,
    "released": _released,
    "disposed": _disposed,
    "packaging-discarded": _discarded,
    "moved": _moved,
    "sighted": _sighted,
    "put-in": _put_in,
    "taken-out": _taken_out,
    "opened": _opened,
    "coffin-reopened": _opened,
    "sealed": _closed,
    "coffin-closed": _closed,
    "separated": _separated,
    "joined": _joined,
    "inspected": _inspected,
    "identified": _identified,
    "cared-for": _cared_for,
    "weighed": _weighed,
    "place-counted": _counted,
}
"""How each kind is told; every other is told as something noted about its things."""


def _containment(t: Telling, told: list[Event]) -> Iterator[Event]:
    """What else went into something or came out of it by the act, and no event says yet."""
    said = {
        (event["action"] == "DELETE", event["parentID"], child)
        for event in told
        if event["type"] == "AggregationEvent"
        for child in event["childEPCs"]
    }
    gone = {change.thing for change in t.changes if change.after.gone}
    out: defaultdict[str, list[str]] = defaultdict(list)
    into: defaultdict[tuple[str, bool], list[str]] = defaultdict(list)
    for change in t.changes:
        before, after = change.before.inside if change.before else None, change.after.inside
        if before == after:
            continue
        # Of what is gone together with what it lay in, there is nothing more to say.
        if before and not (change.thing in gone and before in gone):
            out[before].append(change.thing)
        if after:
            into[after, change.before is None].append(change.thing)
    for outer, things in out.items():
        left = [x for x in things if (True, t.names.thing(outer), t.names.thing(x)) not in said]
        if left:
            yield t.held("DELETE", outer, left, "unpacking")
    for (outer, new), things in into.items():
        left = [x for x in things if (False, t.names.thing(outer), t.names.thing(x)) not in said]
        if left and new:
            yield t.held("OBSERVE", outer, left, own("known-inside"))
        elif left:
            yield t.held("ADD", outer, left, "packing")
