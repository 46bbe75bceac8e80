"""The house: what the register's own chain adds up to, now and as it was known."""

from __future__ import annotations

from datetime import timedelta

import pytest

from continuity.care import policy
from continuity.care.entries import read_act
from continuity.care.house import Holder, House, Key, Place, Role, furnish
from continuity.care.records import Event
from tests.care.history import MORNING

KEY = "eve+00000001+A" + "A" * 20
NEW = "eve+00000002+A" + "A" * 20
REGISTER = "continuity-register/0+00000009+A" + "A" * 20
NEXT = "continuity-register/0+0000000a+A" + "A" * 20
STARTED = {
    "firm": "an invented firm",
    "register_key": REGISTER,
    "key": KEY,
    "person": "eve",
    "role": "director",
}


def house(*acts: tuple[str, dict[str, object]], known: int | None = None) -> House:
    """The acts a minute apart, read backwards; known until so many minutes after the first."""
    events = []
    for number, (kind, fields) in enumerate((("register-started", STARTED), *acts)):
        at = MORNING + timedelta(minutes=number)
        act = read_act({"kind": kind, **fields})
        events.append(Event(act, "register", number, at, at, "eve", ("eve",), leaf=str(number)))
    until = None if known is None else MORNING + timedelta(minutes=known)
    return furnish(reversed(events), known_until=until)


def test_a_register_starts_with_its_firm_its_key_and_a_director() -> None:
    started = house()
    assert (started.firm, started.register_key) == ("an invented firm", REGISTER)
    assert started.keys == {"eve+00000001": Key(KEY, "eve", Role.DIRECTOR)}
    assert started.roles("eve") == {Role.DIRECTOR}
    assert started.roles("ada") == frozenset()
    assert started.person_of("eve+00000001") == "eve"
    assert started.person_of("ada+00000001") is None


def test_places_and_holders_are_named() -> None:
    furnished = house(
        ("place-named", {"place": "annex", "what": "store", "description": "behind"}),
        ("holder-named", {"holder": "lab", "what": "hospital", "description": "the laboratory"}),
    )
    assert furnished.places == {"annex": Place("annex", "store", "behind")}
    assert furnished.holders == {"lab": Holder("lab", "hospital", "the laboratory")}


def test_what_was_recorded_later_is_not_known_yet() -> None:
    act = ("place-named", {"place": "annex", "what": "store", "description": "behind"})
    assert house(act, known=0).places == {}
    assert "annex" in house(act, known=1).places


def test_a_replaced_key_signs_no_more_and_its_person_and_role_go_on() -> None:
    replaced = house(("key-replaced", {"key": NEW, "replaces": "eve+00000001"}))
    assert replaced.keys == {
        "eve+00000001": Key(KEY, "eve", Role.DIRECTOR, revoked=True),
        "eve+00000002": Key(NEW, "eve", Role.DIRECTOR),
    }
    assert replaced.roles("eve") == {Role.DIRECTOR}


def test_the_registers_own_key_is_replaced() -> None:
    replaced = house(("key-replaced", {"key": NEXT, "replaces": "continuity-register/0+00000009"}))
    assert replaced.register_key == NEXT
    assert set(replaced.keys) == {"eve+00000001"}


def test_a_revoked_key_gives_no_role_and_is_remembered_to_have_given_it() -> None:
    revoked = house(("key-revoked", {"key": "eve+00000001", "reason": "lost"}))
    assert revoked.keys["eve+00000001"] == Key(KEY, "eve", Role.DIRECTOR, revoked=True)
    assert revoked.roles("eve") == frozenset()
    assert revoked.ever_roles("eve") == {Role.DIRECTOR}
    assert revoked.ever_roles("ada") == frozenset()


def test_revoking_what_was_never_enrolled_changes_nothing() -> None:
    assert house(("key-revoked", {"key": "ada+00000001", "reason": "lost"})).keys == house().keys


def test_an_enrolled_key_gives_its_role() -> None:
    enrolled = house(("key-enrolled", {"key": NEW, "person": "ada", "role": "assistant"}))
    assert enrolled.keys["eve+00000002"] == Key(NEW, "ada", Role.ASSISTANT)
    assert enrolled.roles("ada") == {Role.ASSISTANT}


@pytest.fixture
def adopted() -> House:
    firm = policy.from_toml('name = "ours"\n', "firm.toml").model_dump(mode="json")
    other = policy.from_toml('name = "newer"\n', "firm.toml").model_dump(mode="json")
    return house(("policy-adopted", {"policy": firm}), ("policy-adopted", {"policy": other}))


def test_the_latest_policy_is_in_force_and_each_was_in_its_time(adopted: House) -> None:
    assert adopted.policy.name == "newer"
    times = [MORNING + timedelta(seconds=s) for s in (59, 60, 119, 120)]
    assert [adopted.policy_at(t).name for t in times] == ["default", "ours", "ours", "newer"]
    assert house().policy is policy.default()
