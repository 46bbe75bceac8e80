"""Everything is told twice: to the register and to the naive world; then both must agree.

The world says beforehand whether the register must refuse, and why. What is refused may be so all
the same: then it is recorded as found. Afterwards everything must be where the world has it, the
bytes must read back as the same cases, and each past moment as it was then.
"""

from __future__ import annotations

import pickle
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine

from continuity.audit.trust import Trust
from continuity.audit.verify import verify
from continuity.errors import InputError
from continuity.register import RefusedError
from tests.properties.firm import REGISTER_KEY, Firm, whereabouts
from tests.properties.reckoning import ASKED, amiss, explained, is_here
from tests.properties.world import (
    NOBODY_CAN_FIND,
    State,
    Told,
    World,
    against,
    corrected,
    named,
    number_of,
    pieces,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Collection
    from datetime import datetime

    from continuity.care.case import Case

TICK = 7
"""Minutes between two things told."""

mostly = st.sampled_from([True] * 5 + [False])
seldom = st.sampled_from([False] * 7 + [True])


class Telling(RuleBasedStateMachine):
    """An invented firm's register beside a naive world.

    Attributes:
        carelessly: draws whether somebody has the wrong case, or tells a thing late.
    """

    carelessly = seldom

    def __init__(self) -> None:
        super().__init__()
        self.firm = Firm()
        self.world = World()
        self.cases: list[str] = []
        self.past: list[tuple[datetime, str, bytes]] = []
        self.thorough = True
        self.corrections: dict[str, tuple[Told, Told]] = {}

    @property
    def state(self) -> State:
        """What was told, added up."""
        return self.world.now

    # --- telling -----------------------------------------------------------------------------

    def tell(
        self,
        case: str,
        fields: dict[str, Any],
        *,
        when: datetime | None = None,
        found: bool = False,
        wait: float = TICK,
    ) -> bool:
        """Tell it to both; whether it was recorded."""
        now = self.firm.clock.wait(wait)
        state = self.world.at(when) if when else self.state
        fields = self.world.settle(case, fields, state)
        codes = against(state, case, fields)
        if codes == {"never-came"}:
            must_raise(InputError, lambda: self.firm.record(case, fields, occurred_at=when))
            return False
        if when:
            told = Told(when, len(self.world.told), case, fields)
            codes |= self.world.upset([*self.world.told, told], None)
        receipt = self.record(case, self.as_given(fields), codes, when=when, found=found)
        if receipt is None:
            return False
        self.world.tell(case, fields, when or now, receipt.leaf)
        new = {i["thing"] for i in (*fields.get("items", ()), *pieces(fields))}
        assert set(receipt.act.introduces()) == new, "a new thing takes the next number"
        self.check({case, *receipt.mirrored})
        return True

    def record(
        self,
        case: str,
        fields: dict[str, Any],
        codes: Collection[str],
        *,
        when: datetime | None = None,
        found: bool,
    ) -> Any:
        """Record it; the register must refuse exactly for what the world has against it."""
        if codes:
            refused = must_raise(
                RefusedError, lambda: self.firm.record(case, fields, occurred_at=when)
            )
            final = set(codes) & NOBODY_CAN_FIND
            said = {o.code for o in refused.objections}
            assert said == (final or set(codes)), f"refused for {said}, not {codes}: {fields}"
            if final or not found:
                return None
        receipt = self.firm.record(case, fields, occurred_at=when, found=bool(codes))
        assert set(receipt.act.despite) == set(codes), fields
        matter = self.firm.register.case(case).irregularities.get(receipt.number)
        opened = set(matter.codes) - {"raised"} if matter else set()
        assert opened == set(codes), "what is found so is an open matter, and nothing else is"
        return receipt

    def as_given(self, fields: dict[str, Any]) -> dict[str, Any]:
        """The fields as a person gives them: numbers of new things are the register's to give."""
        new = {i["thing"]: n for n, i in enumerate((*fields.get("items", ()), *pieces(fields)), 1)}
        given = dict(fields)
        for key in ("items", "into"):
            if isinstance(fields.get(key), list):
                given[key] = [
                    {
                        k: f"#{new[v]}" if k == "within" and v in new else v
                        for k, v in i.items()
                        if k != "thing"
                    }
                    for i in fields[key]
                ]
        return given

    def correct(
        self,
        told: Told,
        instead: dict[str, Any] | None,
        when: datetime | None,
        *,
        found: bool,
    ) -> bool:
        """Strike something told, and tell something else in its place, or nothing."""
        fields = {"kind": "corrected", "strikes": told.leaf, "reason": "written wrongly"}
        if instead:
            fields["instead"] = instead
        if when:
            fields["happened_at"] = f"{when:%Y-%m-%dT%H:%M:%SZ}"
        return self.read_instead(told, corrected(told, instead, when), fields, found=found)

    def take_back(self, correction: str, *, found: bool) -> bool:
        """Strike a correction: what it struck holds again."""
        now, before = self.corrections[correction]
        fields = {"kind": "corrected", "strikes": correction, "reason": "it had been right"}
        return self.read_instead(now, before, fields, found=found)

    def read_instead(self, told: Told, other: Told, fields: dict[str, Any], *, found: bool) -> bool:
        """Record a correction by which another thing told stands in the place of one."""
        self.firm.clock.wait(TICK)
        codes = self.world.upset(self.world.with_instead(other), other.order)
        receipt = self.record(told.case, fields, codes, found=found)
        if receipt is None:
            return False
        self.world.correct(other)
        self.corrections = {k: v for k, v in self.corrections.items() if v[0] is not told}
        if fields["strikes"] == told.leaf:
            self.corrections[receipt.leaf] = (other, told)
        self.check({told.case, *receipt.mirrored})
        return True

    # --- agreeing ----------------------------------------------------------------------------

    def check(self, touched: set[str]) -> None:
        """Both agree on where everything is; the bytes say the same to a fresh reader."""
        if not self.thorough:
            return
        anew = self.firm.read_anew()
        known: dict[str, tuple[Any, ...]] = {}
        for number in self.cases:
            case = self.firm.register.case(number)
            known |= whereabouts(case)
            if number in touched:
                self.past.append((self.firm.clock.now, number, remembered(case)))
                assert anew.case(number) == case, "the bytes add up to another case"
        assert known == self.state.at, "somebody has a thing elsewhere"
        for number in touched:
            self.reckon(number)

    def reckon(self, case: str) -> None:
        """The closing check stops for exactly what the world finds amiss, and names it."""
        s = self.state
        if not is_here(s, case):
            return
        verdict = self.firm.register.closing_check(case)
        lines = [f for f in verdict.stops if f.code in ASKED]
        named = {thing for f in lines for thing in f.things}
        faults = amiss(s, case, self.firm.clock.now)
        for thing, why in faults.items():
            assert explained(s, thing, named), f"{thing} is {why}, and the check is silent"
        for line in lines:
            assert set(line.things) & faults.keys(), f"{line.sentence}: and nothing is amiss"

    def teardown(self) -> None:
        """Each past moment reads as it was; an auditor who trusts nobody finds the record sound."""
        anew = self.firm.read_anew()
        for when, number, then in self.past:
            case = anew.case(number, known_until=when)
            assert remembered(case) == then, f"{number} is remembered otherwise at {when}"
        store = self.firm.register.store
        trust = Trust(register_key=REGISTER_KEY.verify_key)
        report = verify(store, trust, processes=1, now=self.firm.clock.now)
        assert report.sound, report.findings

    # --- choosing ----------------------------------------------------------------------------

    def some(
        self, data: st.DataObject, *kinds: str, likely: Callable[[str], bool] | None = None
    ) -> str:
        """Mostly a thing of these kinds that could be meant; now and then any other."""
        meant = likely or self.at_hand
        pool = [t for t in self.state.at if (not kinds or self.state.what[t] in kinds) and meant(t)]
        if not pool or not data.draw(mostly):
            pool = list(self.state.at)
        return data.draw(st.sampled_from(pool))

    def at_hand(self, thing: str) -> bool:
        """Whether it is here, and nothing shut around it."""
        s = self.state
        return s.outermost(thing)[0] == "place" and not any(s.shut.get(o) for o in s.around(thing))

    def touched(self, case: str, fields: dict[str, Any]) -> set[str]:
        """The cases something has to do with, by all that is near the things it names.

        A case that comes in late has not been told what happened to another's things since; so
        only what touches one case is told late here.
        """
        s = self.state
        near = {n for t in named(fields) for n in (t, *s.around(t), *s.all_in(t))}
        sharing = {c for coffin, cases in s.shared if coffin in near for c in cases}
        both = {number_of(t) for t in near} | {s.owner[t] for t in near}
        return both | sharing | {case, fields.get("to_case", case), *fields.get("with_cases", ())}

    def do(self, data: st.DataObject, thing: str, fields: dict[str, Any]) -> bool:
        """Tell it of the thing's case or, now and then, of a wrong one; mostly as of now."""
        case = self.state.owner[thing]
        if data.draw(self.carelessly):
            case = data.draw(st.sampled_from(self.cases))
        when = None
        if data.draw(self.carelessly) and len(self.touched(case, fields)) == 1:
            when = data.draw(st.sampled_from(self.world.told)).when + timedelta(minutes=1)
        return self.tell(case, fields, when=when, found=data.draw(st.booleans()))


def remembered(case: Case) -> bytes:
    """A case as bytes, to be compared with later."""
    return pickle.dumps(case)


def must_raise(kind: type[Exception], act: Callable[[], Any]) -> Any:
    """The error that must be raised."""
    try:
        act()
    except kind as error:
        return error
    raise AssertionError(f"{kind.__name__} was due, and it was recorded")
