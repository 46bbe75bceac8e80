from __future__ import annotations

from continuity.care.things import Divided
from tests.care.history import CASE, OTHER, World, edited

from . import bag, device, part, raises, spares

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))


def divide(w: World, thing: str, count: int = 2, **how: object) -> object:
    pieces = [
        {"what": "device", "description": f"piece {n}", "place": "table"} for n in range(count)
    ]
    divided = w.do("separated", thing=thing, into=pieces, entirely=True, **how)
    for piece in divided.act.into:
        w.label(piece.thing)
    return divided


@raises("piece-without-record")
def a_piece_was_struck_from_the_record(w: World) -> None:
    w.arrive(device())
    w.ready()
    divided = divide(w, THIRD)
    del w.chains[CASE][divided.number + 1 :]
    piece = divided.act.into[0]
    lost = divided.act.model_copy(update={"into": (piece,)})
    w.chains[CASE][divided.number] = _with(divided, lost, FOURTH, f"{CASE}.5")
    w.label(FOURTH)
    w.do("put-in", things=[FOURTH], into=COFFIN, scanned=True)


def _with(event: object, act: object, *into: str) -> object:
    """The event with an act that says the thing became these, and brings in the first alone."""

    class Forgetful(type(act)):
        def apply(self, case: object, event: object) -> None:
            super().apply(case, event)
            case.things[self.thing].where = Divided(into)

    return edited(event, act=Forgetful.model_construct(**dict(act)))


@spares("piece-without-record")
def every_piece_is_in_the_coffin(w: World) -> None:
    w.arrive(device())
    divide(w, THIRD)
    w.ready(FOURTH, f"{CASE}.5")


@spares("piece-without-record", "left-elsewhere")
def a_piece_that_lies_elsewhere_is_told_by_itself(w: World) -> None:
    w.arrive(device())
    divide(w, THIRD)
    w.ready(FOURTH)


@raises("inside-itself", "inside-itself")
def two_bags_in_one_another(w: World) -> None:
    w.arrive(bag(), bag())
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.do("put-in", things=[FOURTH], into=THIRD, force=True)
    w.ready()


@raises("inside-itself", "inside-itself", "inside-itself")
def what_is_in_the_circle_is_nowhere_too(w: World) -> None:
    w.arrive(bag(), bag(), device(within="#3"))
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.do("put-in", things=[FOURTH], into=THIRD, force=True)
    w.ready()


@raises("inside-itself", "inside-itself")
def two_plates_that_became_one_another(w: World) -> None:
    w.arrive(device(), device())
    w.do("joined", things=[THIRD], to=FOURTH)
    w.do("joined", things=[FOURTH], to=THIRD, force=True)
    w.ready()


@spares("inside-itself")
def a_bag_in_a_bag(w: World) -> None:
    w.arrive(bag(empty=True), bag())
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.ready()


@spares("inside-itself", "not-seen-empty")
def a_hand_sewn_on_again_leaves_its_box_empty(w: World) -> None:
    w.arrive(bag(), part(within="#3"))
    w.do("taken-out", things=[FOURTH], place="table")
    w.do("joined", things=[FOURTH], to=BODY)
    w.ready()


@raises("discarded-with-contents", "irregularity-open")
def the_bag_was_thrown_away_with_the_plate_in_it(w: World) -> None:
    w.arrive(bag(), device(within="#3"))
    w.do("packaging-discarded", thing=THIRD, empty=True, found=True)
    w.ready()


@spares("discarded-with-contents", "irregularity-open", "irregularity-open")
def the_plate_was_found_beside_it(w: World) -> None:
    the_bag_was_thrown_away_with_the_plate_in_it(w)
    w.do("sighted", things=[FOURTH], place="cold-room", found=True)
    w.do("put-in", things=[FOURTH], into=COFFIN, scanned=True)


@spares("discarded-with-contents")
def the_bag_was_thrown_away_empty(w: World) -> None:
    w.arrive(bag(), device(within="#3"))
    w.do("taken-out", things=[FOURTH], place="table")
    w.do("packaging-discarded", thing=THIRD, empty=True)
    w.ready(FOURTH)


@raises("in-what-is-no-more")
def a_plate_in_a_bag_that_was_cut_up(w: World) -> None:
    w.arrive(bag(), device(within="#3"))
    pieces = [{"what": "container", "description": "shreds", "place": "table"}]
    w.do("separated", thing=THIRD, into=pieces, entirely=True)
    w.ready()


@raises("in-what-is-no-more", "wrongly-joined")
def a_plate_in_a_bag_that_became_part_of_another(w: World) -> None:
    w.arrive(bag(), device(within="#3"), bag(empty=True))
    w.do("joined", things=[THIRD], to=f"{CASE}.5", force=True)
    w.ready()


@spares("in-what-is-no-more")
def a_plate_that_was_taken_out_before(w: World) -> None:
    w.arrive(bag(), device(within="#3"))
    w.do("taken-out", things=[FOURTH], place="table")
    pieces = [{"what": "container", "description": "shreds", "place": "table"}]
    w.do("separated", thing=THIRD, into=pieces, entirely=True)
    w.ready(FOURTH)


@raises("thrown-away")
def a_plate_was_thrown_away(w: World) -> None:
    w.arrive(device())
    w.do("packaging-discarded", thing=THIRD, empty=True, force=True)
    w.ready()


@spares("thrown-away")
def only_a_bag_was_thrown_away(w: World) -> None:
    w.arrive(bag())
    w.do("packaging-discarded", thing=THIRD, empty=True)
    w.ready()


def release(w: World, *things: str, **how: object) -> None:
    how = {"authority": "a wish", "identity_checked": True, "signed": True, **how}
    w.do("released", things=list(things), relation="daughter", **how)


@raises("left-and-found-here", "irregularity-open", "left-elsewhere")
def a_released_plate_was_seen_in_the_store(w: World) -> None:
    w.arrive(device())
    release(w, THIRD)
    w.do("moved", things=[THIRD], place="store", found=True)
    w.ready()


@raises("left-and-found-here", "irregularity-open", "left-and-found-here", "left-elsewhere")
def what_left_in_a_bag_is_here_with_the_bag(w: World) -> None:
    w.arrive(bag(), device(within="#3"))
    release(w, THIRD)
    w.do("moved", things=[THIRD], place="store", found=True)
    w.ready()


@spares("left-and-found-here")
def what_left_in_a_bag_is_gone_with_the_bag(w: World) -> None:
    w.arrive(bag(), device(within="#3"))
    release(w, THIRD)
    w.ready()


@raises("wrongly-joined")
def a_hand_became_one_with_a_box_that_was_thrown_away(w: World) -> None:
    w.arrive(part(), bag(form="box", empty=True))
    w.do("joined", things=[THIRD], to=FOURTH, force=True)
    w.do("packaging-discarded", thing=FOURTH, empty=True)
    w.ready()


@raises("wrongly-joined")
def a_plate_became_one_with_the_body(w: World) -> None:
    w.arrive(device())
    w.do("joined", things=[THIRD], to=BODY, force=True)
    w.ready()


@spares("wrongly-joined")
def a_hand_became_one_with_the_body(w: World) -> None:
    w.arrive(part())
    w.do("joined", things=[THIRD], to=BODY)
    w.ready()


@spares("wrongly-joined")
def a_plate_became_one_with_another(w: World) -> None:
    w.arrive(device(), device())
    w.do("joined", things=[THIRD], to=FOURTH)
    w.ready(FOURTH)


@raises("divided-into-packaging")
def a_hand_was_divided_into_bags(w: World) -> None:
    w.arrive(part())
    clean = {"what": "container", "form": "bag", "description": "bag", "place": "table"}
    w.do("separated", thing=THIRD, into=[clean, clean], entirely=True, force=True)
    w.ready()


@spares("divided-into-packaging")
def a_bag_was_divided_into_two(w: World) -> None:
    w.arrive(bag(empty=True))
    half = {"what": "container", "form": "bag", "description": "half a bag", "place": "table"}
    w.do("separated", thing=THIRD, into=[half, half], entirely=True)
    w.ready()


@spares("divided-into-packaging", "went-apart")
def one_of_its_pieces_is_no_packaging(w: World) -> None:
    w.arrive(part())
    clean = {"what": "container", "form": "bag", "description": "bag", "place": "table"}
    piece = part(place="table")
    w.do("separated", thing=THIRD, into=[clean, piece], entirely=True, force=True)
    given = {"identity_checked": True, "signed": True}
    w.do("released", things=[f"{CASE}.5"], relation="son", authority="a will", **given)
    w.ready()


def left(w: World) -> None:
    """A bag went, and a plate stayed."""
    w.arrive(bag(empty=True), device())
    how = {"relation": "son", "authority": "a will", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], **how)


@raises("in-what-is-no-more", "irregularity-open")
def a_plate_in_a_bag_that_had_left(w: World) -> None:
    left(w)
    w.do("put-in", things=[FOURTH], into=THIRD, found=True)
    w.ready()


@spares("in-what-is-no-more")
def a_plate_in_a_bag_that_left_with_it(w: World) -> None:
    w.arrive(bag(), device(within="#3"))
    how = {"relation": "son", "authority": "a will", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], **how)
    w.ready()


@raises("wrongly-joined", "irregularity-open")
def a_plate_became_one_with_what_had_left(w: World) -> None:
    w.arrive(device(), device())
    how = {"relation": "son", "authority": "a will", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], **how)
    w.do("joined", things=[FOURTH], to=THIRD, found=True)
    w.ready()


@spares("wrongly-joined")
def a_plate_left_as_one_with_another(w: World) -> None:
    w.arrive(device(), device())
    w.do("joined", things=[FOURTH], to=THIRD)
    how = {"relation": "son", "authority": "a will", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], **how)
    w.ready()


@spares("wrongly-joined", "inside-another-case")
def a_plate_that_was_one_with_another_that_left_turned_out_to_be_of_this_case(w: World) -> None:
    w.arrive()
    w.arrive(device(), device(), case=OTHER)
    third, fourth = f"{OTHER}.3", f"{OTHER}.4"
    w.do("joined", case=OTHER, things=[third], to=fourth)
    how = {"authority": "a wish", "identity_checked": True, "signed": True}
    w.do("released", case=OTHER, things=[fourth], relation="daughter", **how)
    w.do("associated", case=OTHER, things=[third], to_case=CASE, authority="a report")
    w.ready()
