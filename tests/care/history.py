"""Histories in memory: events as a register would write them, without one.

Persons, places and holders are invented. Each act is judged as the register judges it, and copied
into every case it touches; `force` writes what the rules would refuse, as an old or foreign
register may hold it.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

from continuity.care import closing, rules
from continuity.care.entries import read_act
from continuity.care.fold import fold
from continuity.care.house import Holder, House, Key, Place, Role
from continuity.care.records import Event
from continuity.care.scene import Scene

if TYPE_CHECKING:
    from continuity.care.acts.base import Act
    from continuity.care.case import Case
    from continuity.care.closing import Verdict
    from continuity.care.refusal import Objection

MORNING = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
CASE = "2026-0001"
OTHER = "2026-0002"
TAG = ("name", "date-of-birth", "mortuary-number")


def identifiers(*names: str, read_from: str = "body-tag") -> list[dict[str, str]]:
    return [{"what": name, "read_from": read_from} for name in names]


def bearing(item: dict[str, object]) -> dict[str, object]:
    """A thing that comes bears a label that can be scanned, unless it is said to bear none."""
    return item if item.get("receipt") == "missing" else {"found_label": "its own tag", **item}


def furnished() -> House:
    house = House(firm="an invented firm")
    for place in ("cold-room", "table", "store", "annex"):
        house.places[place] = Place(place, "other", place)
    for holder in ("coroner", "lab", "crematory", "family", "clinic"):
        house.holders[holder] = Holder(holder, "other", holder)
    for person, role in (
        ("ada", Role.DIRECTOR),
        ("ben", Role.MORTICIAN),
        ("cy", Role.ASSISTANT),
        ("dot", Role.AUDITOR),
    ):
        key = Key(f"{person}+00000000+A", person, role)
        house.keys[key.reference] = key
    return house


class World:
    """A firm's cases, kept in memory; one minute passes between acts."""

    def __init__(self) -> None:
        self.house = furnished()
        self.chains: dict[str, list[Event]] = {}
        self.clock = MORNING

    def pass_time(self, **span: int) -> None:
        self.clock += timedelta(**span)

    def case(self, number: str = CASE, **until: datetime) -> Case:
        return fold(f"id-{number}", number, self.chains.get(number, ()), **until)

    def scene(
        self, number: str = CASE, by: tuple[str, ...] = ("ada", "ben"), at: datetime | None = None
    ) -> Scene:
        until = {"happened_until": at} if at else {}
        others = {name: self.case(name, **until) for name in self.chains if name != number}
        return Scene(self.case(number, **until), others, self.house, at or self.clock, by)

    def act(self, kind: str, fields: dict[str, object], scene: Scene) -> Act:
        return read_act({"kind": kind, **fields}).settle(scene)

    def objections(
        self,
        kind: str,
        *,
        case: str = CASE,
        by: tuple[str, ...] = ("ada", "ben"),
        at: datetime | None = None,
        **fields: object,
    ) -> list[Objection]:
        scene = self.scene(case, by, at)
        return rules.judge(self.act(kind, fields, scene), scene)

    def refusals(self, kind: str, **how: object) -> list[str]:
        return sorted({o.code for o in self.objections(kind, **how)})

    def do(
        self,
        kind: str,
        *,
        case: str = CASE,
        by: tuple[str, ...] = ("ada", "ben"),
        at: datetime | None = None,
        recorded: datetime | None = None,
        found: bool = False,
        force: bool = False,
        **fields: object,
    ) -> Event:
        """Record an act now, or as of an earlier time; found to be so; or by force."""
        if kind == "case-opened":
            fields["number"] = case
        if kind == "received":
            fields["items"] = [bearing(item) for item in fields["items"]]
        if kind in ("received", "returned"):
            fields.setdefault("giver_signed", True)
        scene = self.scene(case, by, at)
        act = self.act(kind, fields, scene)
        objections = [] if force else rules.judge(act, scene)
        if found:
            assert objections, "nothing speaks against it: found is not needed"
            assert all(o.findable for o in objections), objections
            act = act.model_copy(update={"despite": tuple(sorted({o.code for o in objections}))})
        else:
            assert not objections, objections
        others = rules.concerned(act, scene, self.scene(case, by))
        times = (at or self.clock, recorded or self.clock)
        if others:
            act = act.model_copy(update={"in_cases": (case, *others)})
            known = rules.made_known(act, scene, self._once_corrected(act, scene, by, times))
            act = act.model_copy(update={"known": known})
        event = self._append(case, act, by, times)
        for other in others:
            self._append(other, act, by, times, event.leaf)
        self.clock += timedelta(minutes=1)
        return event

    def _once_corrected(
        self, act: Act, scene: Scene, by: tuple[str, ...], times: tuple[datetime, datetime]
    ) -> Scene | None:
        """The scene as a correction makes it; None for any other act."""
        if act.strikes_leaf() is None:
            return None
        drafts = [
            rules.History(
                f"id-{case}",
                case,
                self.chains.get(case, ()),
                self._event(case, act, by, times),
            )
            for case in act.in_cases
        ]
        return rules.once_recorded(scene, drafts)

    def _append(
        self,
        case: str,
        act: Act,
        by: tuple[str, ...],
        times: tuple[datetime, datetime],
        mirrors: str | None = None,
    ) -> Event:
        event = self._event(case, act, by, times, mirrors)
        self.chains.setdefault(case, []).append(event)
        return event

    def _event(
        self,
        case: str,
        act: Act,
        by: tuple[str, ...],
        times: tuple[datetime, datetime],
        mirrors: str | None = None,
    ) -> Event:
        number = len(self.chains.get(case, ()))
        leaf = sha256(f"{case} {number}".encode()).hexdigest()
        return Event(act, f"id-{case}", number, *times, by[0], by, leaf, mirrors=mirrors)

    def correct(self, event: Event, **fields: object) -> Event:
        """Correct an entry: strike it, or read what is given instead."""
        case = event.case.removeprefix("id-")
        instead = fields.pop("instead", None)
        extra = {"instead": instead} if instead else {}
        return self.do(
            "corrected", case=case, strikes=event.leaf, reason="written wrongly", **extra, **fields
        )

    def check(self, case: str = CASE, now: datetime | None = None, **how: object) -> Verdict:
        folded = self.case(case)
        how.setdefault("house", self.house)
        return closing.check(folded, self.house.policy, now or self.clock, **how)

    def codes(self, case: str = CASE, **how: object) -> list[str]:
        """The codes found, in order of the alphabet, each as often as it was found."""
        return sorted(f.code for f in self.check(case, **how).findings)

    # What most histories share: a decedent (item 1) and a coffin (item 2).

    def arrive(
        self,
        *items: dict[str, object],
        case: str = CASE,
        identified: tuple[str, ...] = TAG,
        **opened: object,
    ) -> None:
        """A decedent and a coffin come; whatever is given lies beside them, from item 3 on.

        What is `empty` was looked into.
        """
        empty = [n for n, item in enumerate(items, 3) if item.pop("empty", False)]
        opened.setdefault("disposition", "burial")
        opened.setdefault("release_authority", "release 7 of the coroner")
        self.do("case-opened", case=case, **opened)
        self.do(
            "received",
            case=case,
            giver="coroner",
            place="cold-room",
            items=[
                {"what": "decedent", "description": "the decedent"},
                {"what": "container", "form": "coffin", "description": "oak coffin"},
                *items,
            ],
        )
        body = f"{case}.1"
        self.identify("receipt", *identified, case=case)
        self.do("inspected", case=case, thing=body, leak=False, odour=False, suture="sound")
        self.do("retention-stated", case=case, kept="none", according_to="the examiner's report")
        for number in empty:
            self.do("inspected", case=case, thing=f"{case}.{number}", empty=True)

    def identify(self, stage: str, *names: str, case: str = CASE, **how: object) -> Event:
        read = identifiers(*(names or TAG), read_from=how.pop("read_from", "body-tag"))
        how.setdefault("agree", True)
        return self.do(
            "identified", case=case, thing=f"{case}.1", stage=stage, identifiers=read, **how
        )

    def lay_in(self, *things: str, case: str = CASE, coffin: str | None = None) -> None:
        """The decedent, and what is given, are put into the coffin, scanned."""
        into = coffin or f"{case}.2"
        self.do("put-in", case=case, things=[f"{case}.1", *things], into=into, scanned=True)

    def ready(self, *things: str, case: str = CASE, coffin: str | None = None) -> None:
        """All that the closing asks for."""
        self.lay_in(*things, case=case, coffin=coffin)
        self.sight_for_closing(case=case, coffin=coffin)

    def sight_for_closing(self, case: str = CASE, coffin: str | None = None) -> None:
        self.identify("closing", case=case)
        mine = coffin or f"{case}.2"
        self.do("sighted", case=case, things=[mine], for_closing=True)

    def close(self, case: str = CASE, coffin: str | None = None, **signed: object) -> None:
        """The check is signed and the coffin closed."""
        mine = coffin or f"{case}.2"
        self.do("closing-check-signed", case=case, coffin=mine, **signed)
        self.do("coffin-closed", case=case, thing=mine)

    def buried(self, case: str = CASE, manner: str = "burial", **how: object) -> Event:
        how.setdefault("authority", "burial order 9")
        return self.do(
            "disposed", case=case, things=[f"{case}.2"], manner=manner, where="a cemetery", **how
        )

    def label(self, thing: str, *panels: str, case: str = CASE) -> Event:
        code = f"TEST {thing} {len(self.chains[case])}"
        return self.do("labelled", case=case, thing=thing, code=code, panels=panels)


def edited(event: Event, **fields: object) -> Event:
    """The event with some of its fields otherwise."""
    return replace(event, **fields)
