"""Rules: each objection is raised once, and spared by its nearest scene; what later acts forbid."""

from __future__ import annotations

import ast
import json
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import continuity.care
from continuity.care import entries, rules
from continuity.care.records import Event
from continuity.care.refusal import Objection, RefusedError
from continuity.care.rules import History, upsets
from tests.care.histories import bag, device
from tests.care.history import CASE, OTHER, World
from tests.care.judged import JUDGED, Judged

if TYPE_CHECKING:
    from continuity.care.case import Case

SENTENCES = Path(__file__).with_name("refusals.json")
AS_READ = json.loads(SENTENCES.read_text("utf-8")) if SENTENCES.exists() else {}
BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))

JUDGED_OTHERWISE = {"contradicts-later", "excludes-later", "moved-meanwhile", "never-came"}
"""Objections that look at other entries than a scene does; they have tests of their own below."""


def as_read(objection: Objection) -> list[object]:
    return [objection.code, objection.sentence, objection.mend, objection.findable]


@pytest.mark.parametrize("judged", JUDGED, ids=lambda j: f"{j.code}:{j.name}")
def test_a_scene_is_refused_for_what_it_says_and_no_more(judged: Judged) -> None:
    found = judged.objections()
    assert tuple(sorted(o.code for o in found)) == judged.codes
    if judged.codes:
        assert [as_read(o) for o in found] == AS_READ[f"{judged.code}: {judged.name}"]


def test_the_sentences_are_of_scenes_that_exist() -> None:
    assert set(AS_READ) == {f"{j.code}: {j.name}" for j in JUDGED if j.codes}


def _codes_in_the_sources() -> set[str]:
    """The first argument of every Objection that care makes."""
    codes = set()
    for source in Path(continuity.care.__path__[0]).rglob("*.py"):
        for node in ast.walk(ast.parse(source.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Objection":
                codes.add(node.args[0].value)
    return codes


def test_every_objection_has_a_scene_that_raises_it_and_one_that_spares_it() -> None:
    codes = _codes_in_the_sources() - JUDGED_OTHERWISE
    assert {j.code for j in JUDGED if j.codes} == codes
    assert {j.code for j in JUDGED if not j.codes} == codes


def test_a_refusal_says_the_first_objection_and_how_many_more() -> None:
    one = Objection("shut", "it is closed", "open it")
    two = Objection("not-here", "it is away", "get it back")
    error = RefusedError([one], "moved in case 2026-0001")
    assert str(error) == "moved in case 2026-0001: shut: it is closed; open it"
    assert error.status == 4
    error = RefusedError([one, two], "moved")
    assert str(error) == "moved: shut: it is closed; open it (and 1 more)"
    assert error.objections == (one, two)


def test_each_objection_is_told_once() -> None:
    w = World()
    w.arrive(device(), device(), bag())
    pack = f"{CASE}.5"
    w.do("put-in", things=[THIRD, FOURTH], into=pack)
    w.do("sealed", thing=pack)
    found = w.objections("put-in", things=[THIRD, FOURTH], into=pack)
    assert [(o.code, o.sentence.split()[0]) for o in found] == [
        ("shut-in", THIRD),
        ("shut-in", FOURTH),
        ("shut", pack),
    ]


# Whom an act concerns.


def concerned(w: World, kind: str, **fields: object) -> list[str]:
    scene = w.scene()
    return rules.concerned(w.act(kind, fields, scene), scene)


def test_an_act_on_ones_own_things_concerns_nobody_else() -> None:
    w = World()
    w.arrive()
    w.arrive(case=OTHER)
    assert concerned(w, "moved", things=[BODY], place="table") == []


def test_an_act_concerns_the_case_whose_thing_it_names_holds_or_lies_in() -> None:
    w = World()
    w.arrive(bag())
    w.arrive(device(), case=OTHER)
    assert concerned(w, "put-in", things=[f"{OTHER}.3"], into=THIRD) == [OTHER]
    w.do("put-in", things=[f"{OTHER}.3"], into=THIRD, found=True)
    assert concerned(w, "moved", things=[THIRD], place="table") == [OTHER]
    w.do("put-in", things=[BODY], into=f"{OTHER}.2", found=True)
    assert concerned(w, "inspected", thing=BODY, leak=False) == [OTHER]


def test_an_act_concerns_the_case_an_associated_thing_belongs_to() -> None:
    w = World()
    w.arrive(device())
    w.arrive(case=OTHER)
    assert concerned(w, "associated", things=[THIRD], to_case=OTHER, authority="x") == [OTHER]
    w.do("associated", things=[THIRD], to_case=OTHER, authority="a report")
    assert concerned(w, "moved", things=[THIRD], place="table") == [OTHER]


def test_an_act_on_a_shared_coffin_concerns_all_who_share_it() -> None:
    w = World()
    w.arrive()
    w.arrive(case=OTHER)
    w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, OTHER], authority="an order")
    assert concerned(w, "moved", things=[COFFIN], place="table") == [OTHER]
    assert concerned(w, "moved", things=[BODY], place="table") == []


def test_a_signed_check_stays_in_its_case() -> None:
    w = World()
    w.arrive()
    w.arrive(case=OTHER)
    w.do("put-in", things=[BODY], into=f"{OTHER}.2", found=True)
    assert concerned(w, "closing-check-signed", coffin=f"{OTHER}.2") == []


# What is recorded later.


def upset(w: World, kind: str, minutes_ago: int, **fields: object) -> list[Objection]:
    """What speaks against recording this as of some minutes ago, for the sake of later entries."""
    at = w.clock - timedelta(minutes=minutes_ago)
    scene = w.scene(CASE, ("ada", "ben"), at)
    act = w.act(kind, fields, scene)
    chain = w.chains[CASE]
    new = Event(act, f"id-{CASE}", len(chain), at, w.clock, "ada", ("ada", "ben"), leaf="")
    return list(upsets(scene, [History(f"id-{CASE}", CASE, chain, new)]))


def test_a_late_entry_must_leave_what_is_recorded_later_possible() -> None:
    w = World()
    w.arrive(device(), bag())
    w.pass_time(minutes=5)
    w.do("put-in", things=[THIRD], into=FOURTH)
    assert upset(w, "inspected", 3, thing=FOURTH, leak=False) == []
    assert upset(w, "sealed", 3, thing=FOURTH, seal="S1") == [
        Objection(
            "contradicts-later",
            "entry 5 (put-in) could not have been (shut) had this been so",
            "correct entry 5 first, or record this with --found",
        )
    ]


def test_an_entry_after_the_others_contradicts_nothing() -> None:
    w = World()
    w.arrive(device(), bag())
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.pass_time(minutes=5)
    assert upset(w, "sealed", 1, thing=FOURTH, seal="S1") == []


def test_what_nobody_could_find_to_be_so_excludes_the_late_entry() -> None:
    w = World()
    w.arrive(bag())
    w.do("opened", thing=THIRD, reason="to look")
    w.pass_time(minutes=5)
    raised = w.do("irregularity-raised", things=[THIRD], what="a stain")
    w.pass_time(minutes=5)
    w.do("irregularity-resolved", irregularity=raised.number, resolution="coffee")
    found = upset(w, "irregularity-resolved", 3, irregularity=raised.number, resolution="tea")
    assert found == [
        Objection(
            "excludes-later",
            "entry 7 (irregularity-resolved) and this cannot both have been (not-open)",
            "correct entry 7 first",
            findable=False,
        )
    ]


def test_striking_the_receipt_of_what_is_used_later_is_refused() -> None:
    w = World()
    w.arrive()
    came = w.do("received", giver="coroner", place="store", items=[device()])
    w.do("moved", things=[THIRD], place="table")
    found = upset(w, "corrected", 0, strikes=came.leaf, reason="a slip")
    assert [o.code for o in found] == ["excludes-later"]
    assert "entry 6 (moved) and this cannot both have been (never-came)" in found[0].sentence


def test_what_a_correction_says_instead_is_judged_in_its_own_place() -> None:
    w = World()
    w.arrive(device(), bag())
    w.do("sealed", thing=FOURTH, seal="S1")
    wrong = w.do("moved", things=[THIRD], place="table")
    instead = {"kind": "put-in", "things": [THIRD], "into": FOURTH}
    found = upset(w, "corrected", 0, strikes=wrong.leaf, reason="a slip", instead=instead)
    assert [o.code for o in found] == ["shut"]


def test_every_kind_is_judged_by_somebody_who_may_record_it() -> None:
    for name in entries.KINDS:
        rule = World().house.policy.act(name)
        assert rule.roles
        assert rule.persons in (1, 2)


def meanwhile(w: World, looked: Case, kind: str, **fields: object) -> list[Objection]:
    act = entries.read_act({"kind": kind, **fields})
    return list(rules.moved_meanwhile(act, {CASE: looked}, {CASE: w.case()}))


def test_what_was_moved_after_its_maker_looked_is_told_with_who_and_where() -> None:
    w = World()
    w.arrive(device(), bag())
    looked = w.case()
    w.do("put-in", things=[THIRD], into=FOURTH)
    (found,) = meanwhile(w, looked, "moved", things=[THIRD], place="table")
    assert as_read(found) == [
        "moved-meanwhile",
        (
            f"{THIRD} ({w.case().things[THIRD].description}) was moved after you looked: ada recorded"
            f" put-in, and it is inside {FOURTH}"
        ),
        "look where it is; if it went there all the same, scan or record it once more",
        True,
    ]
    w.do("taken-out", things=[THIRD], place="table")
    (found,) = meanwhile(w, looked, "put-in", things=[THIRD], into=FOURTH)
    assert found.sentence.endswith("ada recorded taken-out, and it is at table")
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order")
    (found,) = meanwhile(w, looked, "put-in", things=[THIRD], into=FOURTH)
    assert found.sentence.endswith("ada recorded handed-over, and it is with lab")


def test_what_was_only_seen_or_was_moved_before_or_came_since_may_be_moved() -> None:
    w = World()
    w.arrive(device(), bag())
    w.do("moved", things=[THIRD], place="table")
    looked = w.case()
    w.do("sighted", things=[THIRD])
    w.do("received", giver="coroner", place="store", items=[device()])
    assert meanwhile(w, looked, "put-in", things=[THIRD, f"{CASE}.5"], into=FOURTH) == []
    act = entries.read_act({"kind": "put-in", "things": [THIRD], "into": FOURTH})
    assert list(rules.moved_meanwhile(act, {}, {})) == [], "no case went on since"
