from __future__ import annotations

from dataclasses import replace

from continuity.care.findings.base import Neighbour
from tests.care.history import CASE, TAG, World, identifiers

from . import raises, spares

BODY = f"{CASE}.1"


@raises("not-identified-at-receipt")
def nobody_looked_at_the_tag_when_it_came(w: World) -> None:
    w.do(
        "case-opened",
        disposition="burial",
        release_authority="release 7",
    )
    items = [
        {"what": "decedent", "description": "the decedent"},
        {"what": "container", "form": "coffin", "description": "oak coffin"},
    ]
    w.do("received", giver="coroner", place="cold-room", items=items)
    w.do("inspected", thing=BODY, leak=False)
    w.do("retention-stated", kept="none", according_to="the report")
    w.ready()


@spares("not-identified-at-receipt")
def identified_for_receipt_a_day_later(w: World) -> None:
    nobody_looked_at_the_tag_when_it_came(w)
    w.identify("receipt")


@spares("not-identified-at-receipt", "declared-not-found")
def a_decedent_who_never_came_cannot_be_identified(w: World) -> None:
    w.do("case-opened", disposition="burial", release_authority="release 7")
    items = [{"what": "decedent", "description": "the decedent", "receipt": "missing"}]
    w.do("received", giver="coroner", place="cold-room", items=items)
    w.do("retention-stated", kept="none", according_to="the report")


@raises("not-identified-at-closing")
def identified_at_receipt_alone(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.do("sighted", things=[BODY, f"{CASE}.2"], for_closing=True)


@raises("not-identified-at-closing")
def identified_for_the_closing_a_minute_too_early(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing")
    w.pass_time(minutes=240)
    w.do("sighted", things=[BODY, f"{CASE}.2"], for_closing=True)


@spares("not-identified-at-closing")
def identified_for_the_closing_just_in_time(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing")
    w.pass_time(minutes=238)
    w.do("sighted", things=[BODY, f"{CASE}.2"], for_closing=True)


@raises("identifiers-disagree", "irregularity-open")
def the_tag_and_the_papers_differ(w: World) -> int:
    w.arrive()
    w.lay_in()
    number = w.identify("closing", agree=False).number
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)
    return number


@spares("identifiers-disagree", "identified-otherwise", "irregularity-open")
def reading_again_does_not_settle_a_disagreement(w: World) -> None:
    the_tag_and_the_papers_differ(w)
    w.identify("closing")


@spares("identifiers-disagree", "identified-otherwise")
def a_director_found_out_why_they_had_differed(w: World) -> None:
    number = the_tag_and_the_papers_differ(w)
    w.identify("closing")
    w.do("irregularity-resolved", irregularity=number, resolution="the paper was another's")


@raises("agreement-not-stated")
def nobody_said_whether_they_agree(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", agree=None)
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@spares("agreement-not-stated")
def read_once_more_and_said_to_agree(w: World) -> None:
    nobody_said_whether_they_agree(w)
    w.identify("closing")


@raises("too-few-identifiers")
def an_age_is_no_identifier(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", "name", "mortuary-number", "age")
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@raises("too-few-identifiers")
def a_shoe_and_a_hat_are_no_identifiers(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", "case-number", "shoe", "hat")
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@raises("too-few-identifiers")
def one_identifier_read_twice_is_one(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", "name", "mortuary-number", "name")
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@raises("too-few-identifiers")
def the_tag_is_no_identifier_but_where_they_are_read(w: World) -> None:
    w.arrive()
    w.lay_in()
    read = identifiers("name", "mortuary-number", "body-tag")
    w.do("identified", thing=BODY, stage="closing", agree=True, identifiers=read, force=True)
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@spares("too-few-identifiers")
def three_identifiers_and_an_age(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", *TAG, "age")
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@raises("identity-not-from-the-body")
def identity_read_from_a_shelf_plate(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", read_from="shelf-plate")
    w.do("sighted", things=[BODY, f"{CASE}.2"], for_closing=True)


@raises("identity-not-from-the-body")
def nobody_said_where_they_were_read_from(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", read_from=None)
    w.do("sighted", things=[BODY, f"{CASE}.2"], for_closing=True)


@raises("identity-not-from-the-body")
def the_third_identifier_read_from_paper(w: World) -> None:
    w.arrive()
    w.lay_in()
    read = [*identifiers("name", "mortuary-number"), *identifiers("address", read_from="paper")]
    w.do("identified", thing=BODY, stage="closing", agree=True, identifiers=read)
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@spares("identity-not-from-the-body")
def paper_beside_three_from_the_tag(w: World) -> None:
    w.arrive()
    w.lay_in()
    read = [*identifiers(*TAG), *identifiers("address", read_from="paper")]
    w.do("identified", thing=BODY, stage="closing", agree=True, identifiers=read)
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@raises("no-unique-identifier")
def nothing_read_is_one_persons_alone(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", "name", "date-of-birth", "address")
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@raises("no-unique-identifier")
def the_number_was_read_from_paper(w: World) -> None:
    w.arrive()
    w.lay_in()
    read = identifiers("name", "date-of-birth", "address")
    read += identifiers("mortuary-number", read_from="paper")
    w.do("identified", thing=BODY, stage="closing", agree=True, identifiers=read)
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@spares("no-unique-identifier")
def the_coroners_reference_is_unique_too(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", "name", "date-of-birth", "coroner-reference")
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@raises("identified-by-too-few")
def one_person_and_a_stranger_identified(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", by=("ben", "a stranger"))
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@raises("identified-by-too-few", house=None)
def one_person_alone(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing", by=("ben",), force=True)
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@spares("identified-by-too-few")
def a_person_whose_key_was_revoked_since_was_enrolled(w: World) -> None:
    w.arrive()
    w.ready()
    key = w.house.keys["ben+00000000"]
    w.house.keys["ben+00000000"] = replace(key, revoked=True)


@raises("similar-name", neighbours=(Neighbour("2026-0009", 90),))
def a_similar_name_in_the_next_bay(w: World) -> None:
    w.arrive()
    w.ready()


@raises("similar-name", neighbours=(Neighbour("2026-0009", 100),))
def the_same_name_in_the_next_bay(w: World) -> None:
    w.arrive()
    w.ready()


@spares("similar-name", "no-decedent", neighbours=(Neighbour("2026-0009", 100),))
def the_same_name_before_anybody_came(w: World) -> None:
    w.do("case-opened", disposition="burial")


@raises("person-unknown")
def nobody_knows_who_it_is(w: World) -> None:
    w.arrive(
        unidentified=True, identified=("mortuary-number", "coroner-reference", "hospital-number")
    )
    w.lay_in()
    w.identify("closing", "mortuary-number", "coroner-reference", "hospital-number")
    w.do("sighted", things=[f"{CASE}.2"], for_closing=True)


@spares("person-unknown")
def somebody_named_them(w: World) -> None:
    w.arrive(unidentified=True)
    w.ready()


@raises("too-few-identifiers")
def too_few_were_read_at_the_receipt(w: World) -> None:
    w.arrive(identified=("name", "mortuary-number"))
    w.ready()


@raises("not-identified-at-closing")
def identified_for_the_closing_twice_and_too_early(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing")
    w.identify("closing")
    w.pass_time(minutes=240)
    w.do("sighted", things=[BODY, f"{CASE}.2"], for_closing=True)
