from __future__ import annotations

from tests.care.history import CASE, World

from . import bag, device, effect, part, raises, spares, viscera

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))


def come(w: World, *items: dict[str, object], **received: object) -> None:
    w.do("received", giver="coroner", place="store", items=list(items), **received)


@raises("no-release-authority")
def nobody_released_the_body(w: World) -> None:
    w.arrive(release_authority=None)
    w.ready()


@spares("no-release-authority")
def the_delivery_came_with_its_authority(w: World) -> None:
    w.do("case-opened", disposition="burial")
    items = [
        {"what": "decedent", "description": "the decedent"},
        {"what": "container", "form": "coffin", "description": "oak coffin"},
    ]
    come(w, *items, authority="release 7")
    w.identify("receipt")
    w.do("inspected", thing=BODY, leak=False)
    w.do("retention-stated", kept="none", according_to="the report")
    w.ready()


@raises("no-release-authority")
def the_authority_was_for_something_else(w: World) -> None:
    w.arrive(release_authority=None)
    come(w, effect(intention="worn"), authority="release 8")
    w.ready(THIRD)


@raises("declared-not-found")
def a_hand_was_declared_and_did_not_come(w: World) -> None:
    w.arrive(part(receipt="missing"))
    w.ready()


@spares("declared-not-found")
def the_hand_came_later_and_was_packed_in(w: World) -> None:
    w.arrive(part(receipt="missing"))
    w.do("returned", things=[THIRD], giver="coroner", place="table")
    w.label(THIRD, "biohazard")
    w.ready(THIRD)


@raises("found-not-declared")
def one_ring_too_many(w: World) -> None:
    w.arrive(effect(receipt="extra", intention="worn"))
    w.ready(THIRD)


@raises("found-not-declared", "irregularity-open")
def a_matter_about_something_else_settles_nothing(w: World) -> None:
    one_ring_too_many(w)
    w.do("irregularity-raised", things=[THIRD], what="it is bent", about=["seal-differs"])


@raises("found-not-declared", "irregularity-open")
def a_matter_about_another_thing_settles_nothing(w: World) -> None:
    one_ring_too_many(w)
    w.do("irregularity-raised", things=[BODY], what="whose?", about=["found-not-declared"])


@spares("found-not-declared", "irregularity-open")
def the_matter_was_raised_and_is_its_own_line(w: World) -> None:
    one_ring_too_many(w)
    w.do("irregularity-raised", things=[THIRD], what="whose?", about=["found-not-declared"])


@spares("found-not-declared")
def a_director_settled_it(w: World) -> None:
    one_ring_too_many(w)
    raised = w.do("irregularity-raised", what="whose?", about=["found-not-declared"])
    w.do("irregularity-resolved", irregularity=raised.number, resolution="the sender forgot it")


@raises("identities-differ")
def as_many_rings_as_declared_and_another_one(w: World) -> None:
    w.arrive(effect(receipt="missing"), effect(receipt="extra", intention="worn"))
    w.ready(FOURTH)


@spares("identities-differ", "declared-not-found", "found-not-declared")
def one_missing_and_one_extra_of_another_kind(w: World) -> None:
    w.arrive(effect(receipt="missing"), device(receipt="extra"))
    w.ready(FOURTH)


@spares("identities-differ", "declared-not-found", "found-not-declared")
def one_missing_now_and_one_extra_later(w: World) -> None:
    w.arrive(effect(receipt="missing"))
    come(w, effect(receipt="extra", intention="worn"))
    w.ready(FOURTH)


@spares("identities-differ", "declared-not-found", "found-not-declared", "found-not-declared")
def one_missing_and_two_extra(w: World) -> None:
    extra = effect(receipt="extra", intention="worn")
    w.arrive(effect(receipt="missing"), extra, extra)
    w.ready(FOURTH, f"{CASE}.5")


SEALED = bag(declared_seal="S1", found_seal="S1")


@raises("seal-differs", "contents-not-recorded")
def another_seal_than_declared(w: World) -> None:
    w.arrive(bag(declared_seal="S1", found_seal="S2"))
    w.ready()


@raises("seal-differs", "contents-not-recorded")
def a_seal_was_declared_and_none_read(w: World) -> None:
    w.arrive(bag(declared_seal="S1"))
    w.ready()


@raises("seal-differs", "contents-not-recorded")
def another_seal_seen_at_an_inspection(w: World) -> None:
    w.arrive(SEALED)
    w.do("inspected", thing=THIRD, seal="intact", seal_number="S2")
    w.ready()


@raises("seal-differs", "contents-not-recorded")
def another_seal_read_as_it_was_opened(w: World) -> None:
    w.arrive(SEALED)
    w.do("opened", thing=THIRD, reason="to look", seal_found="S2")
    w.ready()


@spares("seal-differs", "contents-not-recorded")
def the_same_seal_throughout_then_a_new_one(w: World) -> None:
    w.arrive(SEALED)
    w.do("inspected", thing=THIRD, seal="intact", seal_number="S1")
    w.do("opened", thing=THIRD, reason="to look", seal_found="S1")
    w.do("inspected", thing=THIRD, seal_number="S1")
    w.do("sealed", thing=THIRD, seal="S2")
    w.do("inspected", thing=THIRD, seal_number="S2")
    w.ready()


@spares("seal-differs", "declared-not-found")
def a_sealed_bag_that_never_came(w: World) -> None:
    w.arrive(bag(declared_seal="S1", receipt="missing"))
    w.ready()


@raises("label-differs")
def another_label_than_declared(w: World) -> None:
    w.arrive(bag(declared_label="L1", found_label="L2", empty=True))
    w.ready()


@spares("label-differs")
def the_label_that_was_declared(w: World) -> None:
    same = bag(declared_label="L1", found_label="L1", empty=True)
    w.arrive(same, bag(declared_label="L3", found_label=None, empty=True))
    w.ready()


@raises("never-looked-into", "never-looked-into")
def a_bag_inside_on_the_senders_word(w: World) -> None:
    w.arrive(bag(within="#1", inferred=True), viscera(within="#3", inferred=True))
    w.ready()


@spares(
    "never-looked-into",
    "condition-not-noted",
    "never-sighted",
    "never-sighted",
    "not-sealed-again",
)
def the_body_and_the_bag_were_opened(w: World) -> None:
    w.arrive(bag(within="#1", inferred=True), viscera(within="#3", inferred=True))
    w.do("opened", thing=BODY, reason="to look")
    w.do("opened", thing=THIRD, reason="to look")
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready()


@spares("never-looked-into", "declared-not-found")
def a_thing_that_never_came_is_no_inference(w: World) -> None:
    w.arrive(effect(inferred=True, receipt="missing"))
    w.ready()


@spares("never-looked-into")
def what_was_seen_later_is_known(w: World) -> None:
    w.arrive(effect(within="#1", inferred=True, intention="worn"))
    w.do("sighted", things=[THIRD])
    w.ready()


@raises("contents-not-recorded")
def a_sealed_bag_is_not_packaging_until_somebody_says_what_is_in_it(w: World) -> None:
    w.arrive(SEALED)
    w.ready()


@raises("contents-not-recorded")
def a_bag_that_came_in_the_cavity_and_was_put_by(w: World) -> None:
    w.arrive(bag(within="#1"))
    w.do("opened", thing=BODY, reason="to look")
    w.do("taken-out", things=[THIRD], place="table")
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready()


@raises("contents-not-recorded")
def a_bag_that_leaks_holds_something(w: World) -> None:
    w.arrive(bag())
    w.do("inspected", thing=THIRD, leak=True)
    w.ready()


@spares("contents-not-recorded")
def what_came_in_it_was_recorded_once_it_was_opened(w: World) -> None:
    w.arrive(SEALED)
    w.do("opened", thing=THIRD, reason="to look", seal_found="S1")
    come(w, effect(within=THIRD, intention="worn"))
    w.do("taken-out", things=[FOURTH], place="table")
    w.ready(FOURTH)


@spares("contents-not-recorded")
def it_was_found_empty_and_discarded(w: World) -> None:
    w.arrive(SEALED)
    w.do("packaging-discarded", thing=THIRD, empty=True)
    w.ready()


@raises("contents-not-recorded")
def an_open_bag_came_and_nobody_said_what_is_in_it(w: World) -> None:
    w.arrive(bag())
    w.do("inspected", thing=THIRD, leak=False)
    w.ready()


@spares("contents-not-recorded")
def it_was_looked_into_and_was_empty(w: World) -> None:
    an_open_bag_came_and_nobody_said_what_is_in_it(w)
    w.do("inspected", thing=THIRD, empty=True)


@raises("contents-not-recorded")
def it_was_looked_into_and_was_not_empty(w: World) -> None:
    it_was_looked_into_and_was_empty(w)
    w.do("inspected", thing=THIRD, empty=False)


@raises("contents-not-recorded", "declared-not-found")
def all_that_was_declared_in_it_never_came(w: World) -> None:
    w.arrive(bag(), part(within="#3", receipt="missing"))
    w.ready()


@raises("contents-not-recorded")
def it_was_given_away_and_nobody_knows_what_was_in_it(w: World) -> None:
    w.arrive(bag())
    how = {"relation": "son", "authority": "a will", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], **how)
    w.ready()


def provide(w: World, form: str = "bag") -> None:
    clean = {"what": "container", "form": form, "description": "clean packaging"}
    w.arrive()
    w.do("provided", place="table", items=[clean])


@spares("contents-not-recorded")
def clean_packaging_of_the_house_that_nobody_used(w: World) -> None:
    provide(w)
    w.ready()


@raises("contents-not-recorded")
def clean_packaging_was_sealed_over_nothing(w: World) -> None:
    provide(w)
    w.do("sealed", thing=THIRD, seal="S1")
    w.ready()


@raises("contents-not-recorded")
def a_bath_was_made_and_nothing_was_in_it(w: World) -> None:
    provide(w, "tub")
    w.do("cared-for", thing=THIRD, step="immersed", formaldehyde_tenths=40)
    w.ready()


@spares("contents-not-recorded")
def a_tub_was_cleaned(w: World) -> None:
    provide(w, "tub")
    w.do("cared-for", thing=THIRD, step="disinfected")
    w.ready()


@raises("contents-not-recorded")
def clean_packaging_that_smells(w: World) -> None:
    provide(w)
    w.do("inspected", thing=THIRD, odour=True)
    w.ready()


@raises("condition-not-noted")
def nobody_noted_how_the_body_came(w: World) -> None:
    w.do("case-opened", disposition="burial", release_authority="release 7")
    items = [
        {"what": "decedent", "description": "the decedent"},
        {"what": "container", "form": "coffin", "description": "oak coffin"},
    ]
    come(w, *items)
    w.identify("receipt")
    w.do("retention-stated", kept="none", according_to="the report")
    w.ready()


@raises("condition-not-noted")
def only_the_implants_were_asked_for(w: World) -> None:
    nobody_noted_how_the_body_came(w)
    w.do("inspected", thing=BODY, implants="none")


@spares("condition-not-noted")
def the_suture_was_looked_at(w: World) -> None:
    nobody_noted_how_the_body_came(w)
    w.do("inspected", thing=BODY, suture="sound")


@raises("condition-not-noted", "left-elsewhere")
def nobody_noted_how_the_box_came(w: World) -> None:
    w.arrive(bag(found_seal="S1"), part(within="#3"))
    w.label(THIRD, "biohazard")
    w.ready()


@spares("condition-not-noted", "left-elsewhere")
def the_box_was_looked_at(w: World) -> None:
    w.arrive(bag(found_seal="S1"), part(within="#3"))
    w.label(THIRD, "biohazard")
    w.do("inspected", thing=THIRD, leak=False)
    w.ready()


@spares("condition-not-noted")
def a_bag_with_a_ring_need_not_be(w: World) -> None:
    w.arrive(bag(), effect(within="#3", intention="worn"))
    w.do("taken-out", things=[FOURTH], place="table")
    w.ready(FOURTH)


@spares("no-release-authority")
def what_came_later_came_without_authority(w: World) -> None:
    the_delivery_came_with_its_authority(w)
    come(w, effect(intention="worn"))
    w.do("put-in", things=[THIRD], into=COFFIN, scanned=True)


@raises("identities-differ")
def two_rings_as_declared_and_two_others(w: World) -> None:
    missing, extra = effect(receipt="missing"), effect(receipt="extra", intention="worn")
    w.arrive(missing, missing, extra, extra)
    w.ready(f"{CASE}.5", f"{CASE}.6")


@spares("seal-differs", "contents-not-recorded")
def a_seal_is_read_where_none_was_on_record(w: World) -> None:
    w.arrive(bag())
    w.do("inspected", thing=THIRD, seal="intact", seal_number="S1")
    w.ready()


@spares("seal-differs", "contents-not-recorded")
def a_seal_is_read_where_one_without_a_number_was_put_on(w: World) -> None:
    w.arrive(bag())
    w.do("sealed", thing=THIRD)
    w.do("inspected", thing=THIRD, seal="intact", seal_number="S1")
    w.ready()


@raises("contents-not-recorded", "found-not-declared")
def one_bag_too_many_and_nobody_said_what_is_in_it(w: World) -> None:
    w.arrive(bag(receipt="extra"))
    w.ready()


@raises(*("contents-not-recorded",) * 4)
def clean_packaging_was_treated_and_nothing_was_in_it(w: World) -> None:
    clean = {"what": "container", "form": "bag", "description": "clean packaging"}
    w.arrive()
    w.do("provided", place="table", items=[clean] * 5)
    for number, step in enumerate(("injected", "drained", "powdered", "repacked", "dried"), 3):
        w.do("cared-for", thing=f"{CASE}.{number}", step=step, force=True)
    w.ready()


def a_hand_and_a_ring_in_a_bag(w: World) -> None:
    w.arrive(part(), effect(intention="worn"), bag())
    w.label(THIRD, "biohazard")
    w.do("put-in", things=[THIRD, FOURTH], into=f"{CASE}.5", scanned=True)


@raises("not-seen-empty")
def a_hand_and_a_ring_were_in_it(w: World) -> None:
    a_hand_and_a_ring_in_a_bag(w)
    w.do("taken-out", things=[THIRD, FOURTH], place="table")
    w.ready(THIRD, FOURTH)


@raises("not-seen-empty")
def a_hand_was_in_it_twice(w: World) -> None:
    a_hand_and_a_ring_in_a_bag(w)
    w.do("taken-out", things=[THIRD, FOURTH], place="table")
    w.do("put-in", things=[THIRD], into=f"{CASE}.5")
    w.do("taken-out", things=[THIRD], place="table")
    w.ready(THIRD, FOURTH)


@spares("not-seen-empty")
def a_ring_was_in_it(w: World) -> None:
    w.arrive(effect(within="#4", intention="worn"), bag())
    w.do("taken-out", things=[THIRD], place="table")
    w.ready(THIRD)


@spares("not-seen-empty", "disposal-awaited", "retained-against-statement")
def a_heart_is_kept_that_was_in_no_bag(w: World) -> None:
    w.arrive(bag(empty=True))
    kept = {"what": "specimen", "description": "heart", "organ": "heart"}
    why = {"reason": "neuropathology", "until": "2026-04-02", "authority": "an order"}
    w.do("retained", holder="lab", items=[kept], family_told=True, **why)
    w.do("instructed", things=[FOURTH], wish="donation", relation="daughter")
    w.ready()


@raises("condition-not-noted", "found-not-declared", "left-elsewhere")
def nobody_noted_how_one_box_too_many_came(w: World) -> None:
    w.arrive(bag(found_seal="S1", receipt="extra"), part(within="#3"))
    w.label(THIRD, "biohazard")
    w.ready()


@spares("condition-not-noted", "left-elsewhere", "not-sealed")
def a_bag_that_was_in_a_box_did_not_come_by_itself(w: World) -> None:
    w.arrive(bag(form="box"))
    pieces = [bag(place="store"), part(within="#1")]
    w.do("separated", thing=THIRD, into=pieces)
    w.label(f"{CASE}.5", "biohazard")
    w.do("inspected", thing=THIRD, empty=True)
    w.ready()


@raises("no-release-authority", "with-a-holder")
def the_authority_was_for_giving_the_body_away(w: World) -> None:
    w.arrive(release_authority=None)
    w.identify("closing")
    w.do("handed-over", things=[BODY], taker="clinic", authority="an order", accepted=True)


@spares("no-release-authority")
def the_body_went_to_the_clinic_and_came_back_on_no_new_authority(w: World) -> None:
    the_delivery_came_with_its_authority(w)
    w.do("taken-out", things=[BODY], place="table")
    w.do("handed-over", things=[BODY], taker="clinic", authority="an order", accepted=True)
    w.do("returned", things=[BODY], giver="clinic", place="cold-room")
    w.ready()
