"""The grammar of scans: what a sequence of them means. Pure: no register, no clock, no screen.

`step` takes the state and one scan and gives the state after it and what it comes to; `lapse`
says what time alone does. STATION.md has the grammar as a table, and the tests hold the table
to this module.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from continuity_cli.station.sequences import WANTED, label
from continuity_cli.station.state import Begun, State
from continuity_cli.station.tokens import (
    Act,
    Ask,
    Badge,
    Dropped,
    Found,
    Identify,
    Refuse,
    SignCheck,
    SignIn,
    SignOut,
    Tick,
    Typed,
    Undo,
    Unread,
)
from continuity_labels.actions import Action

if TYPE_CHECKING:
    from continuity_cli.station.state import Step
    from continuity_cli.station.tokens import Token, Work

__all__ = ["Begun", "State", "lapse", "step"]

_PIN = "the passphrase of that person's key"


def step(state: State, token: Token) -> Step:
    """What one more scan comes to.

    Args:
        state: what was before it.
        token: the scan, read.

    Returns:
        The state after it, as if what it asks for succeeds, and what it comes to.
    """
    interrupted, refused = state.interrupted, state.refused
    state = replace(state, interrupted=False, refused=None)
    if token == Act(Action.CANCEL):
        return _cancel(state, interrupted=interrupted)
    if isinstance(token, Unread):
        result: Step = (state, Refuse(token.code, token.why, token.mend))
    elif isinstance(token, Badge):
        result = _badge(state, token)
    elif state.pin_of:
        result = _pin(state, token)
    elif state.who is None:
        result = state, Refuse("no-badge", "nobody is signed in", "scan your badge first")
    elif isinstance(token, Act):
        result = _act(state, token.action, refused)
    elif state.wants_second or state.held:
        result = state, Refuse("badge-wanted", "a second person is awaited", "scan their badge")
    else:
        result = label(state, token)
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
            return asked, Ask(f"type the PIN of {badge.person}, the second person: {_PIN}")
        return replace(state, wants_second=False), SignIn(badge.person, second=True)
    if badge.locked:
        asked = replace(state.idle(), pin_of=badge.person)
        return asked, Ask(f"type the PIN of {badge.person}: {_PIN}", dropped=_begun(state))
    return replace(state.idle(), who=badge.person), SignIn(badge.person)


def _pin(state: State, token: Token) -> Step:
    if not isinstance(token, Typed):
        return state, Refuse("pin-wanted", f"the PIN of {state.pin_of} is awaited", f"type {_PIN}")
    person = state.pin_of or ""
    if state.wants_second:
        after = replace(state, pin_of=None, wants_second=False)
        return after, SignIn(person, token.text, second=True)
    return replace(state, pin_of=None, who=person), SignIn(person, token.text)


def _act(state: State, action: Action, refused: Work | None) -> Step:
    match action:
        case Action.FOUND:
            result = _found(state, refused)
        case Action.AGREE | Action.DIFFER:
            result = _chosen(state, agree=action is Action.AGREE)
        case Action.LEAK | Action.ODOUR | Action.BROKEN:
            result = _noted(state, action)
        case Action.EMPTY if state.begun and state.begun.action is Action.INSPECT:
            result = _noted(state, action)
        case Action.CLOSING_CHECK:
            result = _closing(state)
        case Action.UNDO:
            result = _undo(state)
        case Action.SECOND_PERSON:
            result = replace(state, wants_second=True), Ask("scan the second person's badge")
        case _:
            begun = replace(state.idle(), begun=Begun(action))
            result = begun, Ask(WANTED.get(action, "scan its label"), dropped=_begun(state))
    return result


def _undo(state: State) -> Step:
    if state.open:
        why = f"something is begun: {state.words}"
        return state, Refuse("begun", why, "scan CANCEL to drop it, then UNDO")
    return state, Undo()


def _found(state: State, refused: Work | None) -> Step:
    if state.open:
        why = f"something is begun: {state.words}"
        return state, Refuse("begun", why, "scan it to its end, and if it is refused, FOUND")
    if refused is None:
        why = "nothing was just refused that can be found to be so"
        return state, Refuse("nothing-to-find", why, "scan what you see; if refused, FOUND")
    return state.idle(), Found(refused)


def _chosen(state: State, *, agree: bool) -> Step:
    begun = state.begun
    if begun is None or begun.action is not Action.IDENTIFY or not begun.things:
        why = "no tag was scanned to be identified by"
        return state, Refuse("tag-wanted", why, "scan IDENTIFY, then the body's own tag")
    body = begun.things[0]
    return state.idle(), Identify(body, agree, closing=state.closing == body.case)


def _noted(state: State, note: Action) -> Step:
    """What is seen, said first, begins the looking too."""
    begun = state.begun
    going_on = begun is not None and begun.action is Action.INSPECT
    before = begun if begun and going_on else Begun(Action.INSPECT)
    noted = before.noted if note in before.noted else (*before.noted, note)
    after = replace(state.idle(), begun=replace(before, noted=noted))
    dropped = "" if going_on else _begun(state)
    return after, Ask("scan its label, or what else you see", dropped=dropped)


def _closing(state: State) -> Step:
    if state.closing and not state.open:
        return state, SignCheck(state.closing)
    begun = state.begun or Begun()
    things = begun.things if not (begun.action or begun.giver) else ()
    if len(things) == 1:
        case = things[0].case
        return replace(state.idle(), closing=case), Tick(things[0], case, begins=True)
    after = replace(state.idle(), begun=Begun(Action.CLOSING_CHECK))
    return after, Ask(WANTED[Action.CLOSING_CHECK], dropped=begun.words)


def _begun(state: State) -> str:
    return state.begun.words if state.begun else ""
