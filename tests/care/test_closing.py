"""The verdict: clear, not clear, or closed over findings and never called clear."""

from __future__ import annotations

from datetime import timedelta

import pytest

from continuity.care import closing, policy
from continuity.care.closing import Finding, Verdict, as_it_lay, standing_check
from continuity.care.findings.base import KINDS, finding
from continuity.care.things import Disposition
from tests.care.histories import device, effect, part
from tests.care.history import CASE, MORNING, OTHER, World

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))


@pytest.fixture
def w() -> World:
    return World()


def stopping(w: World) -> list[str]:
    return [f.code for f in w.check().stops]


def test_a_case_in_order_is_clear(w: World) -> None:
    w.arrive()
    w.ready()
    assert w.check() == Verdict(CASE, w.clock, ())
    assert w.check().clear
    assert w.check().words == "clear"


def test_what_is_only_to_be_known_stops_nothing_and_comes_last(w: World) -> None:
    w.arrive(effect(intention="release"), device())
    w.ready()
    verdict = w.check()
    assert [(f.code, f.stops) for f in verdict.findings] == [
        ("left-elsewhere", True),
        ("effect-to-be-released", False),
    ]
    assert [f.code for f in verdict.stops] == ["left-elsewhere"]
    assert not verdict.clear
    assert verdict.words == "not clear"
    w.do("put-in", things=[FOURTH], into=COFFIN, scanned=True)
    assert w.check().clear
    assert w.check().words == "clear"


def test_a_finding_says_all_of_it(w: World) -> None:
    w.arrive(device())
    seen = w.do("sighted", things=[THIRD])
    w.do("moved", things=[THIRD], place="store")
    w.ready()
    (found,) = w.check().findings
    assert found == Finding(
        code="left-elsewhere",
        stops=True,
        sentence=f"{THIRD} (steel plate) is at store, and not in the coffin",
        mend=f"release {THIRD} on authority (released), or put it into the coffin (put-in)",
        things=(THIRD,),
        cases=(),
        entries=(6,),
        place="store",
        holder=None,
        seen=seen.occurred_at,
    )


# Closed over findings.


def closed_over_a_plate(w: World) -> None:
    w.arrive(device())
    w.ready()
    w.close(over=["left-elsewhere"], reason="the family knows")


def test_closed_over_findings_is_never_called_clear(w: World) -> None:
    closed_over_a_plate(w)
    verdict = w.check()
    assert verdict.closed_over == ("left-elsewhere",)
    assert verdict.uncovered == ()
    assert not verdict.clear
    assert verdict.words == "closed over 1 finding"


def test_not_even_when_what_it_was_closed_over_has_been_mended(w: World) -> None:
    closed_over_a_plate(w)
    w.do(
        "released",
        things=[THIRD],
        relation="son",
        authority="a wish",
        identity_checked=True,
        signed=True,
    )
    verdict = w.check()
    assert verdict.findings == ()
    assert not verdict.clear
    assert verdict.words == "closed over 1 finding"


def test_two_findings_are_counted(w: World) -> None:
    w.arrive(device(), effect())
    w.ready()
    w.close(over=["left-elsewhere", "effect-undecided"], reason="the family knows")
    assert w.check().words == "closed over 2 findings"


def test_a_finding_that_was_not_named_makes_it_not_clear(w: World) -> None:
    closed_over_a_plate(w)
    w.do("irregularity-raised", what="a stain")
    verdict = w.check()
    assert [f.code for f in verdict.uncovered] == ["irregularity-open"]
    assert verdict.words == "not clear"


def test_another_of_the_same_kind_that_came_later_makes_it_not_clear(w: World) -> None:
    closed_over_a_plate(w)
    w.do("received", giver="coroner", place="store", items=[device()])
    verdict = w.check()
    assert [f.things for f in verdict.uncovered] == [(FOURTH,)]
    assert verdict.words == "not clear"


def test_what_is_only_to_be_known_needs_no_cover(w: World) -> None:
    closed_over_a_plate(w)
    w.do("received", giver="coroner", place="store", items=[effect(intention="release")])
    assert w.check().words == "closed over 1 finding"


def test_reopening_the_coffin_ends_it(w: World) -> None:
    closed_over_a_plate(w)
    assert standing_check(w.case()).over == ("left-elsewhere",)
    w.do("coffin-reopened", thing=COFFIN, reason="the plate was found")
    assert standing_check(w.case()) is None
    assert w.check().closed_over == ()
    assert w.check().words == "not clear"
    w.do("put-in", things=[THIRD], into=COFFIN, scanned=True)
    assert w.check().words == "clear"


def test_without_a_check_nothing_stands(w: World) -> None:
    w.arrive()
    assert standing_check(w.case()) is None


def test_the_last_check_stands(w: World) -> None:
    closed_over_a_plate(w)
    w.do("coffin-reopened", thing=COFFIN, reason="the plate was found")
    w.do("put-in", things=[THIRD], into=COFFIN, scanned=True)
    w.close()
    assert standing_check(w.case()).over == ()
    assert w.check().words == "clear"


# The hour, before and after the coffin is closed and the decedent has gone.


def test_before_the_coffin_is_closed_the_hour_is_now(w: World) -> None:
    w.arrive()
    w.ready()
    assert w.codes(now=w.clock + timedelta(hours=3)) == []
    late = w.codes(now=w.clock + timedelta(hours=5))
    assert late == ["not-identified-at-closing", "not-sighted", "not-sighted"]


def test_once_it_is_closed_the_hour_is_the_checks_that_closed_it(w: World) -> None:
    w.arrive()
    w.ready()
    w.pass_time(minutes=200)
    w.do("closing-check-signed")
    w.pass_time(minutes=100)
    w.do("coffin-closed", thing=COFFIN)
    assert w.codes(now=w.clock + timedelta(days=3)) == []


def test_closed_without_a_check_the_hour_is_the_closings(w: World) -> None:
    w.arrive()
    w.ready()
    w.pass_time(minutes=200)
    w.do("coffin-closed", thing=COFFIN, found=True)
    later = w.clock + timedelta(days=3)
    assert w.codes(now=later) == ["closed-without-check", "irregularity-open"]


def test_a_check_of_another_coffin_is_not_the_one_that_closed_it(w: World) -> None:
    w.arrive({"what": "container", "form": "coffin", "description": "pine coffin"})
    w.ready()
    w.do("closing-check-signed", coffin=THIRD)
    w.pass_time(minutes=240)
    w.do("coffin-closed", thing=COFFIN, force=True)
    found = w.codes()
    assert "not-sighted" in found
    assert "closed-without-check" in found


def test_gone_without_a_coffin_the_hour_is_the_dispositions(w: World) -> None:
    w.arrive()
    w.identify("closing")
    w.do("disposed", things=[BODY], manner="burial", where="there", authority="x", found=True)
    found = w.codes(now=w.clock + timedelta(days=3))
    assert found == ["irregularity-open", "not-in-a-coffin"]


def test_as_it_lay_is_the_case_until_the_decedent_left(w: World) -> None:
    w.arrive(device())
    w.ready()
    case = w.case()
    assert as_it_lay(case) is case
    w.close(over=["left-elsewhere"], reason="the family knows")
    w.buried()
    w.do("moved", things=[THIRD], place="store")
    lay = as_it_lay(w.case())
    assert [e.act.kind for e in lay.events][-1] == "coffin-closed"
    assert not lay.things[BODY].gone
    assert lay.number == CASE
    assert lay.id == f"id-{CASE}"


def test_what_was_struck_is_known_of_the_case_as_it_lay(w: World) -> None:
    w.arrive()
    wrong = w.do("inspected", thing=BODY, leak=True)
    w.correct(wrong)
    w.ready()
    w.close()
    w.buried()
    lay = as_it_lay(w.case())
    assert lay.struck == {wrong.leaf: 6}
    assert [e.number for e in lay.struck_events] == [5]


def test_after_the_disposition_what_was_wrong_then_is_settled_by_word(w: World) -> None:
    w.arrive(part())
    w.ready(THIRD)
    w.do("put-in", things=[THIRD], into=BODY, force=True)
    w.do("cared-for", thing=BODY, step="sutured")
    w.close(over=["not-sighted"], reason="it was seen")
    w.buried()
    (found,) = w.check().findings
    assert found.code == "not-sighted"
    assert found.mend == (
        "the decedent has gone: find out, and settle it (irregularity-raised --case 2026-0001"
        " --about not-sighted --what ..., irregularity-resolved)"
    )
    raised = w.do("irregularity-raised", things=[THIRD], what="seen?", about=["not-sighted"])
    w.do("irregularity-resolved", irregularity=raised.number, resolution="two saw it")
    assert w.check().findings == ()


def test_before_it_no_word_settles_what_an_act_can_mend(w: World) -> None:
    w.arrive(device())
    w.ready()
    raised = w.do("irregularity-raised", things=[THIRD], what="mine", about=["left-elsewhere"])
    w.do("irregularity-resolved", irregularity=raised.number, resolution="never mind")
    assert w.codes() == ["left-elsewhere"]


def test_what_goes_on_is_never_settled_by_word_unless_it_is_past(w: World) -> None:
    closed_over_a_plate(w)
    w.buried()
    raised = w.do("irregularity-raised", things=[THIRD], what="mine", about=["left-behind"])
    w.do("irregularity-resolved", irregularity=raised.number, resolution="never mind")
    assert w.codes() == ["left-behind"]


def test_a_matter_settles_only_what_was_so_when_it_was_raised(w: World) -> None:
    w.arrive(effect(receipt="extra", intention="worn"))
    w.ready(THIRD)
    raised = w.do("irregularity-raised", what="whose?", about=["found-not-declared"])
    w.do("irregularity-resolved", irregularity=raised.number, resolution="hers")
    assert w.codes() == []
    items = [effect(receipt="extra", intention="worn")]
    w.do("received", giver="coroner", place="store", items=items)
    assert w.codes() == ["effect-elsewhere", "found-not-declared"]


def test_a_matter_settles_only_the_things_it_names(w: World) -> None:
    ring = effect(receipt="extra", intention="worn")
    w.arrive(ring, ring)
    w.ready(THIRD, FOURTH)
    raised = w.do(
        "irregularity-raised", things=[THIRD], what="whose?", about=["found-not-declared"]
    )
    w.do("irregularity-resolved", irregularity=raised.number, resolution="hers")
    assert [f.things for f in w.check().findings] == [(FOURTH,)]


# A part found later; two cases at once.


def test_a_part_that_is_this_persons_makes_a_buried_case_not_clear_again(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.buried()
    assert w.check().words == "clear"
    w.do("case-opened", case=OTHER, disposition="burial", unidentified=True)
    w.do("received", case=OTHER, giver="coroner", place="store", items=[part()])
    w.label(f"{OTHER}.1", "biohazard", case=OTHER)
    assert w.check().words == "clear"
    w.do("associated", case=OTHER, things=[f"{OTHER}.1"], to_case=CASE, authority="a report")
    assert w.codes() == ["left-behind"]
    assert w.check().words == "not clear"
    assert w.codes(OTHER) == ["turned-out-anothers"]
    w.do(
        "disposed",
        things=[f"{OTHER}.1"],
        manner="burial",
        where="the same grave",
        authority="an order",
    )
    assert w.check().words == "clear"


def test_the_check_of_a_shared_coffin_is_each_cases_own(w: World) -> None:
    w.arrive()
    w.arrive(case=OTHER)
    w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, OTHER], authority="an order")
    w.ready()
    w.do("put-in", case=OTHER, things=[f"{OTHER}.1"], into=COFFIN)
    assert w.codes() == ["shares-a-coffin"]
    assert w.codes(OTHER) == ["not-identified-at-closing", "not-sighted", "shares-a-coffin"]


# The policy weighs.


def test_the_policy_says_what_stops(w: World) -> None:
    w.arrive(device())
    w.ready()
    lax = policy.from_toml("[findings.left-elsewhere]\nstops = false\n", "firm.toml")
    verdict = closing.check(w.case(), lax, w.clock)
    assert [(f.code, f.stops) for f in verdict.findings] == [("left-elsewhere", False)]
    assert verdict.clear


def test_what_is_asked_before_one_disposition_alone_is_not_asked_before_another(w: World) -> None:
    w.arrive(device())
    w.ready()
    rule = '[findings.left-elsewhere]\nonly_before = ["cremation"]\n'
    only = policy.from_toml(rule, "firm.toml")
    assert closing.check(w.case(), only, w.clock).findings == ()
    w.do("disposition-changed", disposition="cremation", authority="an order")
    found = closing.check(w.case(), only, w.clock)
    assert "left-elsewhere" in [f.code for f in found.findings]


def test_a_finding_the_policy_does_not_know_stops(w: World) -> None:
    rule = policy.default()
    assert rule.stops("nothing-of-the-kind", Disposition.BURIAL)
    assert rule.asks("nothing-of-the-kind", None)


def test_a_code_is_taken_once() -> None:
    with pytest.raises(ValueError, match="two checks for left-elsewhere"):
        finding("left-elsewhere", "nowhere")(KINDS["left-elsewhere"].check)


def test_the_subjects_hold_every_check_that_was_entered() -> None:
    assert {kind.code for kind in closing.CHECKS} == set(KINDS)
    assert next(kind.code for kind in closing.CHECKS) == "not-identified-at-receipt"
    assert [kind.code for kind in closing.CHECKS][-1] == "ashes-divided"
    assert len(closing.SUBJECTS) == 17


def test_an_empty_case_can_be_checked() -> None:
    assert World().check() == Verdict(CASE, MORNING, ())


def test_the_case_as_it_was_known_can_be_checked(w: World) -> None:
    w.arrive(device())
    w.ready()
    before = w.clock
    w.do("put-in", things=[THIRD], into=COFFIN, scanned=True)
    then = w.case(known_until=before - timedelta(seconds=1))
    assert [f.code for f in closing.check(then, w.house.policy, before).findings] == [
        "left-elsewhere"
    ]
    assert w.codes() == []
