"""The end of a random day: one case is brought into order, and then out of it again.

Whatever happened, somebody can look for every thing, record it as found, and do the care that is
due; then the check must be clear. Then one thing is disturbed, and the check must name it.
"""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING, Any

from continuity.care.findings.base import KINDS
from continuity.register import RefusedError
from tests.properties.days import CASES, UNKNOWN_PERSON, Days
from tests.properties.reckoning import ASKED, amiss, miscounted
from tests.properties.telling import must_raise
from tests.properties.world import FOR_GOOD

if TYPE_CHECKING:
    from continuity.care.closing import Finding

TABLE = "table-1"
MENDING_ROUNDS = 6
"""How often the check may find something new after what it found was mended."""

DISTURBANCES = (
    "taken out",
    "opened",
    "moved unseen",
    "handed over",
    "in another's coffin",
    "long ago",
    "closed again",
    "associated late",
)


class Evenings(Days):
    """Random days that end with one case in order."""

    def __init__(self) -> None:
        super().__init__()
        self.disturbance = self.coffin = self.bag = ""
        self.rests = False

    def teardown(self) -> None:
        # Drawn from what was told: Hypothesis would repeat its choice in many histories running.
        chance = Random(repr(self.world.told))
        self.disturbance = chance.choice(DISTURBANCES)
        self.rests = chance.random() < 1 / 4
        could = [c for c in CASES if c in self.cases and self.can_be_finished(c)]
        if could:
            self.spend_evening(chance.choice(could))
        super().teardown()

    def spend_evening(self, case: str) -> None:
        """Bring a case into order, now and then to its end, and then out of order."""
        self.thorough = False
        self.finish(case)
        if self.rests:
            self.lay_to_rest(case)
        self.thorough = True
        self.check({case})
        self.disturb(case)

    def can_be_finished(self, case: str) -> bool:
        """Whether its one decedent is not recorded as gone, or was; that asks for a correction."""
        s = self.state
        body = s.body(case)
        bodies = [t for t in s.things_of(case) if s.what[t] == "decedent"]
        gone = case in s.ended or (body is not None and s.at[body][0] in FOR_GOOD)
        return len(bodies) == 1 and not gone

    # --- bringing into order -----------------------------------------------------------------

    def finish(self, case: str) -> None:
        """Find everything, put it into the coffin, and do what is due."""
        s = self.state
        body = s.body(case)
        assert body is not None
        self.bring(body)
        while astray := [t for t in s.at if self.is_to_be_brought(case, t)]:
            for thing in astray:
                self.bring(thing)
            s = self.state
        self.must(case, {"kind": "provided", "place": TABLE, "items": [NEW_COFFIN, NEW_BAG]})
        coffin, bag = (f"{case}.{self.world.spent[case] - n}" for n in (1, 0))
        self.receive(case, [LATE_PART], TABLE)
        for thing in (body, coffin, bag):
            self.must(case, self.new_label(thing))
        loose = [t for t in s.things_of(case) if s.at[t] == ("place", TABLE) and t != body]
        loose = [t for t in loose if s.what[t] != "container"]
        for thing in loose:
            if s.what[thing] in {"effect", "ashes"}:
                self.must(case, {"kind": "released", "things": [thing], **WITH_RECEIPT})
            else:
                self.must(case, {"kind": "put-in", "things": [thing], "into": bag, "scanned": True})
        self.must(case, {"kind": "sealed", "thing": bag, "seal": "4711"})
        self.must(case, {"kind": "cared-for", "thing": body, "step": "sutured"})
        self.must(case, {"kind": "put-in", "things": [body, bag], "into": coffin, "scanned": True})
        self.must(case, {"kind": "sighted", "things": [body, bag, coffin], "for_closing": True})
        self.coffin, self.bag = coffin, bag
        faults = amiss(self.state, case, self.firm.clock.now)
        assert faults == {}, "the evening's work did not bring everything into order"
        self.mend(case, body)

    def is_to_be_brought(self, case: str, thing: str) -> bool:
        """Whether it is out of order where it is: this case's, or another's in what is this's."""
        s = self.state
        how, *what = s.at[thing]
        if s.owner[thing] == case:
            loose = s.what[thing] != "container" and how not in FOR_GOOD and not s.is_gone(thing)
            amiss_here = thing in amiss(s, case, self.firm.clock.now)
            if miscounted(s, thing):
                return True
            return (loose or amiss_here) and s.at[thing] != ("place", TABLE)
        return how in {"in", "one-with"} and s.owner[what[0]] == case

    def bring(self, thing: str) -> None:
        """Find a thing and set it down, whatever is recorded of it."""
        s = self.state
        case = s.owner[thing]
        for outer in reversed(s.around(thing)):
            if s.shut.get(outer) and not s.is_gone(thing):
                how = "coffin-reopened" if s.form[outer] == "coffin" else "opened"
                self.must(s.owner[outer], {"kind": how, "thing": outer, "reason": "to look"})
        where = s.outermost(thing)
        if s.at[thing] == ("never",) or where[0] == "with" or thing in s.called_back:
            giver = where[1] if where[0] == "with" else "coroner"
            self.must(
                case,
                {
                    "kind": "returned",
                    "things": [thing],
                    "giver": giver,
                    "place": TABLE,
                    "giver_signed": True,
                },
            )
        elif s.at[thing] != ("place", TABLE):
            self.must(case, {"kind": "moved", "things": [thing], "place": TABLE})
        else:
            self.must(case, {"kind": "sighted", "things": [thing], "scanned": False})

    def must(self, case: str, fields: dict[str, Any]) -> None:
        """What is so can be recorded."""
        assert self.tell(case, fields, found=True, wait=1), fields

    def mend(self, case: str, body: str) -> None:
        """Do the care that is due, and settle what cannot be undone, until the check is clear."""
        for _ in range(MENDING_ROUNDS):
            stops = self.firm.register.closing_check(case).stops
            if not stops:
                return
            assert not {f.code for f in stops} & ASKED, [f.sentence for f in stops]
            for line in {(f.code, f.things): f for f in stops}.values():
                self.mend_line(case, body, line)
        raise AssertionError([f.sentence for f in stops])

    def mend_line(self, case: str, body: str, line: Finding) -> None:
        """What a person would do about one line of the check."""
        if line.code == "irregularity-open":
            for matter in self.firm.register.case(case).irregularities.values():
                if matter.resolved is None:
                    fields = {"irregularity": matter.number, "resolution": "looked into"}
                    self.must(case, {"kind": "irregularity-resolved", **fields})
            return
        thing = line.things[0] if line.things else body
        if line.code == "release-incomplete":
            told = [t for t in self.world.told if t.fields["kind"] == "released"]
            last = max((t for t in told if thing in t.fields["things"]), key=lambda t: t.when)
            assert self.correct(last, {**last.fields, **WITH_RECEIPT}, None, found=True)
            return
        if line.code == "ashes-without-cremation":
            self.cremate_a_part(case)
            return
        look = {"kind": "inspected", "thing": thing, "leak": False, "odour": False}
        identify = {"kind": "identified", "thing": body, **READ}
        stated = {"kind": "retention-stated", "kept": "none", "according_to": "the report"}
        settle = {"kind": "irregularity-raised", "what": "it was so", "things": [*line.things]}
        mending = {
            "not-identified-at-receipt": {**identify, "stage": "receipt"},
            "not-identified-at-closing": {**identify, "stage": "closing"},
            "condition-not-noted": look,
            "contents-not-recorded": {**look, "empty": True},
            "implants-not-stated": {**look, "implants": "none"},
            "retention-unknown": stated,
            "ashes-divided": {
                "kind": "instructed",
                "things": [thing],
                "wish": "release",
                "relation": "child",
            },
        }
        assert line.code in mending or KINDS[line.code].past, line.sentence
        self.must(case, mending.get(line.code, {**settle, "about": [line.code]}))

    def cremate_a_part(self, case: str) -> None:
        """The ashes that came were a part's: it was cremated by itself, as the family wished."""
        self.receive(case, [LATE_PART], TABLE)
        part = f"{case}.{self.world.spent[case]}"
        wish = {"wish": "lawful-disposal", "relation": "child"}
        self.must(case, {"kind": "instructed", "things": [part], **wish})
        gone = {"manner": "cremation", "where": "section 4", "authority": "permit 3"}
        self.must(case, {"kind": "disposed", "things": [part], **gone})

    def lay_to_rest(self, case: str) -> None:
        """Sign the check, close the coffin, and go; then the check is clear for good."""
        self.must(case, {"kind": "closing-check-signed", "coffin": self.coffin})
        self.must(case, {"kind": "coffin-closed", "thing": self.coffin})
        planned = self.firm.register.case(case).planned
        assert planned is not None
        gone = {"manner": planned.disposition.value, "where": "section 4", "authority": "permit 3"}
        self.must(case, {"kind": "disposed", "things": [self.coffin], **gone})
        self.firm.clock.wait(5 * 60)
        verdict = self.firm.register.closing_check(case)
        assert verdict.clear, [f.sentence for f in verdict.stops]

    # --- and out of order --------------------------------------------------------------------

    def disturb(self, case: str) -> None:
        """After one more thing happened, the check is not clear, and names what it happened to."""
        thing = self.comes_late(case) if self.rests else self.disturbed(case)
        if thing is None:
            return
        verdict = self.firm.register.closing_check(case)
        assert not verdict.clear
        assert thing in {t for f in verdict.stops for t in f.things}
        if self.rests:
            return
        signed = {"kind": "closing-check-signed", "coffin": self.coffin}
        refused = must_raise(RefusedError, lambda: self.firm.record(case, signed))
        assert [o.code for o in refused.objections] == ["not-clear"]

    def disturbed(self, case: str) -> str | None:
        """Do it, and say which thing the check must name."""
        s = self.state
        inside = s.directly_in(self.bag)
        thing = inside[0] if inside else self.bag
        match self.disturbance:
            case "opened" if inside:
                self.must(case, {"kind": "opened", "thing": self.bag, "reason": "to look"})
                return self.bag
            case "taken out" if inside:
                self.must(case, {"kind": "opened", "thing": self.bag, "reason": "to look"})
                self.must(case, {"kind": "taken-out", "things": [thing], "place": TABLE})
                return thing
            case "moved unseen" if inside:
                body = s.body(case)
                self.must(case, {"kind": "opened", "thing": body, "reason": "to look"})
                self.must(case, {"kind": "taken-out", "things": [self.bag], "into": body})
                self.must(case, {"kind": "cared-for", "thing": body, "step": "sutured"})
                return self.bag
            case "handed over" if inside:
                fields = {"taker": "laboratory", "authority": "order 7", "accepted": True}
                self.must(case, {"kind": "handed-over", "things": [thing], **fields})
                return thing
            case "in another's coffin":
                other = next((c for c in CASES if c in self.cases and c != case), None)
                into = s.body(other) if other else None
                if into is None or not inside:
                    return None
                self.must(case, {"kind": "put-in", "things": [thing], "into": into})
                return thing
            case "long ago":
                self.firm.clock.wait(5 * 60)
                return self.coffin
            case "closed again":
                self.must(case, {"kind": "closing-check-signed", "coffin": self.coffin})
                lid = {"thing": self.coffin}
                self.must(case, {"kind": "coffin-closed", **lid})
                self.must(case, {"kind": "coffin-reopened", **lid, "reason": "forgotten"})
                self.must(case, {"kind": "coffin-closed", **lid})
                return self.coffin
            case "associated late":
                return self.is_associated(case)
        return None

    def is_associated(self, case: str) -> str | None:
        """The part of nobody known, if it is still here, turns out to be this person's."""
        s, part = self.state, f"{UNKNOWN_PERSON}.1"
        if s.owner.get(part) != UNKNOWN_PERSON or s.is_gone(part):
            return None
        fields = {"to_case": case, "authority": "a comparison of profiles"}
        self.must(UNKNOWN_PERSON, {"kind": "associated", "things": [part], **fields})
        return part

    def comes_late(self, case: str) -> str | None:
        """After the disposition a part turns up, or comes back from the examiner."""
        if self.disturbance == "associated late":
            return self.is_associated(case)
        self.receive(case, [LATE_PART], TABLE)
        return f"{case}.{self.world.spent[case]}"


NEW_COFFIN = {"what": "container", "form": "coffin", "description": "another coffin"}
LATE_PART = {"what": "part", "description": "a part sent after"}
NEW_BAG = {"what": "container", "form": "bag", "description": "a clean bag"}
WITH_RECEIPT = {
    "relation": "child",
    "authority": "next of kin",
    "identity_checked": True,
    "signed": True,
}
READ = {
    "agree": True,
    "identifiers": [
        {"what": what, "read_from": "body-tag"}
        for what in ("name", "date-of-birth", "mortuary-number")
    ],
}
