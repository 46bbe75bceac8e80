"""What labels mean in a sequence: things, places, holders, and what is typed between them."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from continuity.care.things import ThingKind
from continuity_cli.station.state import Begun, State
from continuity_cli.station.tokens import (
    Ask,
    ComeBack,
    Do,
    HandOver,
    Holder,
    Inspect,
    Move,
    Place,
    PutIn,
    Refuse,
    SignedFor,
    Thing,
    Tick,
    Typed,
)
from continuity_labels.actions import Action

if TYPE_CHECKING:
    from continuity_cli.station.state import Step

_FOR_A_TYPED = {
    Action.OPEN: re.compile(r"[ -~]{1,40}"),
    Action.SEAL: re.compile(r"[ -~]{1,40}"),
    Action.WEIGH: re.compile(r"[0-9]{1,6}"),
    Action.IMMERSE: re.compile(r"[0-9]{1,2}([.,][0-9])?"),
    Action.INSPECT: re.compile(r"[ -~]{1,40}"),
    Action.HAND_OVER: re.compile(r"[ -~]{1,40}"),
}
"""What may be typed, or scanned from a seal or a paper, between these acts and the label."""

WANTED = {
    Action.OPEN: "scan its label; before it, if you like, the number of the seal you broke",
    Action.SEAL: "scan the number of the new seal, then the label; a net has no seal",
    Action.WEIGH: "type the grams, and scan the label",
    Action.IMMERSE: "scan the label; before it, if you know it, type the formaldehyde in per cent",
    Action.INTO: "scan the thing, then where it goes",
    Action.OUT: "scan the thing, then where it was put",
    Action.HAND_OVER: "scan the things, then who receives them; first, if named, the authority",
    Action.SIGNED_FOR: "scan who signed; before, for other than the last hand-over, the things",
    Action.INSPECT: "scan LEAK, ODOUR, BROKEN or its seal as you see them, then its label",
    Action.IDENTIFY: "scan the body's own tag",
    Action.CLOSING_CHECK: "scan any label of the case",
}
"""What follows an act, where it is more than a label."""

_GATHERING = (None, Action.INTO, Action.OUT, Action.HAND_OVER, Action.SIGNED_FOR)
"""Acts, or none, that several things can be scanned for."""

_TO_A_HOLDER = (Action.HAND_OVER, Action.SIGNED_FOR)
_READ = "read the tag aloud against the papers: name, date of birth, number; then AGREE or DIFFER"


def label(state: State, token: Thing | Place | Holder | Typed) -> Step:
    """What one more label, or what is typed, comes to in the sequence that is begun."""
    match token:
        case Thing():
            return _thing(state, token)
        case Place():
            return _place(state, token)
        case Holder():
            return _holder(state, token)
        case Typed():
            return _typed(state, token)


def _thing(state: State, thing: Thing) -> Step:
    begun = state.begun
    if begun is None and state.closing:
        return state, Tick(thing, state.closing)
    if begun and begun.action is Action.CLOSING_CHECK:
        after = replace(state.idle(), closing=thing.case)
        return after, Tick(thing, thing.case, begins=True)
    if begun and begun.action and begun.action not in _GATHERING:
        return _done(state, begun, begun.action, thing)
    return _with_others(state, begun or Begun(), thing)


def _done(state: State, begun: Begun, action: Action, thing: Thing) -> Step:
    if action is Action.INSPECT:
        return state.idle(), Inspect(thing, frozenset(begun.noted), begun.typed)
    if action is Action.IDENTIFY:
        return _tag(state, begun, thing)
    if action is Action.WEIGH and begun.typed is None:
        after = replace(state, begun=replace(begun, things=(thing,)))
        return after, Ask("type the grams")
    return state.idle(), Do(action, thing, begun.typed)


def _tag(state: State, begun: Begun, thing: Thing) -> Step:
    if thing.what is not ThingKind.DECEDENT:
        return state, Refuse("tag-wanted", f"{thing.told} is no body", "scan the body's own tag")
    if not thing.scanned:
        why = f"the number of {thing.told} was typed, and its tag not scanned"
        return state, Refuse("tag-wanted", why, "scan the body's own tag")
    return replace(state, begun=replace(begun, things=(thing,))), Ask(_READ)


def _with_others(state: State, begun: Begun, thing: Thing) -> Step:
    if thing in begun.things:
        return state, Refuse("scanned-twice", f"{thing.told} is scanned already", _where(begun))
    if begun.things and begun.action not in _TO_A_HOLDER and thing.holds:
        return _into(state, begun, thing)
    if begun.things and thing.case != begun.things[0].case:
        why = f"{thing.told} is of case {thing.case}, and case {begun.things[0].case} is begun"
        return state, Refuse("wrong-case", why, "take the thing of the right case")
    return _gathered(state, begun, thing)


def _into(state: State, begun: Begun, into: Thing) -> Step:
    if begun.giver:
        why = f"things come back from {begun.giver}"
        return state, Refuse("place-wanted", why, "scan the place where they were set down")
    unfit = next((thing for thing in begun.things if not into.takes(thing)), None)
    if unfit:
        why = f"{unfit.told} does not go into {into.told}"
        return state, Refuse("other-way-round", why, "scan what goes in first, then the body's tag")
    return state.idle(), PutIn(begun.things, into, out=begun.action is Action.OUT)


def _gathered(state: State, begun: Begun, thing: Thing) -> Step:
    after = replace(begun, things=(*begun.things, thing))
    return replace(state, begun=after), Ask(_where(after))


def _where(begun: Begun) -> str:
    if begun.action in _TO_A_HOLDER:
        return "scan who receives it, or more things"
    if begun.giver:
        return "scan the place where it was set down, or more things"
    return "scan where it goes: a place, a container, the body"


def _place(state: State, place: Place) -> Step:
    begun = state.begun
    if begun is None or begun.action not in (None, Action.INTO, Action.OUT):
        wanted = WANTED.get(begun.action, "scan its label") if begun and begun.action else ""
        why = f"{begun.words} is begun" if begun else "nothing was scanned that goes there"
        mend = wanted or "scan the thing first, then the place"
        return state, Refuse("thing-wanted", why, mend)
    if not begun.things:
        return state, Refuse(
            "thing-wanted", "nothing was scanned that goes there", "scan the thing"
        )
    if begun.giver:
        return state.idle(), ComeBack(begun.things, begun.giver, place.id)
    return state.idle(), Move(begun.things, place.id, out=begun.action is Action.OUT)


def _holder(state: State, holder: Holder) -> Step:
    begun = state.begun
    if begun is None:
        after = replace(state, begun=Begun(giver=holder.id))
        return after, Ask(f"scan what came back from {holder.id}, then the place")
    if begun.action is Action.HAND_OVER and begun.things:
        return state.idle(), HandOver(begun.things, holder.id, begun.typed)
    if begun.action is Action.SIGNED_FOR:
        return state.idle(), SignedFor(holder.id, begun.things)
    mend = "scan HAND OVER, the things, then the holder; CANCEL drops what is begun"
    return state, Refuse("not-a-hand-over", f"{begun.words} is begun", mend)


def _typed(state: State, typed: Typed) -> Step:
    begun = state.begun
    fits = _FOR_A_TYPED.get(begun.action) if begun and begun.action else None
    if begun is None or fits is None or begun.typed is not None:
        why = "that is no label of this register, and no number is awaited"
        return state, Refuse("not-a-label", why, "scan a label, a badge or the board")
    if not fits.fullmatch(typed.text):
        wants = "whole grams" if begun.action is Action.WEIGH else "a seal's number, or per cent"
        return state, Refuse("not-a-number", f"{begun.words} wants {wants}", "type it again")
    if begun.action is Action.HAND_OVER:
        after = replace(state, begun=replace(begun, typed=typed.text))
        return after, Ask(_where(begun) if begun.things else "scan the things")
    if begun.things:
        return state.idle(), Do(begun.action or Action.WEIGH, begun.things[0], typed.text)
    after = replace(state, begun=replace(begun, typed=typed.text))
    return after, Ask("scan its label")
