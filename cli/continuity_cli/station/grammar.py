"""The grammar of scans: what a sequence of them means. Pure: no register, no clock, no screen.

`step` takes the state and one scan and gives the state after it and what it comes to; `lapse`
says what time alone does. STATION.md has the grammar as a table, and the tests hold the table
to this module.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from continuity_cli.station.tokens import (
    Act,
    Ask,
    Badge,
    ComeBack,
    Do,
    Dropped,
    HandOver,
    Holder,
    Move,
    Place,
    PutIn,
    Refuse,
    SignCheck,
    SignIn,
    SignOut,
    Thing,
    Tick,
    Typed,
    Undo,
    Unread,
)
from continuity_labels.actions import Action

if TYPE_CHECKING:
    from continuity_cli.station.tokens import Deed, Outcome, Token

_FOR_A_TYPED = {
    Action.OPEN: re.compile(r"[ -~]{1,40}"),
    Action.SEAL: re.compile(r"[ -~]{1,40}"),
    Action.WEIGH: re.compile(r"[0-9]{1,6}"),
    Action.IMMERSE: re.compile(r"[0-9]{1,2}([.,][0-9])?"),
}
"""What may be typed, or scanned from a seal, between these acts and the label."""

_WANTED = {
    Action.OPEN: "scan its label; before it, if you like, the number of the seal you broke",
    Action.SEAL: "scan the number of the new seal, then the label; a net has no seal",
    Action.WEIGH: "type the grams, and scan the label",
    Action.IMMERSE: "scan the label; before it, if you know it, type the formaldehyde in per cent",
    Action.INTO: "scan the thing, then where it goes",
    Action.OUT: "scan the thing, then where it was put",
    Action.HAND_OVER: "scan the things, then who receives them",
    Action.CLOSING_CHECK: "scan any label of the case",
}
"""What follows an act, where it is more than a label."""

_GATHERING = (None, Action.INTO, Action.OUT, Action.HAND_OVER)
"""Acts, or none, that several things can be scanned for."""


@dataclass(frozen=True, slots=True)
class Begun:
    """A sequence that is not complete.

    Attributes:
        action: the act that began it, if one did.
        things: the things scanned so far.
        giver: the holder from whom things come back, if one was scanned first.
        typed: what was typed, or read from a seal.
    """

    action: Action | None = None
    things: tuple[Thing, ...] = ()
    giver: str | None = None
    typed: str | None = None

    @property
    def words(self) -> str:
        """What was scanned so far, as it stands on the screen."""
        parts = [self.action.heading] if self.action else []
        parts += [f"from {self.giver}"] if self.giver else []
        parts += [self.typed] if self.typed else []
        return " → ".join((*parts, *(thing.told for thing in self.things)))


@dataclass(frozen=True, slots=True)
class State:
    """All that the meaning of the next scan depends on.

    Attributes:
        who: who is signed in.
        begun: the sequence that is not complete.
        closing: the case whose closing check is under way.
        pin_of: whose PIN is awaited.
        wants_second: SECOND PERSON was scanned; a badge is awaited, or its PIN.
        held: what waits for a second person.
        interrupted: something was just refused, or dropped by time, and nothing scanned since: a
            CANCEL that follows is meant for that, and does not put the key away.
    """

    who: str | None = None
    begun: Begun | None = None
    closing: str | None = None
    pin_of: str | None = None
    wants_second: bool = False
    held: Deed | None = None
    interrupted: bool = False

    @property
    def open(self) -> bool:
        """Whether something is awaited that time can drop, the closing check apart."""
        return bool(self.begun or self.pin_of or self.wants_second or self.held)

    @property
    def words(self) -> str:
        """What is open, for people."""
        if self.pin_of:
            return f"PIN of {self.pin_of}"
        if self.held or self.wants_second:
            return "second person"
        return self.begun.words if self.begun else ""

    def idle(self) -> State:
        """With nothing begun; who is signed in and a closing check stay."""
        return State(who=self.who, closing=self.closing)


Step = tuple[State, "Outcome"]


def step(state: State, token: Token) -> Step:
    """What one more scan comes to.

    Args:
        state: what was before it.
        token: the scan, read.

    Returns:
        The state after it, as if what it asks for succeeds, and what it comes to.
    """
    interrupted, state = state.interrupted, replace(state, interrupted=False)
    if isinstance(token, Unread):
        result: Step = (state, Refuse(token.code, token.why, token.mend))
    elif token == Act(Action.CANCEL):
        result = _cancel(state, interrupted=interrupted)
    elif isinstance(token, Badge):
        result = _badge(state, token)
    elif state.pin_of:
        result = _pin(state, token)
    elif state.who is None:
        result = state, Refuse("no-badge", "nobody is signed in", "scan your badge first")
    elif isinstance(token, Act):
        result = _act(state, token.action)
    elif state.wants_second or state.held:
        result = state, Refuse("badge-wanted", "a second person is awaited", "scan their badge")
    else:
        result = _label(state, token)
    if isinstance(result[1], Refuse):
        return replace(result[0], interrupted=True), result[1]
    return result


def lapse(state: State, *, sequence: bool, closing: bool, key: bool) -> Step | None:
    """What time alone does, recording nothing; None where it does nothing.

    Args:
        state: what was.
        sequence: whether a sequence's time is over.
        closing: whether a closing check's time is over.
        key: whether the key's time is over.
    """
    after = State(who=state.who, closing=state.closing, interrupted=True)
    if key and state.who:
        return State(interrupted=True), Dropped(f"the key of {state.who}", by_time=True)
    if sequence and state.open:
        return after, Dropped(state.words, by_time=True)
    if closing and state.closing:
        what = f"the closing check of {state.closing}"
        return replace(after, closing=None), Dropped(what, by_time=True, closing=True)
    return None


def _cancel(state: State, *, interrupted: bool) -> Step:
    """Drop the innermost of what is begun; with nothing begun, put the key away."""
    if state.open:
        return state.idle(), Dropped(state.words)
    if state.closing:
        what = f"the closing check of {state.closing}"
        return replace(state, closing=None), Dropped(what, closing=True)
    if interrupted or state.who is None:
        return state, Ask("scan a badge" if state.who is None else "scan a label or an act")
    return State(), SignOut()


def _badge(state: State, badge: Badge) -> Step:
    if state.wants_second or state.held:
        if badge.person == state.who:
            why = f"{badge.person} is signed in already"
            return state, Refuse("second-person", why, "the second person must be another one")
        if badge.locked:
            asked = replace(state, pin_of=badge.person, wants_second=True)
            return asked, Ask(f"type the PIN of {badge.person}, the second person")
        return replace(state, wants_second=False), SignIn(badge.person, second=True)
    if badge.locked:
        asked = replace(state.idle(), pin_of=badge.person)
        return asked, Ask(f"type the PIN of {badge.person}", dropped=_begun(state))
    return replace(state.idle(), who=badge.person), SignIn(badge.person)


def _pin(state: State, token: Token) -> Step:
    if not isinstance(token, Typed):
        return state, Refuse("pin-wanted", f"the PIN of {state.pin_of} is awaited", "type it")
    person = state.pin_of or ""
    if state.wants_second:
        after = replace(state, pin_of=None, wants_second=False)
        return after, SignIn(person, token.text, second=True)
    return replace(state, pin_of=None, who=person), SignIn(person, token.text)


def _act(state: State, action: Action) -> Step:
    if action is Action.SECOND_PERSON:
        return replace(state, wants_second=True), Ask("scan the second person's badge")
    if action is Action.UNDO:
        if state.open:
            why = f"something is begun: {state.words}"
            return state, Refuse("begun", why, "scan CANCEL to drop it, then UNDO")
        return state, Undo()
    if action is Action.CLOSING_CHECK:
        return _closing(state)
    begun = replace(state.idle(), begun=Begun(action))
    return begun, Ask(_WANTED.get(action, "scan its label"), dropped=_begun(state))


def _closing(state: State) -> Step:
    if state.closing and not state.open:
        return state, SignCheck(state.closing)
    begun = state.begun or Begun()
    things = begun.things if not (begun.action or begun.giver) else ()
    if len(things) == 1:
        case = things[0].case
        return replace(state.idle(), closing=case), Tick(things[0], case, begins=True)
    after = replace(state.idle(), begun=Begun(Action.CLOSING_CHECK))
    return after, Ask(_WANTED[Action.CLOSING_CHECK], dropped=begun.words)


def _begun(state: State) -> str:
    return state.begun.words if state.begun else ""


def _label(state: State, token: Thing | Place | Holder | Typed) -> Step:
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
    if action is Action.WEIGH and begun.typed is None:
        after = replace(state, begun=replace(begun, things=(thing,)))
        return after, Ask("type the grams")
    return state.idle(), Do(action, thing, begun.typed)


def _with_others(state: State, begun: Begun, thing: Thing) -> Step:
    if thing in begun.things:
        return state, Refuse("scanned-twice", f"{thing.told} is scanned already", _where(begun))
    if begun.things and begun.action is not Action.HAND_OVER and thing.holds:
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
    if begun.action is Action.HAND_OVER:
        return "scan who receives it, or more things"
    if begun.giver:
        return "scan the place where it was set down, or more things"
    return "scan where it goes: a place, a container, the body"


def _place(state: State, place: Place) -> Step:
    begun = state.begun
    if begun is None or begun.action not in (None, Action.INTO, Action.OUT):
        wanted = _WANTED.get(begun.action, "scan its label") if begun and begun.action else ""
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
        return state.idle(), HandOver(begun.things, holder.id)
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
    if begun.things:
        return state.idle(), Do(begun.action or Action.WEIGH, begun.things[0], typed.text)
    after = replace(state, begun=replace(begun, typed=typed.text))
    return after, Ask("scan its label")
