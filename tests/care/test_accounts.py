"""Conservation: whatever was recorded, each thing stands somewhere, and is in order or told."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from continuity.care.findings.accounts import Account, account
from continuity.care.things import Inside, PartOf, ThingKind
from tests.care.histories import bag, device, effect, part
from tests.care.history import CASE, OTHER, World

if TYPE_CHECKING:
    from continuity.care.case import Case, Thing

BODY, COFFIN, THIRD, FOURTH, FIFTH = (f"{CASE}.{n}" for n in range(1, 6))
RELEASE = {"relation": "daughter", "authority": "a wish"}


def stands(w: World, thing: str, case: str = CASE) -> Account:
    folded = w.case(case)
    return account(folded, folded.things[thing])


@pytest.fixture
def w() -> World:
    world = World()
    world.arrive(device(), bag(), device(within="#4"))
    return world


def test_on_a_shelf_in_an_empty_bag_and_in_the_coffin(w: World) -> None:
    assert stands(w, THIRD) is Account.HERE
    assert stands(w, FIFTH) is Account.HERE
    assert stands(w, FOURTH) is Account.HERE
    assert stands(w, COFFIN) is Account.EMPTY
    w.lay_in()
    w.do("put-in", things=[FOURTH], into=COFFIN)
    for thing in (BODY, COFFIN, FOURTH, FIFTH):
        assert stands(w, thing) is Account.IN_COFFIN
    w.do("taken-out", things=[BODY], place="table")
    for thing in (COFFIN, FOURTH, FIFTH):
        assert stands(w, thing) is (Account.HERE if thing == COFFIN else Account.FORMER_COFFIN)


def test_in_the_coffin_wherever_the_coffin_is(w: World) -> None:
    w.lay_in(THIRD)
    w.do("handed-over", things=[COFFIN], taker="crematory", authority="an order")
    assert stands(w, THIRD) is Account.IN_COFFIN
    assert stands(w, FIFTH) is Account.HERE


def test_with_a_holder_with_what_it_holds(w: World) -> None:
    w.do("handed-over", things=[FOURTH], taker="lab", authority="an order")
    assert stands(w, FOURTH) is Account.OUTSIDE
    assert stands(w, FIFTH) is Account.OUTSIDE


def test_released_with_what_it_holds(w: World) -> None:
    w.do("released", things=[FOURTH], **RELEASE)
    assert stands(w, FOURTH) is Account.RELEASED
    assert stands(w, FIFTH) is Account.LEFT_ALONG


def test_disposed_of_with_what_it_holds(w: World) -> None:
    w.lay_in(THIRD)
    w.buried(force=True)
    for thing in (BODY, COFFIN, THIRD):
        assert stands(w, thing) is Account.DISPOSED
    assert stands(w, FIFTH) is Account.HERE


def test_divided_discarded_and_what_was_in_it(w: World) -> None:
    pieces = [device(place="table"), device(place="table")]
    w.do("separated", thing=THIRD, into=pieces, entirely=True)
    assert stands(w, THIRD) is Account.DIVIDED
    w.do("packaging-discarded", thing=FOURTH, empty=True, force=True)
    assert stands(w, FOURTH) is Account.DISCARDED
    assert stands(w, FIFTH) is Account.IN_WHAT_IS_GONE


def test_one_with_the_body_or_with_anothers(w: World) -> None:
    w.arrive(part(), case=OTHER)
    w.do("joined", things=[THIRD], to=BODY, force=True)
    assert stands(w, THIRD) is Account.JOINED
    w.do("joined", case=OTHER, things=[f"{OTHER}.3"], to=BODY, found=True)
    assert stands(w, f"{OTHER}.3", OTHER) is Account.ANOTHERS


def test_one_with_what_is_one_with_anothers(w: World) -> None:
    w.arrive(case=OTHER)
    w.do("joined", things=[THIRD], to=FIFTH, force=True)
    assert stands(w, THIRD) is Account.JOINED
    w.do("joined", things=[FIFTH], to=f"{OTHER}.1", force=True)
    assert stands(w, THIRD) is Account.ANOTHERS


def test_never_seen_and_in_what_was_never_seen() -> None:
    w = World()
    w.arrive(bag(receipt="missing"), device(within="#3"))
    assert stands(w, THIRD) is Account.UNSEEN
    assert stands(w, FOURTH) is Account.IN_WHAT_IS_UNSEEN


def test_in_anothers_bag_and_in_a_shared_coffin(w: World) -> None:
    w.arrive(bag(), case=OTHER)
    w.do("put-in", things=[THIRD], into=f"{OTHER}.3", found=True)
    assert stands(w, THIRD) is Account.ANOTHERS
    w.do(
        "coffin-shared",
        case=OTHER,
        coffin=f"{OTHER}.2",
        with_cases=[CASE, OTHER],
        authority="an order",
    )
    w.do("put-in", things=[BODY, FOURTH], into=f"{OTHER}.2")
    assert stands(w, BODY) is Account.IN_COFFIN
    assert stands(w, FIFTH) is Account.IN_COFFIN


def test_a_circle_is_nowhere(w: World) -> None:
    w.do("put-in", things=[FOURTH], into=COFFIN)
    w.do("put-in", things=[COFFIN], into=FOURTH, force=True)
    for thing in (COFFIN, FOURTH, FIFTH):
        assert stands(w, thing) is Account.CIRCLE
    w.do("joined", things=[THIRD], to=THIRD.replace(".3", ".5"), force=True)
    w.do("joined", things=[FIFTH], to=THIRD, force=True)
    assert stands(w, THIRD) is Account.CIRCLE


IN_ORDER = frozenset(
    {
        Account.IN_COFFIN,
        Account.EMPTY,
        Account.RELEASED,
        Account.DISPOSED,
        Account.LEFT_ALONG,
        Account.JOINED,
        Account.DIVIDED,
        Account.DISCARDED,
    }
)
"""Accounts that need no finding of their own."""

ITEMS = (
    part(),
    bag(),
    {"what": "container", "form": "coffin", "description": "pine coffin"},
    effect(),
    device(),
    {"what": "viscera", "description": "viscera", "within": "#4"},
    {"what": "specimen", "description": "blood", "receipt": "missing"},
)
THINGS = [f"{CASE}.{n}" for n in range(1, 10)] + [f"{OTHER}.{n}" for n in (1, 2, 3)]
THING = st.sampled_from(THINGS)
ACTS = st.one_of(
    st.tuples(
        st.just("moved"), st.fixed_dictionaries({"things": THING, "place": st.just("store")})
    ),
    st.tuples(st.just("put-in"), st.fixed_dictionaries({"things": THING, "into": THING})),
    st.tuples(st.just("joined"), st.fixed_dictionaries({"things": THING, "to": THING})),
    st.tuples(
        st.just("handed-over"),
        st.fixed_dictionaries(
            {
                "things": THING,
                "taker": st.sampled_from(["lab", "clinic"]),
                "authority": st.just("an order"),
                "accepted": st.booleans(),
            }
        ),
    ),
    st.tuples(
        st.just("returned"),
        st.fixed_dictionaries(
            {"things": THING, "giver": st.just("lab"), "place": st.just("store")}
        ),
    ),
    st.tuples(
        st.just("released"),
        st.fixed_dictionaries({"things": THING, "relation": st.just("son")}),
    ),
    st.tuples(
        st.just("disposed"),
        st.fixed_dictionaries(
            {"things": THING, "manner": st.just("burial"), "where": st.just("there")}
        ),
    ),
    st.tuples(
        st.just("packaging-discarded"),
        st.fixed_dictionaries({"thing": THING, "empty": st.just(True)}),
    ),
    st.tuples(
        st.just("separated"),
        st.fixed_dictionaries(
            {
                "thing": THING,
                "into": st.just([{"what": "part", "description": "piece", "place": "store"}]),
                "entirely": st.booleans(),
            }
        ),
    ),
    st.tuples(
        st.just("instructed"),
        st.fixed_dictionaries(
            {
                "things": THING,
                "wish": st.sampled_from(["release", "donation", "goes-along", "worn"]),
                "relation": st.just("son"),
            }
        ),
    ),
    st.tuples(
        st.just("retained"), st.fixed_dictionaries({"things": THING, "holder": st.just("lab")})
    ),
    st.tuples(
        st.just("associated"),
        st.fixed_dictionaries(
            {"things": THING, "to_case": st.sampled_from([CASE, OTHER]), "authority": st.just("x")}
        ),
    ),
)


def _record(w: World, kind: str, fields: dict[str, object]) -> None:
    if "things" in fields:
        fields = {**fields, "things": [fields["things"]]}
    if fields.get("into", fields.get("to")) in fields.get("things", ()):
        return
    if kind == "separated" and fields["thing"].startswith(OTHER):
        return
    w.do(kind, force=True, **fields)


def _around(case: Case, thing: Thing) -> set[str]:
    """What a thing is in or one with, and what that is, and so on."""
    around: set[str] = set()
    while isinstance(thing.where, Inside | PartOf) and thing.where.thing not in around:
        around.add(thing.where.thing)
        thing = case.things.get(thing.where.thing, thing)
    return around


@settings(max_examples=100)
@given(st.lists(ACTS, max_size=8))
def test_every_thing_has_one_account_and_is_in_order_or_told(
    acts: list[tuple[str, dict[str, object]]],
) -> None:
    w = World()
    w.arrive(*ITEMS)
    w.arrive(bag(), case=OTHER)
    for kind, fields in acts:
        _record(w, kind, fields)
    case = w.case()
    verdict = w.check()
    told = {thing for finding in verdict.findings for thing in finding.things}
    for thing in case.own:
        stands = account(case, thing)
        told_by_what_it_is_in = told.intersection(_around(case, thing))
        told_by_what_is_in_it = thing.what is ThingKind.CONTAINER and told.intersection(
            t.id for t in case.all_contents(thing.id)
        )
        assert (
            stands in IN_ORDER or thing.id in told or told_by_what_it_is_in or told_by_what_is_in_it
        ), (thing.id, stands, verdict.findings)
