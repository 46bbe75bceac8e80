"""What was recorded, in words that stand on a screen."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from continuity.care.plan import State
from continuity.care.things import ThingKind
from continuity_cli.station.tokens import (
    ComeBack,
    Deed,
    Do,
    Found,
    HandOver,
    Identify,
    Inspect,
    Move,
    PutIn,
    SignCheck,
    SignedFor,
    Tick,
    Undo,
)
from continuity_labels.actions import Action

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from continuity.care.case import Case
    from continuity.care.closing import Verdict
    from continuity.care.plan import Task
    from continuity.care.records import Event
    from continuity_cli.station.tokens import Thing

_DONE = {
    Action.OPEN: "opened",
    Action.SEAL: "sealed",
    Action.EMPTY: "emptied",
    Action.RINSE: "rinsed",
    Action.IMMERSE: "immersed",
    Action.DRAIN: "drained",
    Action.DRY: "dried",
    Action.POWDER: "powdered",
    Action.SUTURE: "sutured",
    Action.SIGHTED: "sighted",
}

_SEEN = {
    Action.LEAK: "it leaks",
    Action.ODOUR: "it smells",
    Action.BROKEN: "seal broken or suture gaping",
    Action.EMPTY: "empty",
}

_SCAN_FIRST = ("never-sighted", "not-sighted")
"""Findings of the closing check that a scan at the station mends: they are listed first."""


def of_deed(deed: Deed, kind: str = "") -> str:
    """What a deed did.

    Args:
        deed: what was recorded, or was to be.
        kind: the kind of entry, where one deed can be several.
    """
    match deed:
        case Move():
            out = " taken out" if kind == "taken-out" else ""
            told = f"{_told(deed.things)}{out} → {deed.place}"
        case PutIn():
            told = f"{_told(deed.things)} → into {deed.into.told}"
        case ComeBack():
            told = f"{_told(deed.things)} back from {deed.giver} → {deed.place}"
        case HandOver():
            on = f"on {deed.authority}" if deed.authority else "authority not stated"
            told = f"{_told(deed.things)} → handed over to {deed.taker}, {on}"
        case SignedFor():
            told = f"{_told(deed.things)}: {deed.taker} signed"
        case Inspect() | Identify() | Tick() | SignCheck():
            told = _of_looking(deed)
        case Found():
            told = f"found so: {of_deed(deed.deed, kind)}"
        case Undo():
            told = "the last entry corrected"
        case Do():
            told = _of_act(deed, kind)
    return told


def _of_looking(deed: Inspect | Identify | Tick | SignCheck) -> str:
    match deed:
        case Inspect():
            return f"{deed.thing.told}: looked at, {_noted(deed)}"
        case Identify():
            return f"{deed.thing.told}: its tag {'agrees' if deed.agree else 'DIFFERS'}"
        case Tick():
            return f"seen: {deed.thing.told}"
        case SignCheck():
            return f"closing check of case {deed.case} signed"


def _noted(deed: Inspect) -> str:
    seen = [_SEEN[note] for note in _SEEN if note in deed.noted] or ["sound"]
    return " and ".join(seen) + (f", seal {deed.seal}" if deed.seal else "")


def _of_act(deed: Do, kind: str) -> str:
    thing = deed.thing
    if deed.action is Action.WEIGH:
        return f"{thing.told}: {deed.typed} g"
    if kind == "packaging-discarded":
        return f"{thing.told}: empty, thrown away"
    if deed.action is Action.EMPTY and thing.what is not ThingKind.CONTAINER:
        return f"{thing.told}: hollow organs emptied"
    with_it = f", {_typed(deed)}" if deed.typed else ""
    return f"{thing.told}: {_DONE[deed.action]}{with_it}"


def _typed(deed: Do) -> str:
    if deed.action is Action.IMMERSE:
        return f"formaldehyde {deed.typed} %"
    return f"seal {deed.typed}"


def _told(things: tuple[Thing, ...]) -> str:
    return ", ".join(thing.told for thing in things)


def next_step(case: Case, plan: Iterable[Task], now: datetime) -> str:
    """The care step that is due next in a case; empty where none is."""
    task = next((t for t in plan if t.state is not State.DONE), None)
    if task is None:
        return ""
    thing = case.things[task.thing]
    words = "" if thing.what is ThingKind.DECEDENT else f", {thing.description} {task.thing}"
    when = ""
    if task.state is State.UNDER_WAY and task.due:
        when = f" at {task.due.astimezone(now.tzinfo):%H:%M}"
    late = " LATE: " if task.state is State.LATE else ""
    return f"{late}{task.words}{words}{when}".strip()


def missing(verdict: Verdict) -> tuple[str, ...]:
    """What still stops the closing: labels to scan first, then all else with what mends it."""
    stops = sorted(verdict.stops, key=lambda finding: finding.code not in _SCAN_FIRST)
    return tuple(f"{f.code}: {_by_scans(f.mend)}" for f in stops)


_COMMANDS = {
    r"identified( --[^)]*)?": "IDENTIFY",
    r"inspected( --thing \S+)? --empty": "INSPECT, EMPTY",
    r"inspected( --thing [^,)]*)?": "INSPECT",
    r"sighted( --for-closing)?(?! --)": "scan its label",
    r"opened( --[^,)]*)?": "OPEN",
    r"sealed( --thing [A-Z0-9.-]+)?": "SEAL",
    r"put-in": "scan it, then what it goes into",
    r"taken-out": "scan it, then where it is put",
    r"returned( --thing [^,)]*)?": "scan its holder, it, the place",
    **{rf"cared-for --step {done}": action.heading.upper() for action, done in _DONE.items()},
}
"""What mends a finding at the command line, and the scans that do the same."""


def _by_scans(mend: str) -> str:
    """What mends a finding, for whoever has the board in sight and no command line."""

    def told(within: re.Match[str]) -> str:
        text = within[0]
        for command, scans in _COMMANDS.items():
            text = re.sub(rf"(?<=[(, ]){command}(?=[),])", scans, text)
        return text

    return re.sub(r"\([^()]*\)", told, mend)


def of_entry(event: Event, case: str | None, now: datetime) -> str:
    """An entry, when the station comes back: what, of which case, by whom, when."""
    act = event.act
    things = list(act.mentions())
    chain = f"case {case}, " if case else ""
    what = f"{act.kind} {', '.join(things[:4])}{' …' if len(things) > 4 else ''}".strip()  # noqa: PLR2004
    when = f"{event.recorded_at.astimezone(now.tzinfo):%Y-%m-%d %H:%M}"
    return f"{chain}entry {event.number}: {what}, by {event.by}, {when}"
