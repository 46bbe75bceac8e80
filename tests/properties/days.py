"""Random days: what may come in, be moved, come apart, be mistaken, be lost and leave.

Each rule is something a person in the house might do, or do wrongly.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st
from hypothesis.stateful import initialize, precondition, rule

from tests.properties.firm import HOLDERS, PLACES
from tests.properties.telling import TICK, Telling, mostly, seldom
from tests.properties.world import add_up, corrected

if TYPE_CHECKING:
    from collections.abc import Sequence

CASES = ("2031-0001", "2031-0002", "2031-0003")
UNKNOWN_PERSON = "2031-0009"

BODY = [
    {"what": "decedent", "description": "adult", "found_label": "band"},
    {"what": "container", "form": "coffin", "description": "coffin", "found_label": "plate"},
]
CAME_ALONG: Sequence[list[dict[str, Any]]] = (
    [],
    [
        {"what": "container", "form": "bag", "description": "viscera bag", "within": "#1"},
        {"what": "viscera", "description": "viscera", "within": "#3"},
    ],
    [
        {"what": "container", "form": "bag", "description": "viscera bag", "found_seal": "771"},
        {"what": "viscera", "description": "viscera", "within": "#3"},
    ],
    [
        {"what": "container", "form": "box", "description": "box"},
        {"what": "part", "description": "a foot", "within": "#3"},
    ],
    [{"what": "specimen", "description": "block, declared", "receipt": "missing"}],
    [{"what": "effect", "description": "ring", "intention": "release"}],
)

places = st.sampled_from(PLACES)
holders = st.sampled_from(HOLDERS)
HOLDING = ("container", "decedent")
TISSUE = ("part", "viscera", "specimen", "decedent")


class Days(Telling):
    """Several cases in one house, interleaved."""

    # --- coming ------------------------------------------------------------------------------

    @initialize(data=st.data())
    def two_cases(self, data: st.DataObject) -> None:
        self.another_case(data)
        self.another_case(data)

    @precondition(lambda self: len([c for c in self.cases if c in CASES]) < len(CASES))
    @rule(data=st.data())
    def another_case(self, data: st.DataObject) -> None:
        case = CASES[len([c for c in self.cases if c in CASES])]
        self.open(case, disposition=data.draw(st.sampled_from(["burial", "cremation"])))
        self.receive(case, [*BODY, *data.draw(st.sampled_from(CAME_ALONG))], data.draw(places))

    @precondition(lambda self: UNKNOWN_PERSON not in self.cases)
    @rule(data=st.data(), boxed=st.booleans())
    def a_part_of_nobody_known(self, data: st.DataObject, boxed: bool) -> None:
        self.open(UNKNOWN_PERSON, unidentified=True)
        part: dict[str, Any] = {"what": "part", "description": "a hand, unidentified"}
        box = {"what": "container", "form": "box", "description": "box"}
        items = [{**part, "within": "#2"}, box] if boxed else [part]
        self.receive(UNKNOWN_PERSON, items, data.draw(places))

    def open(self, case: str, **fields: Any) -> None:
        self.firm.clock.wait(TICK)
        self.cases.append(case)
        opened = {"number": case, "release_authority": "the coroner's letter", **fields}
        self.tell(case, {"kind": "case-opened", **opened})

    def receive(self, case: str, items: list[dict[str, Any]], place: str) -> None:
        self.tell(
            case,
            {
                "kind": "received",
                "giver": "coroner",
                "giver_signed": True,
                "place": place,
                "items": items,
            },
        )

    # --- moving ------------------------------------------------------------------------------

    @rule(data=st.data(), place=places, scanned=st.booleans())
    def moved(self, data: st.DataObject, place: str, scanned: bool) -> None:
        thing = self.some(data)
        fields = {"kind": "moved", "things": [thing], "place": place, "scanned": scanned}
        self.do(data, thing, fields)

    @rule(data=st.data(), scanned=st.booleans())
    def put_in(self, data: st.DataObject, scanned: bool) -> None:
        thing = self.some(data)
        mine = self.state.owner[thing]
        into = self.some(
            data, *HOLDING, likely=lambda t: self.at_hand(t) and self.state.owner[t] == mine
        )
        if thing != into:
            fields = {"kind": "put-in", "things": [thing], "into": into, "scanned": scanned}
            self.do(data, thing, fields)

    @rule(data=st.data(), scanned=st.booleans())
    def laid_in(self, data: st.DataObject, scanned: bool) -> None:
        body = self.some(data, "decedent")
        mine = self.state.owner[body]
        coffin = self.some(
            data, likely=lambda t: self.state.form[t] == "coffin" and self.state.owner[t] == mine
        )
        if coffin != body:
            fields = {"kind": "put-in", "things": [body], "into": coffin, "scanned": scanned}
            self.do(data, body, fields)

    @rule(data=st.data(), place=places, scanned=st.booleans(), straight=seldom)
    def taken_out(self, data: st.DataObject, place: str, scanned: bool, straight: bool) -> None:
        thing = self.some(data, likely=lambda t: self.state.at[t][0] == "in")
        where = {"into": self.some(data, *HOLDING)} if straight else {"place": place}
        self.do(data, thing, {"kind": "taken-out", "things": [thing], "scanned": scanned, **where})

    @rule(data=st.data(), taker=holders, accepted=st.booleans())
    def handed_over(self, data: st.DataObject, taker: str, accepted: bool) -> None:
        thing = self.some(data)
        fields = {"things": [thing], "taker": taker, "authority": "order 7", "accepted": accepted}
        self.do(data, thing, {"kind": "handed-over", **fields})

    @rule(data=st.data(), taker=holders)
    def recalled(self, data: st.DataObject, taker: str) -> None:
        thing = self.some(data, "decedent")
        fields = {"things": [thing], "taker": taker, "authority": "order 8"}
        self.do(data, thing, {"kind": "recalled", **fields})

    @rule(data=st.data())
    def accepted(self, data: st.DataObject) -> None:
        thing, holder = self._away(data)
        self.do(data, thing, {"kind": "hand-over-accepted", "things": [thing], "taker": holder})

    @rule(data=st.data(), place=places, scanned=st.booleans())
    def returned(self, data: st.DataObject, place: str, scanned: bool) -> None:
        thing, holder = self._away(data)
        fields = {"things": [thing], "giver": holder, "place": place, "scanned": scanned}
        self.do(data, thing, {"kind": "returned", **fields})

    def _away(self, data: st.DataObject) -> tuple[str, str]:
        thing = self.some(data, likely=lambda t: self.state.outermost(t)[0] == "with")
        where = self.state.outermost(thing)
        sure = where[0] == "with" and data.draw(mostly)
        return thing, where[1] if sure else data.draw(holders)

    @rule(data=st.data(), scanned=st.booleans(), there=st.booleans())
    def sighted(self, data: st.DataObject, scanned: bool, there: bool) -> None:
        thing = self.some(data)
        fields: dict[str, Any] = {"kind": "sighted", "things": [thing], "scanned": scanned}
        where = self.state.outermost(thing)
        if there:
            sure = where[0] == "place" and data.draw(mostly)
            fields["place"] = where[1] if sure else data.draw(places)
        self.do(data, thing, fields)

    @rule(data=st.data(), place=places)
    def counted(self, data: st.DataObject, place: str) -> None:
        """One case's part in the count of a place: something is not there, or should not be."""
        body = self.some(data, "decedent")
        mine = self.state.things_of(self.state.owner[body])
        there = [t for t in mine if self.state.outermost(t) == ("place", place)]
        missing = [t for t in there if data.draw(seldom)]
        strays = [t for t in mine if t not in there and data.draw(seldom)]
        found = [t for t in there if t not in missing]
        fields = {"place": place, "seen": found + strays, "missing": missing, "unexpected": strays}
        self.do(data, body, {"kind": "place-counted", **fields})

    @rule(data=st.data())
    def labelled(self, data: st.DataObject) -> None:
        thing = self.some(data, likely=lambda t: t not in self.state.bears)
        self.do(data, thing, self.new_label(thing))

    def new_label(self, thing: str) -> dict[str, Any]:
        """A label of the thing that was never printed before."""
        return {"kind": "labelled", "thing": thing, "code": f"TEST {len(self.world.told)}"}

    # --- opening and shutting ----------------------------------------------------------------

    @rule(data=st.data())
    def opened(self, data: st.DataObject) -> None:
        thing = self.some(data, *HOLDING)
        self.do(data, thing, {"kind": "opened", "thing": thing, "reason": "to look in"})

    @rule(data=st.data())
    def sealed(self, data: st.DataObject) -> None:
        thing = self.some(data, "container", likely=self._open_packaging)
        self.do(data, thing, {"kind": "sealed", "thing": thing, "seal": "88"})

    def _open_packaging(self, thing: str) -> bool:
        s = self.state
        packaging = s.what[thing] == "container" and s.form[thing] != "coffin"
        return packaging and not s.shut.get(thing) and self.at_hand(thing)

    @rule(data=st.data())
    def sutured(self, data: st.DataObject) -> None:
        thing = self.some(data, "decedent")
        self.do(data, thing, {"kind": "cared-for", "thing": thing, "step": "sutured"})

    @rule(data=st.data())
    def coffin_closed(self, data: st.DataObject) -> None:
        coffin = self._coffin(data)
        self.do(data, coffin, {"kind": "coffin-closed", "thing": coffin})

    @rule(data=st.data())
    def coffin_reopened(self, data: st.DataObject) -> None:
        coffin = self._coffin(data)
        self.do(data, coffin, {"kind": "coffin-reopened", "thing": coffin, "reason": "forgotten"})

    def _coffin(self, data: st.DataObject) -> str:
        return self.some(data, likely=lambda t: self.state.form[t] == "coffin")

    @rule(data=st.data(), empty=mostly)
    def discarded(self, data: st.DataObject, empty: bool) -> None:
        thing = self.some(data, likely=self._open_packaging)
        fields = {"kind": "packaging-discarded", "thing": thing, "empty": empty}
        self.do(data, thing, fields)

    # --- coming apart and together -----------------------------------------------------------

    @rule(data=st.data(), place=places, count=st.integers(1, 2), entirely=st.booleans())
    def separated(self, data: st.DataObject, place: str, count: int, entirely: bool) -> None:
        thing = self.some(data, *TISSUE)
        piece: dict[str, Any] = {"what": "part", "description": "a piece"}
        into = [{**piece, "place": place} for _ in range(count)]
        if data.draw(st.booleans()):
            into[0] = {**piece, "within": self.some(data, *HOLDING)}
        fields: dict[str, Any] = {"kind": "separated", "thing": thing, "into": into}
        if entirely and self.state.what[thing] not in HOLDING:
            fields["entirely"] = True
        self.do(data, thing, fields)

    @rule(data=st.data())
    def joined(self, data: st.DataObject) -> None:
        thing = self.some(data, "part", "viscera", "specimen")
        mine = self.state.owner[thing]
        to = self.some(
            data, *TISSUE, likely=lambda t: self.at_hand(t) and self.state.owner[t] == mine
        )
        if thing != to:
            self.do(data, thing, {"kind": "joined", "things": [thing], "to": to})

    @precondition(lambda self: UNKNOWN_PERSON in self.cases)
    @rule(data=st.data())
    def associated(self, data: st.DataObject) -> None:
        thing = self.some(data, likely=lambda t: self.state.owner[t] == UNKNOWN_PERSON)
        case = data.draw(st.sampled_from(self.cases))
        fields = {"things": [thing], "to_case": case, "authority": "a comparison of profiles"}
        self.do(data, thing, {"kind": "associated", **fields})

    # --- leaving -----------------------------------------------------------------------------

    @rule(data=st.data(), authority=st.sampled_from(["next of kin", "next of kin", None]))
    def released(self, data: st.DataObject, authority: str | None) -> None:
        thing = self.some(data, "effect", "part", "specimen", "container")
        fields = {"things": [thing], "relation": "child", "authority": authority}
        self.do(data, thing, {"kind": "released", **fields})

    @rule(
        data=st.data(),
        authority=st.sampled_from(["permit 3", "permit 3", None]),
        manner=st.sampled_from(["burial", "cremation", "lawful-disposal"]),
        method=st.sampled_from(["incineration", None]),
    )
    def disposed(
        self, data: st.DataObject, authority: str | None, manner: str, method: str | None
    ) -> None:
        full = [t for t in self.state.at if self.state.form[t] == "coffin" and self._full(t)]
        thing = data.draw(st.sampled_from(full)) if full else self.some(data)
        if not data.draw(mostly):
            thing = self.some(data)
        fields = {"things": [thing], "manner": manner, "where": "section 4", "method": method}
        self.do(data, thing, {"kind": "disposed", "authority": authority, **fields})

    def _full(self, coffin: str) -> bool:
        return bool(self.state.directly_in(coffin)) and not self.state.is_gone(coffin)

    @rule(data=st.data(), place=places, urns=st.integers(1, 2))
    def ashes_received(self, data: st.DataObject, place: str, urns: int) -> None:
        cremated = [c for c, manner in self.state.ended.items() if manner == "cremation"]
        pool = cremated if cremated and data.draw(mostly) else self.cases
        items = [{"what": "ashes", "description": "cremated remains"}] * urns
        self.tell(
            data.draw(st.sampled_from(pool)),
            {
                "kind": "ashes-received",
                "giver": "crematory",
                "place": place,
                "items": items,
                "disc_agrees": True,
            },
            found=data.draw(st.booleans()),
        )

    @rule(data=st.data(), named=st.booleans())
    def coffin_shared(self, data: st.DataObject, named: bool) -> None:
        coffin = self._coffin(data)
        mine = self.state.owner[coffin]
        other = data.draw(st.sampled_from([c for c in self.cases if c != mine]))
        fields = {"coffin": coffin, "with_cases": [mine, other], "authority": "order 9"}
        self.do(data, coffin, {"kind": "coffin-shared", **fields})

    # --- saying it again, otherwise ----------------------------------------------------------

    @rule(data=st.data(), place=places)
    def corrected(self, data: st.DataObject, place: str) -> None:
        told = data.draw(st.sampled_from(self.world.told))
        kind = told.fields["kind"]
        if kind in {"case-opened", "struck", "associated"}:
            return
        instead: dict[str, Any] | None = None
        when = None
        how = data.draw(st.sampled_from(["nothing", "elsewhere", "earlier"]))
        if len(self.touched(told.case, told.fields)) > 1:
            how = "nothing"
        if how == "elsewhere" and "things" in told.fields:
            instead = {"kind": "moved", "things": told.fields["things"], "place": place}
        if how == "earlier" and kind not in {"received", "separated", "ashes-received"}:
            instead = told.fields
            when = data.draw(st.sampled_from(self.world.told)).when
        if not add_up(self.world.with_instead(corrected(told, instead, when))).at:
            return  # an empty house has no days to tell of
        self.correct(told, instead, when, found=data.draw(st.booleans()))

    @precondition(lambda self: self.corrections)
    @rule(data=st.data())
    def taken_back(self, data: st.DataObject) -> None:
        correction = data.draw(st.sampled_from(sorted(self.corrections)))
        self.take_back(correction, found=data.draw(st.booleans()))
