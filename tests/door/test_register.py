"""The one door: what it records, what it refuses, and what it reads back."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from continuity.audit.verify import verify
from continuity.care.intent import read_intent
from continuity.care.things import AtPlace, Inside
from continuity.errors import InputError
from continuity.ledger.chain import read_entry
from continuity.ledger.disclosure import digest_of
from continuity.register import RefusedError, Register, Signatory
from continuity.store.memory import MemoryStore
from tests.door.conftest import REGISTER, key

if TYPE_CHECKING:
    from tests.door.conftest import Firm


def codes(error: RefusedError) -> set[str]:
    return {o.code for o in error.objections}


def test_a_register_is_started_once(firm: Firm) -> None:
    with pytest.raises(InputError, match="already been started"):
        Register.start(firm.register.store, "again", key(REGISTER, 9), firm.director)


def test_new_things_get_the_next_numbers_of_their_case(firm: Firm) -> None:
    firm.open()
    receipt = firm.record(
        "separated",
        "2026-0001",
        thing="2026-0001.1",
        into=[{"what": "part", "description": "foot", "place": "table-1"}],
    )
    assert receipt.act.introduces() == ("2026-0001.5",)
    assert firm.register.case("2026-0001").things["2026-0001.5"].parents == ("2026-0001.1",)


def test_putting_one_persons_container_into_another_is_refused_with_both_numbers(
    firm: Firm,
) -> None:
    firm.open("2026-0001")
    firm.open("2026-0002")
    before = firm.register.store.head()
    with pytest.raises(RefusedError) as refused:
        firm.record("put-in", "2026-0001", things=["2026-0001.2"], into="2026-0002.1")
    assert "wrong-case" in codes(refused.value)
    assert "2026-0001" in str(refused.value)
    assert "2026-0002" in str(refused.value)
    assert firm.register.store.head() == before


def test_what_is_found_so_is_recorded_in_both_cases_and_opens_an_irregularity_in_each(
    firm: Firm,
) -> None:
    firm.open("2026-0001")
    firm.open("2026-0002")
    receipt = firm.record(
        "put-in", "2026-0001", things=["2026-0001.2"], into="2026-0002.1", found=True
    )
    assert receipt.mirrored == ("2026-0002",)
    for number in ("2026-0001", "2026-0002"):
        case = firm.register.case(number)
        (matter,) = case.irregularities.values()
        assert matter.codes == ("wrong-case",)
        assert case.things["2026-0001.2"].where == Inside("2026-0002.1")
        assert not firm.register.closing_check(number).clear


def test_a_mirrored_entry_names_the_leaf_it_repeats(firm: Firm) -> None:
    firm.open("2026-0001")
    firm.open("2026-0002")
    receipt = firm.record(
        "put-in", "2026-0001", things=["2026-0001.2"], into="2026-0002.1", found=True
    )
    copy = firm.register.store.entry_at(receipt.position + 1)
    assert copy is not None
    entry, _ = read_entry(copy.note)
    assert entry.mirrors is not None
    assert entry.mirrors.hex() == receipt.leaf


def test_moving_a_box_that_holds_another_cases_thing_is_told_to_that_case(firm: Firm) -> None:
    firm.open("2026-0001")
    firm.open("2026-0002")
    firm.record("put-in", "2026-0001", things=["2026-0001.2"], into="2026-0002.1", found=True)
    receipt = firm.record("moved", "2026-0002", things=["2026-0002.1"], place="cold-room")
    assert receipt.mirrored == ("2026-0001",)
    assert firm.register.case("2026-0001").resting("2026-0001.2") == AtPlace("cold-room")


@pytest.mark.parametrize(
    ("kind", "fields", "message"),
    [
        ("moved", {"things": ["2026-0001.99"], "place": "table-1"}, "no such thing"),
        ("moved", {"things": ["2026-0009.1"], "place": "table-1"}, "no such thing"),
    ],
)
def test_unknown_things_are_wrong_input(
    firm: Firm, kind: str, fields: dict[str, object], message: str
) -> None:
    firm.open()
    with pytest.raises(InputError, match=message):
        firm.record(kind, "2026-0001", **fields)


def test_unknown_places_and_holders_are_refused_and_cannot_be_found(firm: Firm) -> None:
    firm.open()
    with pytest.raises(RefusedError) as refused:
        firm.record("moved", "2026-0001", things=["2026-0001.1"], place="attic", found=True)
    assert codes(refused.value) == {"no-such-place"}
    with pytest.raises(RefusedError) as refused:
        firm.record(
            "handed-over", "2026-0001", things=["2026-0001.1"], taker="nobody", authority="x"
        )
    assert codes(refused.value) == {"no-such-holder"}


def test_a_key_that_is_not_enrolled_or_not_that_persons_signs_nothing(firm: Firm) -> None:
    firm.open()
    stranger = Signatory("m1", key("m1", 77))
    with pytest.raises(InputError, match="not enrolled"):
        firm.record("sighted", "2026-0001", things=["2026-0001.1"], by=(stranger,))
    other = Signatory("d1", firm.mortician.key)
    with pytest.raises(InputError, match="not enrolled"):
        firm.record("sighted", "2026-0001", things=["2026-0001.1"], by=(other,))
    with pytest.raises(InputError, match="nobody signs"):
        firm.record("sighted", "2026-0001", things=["2026-0001.1"], by=())


def test_a_revoked_key_signs_nothing_more(firm: Firm) -> None:
    firm.open()
    reference = firm.mortician.key.reference
    firm.record("key-revoked", key=reference, reason="lost badge", by=(firm.director,))
    with pytest.raises(InputError, match="replaced or revoked"):
        firm.record("sighted", "2026-0001", things=["2026-0001.1"])


def test_roles_are_enforced_in_the_library(firm: Firm) -> None:
    with pytest.raises(RefusedError) as refused:
        firm.record(
            "key-enrolled",
            key=str(key("m2", 5).verify_key),
            person="m2",
            role="mortician",
            by=(firm.mortician, Signatory("m2", key("m2", 5))),
        )
    assert codes(refused.value) == {"role"}


def test_an_identification_needs_two_persons(firm: Firm) -> None:
    firm.open()
    seen = {"thing": "2026-0001.1", "identifiers": [{"what": "name"}]}
    with pytest.raises(RefusedError) as refused:
        firm.record("identified", "2026-0001", **seen, found=True)
    assert codes(refused.value) == {"second-person"}
    firm.record("identified", "2026-0001", **seen, by=(firm.mortician, firm.director))
    (identified,) = firm.register.case("2026-0001").identifications
    assert identified.persons == ("m1", "d1")


def test_what_has_yet_to_happen_is_wrong_input(firm: Firm) -> None:
    firm.open()
    soon = (firm.now[0] + timedelta(hours=1)).isoformat()
    with pytest.raises(InputError, match="still to come"):
        firm.record("sighted", "2026-0001", things=["2026-0001.1"], occurred_at=soon)


def test_a_late_entry_is_judged_as_of_when_it_happened(firm: Firm) -> None:
    firm.open()
    then = firm.wait(10)
    firm.wait(10)
    firm.record("moved", "2026-0001", things=["2026-0001.4"], place="cold-room")
    firm.record(
        "moved",
        "2026-0001",
        things=["2026-0001.4"],
        place="table-1",
        occurred_at=then.isoformat(),
    )
    coffin = firm.register.case("2026-0001").things["2026-0001.4"]
    assert coffin.where == AtPlace("cold-room")


def test_a_late_entry_that_contradicts_a_later_one_is_refused_unless_found(firm: Firm) -> None:
    firm.open()
    then = firm.wait(10)
    firm.wait(10)
    firm.record("put-in", "2026-0001", things=["2026-0001.1"], into="2026-0001.4")
    late = {"thing": "2026-0001.4", "seal": "7", "occurred_at": then.isoformat()}
    with pytest.raises(RefusedError) as refused:
        firm.record("sealed", "2026-0001", **late)
    assert codes(refused.value) == {"contradicts-later"}
    firm.record("sealed", "2026-0001", **late, found=True)
    assert any(
        "contradicts-later" in matter.codes
        for matter in firm.register.case("2026-0001").irregularities.values()
    )


def test_a_correction_strikes_an_entry_and_keeps_it_legible(firm: Firm) -> None:
    firm.open()
    wrong = firm.record("weighed", "2026-0001", thing="2026-0001.2", grams=4100)
    firm.record(
        "corrected",
        "2026-0001",
        strikes=wrong.leaf,
        reason="digits transposed",
        instead={"kind": "weighed", "thing": "2026-0001.2", "grams": 1400},
    )
    case = firm.register.case("2026-0001")
    assert [w.grams for w in case.things["2026-0001.2"].weights] == [1400]
    assert wrong.leaf in case.struck
    assert len(firm.register.store.entries(case.id)) == 4


def test_a_corrected_receipt_keeps_its_things_numbers(firm: Firm) -> None:
    firm.open()
    entries = firm.register.store.entries(firm.register.case("2026-0001").id)
    items = [
        {"what": "decedent", "description": "adult"},
        {"what": "container", "form": "bag", "description": "two viscera bags"},
        {"what": "viscera", "description": "viscera", "within": "#2"},
        {"what": "container", "form": "coffin", "description": "coffin"},
    ]
    firm.record(
        "corrected",
        "2026-0001",
        strikes=entries[1].leaf.hex(),
        reason="the bag lay beside the body",
        instead={"kind": "received", "giver": "coroner", "place": "table-1", "items": items},
    )
    case = firm.register.case("2026-0001")
    assert sorted(case.things) == [f"2026-0001.{n}" for n in range(1, 5)]
    assert case.things["2026-0001.2"].where == AtPlace("table-1")


def test_the_case_as_known_then_and_as_known_now_about_then(firm: Firm) -> None:
    firm.open()
    then = firm.wait(5)
    firm.wait(30)
    firm.record(
        "moved",
        "2026-0001",
        things=["2026-0001.4"],
        place="cold-room",
        occurred_at=then.isoformat(),
    )
    number, coffin = "2026-0001", "2026-0001.4"
    known_then = firm.register.case(number, known_until=then)
    known_now = firm.register.case(number, happened_until=then)
    assert known_then.things[coffin].where == AtPlace("table-1")
    assert known_now.things[coffin].where == AtPlace("cold-room")


def test_personal_details_stand_only_behind_their_digests(firm: Firm) -> None:
    firm.open(personal={"name": "Invented Name", "date-of-birth": "1950-01-01"})
    stored = firm.register.store.entries(firm.register.case("2026-0001").id)[0]
    assert b"Invented" not in stored.note
    entry, _ = read_entry(stored.note)
    texts = firm.register.store.disclosures(stored.position)
    assert entry.details["personal"] == {f: digest_of(t) for f, t in texts.items()}
    assert firm.register.personal_details("2026-0001") == {
        0: {"name": "Invented Name", "date-of-birth": "1950-01-01"}
    }


def test_several_intents_are_recorded_together_or_not_at_all(firm: Firm) -> None:
    firm.open()
    intents = [
        read_intent(
            {"kind": "moved", "case": "2026-0001", "things": ["2026-0001.4"], "place": place}
        )
        for place in ("cold-room", "attic")
    ]
    with pytest.raises(RefusedError):
        firm.register.record_all(intents, (firm.mortician,))
    case = firm.register.case("2026-0001")
    assert case.things["2026-0001.4"].where == AtPlace("table-1")
    assert len(case.events) == 2


def test_two_registers_on_one_store_see_each_others_entries(firm: Firm) -> None:
    firm.open()
    other = Register(firm.register.store, clock=lambda: firm.now[0])
    assert len(other.case("2026-0001").events) == 2
    firm.record("sighted", "2026-0001", things=["2026-0001.1"])
    assert len(other.case("2026-0001").events) == 3


def test_a_store_without_entries_reads_as_never_started() -> None:
    register = Register(MemoryStore(REGISTER))
    assert register.case_numbers() == []
    with pytest.raises(InputError, match="no such case"):
        register.case("2026-0001")


def test_a_key_is_enrolled_only_if_it_signs_itself(firm: Firm) -> None:
    new = Signatory("m2", key("m2", 3))
    fields = {"key": str(new.key.verify_key), "person": "m2", "role": "mortician"}
    with pytest.raises(InputError, match=r"is not signed by the new key m2\+"):
        firm.record("key-enrolled", **fields, by=(firm.director,))
    firm.record("key-enrolled", **fields, by=(firm.director, new))


def test_nobody_replaces_anothers_key_without_a_director(firm: Firm) -> None:
    new = Signatory("d1", key("d1", 4))
    fields = {"key": str(new.key.verify_key), "replaces": firm.director.key.reference}
    with pytest.raises(InputError, match="without a director's signature"):
        firm.record("key-replaced", **fields, by=(firm.mortician, new))
    firm.record("key-replaced", **fields, by=(firm.director, new))


def test_a_register_that_runs_is_not_started_by_an_entry(firm: Firm) -> None:
    new = Signatory("d2", key("d2", 5))
    fields = {"firm": "x", "person": "d2", "role": "director"}
    with pytest.raises(InputError, match="starts a register that has begun already"):
        firm.record(
            "register-started",
            **fields,
            key=str(new.key.verify_key),
            register_key=str(key(REGISTER, 6).verify_key),
            by=(firm.director, new),
        )


def test_names_that_are_alike_are_told_while_both_are_in_care(firm: Firm) -> None:
    firm.open("2026-0001", personal={"name": "Marta Lindqvist"})
    firm.open("2026-0002", personal={"name": "Lindquist, Marta"})
    firm.open("2026-0003", personal={"name": "Oskar Brandt"})
    assert [n.case for n in firm.register.alike("2026-0001")] == ["2026-0002"]
    assert firm.register.alike("2026-0003") == ()
    firm.record("put-in", "2026-0002", things=["2026-0002.1"], into="2026-0002.4")
    firm.record(
        "disposed",
        "2026-0002",
        things=["2026-0002.4"],
        manner="burial",
        where="an invented cemetery",
        authority="burial order",
        found=True,
    )
    assert firm.register.alike("2026-0001") == ()


def test_an_answer_about_the_past_tells_whose_name_was_alike_then(firm: Firm) -> None:
    firm.open("2026-0001", personal={"name": "Marta Lindqvist"})
    alone = firm.now[0]
    firm.open("2026-0002", personal={"name": "Lindquist, Marta"})
    both = firm.now[0]
    firm.record("put-in", "2026-0002", things=["2026-0002.1"], into="2026-0002.4")
    gone = {"manner": "burial", "where": "an invented cemetery", "authority": "burial order"}
    firm.record("disposed", "2026-0002", things=["2026-0002.4"], found=True, **gone)

    def told(**until: datetime) -> list[str]:
        alike = firm.register.alike("2026-0001", **until)
        verdict = firm.register.closing_check("2026-0001", **until)
        in_check = [n for f in verdict.findings if f.code == "similar-name" for n in f.cases]
        assert in_check == [n.case for n in alike]
        return in_check

    assert told() == []
    for until in ("known_until", "happened_until"):
        assert told(**{until: alone}) == []
        assert told(**{until: both}) == ["2026-0002"]


def test_a_case_leaves_care_when_its_last_thing_has_gone_and_comes_back_by_a_correction(
    firm: Firm,
) -> None:
    firm.open()
    firm.record("put-in", "2026-0001", things=["2026-0001.1"], into="2026-0001.4")
    assert len(firm.register.store.in_care()) == 1
    gone = firm.record(
        "disposed",
        "2026-0001",
        things=["2026-0001.4"],
        manner="burial",
        where="an invented cemetery",
        authority="burial order",
        found=True,
    )
    assert firm.register.store.in_care() == []
    firm.record("corrected", "2026-0001", strikes=gone.leaf, reason="another case's burial")
    assert len(firm.register.store.in_care()) == 1


def test_the_next_number_is_free_and_follows_the_last(firm: Firm) -> None:
    assert firm.register.next_case_number(2026) == "2026-0001"
    for item in range(1, 7):
        firm.record("case-opened", f"2026-{item:04d}")
        assert firm.register.next_case_number(2026) == f"2026-{item + 1:04d}"
    assert firm.register.next_case_number(2027) == "2027-0001"


def test_a_correction_carries_no_personal_details_in_what_is_read_instead(firm: Firm) -> None:
    firm.open(personal={"name": "Misspelt Invented"})
    opened = firm.register.store.entries(firm.register.case("2026-0001").id)[0]
    instead = {"kind": "case-opened", "number": "2026-0001", "disposition": "burial"}
    with pytest.raises(InputError, match="correction's own personal"):
        firm.record(
            "corrected",
            "2026-0001",
            strikes=opened.leaf.hex(),
            reason="misspelt",
            instead={**instead, "personal": {"name": "Spelt Invented"}},
        )
    firm.record(
        "corrected",
        "2026-0001",
        strikes=opened.leaf.hex(),
        reason="misspelt",
        instead=instead,
        personal={"name": "Spelt Invented"},
    )
    notes = [s.note for s in firm.register.store.entries(firm.register.case("2026-0001").id)]
    assert not any(b"Invented" in note for note in notes)


def test_a_weight_left_out_is_refused_even_of_ashes_recorded_late(firm: Firm) -> None:
    firm.open()
    items = [{"what": "ashes", "description": name} for name in ("one", "two")]
    with pytest.raises(RefusedError) as refused:
        firm.record(
            "ashes-received",
            "2026-0001",
            giver="crematory",
            place="table-1",
            items=items,
            grams=[1500],
            occurred_at="2026-03-02T08:00:00Z",
        )
    assert "weights-missing" in codes(refused.value)


def test_a_thing_found_in_another_case_can_be_labelled_and_its_own_case_has_the_label(
    firm: Firm,
) -> None:
    one, other = firm.open("2026-0001"), firm.open("2026-0002")
    firm.record("put-in", one, things=[f"{one}.2"], into=f"{other}.4", found=True)
    labelled = firm.record("labelled", one, thing=f"{one}.2", code="TEK1G9QWE2MN8XYZ4189")
    assert labelled.mirrored == (other,)
    row = firm.register.store.label("TEK1G9QWE2MN8XYZ4189")
    assert (row.thing, row.print) == (f"{one}.2", labelled.position)
    assert row.case_id == firm.register.store.case_by_name(one).case_id
    assert verify(firm.register.store).codes == ()


def test_what_a_count_did_not_find_is_the_closing_checks_next_line(firm: Firm) -> None:
    firm.open()
    firm.record("place-counted", "2026-0001", place="table-1", missing=["2026-0001.4"])
    codes = {f.code for f in firm.register.closing_check("2026-0001").findings}
    assert "missing-at-count" in codes
    reopened = Register(firm.register.store, clock=lambda: firm.now[0])
    assert "missing-at-count" in {f.code for f in reopened.closing_check("2026-0001").findings}


def test_a_struck_entry_leaves_nothing_of_another_case_behind(firm: Firm) -> None:
    firm.open()
    firm.open("2026-0002")
    bag = {"things": ["2026-0002.2"], "into": "2026-0001.1"}
    firm.record("taken-out", "2026-0002", things=["2026-0002.2"], place="table-1")
    wrong = firm.record("put-in", "2026-0001", found=True, **bag)
    assert "2026-0001.1" in firm.register.case("2026-0002").things
    assert "2026-0002.2" in firm.register.case("2026-0001").things
    firm.record("corrected", "2026-0001", strikes=wrong.leaf, reason="the wrong label")
    for number in ("2026-0001", "2026-0002"):
        things = firm.register.case(number).things
        assert list(things) == [f"{number}.{n}" for n in range(1, 5)]


def test_a_struck_entry_leaves_what_another_entry_still_tells(firm: Firm) -> None:
    firm.open()
    firm.open("2026-0002")
    bag = {"things": ["2026-0002.2"], "into": "2026-0001.1"}
    firm.record("taken-out", "2026-0002", things=["2026-0002.2"], place="table-1")
    firm.record("put-in", "2026-0001", found=True, **bag)
    wrong = firm.record("sighted", "2026-0002", found=True, things=["2026-0002.2"])
    firm.record("corrected", "2026-0002", strikes=wrong.leaf, reason="not looked at")
    told = firm.register.case("2026-0002").things
    assert told["2026-0002.2"].where == Inside("2026-0001.1")
    assert "2026-0001.1" in told
