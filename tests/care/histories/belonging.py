from __future__ import annotations

from tests.care.history import CASE, OTHER, World

from . import bag, device, part, raises, spares

BODY, COFFIN, THIRD = (f"{CASE}.{n}" for n in range(1, 4))
THEIR_BODY, THEIR_COFFIN, THEIR_THIRD = (f"{OTHER}.{n}" for n in range(1, 4))


def two(w: World, *items: dict[str, object]) -> None:
    """Two cases in care at once; the other has what is given."""
    w.arrive()
    w.arrive(*items, case=OTHER)


@raises("another-case-inside", "irregularity-open")
def anothers_plate_was_found_in_the_coffin(w: World) -> None:
    two(w, device())
    w.ready()
    w.do("put-in", things=[THEIR_THIRD], into=COFFIN, found=True)


@raises("another-case-inside", "irregularity-open")
def anothers_plate_was_found_in_the_body(w: World) -> None:
    two(w, device())
    w.do("put-in", things=[THEIR_THIRD], into=BODY, found=True)
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready()


@spares("another-case-inside", "irregularity-open")
def anothers_plate_was_taken_out_again(w: World) -> None:
    anothers_plate_was_found_in_the_coffin(w)
    w.do("taken-out", case=OTHER, things=[THEIR_THIRD], place="table")


@raises("another-case-inside", "irregularity-open", "not-sighted")
def anothers_hand_was_sewn_on(w: World) -> None:
    two(w, part())
    w.ready()
    w.do("joined", things=[THEIR_THIRD], to=BODY, found=True)


@raises("inside-another-case", "irregularity-open")
def this_body_lies_in_anothers_coffin(w: World) -> None:
    two(w)
    w.do("put-in", things=[BODY], into=THEIR_COFFIN, found=True)
    w.identify("closing")


@raises("inside-another-case", "irregularity-open")
def this_cases_plate_lies_in_anothers_coffin(w: World) -> None:
    w.arrive(device())
    w.arrive(case=OTHER)
    w.do("put-in", things=[THIRD], into=THEIR_COFFIN, found=True)
    w.ready()


@raises("inside-another-case", "irregularity-open")
def this_cases_hand_was_sewn_onto_another(w: World) -> None:
    w.arrive(part())
    w.arrive(case=OTHER)
    w.do("joined", things=[THIRD], to=THEIR_BODY, found=True)
    w.ready()


@raises("inside-another-case", "irregularity-open")
def only_the_outermost_of_what_is_astray_is_told(w: World) -> None:
    w.arrive(bag(), device(within="#3"))
    w.arrive(case=OTHER)
    w.do("put-in", things=[THIRD], into=THEIR_COFFIN, found=True)
    w.ready()


@raises("inside-another-case", "closed-without-check", "irregularity-open")
def buried_in_anothers_coffin(w: World) -> None:
    w.arrive()
    w.arrive(case=OTHER)
    w.do("put-in", things=[BODY], into=THEIR_COFFIN, found=True)
    w.identify("closing")
    w.do("coffin-closed", case=OTHER, thing=THEIR_COFFIN, force=True)
    w.do("closing-check-signed", case=CASE, force=True)
    w.do(
        "disposed",
        case=OTHER,
        things=[THEIR_COFFIN],
        manner="burial",
        where="a cemetery",
        authority="an order",
        force=True,
    )


@spares("inside-another-case", "left-elsewhere")
def the_plate_is_beside_them_both(w: World) -> None:
    w.arrive(device())
    w.arrive(case=OTHER)
    w.ready()


def share(w: World, *cases: str) -> None:
    w.do("coffin-shared", case=cases[0], coffin=COFFIN, with_cases=cases, authority="an order")


@raises("shares-a-coffin")
def a_child_lies_in_its_mothers_coffin(w: World) -> None:
    two(w)
    share(w, CASE, OTHER)
    w.ready()
    w.ready(case=OTHER, coffin=COFFIN)


@raises("shares-a-coffin", case=OTHER)
def the_child_is_told_so_too(w: World) -> None:
    a_child_lies_in_its_mothers_coffin(w)


@spares("shares-a-coffin")
def a_coffin_of_ones_own(w: World) -> None:
    w.arrive()
    w.ready()


@spares("another-case-inside", "shares-a-coffin")
def an_authority_that_names_both(w: World) -> None:
    two(w)
    share(w, CASE, OTHER)
    w.do("put-in", case=OTHER, things=[THEIR_BODY], into=COFFIN)
    w.ready()


@raises("another-case-inside", "irregularity-open", "shares-a-coffin")
def an_authority_that_names_somebody_else(w: World) -> None:
    two(w)
    w.arrive(case="2026-0003")
    share(w, CASE, "2026-0003")
    w.do("put-in", case=OTHER, things=[THEIR_BODY], into=COFFIN, found=True)
    w.ready()


@raises("another-case-inside", "irregularity-open", "shares-a-coffin")
def a_shared_coffin_is_no_shared_body(w: World) -> None:
    two(w, device())
    share(w, CASE, OTHER)
    w.do("put-in", case=OTHER, things=[THEIR_THIRD], into=BODY, found=True)
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready()


@spares("another-case-inside")
def a_part_that_turned_out_to_be_this_persons(w: World) -> None:
    w.arrive()
    w.do("case-opened", case=OTHER, disposition="burial", unidentified=True)
    w.do("received", case=OTHER, giver="coroner", place="store", items=[device()])
    w.do("associated", case=OTHER, things=[f"{OTHER}.1"], to_case=CASE, authority="a report")
    w.ready(f"{OTHER}.1")


@raises("another-case-inside", "irregularity-open", "turned-out-anothers", case=OTHER)
def a_part_in_its_first_cases_coffin_that_is_anothers(w: World) -> None:
    w.arrive()
    w.arrive(device(), case=OTHER)
    w.lay_in(THEIR_THIRD, case=OTHER)
    w.sight_for_closing(case=OTHER)
    w.do("irregularity-raised", case=OTHER, what="two hands alike")
    w.do("associated", case=OTHER, things=[THEIR_THIRD], to_case=CASE, authority="a report")


@raises("turned-out-anothers")
def a_plate_turned_out_to_be_of_another_case(w: World) -> None:
    w.arrive(device())
    w.do("case-opened", case=OTHER, disposition="burial", unidentified=True)
    w.do("associated", things=[f"{CASE}.3"], to_case=OTHER, authority="a report")
    w.ready()


@spares("turned-out-anothers")
def a_plate_of_another_case_turned_out_to_be_of_this(w: World) -> None:
    a_part_that_turned_out_to_be_this_persons(w)


@spares("inside-another-case", "shares-a-coffin", case=OTHER)
def a_child_was_buried_in_its_mothers_coffin(w: World) -> None:
    a_child_lies_in_its_mothers_coffin(w)
    w.do("closing-check-signed", coffin=COFFIN)
    w.do("closing-check-signed", case=OTHER, coffin=COFFIN)
    w.do("coffin-closed", thing=COFFIN)
    w.buried()
