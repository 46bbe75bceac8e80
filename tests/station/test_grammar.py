"""The grammar by itself: no register, no clock, no screen."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.care.things import Form, ThingKind
from continuity_cli.station.grammar import Begun, State, lapse, step
from continuity_cli.station.tokens import (
    Act,
    Ask,
    Badge,
    ComeBack,
    Do,
    Dropped,
    HandOver,
    Holder,
    Move,
    Outcome,
    Place,
    PutIn,
    Refuse,
    SignCheck,
    SignIn,
    SignOut,
    Thing,
    Tick,
    Token,
    Typed,
    Undo,
    Unread,
)
from continuity_labels.actions import Action

BODY = Thing("A.1", "A", "body", ThingKind.DECEDENT)
BAG = Thing("A.2", "A", "bag", ThingKind.CONTAINER, Form.BAG)
COFFIN = Thing("A.3", "A", "coffin", ThingKind.CONTAINER, Form.COFFIN)
HEART = Thing("A.4", "A", "heart", ThingKind.PART)
KIDNEY = Thing("A.5", "A", "kidney", ThingKind.PART)
OTHER = Thing("B.2", "B", "other bag", ThingKind.CONTAINER, Form.BAG)
OTHER_HEART = Thing("B.4", "B", "other heart", ThingKind.PART)
ROOM, HOLDER = Place("cold-room"), Holder("crematory")
IN = State(who="m1")


def run(*tokens: Token, state: State = IN) -> tuple[State, Outcome]:
    outcome: Outcome = Ask("")
    for token in tokens:
        state, outcome = step(state, token)
    return state, outcome


def act(name: str) -> Act:
    return Act(Action(name))


@pytest.mark.parametrize(
    ("tokens", "outcome"),
    [
        ([HEART, ROOM], Move((HEART,), "cold-room")),
        ([HEART, KIDNEY, ROOM], Move((HEART, KIDNEY), "cold-room")),
        ([BAG, BODY], PutIn((BAG,), BODY)),
        ([BODY, COFFIN], PutIn((BODY,), COFFIN)),
        ([BAG, OTHER], PutIn((BAG,), OTHER)),
        ([act("out"), HEART, BAG], PutIn((HEART,), BAG, out=True)),
        ([act("out"), HEART, ROOM], Move((HEART,), "cold-room", out=True)),
        ([act("rinse"), BAG], Do(Action.RINSE, BAG)),
        ([act("seal"), Typed("S 1"), BAG], Do(Action.SEAL, BAG, "S 1")),
        ([act("weigh"), Typed("12"), BAG], Do(Action.WEIGH, BAG, "12")),
        ([act("weigh"), BAG, Typed("12")], Do(Action.WEIGH, BAG, "12")),
        ([act("weigh"), BAG, HEART, Typed("12")], Do(Action.WEIGH, HEART, "12")),
        ([act("hand-over"), HEART, BAG, HOLDER], HandOver((HEART, BAG), "crematory")),
        ([HOLDER, HEART, KIDNEY, ROOM], ComeBack((HEART, KIDNEY), "crematory", "cold-room")),
        ([act("closing-check"), BAG], Tick(BAG, "A", begins=True)),
        ([BAG, act("closing-check")], Tick(BAG, "A", begins=True)),
        ([act("closing-check"), BAG, OTHER], Tick(OTHER, "A")),
        ([act("closing-check"), BAG, act("closing-check")], SignCheck("A")),
        ([act("undo")], Undo()),
        ([act("cancel")], SignOut()),
        ([HEART, act("cancel")], Dropped("heart A.4")),
        ([Badge("m2", locked=False)], SignIn("m2")),
        ([Badge("m2"), Typed("99")], SignIn("m2", "99")),
        ([act("second-person"), Badge("m2", locked=False)], SignIn("m2", second=True)),
        ([act("second-person"), Badge("m2"), Typed("9")], SignIn("m2", "9", second=True)),
        ([HEART, act("dry"), BAG], Do(Action.DRY, BAG)),
    ],
)
def test_what_a_sequence_comes_to(tokens: list[Token], outcome: Outcome) -> None:
    state, found = run(*tokens)
    assert found == outcome
    assert state.begun is None


@pytest.mark.parametrize(
    ("tokens", "code"),
    [
        ([HEART, OTHER_HEART], "wrong-case"),
        ([HEART, HEART], "scanned-twice"),
        ([BODY, BAG], "other-way-round"),
        ([ROOM], "thing-wanted"),
        ([act("into"), ROOM], "thing-wanted"),
        ([act("seal"), ROOM], "thing-wanted"),
        ([act("hand-over"), HOLDER], "not-a-hand-over"),
        ([HOLDER, HEART, BAG], "place-wanted"),
        ([HOLDER, HOLDER], "not-a-hand-over"),
        ([Typed("12")], "not-a-label"),
        ([act("rinse"), Typed("12")], "not-a-label"),
        ([act("weigh"), Typed("12"), Typed("13")], "not-a-label"),
        ([act("weigh"), Typed("1.5")], "not-a-number"),
        ([act("immerse"), Typed("100")], "not-a-number"),
        ([act("second-person"), HEART], "badge-wanted"),
        ([act("second-person"), Badge("m1")], "second-person"),
        ([Badge("m2"), HEART], "pin-wanted"),
        ([HEART, act("undo")], "begun"),
        ([Unread("damaged-code", "misread", "scan again")], "damaged-code"),
    ],
)
def test_what_a_sequence_is_refused_for(tokens: list[Token], code: str) -> None:
    state, found = run(*tokens)
    before, _ = run(*tokens[:-1])
    assert isinstance(found, Refuse)
    assert found.code == code
    expected = replace(before, interrupted=True)
    assert state == expected, "a refused scan leaves everything as it was"


def test_nobody_signed_in_can_do_nothing_but_sign_in() -> None:
    for token in (HEART, ROOM, HOLDER, act("undo"), act("rinse"), Typed("1")):
        state, found = step(State(), token)
        assert isinstance(found, Refuse)
        assert (found.code, state) == ("no-badge", State(interrupted=True))
    assert step(State(), Badge("m1", locked=False)) == (IN, SignIn("m1"))
    assert step(State(), act("cancel")) == (State(), Ask("scan a badge"))


def test_another_badge_drops_what_was_begun() -> None:
    state, found = run(HEART, Badge("m2"))
    assert found == Ask(
        "type the PIN of m2: the passphrase of that person's key", dropped="heart A.4"
    )
    assert (state.who, state.begun, state.pin_of) == ("m1", None, "m2")


def test_cancel_drops_the_innermost_first() -> None:
    state, _ = run(act("closing-check"), BAG, act("rinse"))
    state, found = step(state, act("cancel"))
    assert (found, state.closing) == (Dropped("Rinse"), "A")
    state, found = step(state, act("cancel"))
    assert found == Dropped("the closing check of A", closing=True)
    state, found = step(state, act("cancel"))
    assert (found, state) == (SignOut(), State())


def test_time_drops_a_sequence_then_the_check_then_the_key() -> None:
    state, _ = run(act("closing-check"), BAG, act("rinse"))
    assert lapse(state, sequence=False, closing=False, key=False) is None
    done = lapse(state, sequence=True, closing=False, key=False)
    assert done is not None
    state, found = done
    assert (found, state.closing, state.who) == (Dropped("Rinse", by_time=True), "A", "m1")
    done = lapse(state, sequence=True, closing=True, key=False)
    assert done is not None
    state, found = done
    assert found == Dropped("the closing check of A", by_time=True, closing=True)
    done = lapse(state, sequence=True, closing=True, key=True)
    assert done is not None
    assert done == (State(interrupted=True), Dropped("the key of m1", by_time=True))
    assert lapse(done[0], sequence=True, closing=True, key=True) is None


def test_cancel_after_a_lapse_does_not_put_the_key_away() -> None:
    done = lapse(run(HEART)[0], sequence=True, closing=False, key=False)
    assert done is not None
    state, found = step(done[0], act("cancel"))
    assert (found, state.who) == (Ask("scan a label or an act"), "m1")
    assert step(state, act("cancel"))[1] == SignOut()


THINGS = st.sampled_from([BODY, BAG, COFFIN, HEART, KIDNEY, OTHER, OTHER_HEART])
TOKENS = st.one_of(
    THINGS,
    st.sampled_from([ROOM, HOLDER, Badge("m1"), Badge("m2", locked=False), Typed("12")]),
    st.sampled_from([Typed("x"), Unread("never-seen", "why", "mend")]),
    st.sampled_from([Act(action) for action in Action]),
)
DEEDS = (Move, PutIn, ComeBack, HandOver, Do, Tick, SignCheck, Undo)


def things_of(deed: Outcome) -> tuple[Thing, ...]:
    if isinstance(deed, (Do, Tick)):
        return (deed.thing,)
    into = (deed.into,) if isinstance(deed, PutIn) else ()
    return (*getattr(deed, "things", ()), *into)


@given(st.lists(TOKENS, max_size=40))
def test_any_stream_of_scans_keeps_the_grammars_promises(tokens: list[Token]) -> None:
    state = State()
    scanned: list[Token] = []
    for token in tokens:
        before = state
        state, outcome = step(state, token)
        scanned.append(token)
        if isinstance(outcome, Refuse):
            assert replace(before, interrupted=True) == state
        if isinstance(outcome, DEEDS):
            assert before.who is not None, "nobody records without a badge"
            assert state.begun is None
            assert set(things_of(outcome)) <= set(scanned), "only what was scanned since the last"
            scanned = []
        if isinstance(outcome, (Dropped, SignOut)) or (
            isinstance(outcome, Ask) and outcome.dropped
        ):
            scanned = [token]


@given(st.lists(TOKENS, max_size=30))
def test_time_never_records_and_leaves_nothing_begun(tokens: list[Token]) -> None:
    state, _ = run(*tokens)
    for _ in range(3):
        done = lapse(state, sequence=True, closing=True, key=True)
        if done is None:
            break
        state, outcome = done
        assert isinstance(outcome, Dropped)
        assert outcome.by_time
    assert state.who is None
    assert state.begun is None


@given(st.lists(TOKENS, max_size=30))
def test_three_cancels_lead_home_from_anywhere(tokens: list[Token]) -> None:
    state, _ = run(*tokens)
    for _ in range(4):
        state, outcome = step(state, act("cancel"))
        assert not isinstance(outcome, DEEDS)
    assert state == State()


def test_what_was_begun_reads_as_it_was_scanned() -> None:
    begun = Begun(Action.SEAL, typed="S-1")
    assert begun.words == "Seal → S-1"
    assert Begun(things=(HEART, KIDNEY)).words == "heart A.4 → kidney A.5"
    assert Begun(giver="coroner").words == "from coroner"
