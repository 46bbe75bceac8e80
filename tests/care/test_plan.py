"""The plan: what condition and disposition ask for, the next step first, done, due or late."""

from __future__ import annotations

from datetime import timedelta

import pytest

from continuity.care.entries import KINDS
from continuity.care.plan import State, Task, plan, reason_to_treat
from continuity.care.policy import from_toml
from tests.care.histories import bag, device, part, viscera
from tests.care.history import CASE, MORNING, World

BODY, COFFIN, PACK, VISCERA, CLEAN, TUB = (f"{CASE}.{n}" for n in range(1, 7))


def planned(w: World, **later: int) -> tuple[Task, ...]:
    return plan(w.case(), w.house.policy, w.clock + timedelta(**later))


def told(w: World, **later: int) -> list[tuple[str, str, str]]:
    return [(t.what, t.thing, t.state.value) for t in planned(w, **later)]


def open_steps(w: World, **later: int) -> list[str]:
    return [t.what for t in planned(w, **later) if t.state is not State.DONE]


@pytest.fixture
def w() -> World:
    return World()


def come(w: World, **opened: object) -> None:
    inside = bag(within="#1", inferred=True)
    tub = {"what": "container", "form": "tub", "description": "tub"}
    w.arrive(inside, viscera(within="#3", inferred=True), bag(), tub, **opened)


def take_out(w: World) -> None:
    w.do("opened", thing=BODY, reason="to treat")
    w.do("taken-out", things=[PACK], place="table")
    w.do("opened", thing=PACK, reason="to treat")
    w.do("taken-out", things=[VISCERA], place="table")


def step(w: World, name: str, thing: str = VISCERA, **how: object) -> None:
    w.do("cared-for", thing=thing, step=name, **how)


TREATING = [
    "open-body",
    "open-pack",
    "empty",
    "treat",
    "dry",
    "powder",
    "repack",
    "embalm",
]
RINSING = ["open-body", "open-pack", "rinse", "empty", "dry", "powder", "repack"]


def test_a_body_that_never_came_or_has_gone_has_no_plan(w: World) -> None:
    w.do("case-opened", disposition="sending-abroad")
    assert planned(w) == ()
    w = World()
    w.arrive()
    w.ready()
    w.close()
    assert told(w) == [("look-at-body", BODY, "done")]
    w.buried()
    assert planned(w) == ()


def test_dry_without_odour_and_with_a_sound_suture_is_left_closed(w: World) -> None:
    come(w)
    w.do("inspected", thing=BODY, dry=True)
    assert told(w) == [("look-at-body", BODY, "done")]


def test_the_first_step_is_to_look(w: World) -> None:
    w.do("case-opened", disposition="burial")
    items = [{"what": "decedent", "description": "the decedent"}]
    w.do("received", giver="coroner", place="cold-room", items=items)
    (look,) = planned(w)
    assert look == Task(
        what="look-at-body",
        thing=BODY,
        words="look at the body",
        why="what is due depends on leak, odour, dryness and suture",
        source="common practice, no source",
        kind="inspected",
        state=State.DUE,
    )
    w.do("handed-over", things=[BODY], taker="clinic", authority="an order", accepted=True)
    assert planned(w) == ()


@pytest.mark.parametrize(
    ("opened", "why"),
    [
        ({"disposition": "sending-abroad"}, "the decedent is to be sent abroad"),
        (
            {"disposition": "entombment"},
            "the decedent is to rest in a vault or crypt above ground",
        ),
        (
            {"disposition": "burial", "above_ground": True},
            "the decedent is to rest in a vault or crypt above ground",
        ),
        ({"disposition": "burial", "long_delay": True}, "the disposition is a long way off"),
        ({"disposition": "burial", "day": "2026-03-13"}, "the disposition is a long way off"),
        ({"disposition": "burial", "day": "2026-03-12"}, None),
        ({"disposition": "cremation"}, None),
        ({"disposition": "undecided"}, None),
    ],
)
def test_the_disposition_says_whether_to_treat(
    w: World, opened: dict[str, object], why: str | None
) -> None:
    come(w, **opened)
    assert reason_to_treat(w.case(), w.house.policy) == why
    assert open_steps(w) == ([] if why is None else TREATING)
    whys = {t.why for t in planned(w) if t.what != "look-at-body"}
    assert whys == (set() if why is None else {why})


def test_without_a_plan_nothing_asks_for_treating(w: World) -> None:
    assert reason_to_treat(w.case(), w.house.policy) is None
    w.do("case-opened", disposition="burial", day="2027-01-01")
    assert reason_to_treat(w.case(), w.house.policy) is None


def test_a_changed_disposition_changes_the_plan_at_once(w: World) -> None:
    come(w)
    assert open_steps(w) == []
    w.do("disposition-changed", disposition="sending-abroad", authority="an order")
    assert open_steps(w) == TREATING
    w.do("disposition-changed", disposition="burial", authority="an order")
    assert open_steps(w) == []


def test_every_step_of_treating_in_its_order_with_the_entry_that_records_it(w: World) -> None:
    come(w, disposition="sending-abroad")
    asked = [(t.what, t.thing, t.words, t.kind) for t in planned(w) if t.state is State.DUE]
    assert asked == [
        ("open-body", BODY, "open the body", "opened"),
        ("open-pack", PACK, "open the pack", "opened"),
        ("empty", VISCERA, "empty the hollow organs", "cared-for"),
        ("treat", VISCERA, "treat in a covered container, or inject", "cared-for"),
        ("dry", VISCERA, "dry", "cared-for"),
        ("powder", VISCERA, "powder", "cared-for"),
        ("repack", VISCERA, "put into a clean bag or net", "cared-for"),
        ("embalm", BODY, "embalm the body", "cared-for"),
    ]


def test_each_step_is_done_when_it_is_recorded_and_the_next_comes_first(w: World) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    assert open_steps(w) == [
        "empty",
        "treat",
        "dry",
        "powder",
        "repack",
        "return",
        "embalm",
        "suture",
    ]
    step(w, "emptied")
    step(w, "immersed")
    assert open_steps(w)[:2] == ["drain", "dry"]
    w.pass_time(minutes=239)
    step(w, "drained")
    step(w, "dried")
    step(w, "powdered")
    assert open_steps(w) == ["repack", "return", "embalm", "suture"]
    w.do("put-in", things=[VISCERA], into=CLEAN)
    assert open_steps(w) == ["seal", "return", "embalm", "suture"]
    w.do("sealed", thing=CLEAN)
    w.do("put-in", things=[CLEAN], into=BODY)
    assert open_steps(w) == ["embalm", "suture"]
    step(w, "embalmed", BODY)
    step(w, "sutured", BODY)
    assert open_steps(w) == []
    assert [t.what for t in planned(w)] == [
        "look-at-body",
        "open-body",
        "open-pack",
        "empty",
        "treat",
        "drain",
        "dry",
        "powder",
        "repack",
        "seal",
        "embalm",
        "suture",
    ]


def test_what_is_done_says_when(w: World) -> None:
    come(w, disposition="sending-abroad")
    opened = w.do("opened", thing=BODY, reason="to treat")
    emptied = w.do("cared-for", thing=VISCERA, step="emptied", force=True)
    done = {t.what: t.done for t in planned(w)}
    assert done["open-body"] == opened.moment
    assert done["empty"] == emptied.moment
    assert done["treat"] is None


def test_injecting_is_treating_too(w: World) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    step(w, "injected")
    assert "treat" not in open_steps(w)
    assert "drain" not in open_steps(w)


@pytest.mark.parametrize(
    ("minutes", "state"),
    [
        (0, State.UNDER_WAY),
        (238, State.UNDER_WAY),
        (239, State.DUE),
        (359, State.DUE),
        (360, State.LATE),
    ],
)
def test_a_bath_is_under_way_then_due_then_late(w: World, minutes: int, state: State) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    begun = w.do("cared-for", thing=VISCERA, step="immersed")
    (drain,) = [t for t in planned(w, minutes=minutes) if t.what == "drain"]
    assert drain.state is state
    assert drain.due == begun.occurred_at + timedelta(minutes=240)
    assert drain.words == "drain"
    assert drain.thing == VISCERA


def test_a_bath_that_nobody_asked_for_is_drained_too(w: World) -> None:
    come(w)
    take_out(w)
    step(w, "immersed")
    (drain,) = [t for t in planned(w) if t.what == "drain"]
    assert drain.why == "it is under treatment"
    w.pass_time(minutes=240)
    step(w, "drained")
    assert ("drain", VISCERA, "done") in told(w)


@pytest.mark.parametrize(
    ("seen", "why"),
    [
        ({"leak": True}, f"{BODY} leaked"),
        ({"odour": True}, f"{BODY} smelled"),
        ({"dry": False}, f"{BODY} was not dry"),
    ],
)
def test_a_leak_an_odour_or_wetness_means_open_rinse_dry_powder_and_pack(
    w: World, seen: dict[str, bool], why: str
) -> None:
    come(w)
    w.do("inspected", thing=BODY, **seen)
    assert open_steps(w) == RINSING
    assert {t.why for t in planned(w) if t.state is State.DUE} == {why}


def test_trouble_and_a_disposition_that_asks_mean_both(w: World) -> None:
    come(w, disposition="sending-abroad")
    w.do("inspected", thing=BODY, leak=True)
    assert open_steps(w) == [
        "open-body",
        "open-pack",
        "rinse",
        "empty",
        "treat",
        "dry",
        "powder",
        "repack",
        "embalm",
    ]
    rinse = next(t for t in planned(w) if t.what == "rinse")
    assert rinse.why == f"{BODY} leaked, and the decedent is to be sent abroad"


def test_trouble_seen_on_the_body_follows_the_viscera_out_of_it(w: World) -> None:
    come(w)
    w.do("inspected", thing=BODY, odour=True)
    take_out(w)
    assert open_steps(w) == ["rinse", "empty", "dry", "powder", "repack", "return", "suture"]


def test_steps_done_before_the_trouble_do_not_count(w: World) -> None:
    come(w)
    take_out(w)
    step(w, "rinsed")
    w.do("inspected", thing=VISCERA, leak=True)
    assert "rinse" in open_steps(w)
    step(w, "rinsed")
    assert "rinse" not in open_steps(w)


def test_trouble_is_over_when_the_same_thing_is_seen_without_it(w: World) -> None:
    come(w)
    w.do("inspected", thing=BODY, leak=True)
    w.do("inspected", thing=BODY, odour=False)
    assert open_steps(w) == RINSING
    w.do("inspected", thing=BODY, leak=False)
    assert open_steps(w) == []


def test_trouble_is_over_when_the_new_pack_is_seen_without_it(w: World) -> None:
    come(w)
    w.do("inspected", thing=PACK, leak=True)
    take_out(w)
    w.do("inspected", thing=BODY, leak=False)
    assert "rinse" in open_steps(w)
    w.do("put-in", things=[VISCERA], into=CLEAN)
    w.do("inspected", thing=CLEAN, leak=False)
    assert "rinse" not in open_steps(w)


def test_the_coffins_condition_is_not_the_viscera_s(w: World) -> None:
    come(w)
    w.lay_in()
    w.do("inspected", thing=COFFIN, leak=True)
    assert "rinse" not in open_steps(w)


def test_repacked_is_enough_where_the_pack_stays(w: World) -> None:
    come(w)
    w.do("inspected", thing=BODY, leak=True)
    w.do("opened", thing=BODY, reason="to rinse")
    w.do("opened", thing=PACK, reason="to rinse")
    step(w, "repacked")
    assert "repack" not in open_steps(w)
    assert {"seal", "suture"} <= set(open_steps(w))


def test_viscera_that_are_elsewhere_are_not_in_care(w: World) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    w.do("handed-over", things=[VISCERA], taker="lab", authority="an order", accepted=True)
    assert open_steps(w) == ["embalm", "suture"]


def test_viscera_beside_the_body_in_the_coffin_have_been_returned(w: World) -> None:
    come(w)
    take_out(w)
    w.do("put-in", things=[VISCERA], into=CLEAN)
    w.do("sealed", thing=CLEAN)
    step(w, "sutured", BODY)
    assert open_steps(w) == ["return"]
    w.lay_in(CLEAN)
    assert open_steps(w) == []


def test_a_pack_that_came_sealed_and_stays_so_is_no_step(w: World) -> None:
    w.arrive(bag(within="#1", found_seal="S1"), viscera(within="#3"))
    assert told(w) == [("look-at-body", BODY, "done")]
    w.do("opened", thing=PACK, reason="to look")
    assert open_steps(w) == ["seal"]
    w.do("sealed", thing=PACK, seal="S2")
    assert ("seal", PACK, "done") in told(w)


def test_a_hand_needs_no_plan_of_its_own(w: World) -> None:
    w.arrive(part(), disposition="sending-abroad")
    assert open_steps(w) == ["embalm"]


@pytest.mark.parametrize("power", ["battery", "radioactive", "unknown"])
def test_a_device_is_removed_before_cremation(w: World, power: str) -> None:
    w.arrive(device(power=power, within="#1"), disposition="cremation")
    (task,) = [t for t in planned(w) if t.what == "remove-device"]
    assert (task.thing, task.words, task.state) == (f"{CASE}.3", "remove the device", State.DUE)
    assert task.why == "cremation: it may explode, or contaminate the cremator"
    assert task.source == "NY PBH 4202(1); Gale & Mulley, J R Soc Med 2002;95:353-355"
    removed = w.do(
        "cared-for", thing=BODY, step="device-removed", removed=f"{CASE}.3", place="table"
    )
    (task,) = [t for t in planned(w) if t.what == "remove-device"]
    assert (task.state, task.done) == (State.DONE, removed.moment)


def test_no_device_is_removed_for_a_burial_nor_one_that_does_no_harm(w: World) -> None:
    w.arrive(device(power="battery", within="#1"), disposition="burial")
    assert open_steps(w) == []
    w = World()
    w.arrive(device(within="#1"), disposition="cremation")
    assert open_steps(w) == []


def test_on_the_planned_day_what_is_due_is_late(w: World) -> None:
    come(w, disposition="sending-abroad", day="2026-03-03")
    assert {t.state for t in planned(w) if t.what != "look-at-body"} == {State.DUE}
    assert {t.state for t in planned(w, days=1) if t.what != "look-at-body"} == {State.LATE}


def test_what_was_done_on_the_whole_was_done_on_the_pieces(w: World) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    step(w, "emptied")
    pieces = [{"what": "viscera", "description": n, "place": "table"} for n in ("liver", "gut")]
    w.do("separated", thing=VISCERA, into=pieces, entirely=True)
    open_ = [(t.what, t.thing) for t in planned(w) if t.state is State.DUE]
    assert ("dry", f"{CASE}.7") in open_
    assert ("dry", f"{CASE}.8") in open_
    assert {what for what, _ in open_} == {
        "treat",
        "dry",
        "powder",
        "repack",
        "return",
        "embalm",
        "suture",
    }


def test_the_plan_is_read_at_any_hour(w: World) -> None:
    come(w, disposition="sending-abroad")
    assert plan(w.case(), w.house.policy, MORNING) == planned(w)


def test_each_state_has_the_word_that_is_published() -> None:
    assert [state.value for state in State] == ["done", "under way", "due", "late"]


def test_what_is_open_comes_before_what_was_done(w: World) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    states = [t.state is State.DONE for t in planned(w)]
    assert states == sorted(states)
    assert {True, False} == set(states)


def test_every_step_is_recorded_by_a_kind_of_entry_that_exists(w: World) -> None:
    come(w, disposition="sending-abroad")
    w.do("inspected", thing=BODY, leak=True)
    take_out(w)
    tasks = {t.what: t.kind for t in planned(w)}
    w.do("put-in", things=[VISCERA], into=CLEAN)
    tasks |= {t.what: t.kind for t in planned(w)}
    assert {k for k in tasks.values() if k not in KINDS} == set()
    assert (tasks["seal"], tasks["return"], tasks["open-pack"]) == ("sealed", "put-in", "opened")


@pytest.mark.parametrize("wet", ["rinsed", "emptied", "injected", "drained"])
def test_what_was_dried_and_powdered_is_wet_again_after_a_wet_step(w: World, wet: str) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    step(w, "immersed")
    w.pass_time(hours=4)
    step(w, "drained")
    for name in ("dried", "powdered"):
        step(w, name)
    assert {"dry", "powder"} & set(open_steps(w)) == set()
    step(w, wet, force=True)
    assert {"dry", "powder"} <= set(open_steps(w))


def test_what_lies_in_a_bath_again_is_dry_no_more(w: World) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    step(w, "dried")
    assert "dry" not in open_steps(w), "nothing had made it wet"
    step(w, "immersed")
    assert "dry" in open_steps(w)


def test_only_the_last_bath_is_asked_about(w: World) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    for _ in range(2):
        step(w, "immersed")
        w.pass_time(hours=5)
        step(w, "drained")
    assert [t.what for t in planned(w)].count("drain") == 1


def test_what_is_seen_on_the_pack_first_and_on_the_tissue_later_is_told_in_that_order(
    w: World,
) -> None:
    come(w)
    w.do("inspected", thing=PACK, leak=True)
    take_out(w)
    w.do("inspected", thing=VISCERA, leak=False)
    assert "rinse" not in open_steps(w)


def test_a_clean_box_around_a_leaking_bag_ends_nothing(w: World) -> None:
    box = {"what": "container", "form": "box", "description": "box"}
    w.arrive(box, bag(within="#3", inferred=True), viscera(within="#4", inferred=True))
    w.do("inspected", thing=f"{CASE}.4", leak=True, force=True)
    w.do("inspected", thing=f"{CASE}.3", leak=False)
    assert "rinse" in open_steps(w)


def test_a_firm_for_which_any_delay_is_long_still_asks_nothing_of_a_case_without_a_day(
    w: World,
) -> None:
    strict = from_toml('name = "x"\n[thresholds.long-delay]\nvalue = 0\n', "x.toml")
    come(w, disposition="burial")
    assert reason_to_treat(w.case(), strict) is None


def test_a_pack_that_was_only_sealed_once_more_was_not_opened(w: World) -> None:
    come(w)
    w.do("inspected", thing=BODY, leak=True)
    w.do("sealed", thing=PACK, seal="S2", force=True)
    assert ("open-pack", PACK, "due") in told(w)


def test_a_body_reached_into_or_found_gaping_since_it_was_sewn_is_sewn_again(w: World) -> None:
    come(w)
    w.do("opened", thing=BODY, reason="to look")
    w.do("inspected", thing=BODY, suture="gaping")
    step(w, "sutured", BODY)
    assert ("suture", BODY, "done") in told(w), "it was seen gaping before"
    w.do("inspected", thing=BODY, suture="gaping")
    assert ("suture", BODY, "due") in told(w)
    step(w, "sutured", BODY, force=True)
    assert ("suture", BODY, "done") in told(w)
    w.do("put-in", things=[CLEAN], into=BODY, force=True)
    assert ("suture", BODY, "due") in told(w)
