from __future__ import annotations

from tests.care.history import CASE, World

from . import bag, device, effect, raises, spares, viscera

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))
ADULT = {"sex": "male", "age_group": "adult"}
LIVER = {"what": "device", "description": "an organ for the scales", "organ": "liver"}


def weigh(w: World, *grams: int, thing: str = THIRD) -> None:
    for number in grams:
        w.do("weighed", thing=thing, grams=number, force=True)


def scales(w: World, *grams: int, **opened: object) -> None:
    """A plate in the coffin stands for what is weighed: nothing else is asked of it."""
    w.arrive(device(), **opened)
    w.ready(THIRD)
    weigh(w, *grams)


@raises("weight-fell")
def lighter_by_more_than_a_tenth(w: World) -> None:
    scales(w, 1000, 899)


@raises("weight-fell")
def the_middle_one_of_three_weighings(w: World) -> None:
    scales(w, 1000, 500, 510)


@raises("weight-fell")
def a_bag_weighed_empty(w: World) -> None:
    scales(w, 1000, 0)


@spares("weight-fell")
def lighter_by_a_tenth(w: World) -> None:
    scales(w, 1000, 900)


@spares("weight-fell")
def drained_between(w: World) -> None:
    scales(w, 1000)
    w.do("cared-for", thing=THIRD, step="dried", force=True)
    weigh(w, 500)


@raises("weight-fell")
def dried_only_afterwards(w: World) -> None:
    scales(w, 1000, 500)
    w.do("cared-for", thing=THIRD, step="dried", force=True)


@raises("weight-fell")
def dried_only_before(w: World) -> None:
    scales(w)
    w.do("cared-for", thing=THIRD, step="dried", force=True)
    weigh(w, 1000, 500)


@raises("weight-fell")
def powdering_makes_nothing_lighter(w: World) -> None:
    scales(w, 1000)
    w.do("cared-for", thing=THIRD, step="powdered", force=True)
    weigh(w, 500)


@spares("weight-fell")
def something_was_taken_out_between(w: World) -> None:
    w.arrive(bag(), effect(within="#3", intention="worn"))
    weigh(w, 1000)
    w.do("taken-out", things=[FOURTH], place="table")
    weigh(w, 500)
    w.ready(FOURTH)


@raises("weight-fell")
def something_else_was_taken_out_between(w: World) -> None:
    w.arrive(bag(empty=True), bag(), effect(within="#4", intention="worn"))
    weigh(w, 1000)
    w.do("taken-out", things=[f"{CASE}.5"], place="table")
    weigh(w, 500)
    w.ready(f"{CASE}.5")


@spares("weight-fell", "leak-not-tended")
def it_leaked_between(w: World) -> None:
    scales(w, 1000)
    w.do("inspected", thing=THIRD, leak=True)
    weigh(w, 500)


@raises("weight-rose")
def heavier_by_more_than_a_quarter(w: World) -> None:
    scales(w, 1000, 1251)


@spares("weight-rose")
def heavier_by_a_quarter(w: World) -> None:
    scales(w, 1000, 1250)


@spares("weight-rose")
def treated_between(w: World) -> None:
    scales(w, 1000)
    w.do("cared-for", thing=THIRD, step="injected", force=True)
    weigh(w, 2000)


@raises("weight-rose")
def draining_makes_nothing_heavier(w: World) -> None:
    scales(w, 1000)
    w.do("cared-for", thing=THIRD, step="dried", force=True)
    weigh(w, 2000)


@spares("weight-rose", "effect-elsewhere")
def something_was_put_in_between(w: World) -> None:
    w.arrive(bag(), effect(intention="worn"))
    weigh(w, 1000)
    w.do("put-in", things=[FOURTH], into=THIRD)
    weigh(w, 2000)
    w.ready()


@raises("lighter-than-its-contents", "effect-elsewhere")
def a_bag_lighter_than_the_watch_in_it(w: World) -> None:
    w.arrive(bag(), effect(within="#3", intention="worn"))
    weigh(w, 200, thing=FOURTH)
    weigh(w, 179)
    w.ready()


@spares("lighter-than-its-contents", "effect-elsewhere")
def a_bag_lighter_by_a_tenth(w: World) -> None:
    w.arrive(bag(), effect(within="#3", intention="worn"))
    weigh(w, 200, thing=FOURTH)
    weigh(w, 180)
    w.ready()


@spares("lighter-than-its-contents", "effect-elsewhere")
def a_bag_weighed_before_anything_was_in_it(w: World) -> None:
    w.arrive(bag(), effect(intention="worn"))
    weigh(w, 20)
    weigh(w, 200, thing=FOURTH)
    w.do("put-in", things=[FOURTH], into=THIRD)
    w.ready()


def divide(w: World, whole: int, *pieces: int) -> None:
    w.arrive(device())
    weigh(w, whole)
    into = [{"what": "device", "description": "a piece", "place": "table"} for _ in pieces]
    w.do("separated", thing=THIRD, into=into, entirely=True)
    ids = [f"{CASE}.{n}" for n in range(4, 4 + len(pieces))]
    for thing, grams in zip(ids, pieces, strict=True):
        if grams:
            weigh(w, grams, thing=thing)
        w.label(thing)
    w.ready(*ids)


@raises("pieces-do-not-add-up")
def a_tenth_and_more_is_lost_in_dividing(w: World) -> None:
    divide(w, 1000, 500, 399)


@raises("pieces-do-not-add-up")
def a_tenth_and_more_is_gained_in_dividing(w: World) -> None:
    divide(w, 1000, 600, 501)


@spares("pieces-do-not-add-up")
def a_tenth_is_lost_in_dividing(w: World) -> None:
    divide(w, 1000, 500, 400)


@spares("pieces-do-not-add-up")
def a_piece_was_not_weighed(w: World) -> None:
    divide(w, 1000, 500, 0)


def organ(w: World, grams: int, name: str | None = "liver", **opened: object) -> None:
    w.arrive({**LIVER, "organ": name}, **opened)
    w.ready(THIRD)
    weigh(w, grams)


@raises("implausible-weight")
def a_liver_heavier_than_any_published(w: World) -> None:
    organ(w, 2585, **ADULT)


@raises("implausible-weight")
def a_liver_lighter_than_any_published(w: World) -> None:
    organ(w, 837, **ADULT)


@raises("implausible-weight")
def a_body_heavier_than_any_published(w: World) -> None:
    w.arrive(**ADULT)
    w.ready()
    weigh(w, 153_001, thing=BODY)


@raises("implausible-weight")
def two_persons_viscera_in_one_bag(w: World) -> None:
    w.arrive(viscera(within="#1"), **ADULT)
    weigh(w, 12_400)
    w.do("sighted", things=[THIRD])
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready()


@spares("implausible-weight")
def the_heaviest_liver_published(w: World) -> None:
    organ(w, 2584, **ADULT)


@spares("implausible-weight")
def a_liver_of_somebody_unknown(w: World) -> None:
    organ(w, 65)


@spares("implausible-weight")
def an_organ_without_a_table(w: World) -> None:
    organ(w, 1, name="thymus", **ADULT)


@spares("implausible-weight")
def only_the_first_weighing_counts(w: World) -> None:
    organ(w, 2000, **ADULT)
    w.do("cared-for", thing=THIRD, step="injected", force=True)
    weigh(w, 3000)


def cremated(w: World, *grams: int, group: str | None = "adult") -> None:
    w.arrive(disposition="cremation", age_group=group)
    w.do("inspected", thing=BODY, implants="none")
    w.ready()
    w.close()
    w.buried(manner="cremation")
    items = [{"what": "ashes", "description": f"urn {n}"} for n in range(len(grams))]
    w.do(
        "ashes-received",
        giver="crematory",
        place="store",
        items=items,
        grams=list(grams),
        disc_agrees=True,
    )


@raises("ashes-implausible", "ashes-here")
def heavier_ashes_than_any_published(w: World) -> None:
    cremated(w, 3785)


@raises("ashes-implausible", "ashes-here")
def lighter_ashes_than_any_published(w: World) -> None:
    cremated(w, 875)


@raises("ashes-implausible", "ashes-here", "ashes-here")
def two_urns_heavier_together(w: World) -> None:
    cremated(w, 2000, 1785)


@raises("ashes-implausible", "ashes-here")
def heavier_ashes_of_somebody_unknown(w: World) -> None:
    cremated(w, 3785, group=None)


@spares("ashes-implausible", "ashes-here")
def the_heaviest_ashes_published(w: World) -> None:
    cremated(w, 3784)


@spares("ashes-implausible", "ashes-here")
def the_lightest_ashes_published(w: World) -> None:
    cremated(w, 876)


@spares("ashes-implausible", "ashes-here")
def a_childs_ashes(w: World) -> None:
    cremated(w, 200, group="1-to-4")


@spares("ashes-implausible", "ashes-here")
def light_ashes_of_somebody_unknown(w: World) -> None:
    cremated(w, 200, group=None)


@spares("ashes-implausible", "ashes-here", "ashes-here")
def ashes_divided_again_are_not_counted_twice(w: World) -> None:
    cremated(w, 3000)
    w.do("instructed", things=[THIRD], wish="release", relation="daughter")
    into = [{"what": "ashes", "description": f"half {n}", "place": "store"} for n in "ab"]
    w.do("separated", thing=THIRD, into=into, entirely=True)
    weigh(w, 1500, thing=FOURTH)
    weigh(w, 1500, thing=f"{CASE}.5")


@spares("lighter-than-its-contents", "effect-elsewhere", "effect-elsewhere")
def a_bag_weighed_before_the_second_watch_was_in_it(w: World) -> None:
    w.arrive(bag(), effect(within="#3", intention="worn"), effect(intention="worn"))
    weigh(w, 200, thing=FOURTH)
    weigh(w, 200, thing=f"{CASE}.5")
    weigh(w, 220)
    w.do("put-in", things=[f"{CASE}.5"], into=THIRD)
    w.ready()


@raises("ashes-implausible", "ashes-here", "ashes-without-cremation", "disc-not-read")
def heavy_ashes_that_came_from_another_firm(w: World) -> None:
    w.arrive(**ADULT)
    ashes = {"what": "ashes", "description": "urn"}
    w.do("received", giver="clinic", place="store", items=[ashes])
    weigh(w, 3785)
    w.ready()
