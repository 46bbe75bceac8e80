"""Weights, where they were taken: what grew lighter or heavier with no cause on record."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from continuity.care import masses
from continuity.care.findings.ashes import from_ashes
from continuity.care.findings.base import Found, Look, finding, name, names, settle
from continuity.care.things import AgeGroup, Divided, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing
    from continuity.care.records import Weight

_FALL = "Dover mortuary, 2009; ICRP 89 and the organ tables bound what a weight can be"
LIGHTENS = ("drained", "emptied", "aspirated", "dried", "rinsed", "device-removed", "repacked")
WEIGHTS_DOWN = ("injected", "immersed", "embalmed", "rinsed", "washed", "dressed", "powdered")
TAKES_OUT = frozenset({"taken-out", "separated", "moved", "handed-over", "released", "joined"})
PUTS_IN = frozenset({"put-in", "taken-out", "joined", "separated"})


def _changes(look: Look) -> Iterator[tuple[Thing, Weight, Weight]]:
    for thing in look.own:
        for before, after in pairwise(thing.weights):
            yield thing, before, after


def _caused(
    look: Look,
    thing: Thing,
    between: tuple[Weight, Weight],
    steps: tuple[str, ...],
    acts: frozenset[str],
) -> bool:
    """Whether a step or a movement between two weighings explains that the weight changed."""
    before, after = between[0].moment, between[1].moment
    within = [thing, *look.case.all_contents(thing.id)]
    if any(s.step in steps and before < s.moment < after for t in within for s in t.steps):
        return True
    ids = {t.id for t in within}
    return any(
        e.act.kind in acts and before < e.moment < after and ids & set(e.act.mentions())
        for e in look.case.events
    )


def _leaked(thing: Thing, between: tuple[Weight, Weight]) -> bool:
    return any(
        c.leak and between[0].moment < c.moment < between[1].moment for c in thing.conditions
    )


@finding("weight-fell", _FALL, goes_on=True, past=True)
def weight_fell(look: Look) -> Iterator[Found]:
    """A thing weighs less than before, and nothing on record explains it."""
    allowed = look.policy.threshold("weight-fall")
    for thing, before, after in _changes(look):
        lost = before.grams - after.grams
        explained = _leaked(thing, (before, after)) or _caused(
            look, thing, (before, after), LIGHTENS, TAKES_OUT
        )
        if lost * 100 > before.grams * allowed and not explained:
            yield look.found(
                f"{name(thing)} weighed {before.grams} g and then {after.grams} g, and nothing on"
                " record explains it",
                f"find out why, and {settle('weight-fell')}",
                thing,
                shown_by=(before.moment, after.moment),
            )


@finding("weight-rose", _FALL, goes_on=True, past=True)
def weight_rose(look: Look) -> Iterator[Found]:
    """A thing weighs more than before, and neither a treatment nor a putting-in explains it."""
    allowed = look.policy.threshold("weight-rise")
    for thing, before, after in _changes(look):
        gained = after.grams - before.grams
        if gained * 100 > before.grams * allowed and not _caused(
            look, thing, (before, after), WEIGHTS_DOWN, PUTS_IN
        ):
            yield look.found(
                f"{name(thing)} weighed {before.grams} g and then {after.grams} g, and nothing on"
                " record explains it",
                f"find out why, and {settle('weight-rose')}",
                thing,
                shown_by=(before.moment, after.moment),
            )


@finding("lighter-than-its-contents", _FALL, goes_on=True, past=True)
def lighter_than_its_contents(look: Look) -> Iterator[Found]:
    """A container weighs less than what is in it by the record."""
    allowed = look.policy.threshold("weight-fall")
    for thing in look.own:
        held = [t for t in look.case.contents(thing.id) if t.weights and not thing.gone]
        since = [t.moved for t in held if t.moved]
        weighed = thing.weights[-1] if thing.weights else None
        if thing.what is not ThingKind.CONTAINER or weighed is None or not held:
            continue
        inside = sum(t.weights[-1].grams for t in held)
        later = all(weighed.moment > moment for moment in since)
        if later and (inside - weighed.grams) * 100 > inside * allowed:
            yield look.found(
                f"{name(thing)} weighs {weighed.grams} g, and {names(held)} in it {inside} g",
                f"find out why, and {settle('lighter-than-its-contents')}",
                thing,
                *held,
                shown_by=(weighed.moment, *(t.weights[-1].moment for t in held)),
            )


@finding("pieces-do-not-add-up", "GS1 EPCIS 2.0: 500 kg in, 452 kg out", goes_on=True, past=True)
def pieces_do_not_add_up(look: Look) -> Iterator[Found]:
    """A thing was divided entirely, and its pieces together weigh less, or more, than it did."""
    allowed = look.policy.threshold("weight-fall")
    for thing in look.own:
        if not isinstance(thing.where, Divided) or not thing.weights:
            continue
        pieces = [look.case.things[p] for p in thing.where.into if p in look.case.things]
        if not pieces or not all(p.weights for p in pieces):
            continue
        whole, together = thing.weights[-1].grams, sum(p.weights[0].grams for p in pieces)
        if abs(whole - together) * 100 > whole * allowed:
            yield look.found(
                f"{name(thing)} weighed {whole} g, and its pieces weigh {together} g together",
                f"find out why, and {settle('pieces-do-not-add-up')}",
                thing,
                *pieces,
                shown_by=(thing.weights[-1].moment, *(p.weights[0].moment for p in pieces)),
            )


@finding("implausible-weight", "Molina & DiMaio 2012, 2015; ICRP 89", goes_on=True, past=True)
def implausible_weight(look: Look) -> Iterator[Found]:
    """An organ, the viscera or the body weighs what the published tables do not cover."""
    margin = look.policy.threshold("reference-margin")
    for thing in look.own:
        weighed = thing.weights[0] if thing.weights else None
        organ = _organ(thing)
        known = organ and masses.bounds(organ, look.case.sex, look.case.age_group, margin)
        if weighed and known and not known.least <= weighed.grams <= known.most:
            yield look.found(
                f"{name(thing)} weighed {weighed.grams} g; published are {known.least} to"
                f" {known.most} g for {organ}",
                f"find out why, and {settle('implausible-weight')}",
                thing,
                shown_by=(weighed.moment,),
            )


def _organ(thing: Thing) -> str | None:
    if thing.what is ThingKind.DECEDENT:
        return "body"
    if thing.what is ThingKind.VISCERA and thing.organ is None and not thing.parents:
        return "viscera"
    return thing.organ


@finding("ashes-implausible", masses.cremated().source, goes_on=True, past=True)
def ashes_implausible(look: Look) -> Iterator[Found]:
    """An adult's ashes weigh what was never published for one; a child's have no bounds here."""
    came = [t for t in look.own if t.what is ThingKind.ASHES and not from_ashes(look, t)]
    weighed = [t for t in came if t.weights]
    if look.case.age_group not in (None, AgeGroup.ADULT) or not came or weighed != came:
        return
    grams = sum(t.weights[0].grams for t in came)
    known = masses.cremated()
    adult = look.case.age_group is AgeGroup.ADULT
    if grams > known.most or (adult and grams < known.least):
        yield look.found(
            f"{names(came)} weighed {grams} g; published are {known.least} to {known.most} g for"
            " an adult",
            f"find out why, and {settle('ashes-implausible')}",
            *came,
            shown_by=tuple(t.weights[0].moment for t in came),
        )
