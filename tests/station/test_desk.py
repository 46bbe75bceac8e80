"""The desk: what is recorded, what is told, and what time, haste and mistakes do."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from continuity.care.policy import default
from continuity.errors import LockedRegisterError
from continuity_cli.station.answer import Tone
from continuity_cli.station.settings import Settings
from tests.station.conftest import ONE, REGISTER, TWO

if TYPE_CHECKING:
    from tests.station.conftest import Post


def last_act(post: Post, case: str = ONE):
    return post.register.entries(case)[-1].act


def test_a_put_in_by_two_scans_is_evidence_too(post: Post) -> None:
    answer = post.scan("bag", "tub")
    assert (answer.word, answer.what) == (
        "RECORDED",
        "viscera bag 2026-0001.2 → into tub 2026-0001.5",
    )
    act = last_act(post)
    assert (act.kind, act.things, act.into, act.scanned) == (
        "put-in",
        ("2026-0001.2",),
        "2026-0001.5",
        True,
    )
    assert post.register.case(ONE).things["2026-0001.2"].last_sighting.scanned is True


def test_a_typed_number_is_no_scan(post: Post) -> None:
    post.scan("2026-0001.6", "cold-room")
    assert last_act(post).scanned is False


def test_a_wrong_case_is_refused_and_recorded_nowhere(post: Post) -> None:
    before = post.register.store.head().size
    answer = post.scan("bag", "strange-bag")
    assert (answer.tone, answer.word) == (Tone.WRONG_CASE, "WRONG CASE")
    assert "2026-0002.2 belongs to case 2026-0002" in answer.what
    assert post.register.store.head().size == before


@pytest.mark.parametrize(("apart", "entries"), [(0.5, 1), (1.9, 1), (2.1, 2)])
def test_the_same_scan_within_two_seconds_counts_once(
    post: Post, apart: float, entries: int
) -> None:
    before = len(post.kinds())
    post.scan("CLOSING CHECK", "body")
    for _ in range(1):
        post.wait(apart)
        post.desk.scan(post.names["body"])
    assert post.kinds()[before:] == ["sighted"] * entries


def test_a_trigger_held_down_counts_once_for_as_long_as_it_is_held(post: Post) -> None:
    before = len(post.kinds())
    post.scan("CLOSING CHECK", "body")
    for _ in range(10):
        post.wait(1.5)
        assert post.desk.scan(post.names["body"]) is None
    assert post.kinds()[before:] == ["sighted"]


def test_a_scan_repeated_while_the_register_was_slow_counts_once(post: Post) -> None:
    record = post.register.record

    def slowly(*args):
        post.seconds[0] += 5
        return record(*args)

    post.register.record = slowly
    before = len(post.kinds())
    post.scan("CLOSING CHECK", "body")
    assert post.desk.scan(post.names["body"]) is None
    assert post.kinds()[before:] == ["sighted"]


def test_an_unfinished_sequence_times_out_visibly_and_records_nothing(post: Post) -> None:
    before = post.register.store.head().size
    post.scan("SEAL", '"S-882"')
    assert post.desk.view().begun == "Seal → S-882"
    assert post.wait(29.9) is None
    assert post.desk.view().left == pytest.approx(0.1)
    answer = post.wait(0.2)
    assert answer is not None
    assert (answer.tone, answer.word, answer.what) == (Tone.DROPPED, "TIMED OUT", "Seal → S-882")
    assert answer.mend == "nothing was recorded"
    assert post.desk.view().begun == ""
    assert post.scan("bag").word == "GO ON", "and the next scan begins anew"
    assert post.register.store.head().size == before


def test_a_late_scan_does_not_complete_what_has_timed_out(post: Post) -> None:
    post.scan("heart")
    post.seconds[0] += 31
    answer = post.desk.scan(post.names["cold-room"])
    assert answer is not None
    assert answer.code == "thing-wanted"


def test_the_key_is_put_away_after_a_quarter_of_an_hour(post: Post) -> None:
    assert post.wait(899) is None
    answer = post.wait(1)
    assert answer is not None
    assert (answer.word, answer.what) == ("TIMED OUT", "the key of m1")
    assert post.scan("heart").code == "no-badge"
    assert post.desk.view().who is None


def test_a_pin_unlocks_and_a_wrong_one_does_not(post: Post) -> None:
    post.scan("CANCEL")
    assert post.scan("d1").mend == "type the PIN of d1: the passphrase of that person's key"
    assert post.desk.view().pin is True
    answer = post.scan("4712")
    assert (answer.code, answer.what) == (
        "not-unlocked",
        "that is not the PIN of d1, which is the passphrase of that key",
    )
    assert post.scan("heart").code == "no-badge"
    assert post.scan("d1", "4711").word == "SIGNED IN"
    post.scan("heart", "cold-room")
    assert post.register.entries(ONE)[-1].by == "d1"


def test_three_wrong_pins_shut_a_badge_out_for_a_minute(post: Post) -> None:
    for wrong in ("1", "2", "3"):
        post.scan("d1", wrong)
    assert post.scan("d1", "4711").what == "three wrong PINs of d1: wait a minute"
    post.wait(60)
    assert post.scan("d1", "4711").word == "SIGNED IN"


def test_a_wrong_pin_leaves_whoever_was_signed_in(post: Post) -> None:
    post.scan("d1", "1")
    assert post.desk.view().who == "m1"
    post.scan("heart", "cold-room")
    assert post.register.entries(ONE)[-1].by == "m1"


def test_a_pin_is_nowhere_in_what_is_shown(post: Post) -> None:
    answer = post.scan("d1", "4719")
    assert "4719" not in repr(answer)
    assert "4719" not in repr(post.desk.view())


def test_where_the_policy_asks_for_a_pin_an_unlocked_key_does_not_sign_in(post: Post) -> None:
    policy = default().model_dump(mode="json")
    policy["thresholds"]["station-pin"] = {"value": 1, "unit": "count", "source": "invented"}
    policy["thresholds"]["station-key"] = {"value": 5, "unit": "minutes", "source": "invented"}
    post.record("policy-adopted", policy=policy, by=("d1",))
    post.restart()
    assert post.desk.settings == Settings(pin=True, key=300)
    answer = post.scan("m1")
    assert (answer.code, answer.what) == (
        "not-unlocked",
        "the policy asks for a PIN, a passphrase on the key, and that of m1 has none: continuity enrol m1 --replace",
    )
    assert post.scan("d1", "4711").word == "SIGNED IN"


def test_a_badge_without_a_key_at_this_station(post: Post) -> None:
    (post.keys / "m2.key").unlink()
    assert post.scan("m2").what == "no key of m2 lies at this station"


def test_a_second_person_signs_the_next_entry_and_no_more(post: Post) -> None:
    assert post.scan("SECOND PERSON", "m2").word == "TWO SIGN"
    assert post.desk.view().second == "m2"
    post.scan("heart", "cold-room")
    post.scan("heart", "table-1")
    assert [event.persons for event in post.register.entries(ONE)[-2:]] == [("m1", "m2"), ("m1",)]


def test_a_second_person_who_waits_too_long_signs_nothing(post: Post) -> None:
    post.scan("SECOND PERSON", "m2")
    post.wait(31)
    post.scan("heart", "cold-room")
    assert post.register.entries(ONE)[-1].persons == ("m1",)


def test_what_needs_two_waits_for_the_second_badge_and_is_then_recorded(post: Post) -> None:
    policy = default().model_dump(mode="json")
    policy["acts"]["sealed"] = {"roles": ["mortician"], "persons": 2, "source": "invented"}
    post.record("policy-adopted", policy=policy, by=("d1",))
    before = len(post.kinds())
    answer = post.scan("SEAL", "bag")
    assert (answer.word, answer.tone) == ("SECOND", Tone.GO_ON)
    assert post.kinds()[before:] == []
    assert post.scan("heart").code == "badge-wanted"
    assert post.scan("m1").code == "second-person"
    assert post.scan("m2").word == "RECORDED"
    assert post.register.entries(ONE)[-1].persons == ("m1", "m2")
    post.scan("OPEN", "bag")
    post.scan("SEAL", "bag")
    assert post.scan("CANCEL").word == "DROPPED"
    assert post.kinds()[before:] == ["sealed", "opened"]


def test_undo_strikes_the_last_entry_and_it_stays_legible(post: Post) -> None:
    post.scan("heart", "cold-room")
    answer = post.scan("UNDO")
    assert (answer.word, answer.what) == (
        "UNDONE",
        "no longer holds: heart 2026-0001.6 → cold-room",
    )
    case = post.register.case(ONE)
    assert case.things["2026-0001.6"].where.place == "table-1"
    assert [event.act.kind for event in post.register.entries(ONE)[-2:]] == ["moved", "corrected"]


def test_undo_of_anothers_entry_is_refused(post: Post) -> None:
    post.scan("heart", "cold-room", "m2")
    answer = post.scan("UNDO")
    assert (answer.code, answer.what) == ("not-yours", "the last entry is by m1")


def test_after_a_restart_the_last_entry_is_told_and_can_be_undone(post: Post) -> None:
    post.scan("heart", "cold-room")
    number = post.register.entries(ONE)[-1].number
    answer = post.restart()
    assert answer.tone is Tone.READY
    assert answer.what.startswith(
        f"last recorded: case 2026-0001, entry {number}: moved 2026-0001.6, by m1, 2026-03-02"
    )
    assert post.scan("m1", "UNDO").word == "UNDONE"


def test_a_restart_after_a_correction_offers_nothing_to_undo(post: Post) -> None:
    post.scan("heart", "cold-room", "UNDO")
    assert "corrected" in post.restart().what
    assert post.scan("m1", "UNDO").code == "nothing-to-undo"


def test_a_restart_after_a_print_does_not_offer_to_undo_the_print(post: Post) -> None:
    post.label("heart-again", "2026-0001.6")
    assert "labelled 2026-0001.6" in post.restart().what
    assert post.scan("m1", "UNDO").code == "nothing-to-undo"


def test_the_next_step_due_stands_below(post: Post) -> None:
    assert post.scan("heart", "cold-room").next_step == "look at the body"
    post.record("inspected", thing="2026-0001.1", leak=False, odour=False, dry=True, suture="sound")
    post.record(
        "disposition-changed", ONE, disposition="sending-abroad", authority="letter 4", by=("d1",)
    )
    assert post.scan("heart", "table-1").next_step == "open the body"
    post.scan("OPEN", "body")
    assert last_act(post).reason == "not stated at the station"


def test_treatments_under_way_run_with_elapsed_and_due_time(post: Post) -> None:
    post.scan("IMMERSE", '"3.7"', "bag")
    assert last_act(post).formaldehyde_tenths == 37
    while post.desk.look():
        pass
    post.wait(90 * 60)
    (running,) = post.desk.view().immersions
    assert (running.thing, running.words) == ("2026-0001.3", "viscera")
    assert (running.elapsed, running.needed, running.over) == (5400, 4 * 3600, False)
    started = post.now[0] - timedelta(seconds=5400)
    assert running.due == f"{started + timedelta(hours=4):%H:%M}"
    post.wait(3 * 3600)
    assert post.desk.view().immersions[0].over is True
    post.scan("m1", "DRAIN", "bag")
    post.desk.look()
    assert post.desk.view().immersions == ()


def test_treatments_begun_elsewhere_are_followed_too(post: Post) -> None:
    post.record("cared-for", thing="2026-0002.2", step="immersed")
    post.record("cared-for", thing="2026-0001.2", step="immersed")
    post.desk.look()
    assert [each.thing for each in post.desk.view().immersions] == ["2026-0002.3", "2026-0001.3"]


def test_a_label_whose_panels_have_changed_is_due_anew(post: Post) -> None:
    assert post.scan("heart", "cold-room").relabel[0] == "2026-0001.2: biohazard"
    answer = post.scan("IMMERSE", '"3.7"', "bag")
    assert answer.relabel[:2] == (
        "2026-0001.2: biohazard, formaldehyde-1",
        "2026-0001.3: biohazard, formaldehyde-1",
    )


def test_a_copy_of_an_entry_is_told_by_the_case_and_number_it_stands_under(post: Post) -> None:
    """What touches two cases stands in both; UNDO strikes the first, and with it both."""
    post.scan("heart", "cold-room", "bag", "strange-body", "FOUND")
    copy = post.register.entries(TWO)[-1]
    assert copy.mirrors
    assert copy.number != post.register.entries(ONE)[-1].number
    assert post.restart().what.startswith(
        f"last recorded: case 2026-0002, entry {copy.number}: put-in 2026-0001.2, "
    )
    assert post.scan("m1", "UNDO").case == ONE
    assert [event.act.kind for event in post.register.entries(TWO)[-2:]] == ["put-in", "corrected"]


def test_a_hand_over_is_on_the_authority_that_was_scanned_and_on_no_other(post: Post) -> None:
    """The coroner's release to the firm says nothing of what leaves it again."""
    answer = post.scan("HAND OVER", "heart", "crematory")
    assert answer.what.endswith(
        "heart 2026-0001.6 → handed over to crematory, authority not stated"
    )
    assert post.register.case(ONE).release_authority == "release 7"
    assert last_act(post).authority == "not stated at the station"
    assert last_act(post).accepted is False
    answer = post.scan("HAND OVER", '"permit 12"', "kidney", "crematory")
    assert answer.what.endswith("kidney 2026-0001.7 → handed over to crematory, on permit 12")
    assert last_act(post).authority == "permit 12"


def test_the_authority_may_come_after_the_things_and_only_once(post: Post) -> None:
    answer = post.scan("HAND OVER", "heart", '"permit 12"')
    assert (answer.what, answer.mend) == (
        "Hand over → permit 12 → heart 2026-0001.6",
        "scan who receives it, or more things",
    )
    assert post.scan('"permit 13"').code == "not-a-label"
    post.scan("crematory")
    assert last_act(post).authority == "permit 12"


def small_case(post: Post) -> None:
    """Case 2026-0003: a body, its tag, a ring to go along, a coffin; all done but the closing."""
    post.record(
        "case-opened", "2026-0003", disposition="burial", release_authority="release 9", day=None
    )
    items = [
        {"what": "decedent", "description": "adult"},
        {"what": "container", "form": "coffin", "description": "coffin"},
        {"what": "effect", "description": "ring", "intention": "goes-along"},
    ]
    post.record(
        "received", "2026-0003", giver="coroner", giver_signed=True, place="table-1", items=items
    )
    for item, name in enumerate(("third-body", "third-coffin", "ring"), 1):
        post.label(name, f"2026-0003.{item}")
    identifiers = [
        {"what": what, "read_from": "body-tag"} for what in ("name", "date-of-birth", "case-number")
    ]
    for stage in ("receipt", "closing"):
        fields = {"thing": "2026-0003.1", "stage": stage, "identifiers": identifiers, "agree": True}
        post.record("identified", by=("m1", "m2"), **fields)
    seen = {"leak": False, "odour": False, "dry": True, "suture": "sound", "implants": "none"}
    post.record("inspected", thing="2026-0003.1", **seen)
    post.record("retention-stated", "2026-0003", kept="none", according_to="letter")


def test_the_closing_check_goes_on_until_all_is_seen_and_two_have_signed(post: Post) -> None:
    small_case(post)
    post.scan("third-body", "third-coffin")
    answer = post.scan("CLOSING CHECK", "third-body")
    assert (answer.word, answer.what) == ("RECORDED", "seen: body 2026-0003.1")
    assert post.desk.view().closing == "2026-0003"
    assert [line.partition(":")[0] for line in answer.missing] == [
        "never-sighted",
        "effect-elsewhere",
    ]
    wrong = post.scan("strange-bag")
    assert (wrong.word, wrong.missing) == ("WRONG CASE", answer.missing)
    answer = post.scan("third-coffin")
    assert len(answer.missing) == 1
    assert answer.missing[0].startswith("effect-elsewhere: ")
    refused = post.scan("CLOSING CHECK")
    assert (refused.word, refused.code) == ("NOT CLEAR", "not-clear")
    assert refused.missing == answer.missing
    answer = post.scan("INTO", "ring", "third-coffin")
    assert (answer.tone, answer.word, answer.missing) == (Tone.CLEAR, "CLEAR", ())
    assert answer.mend == "scan CLOSING CHECK to sign it"
    assert post.scan("CLOSING CHECK").word == "SECOND"
    answer = post.scan("d1", "4711")
    assert (answer.word, answer.what) == ("RECORDED", "closing check of case 2026-0003 signed")
    event = post.register.entries("2026-0003")[-1]
    assert (event.act.kind, event.act.coffin) == ("closing-check-signed", "2026-0003.2")
    assert event.persons == ("m1", "d1")
    assert post.desk.view().closing is None


def test_a_check_that_begins_with_a_refused_label_has_not_begun(post: Post) -> None:
    post.scan("SEAL", "bag")
    assert post.scan("CLOSING CHECK", "viscera").code == "shut-in"
    assert post.desk.view().closing is None


def test_leaving_the_closing_check_keeps_what_was_seen(post: Post) -> None:
    post.scan("CLOSING CHECK", "body", "coffin")
    assert post.scan("CANCEL").mend == "what was seen stays recorded"
    assert post.desk.view().closing is None
    assert post.kinds()[-2:] == ["sighted", "sighted"]


def test_cancel_after_a_refusal_does_not_put_the_key_away(post: Post) -> None:
    post.scan("bag", "strange-bag")
    assert post.scan("CANCEL").word == "GO ON"
    assert post.desk.view().who == "m1"
    assert post.scan("CANCEL").word == "LOCKED"


def test_labels_are_told_apart(post: Post) -> None:
    book = post.book
    bag = book.parse(post.names["bag"])
    again = book.reprint(bag)
    unprinted = book.reprint(again)
    post.record("labelled", thing="2026-0001.2", code=again.text)
    damaged = bag.text[:7] + ("B" if bag.text[7] == "A" else "A") + bag.text[8:]
    strange = type(book)(REGISTER[:-1] + "1").mint(bag.type).text
    unknown = book.mint(bag.type).text
    found = {
        name: (answer.word, answer.code)
        for name, answer in (
            ("damaged", post.scan(damaged)),
            ("strange", post.scan(strange)),
            ("superseded", post.scan("bag")),
            ("unprinted", post.scan(unprinted.text)),
            ("unknown", post.scan(unknown)),
        )
    }
    assert found == {
        "damaged": ("DAMAGED", "damaged-code"),
        "strange": ("NOT OURS", "other-register"),
        "superseded": ("OLD LABEL", "superseded"),
        "unprinted": ("UNKNOWN", "print-unknown"),
        "unknown": ("UNKNOWN", "never-seen"),
    }
    assert post.scan(again.text).word == "GO ON"
    post.record("label-voided", thing="2026-0001.2", code=again.text, reason="spoiled")
    assert post.scan("CANCEL", again.text).code == "label-void"


def test_a_bad_scan_in_the_middle_leaves_the_sequence_as_it_was(post: Post) -> None:
    post.scan("heart", post.names["bag"][:-1] + "X")
    assert post.desk.view().begun == "heart 2026-0001.6"
    assert post.scan("cold-room").word == "RECORDED"


def test_a_busy_register_is_told_and_nothing_recorded(post: Post) -> None:
    def busy(*_: object) -> None:
        raise LockedRegisterError("another program holds the register")

    before = post.register.store.head().size
    record, post.register.record = post.register.record, busy
    answer = post.scan("heart", "cold-room")
    assert (answer.word, answer.code) == ("BUSY", "register")
    post.register.record = record
    assert post.register.store.head().size == before
    assert post.scan("heart", "cold-room").word == "RECORDED"


def test_what_is_recorded_is_told_so_even_if_nothing_can_be_read_after(post: Post) -> None:
    def broken(*_: object) -> None:
        raise LockedRegisterError("held")

    post.register.plan = broken
    answer = post.scan("heart", "cold-room")
    assert (answer.word, answer.next_step) == ("RECORDED", "cannot be read: held")


def test_another_cases_things_stay_in_their_case(post: Post) -> None:
    before = len(post.kinds())
    post.scan("strange-heart", "cold-room")
    assert len(post.kinds()) == before
    assert post.kinds(TWO)[-1] == "moved"


def test_an_associated_part_goes_with_its_new_case(post: Post) -> None:
    post.record(
        "associated", things=["2026-0002.6"], to_case=ONE, authority="pathologist", by=("d1",)
    )
    assert post.scan("strange-heart", "tub").word == "RECORDED"
    assert post.register.case(ONE).things["2026-0002.6"].where.thing == "2026-0001.5"


def test_settings_can_be_given(post: Post) -> None:
    post.restart(replace(Settings(), sequence=5.0))
    post.scan("m1", "heart")
    answer = post.wait(5)
    assert answer is not None
    assert answer.word == "TIMED OUT"


def test_names_alike_stand_in_the_check_where_the_policy_lets_them_stop_it(post: Post) -> None:
    for number in ("2026-0003", "2026-0004"):
        item = {"what": "decedent", "description": "adult"}
        post.record("case-opened", number, personal={"name": "Ada Invented"})
        post.record("received", number, giver="coroner", place="table-1", items=[item])
    post.label("third-body", "2026-0003.1")
    lines = post.scan("CLOSING CHECK", "third-body").missing
    assert not any(line.startswith("similar-name") for line in lines)
    policy = default().model_dump(mode="json")
    policy["findings"]["similar-name"]["stops"] = True
    post.record("policy-adopted", policy=policy, by=("d1",))
    lines = post.scan("CANCEL", "CLOSING CHECK", "third-body").missing
    assert any(line.startswith("similar-name") for line in lines)


def test_a_refused_act_is_recorded_as_found_by_one_more_scan(post: Post) -> None:
    answer = post.scan("bag", "strange-bag")
    assert answer.mend == "take the thing of the right case; if it is found so, scan FOUND"
    answer = post.scan("FOUND")
    assert (answer.tone, answer.word) == (Tone.RECORDED, "FOUND")
    assert answer.what == ("found so: viscera bag 2026-0001.2 → into viscera bag 2026-0002.2")
    assert answer.mend == "an irregularity is open until a named person resolves it"
    assert last_act(post).despite
    assert "irregularity-open" in {f.code for f in post.register.closing_check(ONE).findings}
    assert post.scan("FOUND").code == "nothing-to-find"


@pytest.mark.parametrize("meanwhile", ["heart", "CANCEL", '"4711"', "m2"])
def test_found_holds_for_the_refusal_just_before_it_and_no_longer(
    post: Post, meanwhile: str
) -> None:
    post.scan("bag", "strange-bag", meanwhile)
    size = post.register.store.head().size
    assert post.scan("FOUND").tone is Tone.REFUSED
    assert post.register.store.head().size == size


def test_found_is_dropped_by_time_in_silence(post: Post) -> None:
    post.scan("bag", "strange-bag")
    assert post.wait(31) is None
    assert post.scan("FOUND").code == "nothing-to-find"


def test_a_missing_signature_is_awaited_and_not_found(post: Post) -> None:
    """That somebody did not sign is no fact of the room."""
    assert post.scan("IDENTIFY", "body", "AGREE").word == "SECOND"
    assert post.scan("FOUND").code == "begun"
    assert post.scan("m2").word == "RECORDED"
    assert last_act(post).despite == ()


def test_the_tag_is_read_aloud_and_two_sign(post: Post) -> None:
    answer = post.scan("IDENTIFY", "body")
    assert answer.mend.startswith("read the tag aloud against the papers")
    answer = post.scan("AGREE")
    assert (answer.word, answer.what) == (
        "SECOND",
        "a second person must sign: body 2026-0001.1: its tag agrees",
    )
    assert post.scan("m2").word == "RECORDED"
    act = last_act(post)
    assert (act.stage, act.agree) == ("receipt", True)
    assert [(i.what, i.read_from) for i in act.identifiers] == [
        ("name", "body-tag"),
        ("date-of-birth", "body-tag"),
        ("case-number", "body-tag"),
    ]


def test_a_tag_that_differs_keeps_the_case_open(post: Post) -> None:
    post.scan("IDENTIFY", "body", "DIFFER", "m2")
    assert last_act(post).agree is False
    codes = {finding.code for finding in post.register.closing_check(ONE).stops}
    assert "identifiers-disagree" in codes


def test_in_a_closing_check_the_tag_is_read_for_the_closing(post: Post) -> None:
    post.scan("CLOSING CHECK", "body", "IDENTIFY", "body", "AGREE", "m2")
    assert (last_act(post).kind, last_act(post).stage) == ("identified", "closing")
    assert post.desk.view().closing == ONE


def test_after_the_receipt_it_is_read_for_itself(post: Post) -> None:
    post.scan("IDENTIFY", "body", "AGREE", "m2", "IDENTIFY", "body", "AGREE", "m2")
    assert last_act(post).stage == "other"


def test_a_typed_number_identifies_nobody(post: Post) -> None:
    answer = post.scan("IDENTIFY", "2026-0001.1")
    assert (answer.code, answer.mend) == ("tag-wanted", "scan the body's own tag")


@pytest.mark.parametrize(
    ("scans", "seen"),
    [
        ("INSPECT, bag", (False, False, None, None, None)),
        ("LEAK, ODOUR, LEAK, bag", (True, True, None, None, None)),
        ("INSPECT, BROKEN, bag", (False, False, None, "broken", None)),
        ('INSPECT, "S-881", box', (False, False, None, "intact", "S-881")),
        ('BROKEN, "S-881", box', (False, False, None, "broken", "S-881")),
        ("INSPECT, body", (False, False, None, None, None)),
        ("BROKEN, body", (False, False, "gaping", None, None)),
        ("SUTURE, body, INSPECT, body", (False, False, "sound", None, None)),
    ],
)
def test_what_is_seen_is_noted_and_the_rest_looked_for_in_vain(
    post: Post, scans: str, seen: tuple[object, ...]
) -> None:
    assert post.scan(*scans.split(", ")).word == "RECORDED"
    act = last_act(post)
    assert (act.leak, act.odour, act.suture, act.seal, act.seal_number) == seen


def test_what_is_noted_is_told(post: Post) -> None:
    answer = post.scan("LEAK", "ODOUR", "bag")
    assert answer.what == "viscera bag 2026-0001.2: looked at, it leaks and it smells"
    assert post.scan("INSPECT", "heart").what == "heart 2026-0001.6: looked at, sound"
    assert post.scan("LEAK").what == "Inspect → Leak"


def test_who_took_it_over_signs_with_two_scans(post: Post) -> None:
    post.scan("HAND OVER", "heart", "kidney", "crematory")
    answer = post.scan("SIGNED FOR", "crematory")
    assert answer.what == "heart 2026-0001.6, kidney 2026-0001.7: crematory signed"
    assert last_act(post).things == ("2026-0001.6", "2026-0001.7")
    assert post.scan("SIGNED FOR", "crematory").code == "which-things"


def test_another_holder_does_not_sign_for_what_the_crematory_took(post: Post) -> None:
    post.scan("HAND OVER", "heart", "crematory")
    assert post.scan("SIGNED FOR", "coroner").code == "which-things"
    assert post.scan("SIGNED FOR", "heart", "coroner").code == "not-handed-over"


def test_what_mends_a_finding_is_told_in_scans(post: Post) -> None:
    """Nobody at the station has a command line in sight."""
    missing = post.scan("CLOSING CHECK", "body").missing
    assert any(line.endswith("and say so if all agree (IDENTIFY)") for line in missing)
    assert any(line.endswith("record what you see (INSPECT)") for line in missing)
    assert not any("--stage" in line or "(inspected)" in line for line in missing)
