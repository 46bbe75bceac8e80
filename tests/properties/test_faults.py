"""The random days find what is wrong: each fault is put into the library, and must be caught.

A model that agrees with everything proves nothing. Told of a library with a fault in it, the same
histories must disagree, within `MOST_HISTORIES`; told of the library as it is, they must not.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import run_state_machine_as_test

from continuity import chains, recording
from continuity.care import closing, fold, records, rules
from continuity.care.acts import base, containers, leaving, movement, parts
from continuity.care.acts.movement import PutIn
from continuity.care.case import Case, Thing
from continuity.care.findings import accounts, belonging, sightings
from continuity.care.things import AtPlace, Inside
from continuity.errors import ContinuityError
from tests.properties.evening import Evenings
from tests.properties.firm import DRAWN

Patch = pytest.MonkeyPatch
PutsIn = Callable[[Patch], None]
Days = type["CarelessDays | QuietDays"]
MOST_HISTORIES = 600
NOT_AT_ONCE = {
    "an open container attests what is in it",
    "every coffin may be shared",
    "a copy is not struck with what it repeats",
    "an old sighting counts after a move",
    "corrections are ignored",
}
"""Faults that take long to be found; they are put in where CONTINUITY_HISTORIES is given."""

FAULTS: dict[str, tuple[PutsIn, Days]] = {}


class CarelessDays(Evenings):
    """Days on which half of what is told is told late, or in a wrong case."""

    carelessly = st.booleans()
    steps = 30


class QuietDays(Evenings):
    """Days on which little happens before one case is brought into order."""

    steps = 6


def fault(put_in: PutsIn, days: Days | None = None) -> PutsIn:
    """Enter a fault under its name, and the days on which it shows."""
    FAULTS[put_in.__name__.replace("_", " ")] = (put_in, days or CarelessDays)
    return put_in


def shown_on_quiet_days(put_in: PutsIn) -> PutsIn:
    """Enter a fault that shows only where one case was brought into order."""
    return fault(put_in, QuietDays)


@fault
def putting_in_forgets_nested_contents(patch: Patch) -> None:
    whole = PutIn.apply

    def apply(self: PutIn, case: Case, event: Any) -> None:
        held = [t for thing in self.things for t in case.all_contents(thing)]
        whole(self, case, event)
        for thing in held:
            thing.where = AtPlace("table-1")

    patch.setattr(PutIn, "apply", apply)


@shown_on_quiet_days
def moving_does_not_outdate_a_sighting(patch: Patch) -> None:
    def move(self: Thing, where: Any, moment: Any) -> None:
        self.where = where
        self.moved = self.moved or moment

    patch.setattr(Thing, "move", move)


@fault
def corrections_are_ignored(patch: Patch) -> None:
    def standing(events: Any) -> tuple[list[Any], dict[str, int]]:
        return sorted(events, key=lambda e: e.number), {}

    patch.setattr(fold, "standing", standing)


@fault
def a_copy_is_not_struck_with_what_it_repeats(patch: Patch) -> None:
    patch.setattr(records.Event, "origin", property(lambda self: self.leaf))


@fault
def late_entries_are_read_as_the_latest(patch: Patch) -> None:
    def dated(self: records.Event) -> None:
        moment = records.Moment(self.recorded_at, self.number, self.number)
        object.__setattr__(self, "moment", moment)

    patch.setattr(records.Event, "__post_init__", dated)


@fault
def what_is_inside_stays_behind_at_the_disposition(patch: Patch) -> None:
    patch.setattr(Case, "all_contents", Case.contents)


@fault
def other_cases_are_not_told(patch: Patch) -> None:
    patch.setattr(rules, "concerned", lambda *_: [])


@fault
def other_cases_are_told_nothing_of_the_things(patch: Patch) -> None:
    patch.setattr(rules, "made_known", lambda *_: ())


@fault
def anybodys_thing_may_be_taken_in_hand(patch: Patch) -> None:
    for module in (base, leaving, movement, parts):
        patch.setattr(module, "wrong_case", lambda *_: iter(()))


@fault
def hands_reach_through_closed_lids(patch: Patch) -> None:
    for module in (base, parts):
        patch.setattr(module, "reachable", lambda *_: iter(()))


@fault
def a_late_entry_may_contradict_what_came_after(patch: Patch) -> None:
    patch.setattr(rules, "upsets", lambda *_: iter(()))


@fault
def what_was_found_so_opens_no_matter(patch: Patch) -> None:
    whole = recording._despite

    def despite(act: Any, objections: Any, intent: Any) -> Any:
        whole(act, objections, intent)
        return act

    patch.setattr(recording, "_despite", despite)


@shown_on_quiet_days
def an_old_sighting_counts_after_a_move(patch: Patch) -> None:
    patch.setattr(sightings, "_outdated", lambda *_: False)


@shown_on_quiet_days
def an_open_container_attests_what_is_in_it(patch: Patch) -> None:
    def attested(case: Case, thing: Thing) -> Any:
        outer = case.containers_of(thing.id)
        seen = [s.moment for t in (thing, *outer) for s in t.sightings if s.scanned]
        return max(seen) if seen else None

    patch.setattr(sightings, "attested", attested)


@fault
def every_coffin_may_be_shared(patch: Patch) -> None:
    for module in (accounts, belonging):
        patch.setattr(module, "is_shared", lambda *_: True)


@fault
def what_is_left_elsewhere_is_not_a_finding(patch: Patch) -> None:
    kept = tuple(kind for kind in closing.CHECKS if kind.code != "left-elsewhere")
    patch.setattr(closing, "CHECKS", kept)


@fault
def what_a_count_did_not_find_is_not_a_finding(patch: Patch) -> None:
    kept = tuple(kind for kind in closing.CHECKS if kind.code != "missing-at-count")
    patch.setattr(closing, "CHECKS", kept)


@fault
def the_coffin_is_where_it_first_was(patch: Patch) -> None:
    def coffin(self: Case) -> Thing | None:
        return next((t for t in self.own if t.form == "coffin"), None)

    patch.setattr(Case, "coffin", property(coffin))


@fault
def the_past_is_read_as_it_is_known_now(patch: Patch) -> None:
    whole = chains.Chain.at

    def at(self: chains.Chain, known: Any, happened: Any) -> Case:
        return whole(self, None, happened)

    patch.setattr(chains.Chain, "at", at)


@fault
def an_associated_part_stays_nobodys(patch: Patch) -> None:
    patch.setattr(parts.Associated, "apply", lambda *_: None)


@fault
def the_same_thing_is_in_two_places(patch: Patch) -> None:
    whole = Case.contents

    def contents(self: Case, container: str) -> list[Thing]:
        held = whole(self, container)
        return [*held, *(t for t in self.things.values() if isinstance(t.where, Inside))]

    patch.setattr(Case, "contents", contents)


@shown_on_quiet_days
def a_reopened_coffin_keeps_its_check(patch: Patch) -> None:
    def checked(case: Case, coffin: str) -> bool:
        if not case.checks or case.checks[-1].coffin not in (None, coffin):
            return False
        return all(t.moved is None or t.moved <= case.checks[-1].moment for t in case.own)

    patch.setattr(leaving, "checked_since_change", checked)


@fault
def packaging_is_thrown_out_with_what_is_in_it(patch: Patch) -> None:
    whole = containers.PackagingDiscarded.objections

    def objections(self: Any, scene: Any) -> Any:
        return (o for o in whole(self, scene) if o.code != "not-empty")

    patch.setattr(containers.PackagingDiscarded, "objections", objections)


def tell(days: Days, histories: int, number: int) -> None:
    """So many random days, always the same under a number."""
    machine = seed(number)(type(days.__name__, (days,), {}))
    chosen = settings(
        max_examples=histories,
        stateful_step_count=days.steps,
        deadline=None,
        phases=(Phase.generate,),
        report_multiple_bugs=False,
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(machine, settings=chosen)


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_in_the_library_is_caught(name: str, monkeypatch: Patch) -> None:
    if name in NOT_AT_ONCE and "CONTINUITY_HISTORIES" not in os.environ:
        pytest.skip("put in where CONTINUITY_HISTORIES is given: make histories")
    put_in, days = FAULTS[name]
    monkeypatch.setattr(recording, "secrets", DRAWN)
    put_in(monkeypatch)
    with pytest.raises((AssertionError, ContinuityError)):
        tell(days, MOST_HISTORIES, 1)


def test_nothing_is_caught_on_careless_days_where_there_is_no_fault(monkeypatch: Patch) -> None:
    monkeypatch.setattr(recording, "secrets", DRAWN)
    tell(CarelessDays, int(os.environ.get("CONTINUITY_HISTORIES", "80")) // 4, 1)
