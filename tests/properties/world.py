"""A naive world: who and what is where, in plain dicts, for all cases at once.

It shares nothing with the fold but the fields of the intents. There are no cases' chains here, no
copies between them and no moments of things: one dict says where each thing is, and what was told
is told again from the beginning whenever something late or corrected comes in.

Where a thing is:
    ("place", p) ("in", thing) ("with", holder, accepted) ("never",)
    and, for good: ("one-with", thing) ("pieces", things) ("released", authority)
    ("disposed", manner, authority) ("discarded",)
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

Fields = dict[str, Any]
When = tuple["datetime", int]

FOR_GOOD = {"one-with", "pieces", "released", "disposed", "discarded"}

NOBODY_CAN_FIND = {
    "cannot-be-one",
    "case-not-named",
    "decedent-is-not-released-so",
    "excludes-later",
    "holds-nothing",
    "inside-itself",
    "never-discarded",
    "no-such-entry",
    "not-a-coffin",
    "not-a-container",
    "not-handed-over",
    "not-looked-into",
    "own-thing",
    "second-decedent",
    "step-does-not-fit",
    "never-came",
}
"""Objections that no `found` overrides: nothing in the world can be so."""


def number_of(thing: str) -> str:
    """The case whose number a thing bears."""
    return thing.rsplit(".", 1)[0]


def number_of_item(thing: str) -> int:
    """The running number a thing bears within its case."""
    return int(thing.rsplit(".", 1)[1])


@dataclass(frozen=True)
class Told:
    """One thing somebody told the register: when it happened, and in which order it was told."""

    when: datetime
    order: int
    case: str
    fields: Fields
    leaf: str = ""


@dataclass
class State:
    """Where everything is, what is shut, what was seen and changed: after some tellings."""

    what: dict[str, str] = field(default_factory=dict)
    form: dict[str, str | None] = field(default_factory=dict)
    owner: dict[str, str] = field(default_factory=dict)
    at: dict[str, tuple[Any, ...]] = field(default_factory=dict)
    shut: dict[str, bool] = field(default_factory=dict)
    moved: dict[str, When] = field(default_factory=dict)
    lids: dict[str, list[tuple[When, bool]]] = field(default_factory=dict)
    bears: set[str] = field(default_factory=set)
    scanned: dict[str, When] = field(default_factory=dict)
    looked_at: dict[str, When] = field(default_factory=dict)
    counted: dict[tuple[str, str], tuple[When, str, str]] = field(default_factory=dict)
    wished: dict[str, str] = field(default_factory=dict)
    unlawful: set[str] = field(default_factory=set)
    went_in: dict[str, tuple[str, list[str]]] = field(default_factory=dict)
    called_back: set[str] = field(default_factory=set)
    checks: dict[str, list[tuple[When, str | None]]] = field(default_factory=dict)
    shared: list[tuple[str, tuple[str, ...]]] = field(default_factory=list)
    ended: dict[str, str] = field(default_factory=dict)

    def things_of(self, case: str) -> list[str]:
        """What belongs to a case."""
        return [thing for thing, owner in self.owner.items() if owner == case]

    def body(self, case: str) -> str | None:
        """The decedent."""
        return next((t for t in self.things_of(case) if self.what[t] == "decedent"), None)

    def around(self, thing: str) -> list[str]:
        """What a thing is in, what that is in, and so on."""
        chain: list[str] = []
        while self.at[thing][0] == "in":
            thing = self.at[thing][1]
            if thing in chain:
                break
            chain.append(thing)
        return chain

    def directly_in(self, container: str) -> list[str]:
        """What lies in a container."""
        return [t for t, at in self.at.items() if at == ("in", container)]

    def all_in(self, container: str) -> list[str]:
        """What lies in a container, at any depth."""
        return [t for t in self.at if container in self.around(t)]

    def outermost(self, thing: str) -> tuple[Any, ...]:
        """Where what a thing is in, in the end, is."""
        return self.at[[thing, *self.around(thing)][-1]]

    def is_gone(self, thing: str) -> bool:
        """Whether it, or what it is in, has left for good."""
        return self.outermost(thing)[0] in FOR_GOOD

    def coffin(self, case: str) -> str | None:
        """The coffin the decedent lies in."""
        body = self.body(case)
        chain = self.around(body) if body else []
        return next((t for t in chain if self.form[t] == "coffin"), None)

    def may_share(self, coffin: str, *cases: str) -> bool:
        """Whether one authority names the coffin, and all of these cases."""
        return any(coffin == c and set(cases) <= set(named) for c, named in self.shared)

    def put(self, thing: str, at: tuple[Any, ...], when: When) -> None:
        """A thing is somewhere else from now on."""
        self.at[thing] = at
        self.moved[thing] = when

    def bring(self, thing: str, item: Fields, at: tuple[Any, ...], case: str, when: When) -> None:
        """A thing comes into the world."""
        self.what[thing] = item["what"]
        self.form[thing] = item.get("form")
        self.owner[thing] = case
        if item.get("found_label"):
            self.bears.add(thing)
        if item.get("intention"):
            self.wished[thing] = item["intention"]
        self.put(thing, at, when)


# --- what each telling does to the world -----------------------------------------------------


def _received(s: State, case: str, f: Fields, when: When) -> None:
    for item in f["items"]:
        at = ("in", item["within"]) if item.get("within") else ("place", f["place"])
        s.bring(
            item["thing"], item, ("never",) if item.get("receipt") == "missing" else at, case, when
        )
        if item.get("found_seal"):
            _lid(s, item["thing"], when, shut=True)


def _scan(s: State, things: list[str], when: When) -> None:
    for thing in things:
        s.looked_at[thing] = when
        if _can_be_scanned(s, thing):
            s.scanned[thing] = when


def _can_be_scanned(s: State, thing: str) -> bool:
    """Whether it bears a label, or what it is packed in does; the body and the coffin are none."""
    if thing in s.bears:
        return True
    for outer in s.around(thing):
        if s.what[outer] != "container" or s.form[outer] == "coffin":
            return False
        if outer in s.bears:
            return True
    return False


def _to(*at: str) -> Callable[[State, str, Fields, When], None]:
    def move(s: State, case: str, f: Fields, when: When) -> None:
        for thing in f["things"]:
            s.put(thing, (at[0], f[at[1]]), when)
        if f.get("scanned"):
            _scan(s, f["things"], when)

    return move


def _taken_out(s: State, case: str, f: Fields, when: When) -> None:
    at = ("in", f["into"]) if f.get("into") else ("place", f["place"])
    for thing in f["things"]:
        s.put(thing, at, when)
    if f.get("scanned"):
        _scan(s, f["things"], when)


def _given(s: State, case: str, f: Fields, when: When) -> None:
    for thing in f["things"]:
        s.put(thing, ("with", f["taker"], bool(f.get("accepted"))), when)


def _called_back(s: State, case: str, f: Fields, when: When) -> None:
    _given(s, case, f, when)
    s.called_back |= set(f["things"])


def _returned(s: State, case: str, f: Fields, when: When) -> None:
    _to("place", "place")(s, case, f, when)
    s.called_back -= set(f["things"])


def _accepted(s: State, case: str, f: Fields, when: When) -> None:
    for thing in f["things"]:
        if s.at[thing][:2] == ("with", f["taker"]):
            s.at[thing] = ("with", f["taker"], True)


def _sighted(s: State, case: str, f: Fields, when: When) -> None:
    for thing in f["things"]:
        place = f.get("place")
        found_here = place and s.outermost(thing) != ("place", place)
        if found_here and s.at[thing][0] not in FOR_GOOD:
            s.put(thing, ("place", place), when)
        s.looked_at[thing] = when
    if f.get("scanned", True):
        _scan(s, f["things"], when)


def _counted(s: State, case: str, f: Fields, when: When) -> None:
    for sight in ("seen", "missing", "unexpected"):
        for thing in f.get(sight, ()):
            s.counted[case, thing] = (when, f["place"], sight)


def _identified(s: State, case: str, f: Fields, when: When) -> None:
    if any(i.get("read_from") == "body-tag" for i in f["identifiers"]):
        s.bears.add(f["thing"])
        _scan(s, [f["thing"]], when)


def _labelled(s: State, case: str, f: Fields, when: When) -> None:
    s.bears.add(f["thing"])


def _lid(s: State, thing: str, when: When, *, shut: bool) -> None:
    s.shut[thing] = shut
    s.lids.setdefault(thing, []).append((when, shut))


def _close(s: State, case: str, f: Fields, when: When) -> None:
    _lid(s, f["thing"], when, shut=True)


def _open(s: State, case: str, f: Fields, when: When) -> None:
    _lid(s, f["thing"], when, shut=False)


def _cared_for(s: State, case: str, f: Fields, when: When) -> None:
    if f["step"] == "sutured":
        _close(s, case, f, when)


def _discarded(s: State, case: str, f: Fields, when: When) -> None:
    s.put(f["thing"], ("discarded",), when)


def _separated(s: State, case: str, f: Fields, when: When) -> None:
    for piece in f["into"]:
        at = ("in", piece["within"]) if piece.get("within") else ("place", piece["place"])
        s.bring(piece["thing"], piece, at, case, when)
    if f.get("entirely"):
        s.put(f["thing"], ("pieces", tuple(p["thing"] for p in f["into"])), when)


def _joined(s: State, case: str, f: Fields, when: When) -> None:
    for thing in f["things"]:
        s.put(thing, ("one-with", f["to"]), when)


def _released(s: State, case: str, f: Fields, when: When) -> None:
    for thing in f["things"]:
        s.put(thing, ("released", f.get("authority")), when)


def _disposed(s: State, case: str, f: Fields, when: When) -> None:
    gone = [t for thing in f["things"] for t in (thing, *s.all_in(thing))]
    for thing in gone:
        s.went_in[thing] = (s.owner[thing], s.around(thing))
    for thing in gone:
        s.put(thing, ("disposed", f["manner"], f.get("authority")), when)
        s.unlawful.discard(thing)
        if not f.get("authority") or (f["manner"] == "lawful-disposal" and not f.get("method")):
            s.unlawful.add(thing)
    for thing in gone:
        if s.what[thing] == "decedent":
            s.ended[s.owner[thing]] = f["manner"]


def _came(s: State, case: str, f: Fields, when: When) -> None:
    for item in f["items"]:
        s.bring(item["thing"], item, ("place", f["place"]), case, when)


def _associated(s: State, case: str, f: Fields, when: When) -> None:
    for thing in f["things"]:
        s.owner[thing] = f["to_case"]


def _instructed(s: State, case: str, f: Fields, when: When) -> None:
    for thing in f["things"]:
        s.wished[thing] = f["wish"]


def _checked(s: State, case: str, f: Fields, when: When) -> None:
    s.checks.setdefault(case, []).append((when, f.get("coffin")))


def _shared(s: State, case: str, f: Fields, when: When) -> None:
    s.shared.append((f["coffin"], tuple(f["with_cases"])))


def _nothing(s: State, case: str, f: Fields, when: When) -> None:
    pass


HAPPENS: dict[str, Callable[[State, str, Fields, When], None]] = {
    "received": _received,
    "provided": _came,
    "moved": _to("place", "place"),
    "put-in": _to("in", "into"),
    "taken-out": _taken_out,
    "returned": _returned,
    "handed-over": _given,
    "recalled": _called_back,
    "hand-over-accepted": _accepted,
    "sighted": _sighted,
    "place-counted": _counted,
    "identified": _identified,
    "labelled": _labelled,
    "opened": _open,
    "sealed": _close,
    "coffin-closed": _close,
    "coffin-reopened": _open,
    "cared-for": _cared_for,
    "packaging-discarded": _discarded,
    "separated": _separated,
    "joined": _joined,
    "released": _released,
    "disposed": _disposed,
    "ashes-received": _came,
    "associated": _associated,
    "instructed": _instructed,
    "closing-check-signed": _checked,
    "coffin-shared": _shared,
}
"""Whatever else is told changes nothing of where things are."""


# --- what cannot be, by what was told --------------------------------------------------------


def _in_hand(s: State, case: str, *things: str) -> Iterator[str]:
    """Only this case's things, that are here, can be taken in hand."""
    for thing in things:
        yield from _wrong_case(s, case, thing)
        if s.is_gone(thing):
            yield "already-gone"
        elif s.outermost(thing)[0] == "with":
            yield "not-here"


def _wrong_case(s: State, case: str, thing: str) -> Iterator[str]:
    if s.owner[thing] != case and not s.may_share(thing, case):
        yield "wrong-case"


def _to_hand(s: State, *things: str) -> Iterator[str]:
    """Nothing comes through a closed lid."""
    for thing in things:
        if any(s.shut.get(outer) for outer in s.around(thing)):
            yield "shut-in"


def _handled(s: State, case: str, *things: str) -> Iterator[str]:
    yield from _in_hand(s, case, *things)
    yield from _to_hand(s, *things)


def _goes_into(s: State, case: str, things: list[str], target: str) -> Iterator[str]:
    yield from _handled(s, case, target)
    if s.what[target] not in {"decedent", "container"}:
        yield "holds-nothing"
    if s.shut.get(target):
        yield "shut"
    if set(things) & {target, *s.around(target)}:
        yield "inside-itself"


def _against_put_in(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, *f["things"])
    yield from _goes_into(s, case, f["things"], f["into"])


def _against_taken_out(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, *f["things"])
    if any(s.at[thing] != ("in", f.get("out_of")) for thing in f["things"]):
        yield "not-inside"
    if f.get("into"):
        yield from _goes_into(s, case, f["things"], f["into"])


def _against_accepted(s: State, case: str, f: Fields) -> Iterator[str]:
    for thing in f["things"]:
        yield from _wrong_case(s, case, thing)
        if s.at[thing][:2] != ("with", f["taker"]):
            yield "not-handed-over"


def _against_returned(s: State, case: str, f: Fields) -> Iterator[str]:
    for thing in f["things"]:
        yield from _wrong_case(s, case, thing)
        away = s.outermost(thing)
        if s.at[thing] == ("never",):
            continue
        if away[0] != "with":
            yield "was-here"
        elif away[1] != f["giver"]:
            yield "other-holder"


def _against_sighted(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, *f["things"])
    for thing in f["things"]:
        if f.get("place") and s.outermost(thing) != ("place", f["place"]):
            yield "seen-elsewhere"


def _against_opened(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, f["thing"])
    if s.what[f["thing"]] not in {"decedent", "container"}:
        yield "holds-nothing"
    if s.shut.get(f["thing"]) is False:
        yield "already-open"


def _against_sealed(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, f["thing"])
    if s.what[f["thing"]] != "container":
        yield "not-a-container"
    if s.shut.get(f["thing"]):
        yield "already-closed"


def _against_coffin_closed(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, f["thing"])
    if s.form[f["thing"]] != "coffin":
        yield "not-a-coffin"
    if s.shut.get(f["thing"]):
        yield "already-closed"
    checks = s.checks.get(case)
    mine = s.things_of(case)
    changes = [s.moved[t] for t in mine]
    changes += [when for t in mine for when, shut in s.lids.get(t, ()) if not shut]
    signed = checks and checks[-1][1] in (None, f["thing"]) and max(changes) <= checks[-1][0]
    if not signed:
        yield "no-closing-check"


def _against_coffin_reopened(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, f["thing"])
    if not s.shut.get(f["thing"]):
        yield "not-closed"


def _against_cared_for(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, f["thing"])
    if f["step"] == "sutured" and s.what[f["thing"]] != "decedent":
        yield "step-does-not-fit"


def _against_discarded(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, f["thing"])
    if s.what[f["thing"]] != "container":
        yield "never-discarded"
    if s.directly_in(f["thing"]):
        yield "not-empty"
    if not f["empty"]:
        yield "not-looked-into"


def _against_separated(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, f["thing"])
    new = {p["thing"] for p in f["into"]}
    for piece in f["into"]:
        if piece.get("within") and piece["within"] not in new:
            yield from _goes_into(s, case, [], piece["within"])


def _against_joined(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, *f["things"], f["to"])
    if any(s.directly_in(thing) for thing in f["things"]):
        yield "not-empty"
    if not all(_can_be_one(s.what[thing], s.what[f["to"]]) for thing in f["things"]):
        yield "cannot-be-one"
    if set(f["things"]) & set(_one_with_or_in(s, f["to"])):
        yield "inside-itself"
    outside = any(f["to"] not in s.around(thing) for thing in f["things"])
    if outside and s.shut.get(f["to"]):
        yield "shut"


def _can_be_one(what: str, whole: str) -> bool:
    tissue = {"part", "viscera", "specimen"}
    if what in tissue:
        return whole in {*tissue, "decedent"}
    return what == whole != "container"


def _one_with_or_in(s: State, thing: str) -> Iterator[str]:
    # What another telling would have made of it may go in a circle, and is refused for that.
    passed = {thing}
    while s.at[thing][0] in {"in", "one-with"} and s.at[thing][1] not in passed:
        thing = s.at[thing][1]
        passed.add(thing)
        yield thing


def _against_released(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, *f["things"])
    for thing in f["things"]:
        if "decedent" in {s.what[t] for t in (thing, *s.all_in(thing))}:
            yield "decedent-is-not-released-so"
    if not f.get("authority"):
        yield "no-authority"


def _against_disposed(s: State, case: str, f: Fields) -> Iterator[str]:
    for thing in f["things"]:
        yield from _wrong_case(s, case, thing)
        if s.is_gone(thing):
            yield "already-gone"
        if s.what[thing] != "decedent" and s.outermost(thing)[0] == "place":
            around = s.around(thing)
            left = [n for n, outer in enumerate(around) if outer in f["things"]]
            if any(s.shut.get(outer) for outer in around[: left[0] if left else None]):
                yield "shut-in"
    if not f.get("authority"):
        yield "no-authority"
    if f["manner"] == "lawful-disposal" and not f.get("method"):
        yield "no-method"
    body, coffin = s.body(case), s.coffin(case)
    goes = body and any(body == t or t in s.around(body) for t in f["things"])
    if goes and not (coffin and s.shut.get(coffin)):
        yield "coffin-not-closed"


def _against_ashes(s: State, case: str, f: Fields) -> Iterator[str]:
    if s.ended.get(case) != "cremation":
        yield "not-cremated"


def _against_associated(s: State, case: str, f: Fields) -> Iterator[str]:
    for thing in f["things"]:
        yield from _wrong_case(s, case, thing)
        if number_of(thing) == f["to_case"]:
            yield "own-thing"
        if s.what[thing] == "decedent" and s.body(f["to_case"]):
            yield "second-decedent"


def _against_things(s: State, case: str, f: Fields) -> Iterator[str]:
    for thing in f["things"]:
        yield from _wrong_case(s, case, thing)


def _against_counted(s: State, case: str, f: Fields) -> Iterator[str]:
    for thing in (*f["seen"], *f["missing"]):
        yield from _wrong_case(s, case, thing)


def _against_labelled(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _wrong_case(s, case, f["thing"])


def _against_handling(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _handled(s, case, *f["things"])


def _against_looking(s: State, case: str, f: Fields) -> Iterator[str]:
    yield from _in_hand(s, case, f["thing"])


def _against_shared(s: State, case: str, f: Fields) -> Iterator[str]:
    if case not in f["with_cases"]:
        yield "case-not-named"
    if s.form[f["coffin"]] != "coffin":
        yield "not-a-coffin"


AGAINST: dict[str, Callable[[State, str, Fields], Iterator[str]]] = {
    "moved": _against_handling,
    "put-in": _against_put_in,
    "taken-out": _against_taken_out,
    "returned": _against_returned,
    "handed-over": _against_handling,
    "recalled": _against_handling,
    "hand-over-accepted": _against_accepted,
    "sighted": _against_sighted,
    "place-counted": _against_counted,
    "identified": _against_looking,
    "labelled": _against_labelled,
    "inspected": _against_looking,
    "opened": _against_opened,
    "sealed": _against_sealed,
    "coffin-closed": _against_coffin_closed,
    "coffin-reopened": _against_coffin_reopened,
    "cared-for": _against_cared_for,
    "packaging-discarded": _against_discarded,
    "separated": _against_separated,
    "joined": _against_joined,
    "released": _against_released,
    "disposed": _against_disposed,
    "ashes-received": _against_ashes,
    "associated": _against_associated,
    "instructed": _against_things,
    "irregularity-raised": _against_things,
    "coffin-shared": _against_shared,
}


def named(fields: Fields) -> list[str]:
    """The things a telling takes to be there already."""
    new = {i["thing"] for i in (*fields.get("items", ()), *pieces(fields)) if "thing" in i}
    single = (fields.get(k) for k in ("thing", "to", "out_of", "coffin"))
    into = fields.get("into") if isinstance(fields.get("into"), str) else None
    counted = (*fields.get("seen", ()), *fields.get("missing", ()))
    within = [i.get("within") for i in (*fields.get("items", ()), *pieces(fields))]
    every = (*fields.get("things", ()), *single, into, *counted, *within)
    return [t for t in every if t and t not in new]


def pieces(fields: Fields) -> list[Fields]:
    """The new things that came from an older one."""
    return fields["into"] if isinstance(fields.get("into"), list) else []


def against(s: State, case: str, fields: Fields) -> set[str]:
    """What speaks against a telling, given what was told before."""
    if any(thing not in s.at for thing in named(fields)):
        return {"never-came"}
    check = AGAINST.get(fields["kind"])
    return set(check(s, case, fields)) if check else set()


@dataclass
class World:
    """Everything told, in the order of telling, and what it adds up to now."""

    told: list[Told] = field(default_factory=list)
    now: State = field(default_factory=State)
    spent: dict[str, int] = field(default_factory=dict)

    def settle(self, case: str, fields: Fields, s: State) -> Fields:
        """The same with numbers for what is new, and with what things are taken out of."""
        fields = dict(fields)
        key = "into" if fields["kind"] == "separated" else "items"
        new = [dict(item) for item in fields.get(key, ())]
        for count, item in enumerate(new, self.spent.get(case, 0) + 1):
            item["thing"] = f"{case}.{count}"
        for item in new:
            if str(item.get("within", "")).startswith("#"):
                item["within"] = new[int(item["within"][1:]) - 1]["thing"]
        if new:
            fields[key] = new
        first = s.at.get(fields["things"][0]) if fields["kind"] == "taken-out" else None
        if first and first[0] == "in":
            fields.setdefault("out_of", first[1])
        return fields

    def at(self, when: datetime) -> State:
        """The state as it was at a moment, by what has been told to this day."""
        return add_up(t for t in self.told if t.when <= when)

    def tell(self, case: str, fields: Fields, when: datetime, leaf: str = "") -> None:
        """Add a telling."""
        telling = Told(when, len(self.told), case, fields, leaf)
        late = bool(self.told) and when < max(t.when for t in self.told)
        self.told.append(telling)
        new = [number_of_item(i["thing"]) for i in (*fields.get("items", ()), *pieces(fields))]
        self.spent[case] = max([self.spent.get(case, 0), *new])
        if late:
            self.now = add_up(self.told)
        else:
            happen(self.now, telling)

    def correct(self, other: Told) -> None:
        """What was told never was; this was, or nothing."""
        self.told = self.with_instead(other)
        self.now = add_up(self.told)

    def with_instead(self, other: Told) -> list[Told]:
        """What would have been told, had it been this in its place."""
        return [other if t.order == other.order else t for t in self.told]

    def upset(self, other: list[Told], fresh: int | None = None) -> set[str]:
        """What the other tellings would make impossible that these did not.

        Args:
            other: the same tellings with one more, or with one changed.
            fresh: the order of the telling that is new or read instead, which is judged itself.
        """
        found = set()
        old, new = State(), State()
        mine = {t.order: t for t in self.told}
        theirs = {t.order: t for t in other}
        both = [*self.told, *(t for t in other if mine.get(t.order) is not t)]
        for telling in sorted(both, key=lambda t: (t.when, t.order)):
            before = mine.get(telling.order) is telling
            after = theirs.get(telling.order) is telling
            if before and after:
                grown = against(new, telling.case, telling.fields) - against(
                    old, telling.case, telling.fields
                )
                found |= {"excludes-later"} if grown & NOBODY_CAN_FIND else set()
                found |= {"contradicts-later"} if grown - NOBODY_CAN_FIND else set()
            elif after and telling.order == fresh:
                found |= against(new, telling.case, telling.fields)
            if before:
                happen(old, telling)
            if after:
                happen(new, telling)
        return found


def corrected(told: Told, instead: Fields | None, when: datetime | None) -> Told:
    """What is told in the place of something; nothing is told as having been struck."""
    fields = instead or {"kind": "struck"}
    return Told(when or told.when, told.order, told.case, fields, told.leaf)


def happen(s: State, telling: Told) -> None:
    """Do what was told."""
    if all(thing in s.at for thing in named(telling.fields)):
        act = HAPPENS.get(telling.fields["kind"], _nothing)
        act(s, telling.case, telling.fields, (telling.when, telling.order))


def add_up(told: Any) -> State:
    """Tell it all again, in the order in which it happened."""
    state = State()
    for telling in sorted(told, key=lambda t: (t.when, t.order)):
        happen(state, telling)
    return state
