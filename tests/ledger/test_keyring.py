"""The keyring: who may change keys, and from which position to which a key is valid."""

from __future__ import annotations

import copy

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.errors import FormatError
from continuity.ledger.chain import check_signatures, read_entry, sign_entry
from continuity.ledger.keyring import KEY_KINDS, REGISTER_CASE, ROLES, Keyring, KeyringError
from continuity.ledger.keys import SigningKey
from continuity.ledger.note import SignatureError


@pytest.fixture(scope="module")
def clara():
    return SigningKey.from_seed("hollow-lane.example/clara", bytes([4]) * 32)


@pytest.fixture(scope="module")
def renewed():
    """A second key of Anna's, under the name of her first."""
    return SigningKey.from_seed("hollow-lane.example/anna", bytes([5]) * 32)


@pytest.fixture(scope="module")
def act(make_entry):
    """Makes an entry of the register's own chain, signed by some keys."""

    def make(kind, signers, **details):
        return make_entry(
            case=REGISTER_CASE,
            kind=kind,
            signers=tuple(key.reference for key in signers),
            details=details,
        )

    return make


@pytest.fixture(scope="module")
def start(act, register_key, anna):
    def make(signers=(register_key, anna), **changes):
        details = {
            "register_key": str(register_key.verify_key),
            "key": str(anna.verify_key),
            "person": "anna",
            "role": "director",
        }
        return act("register-started", signers, **details | changes)

    return make


@pytest.fixture
def ring(start):
    return Keyring.fold([(0, start())])


@pytest.fixture(scope="module")
def enrol(act):
    def make(key, person, role, signers):
        return act("key-enrolled", signers, key=str(key.verify_key), person=person, role=role)

    return make


@pytest.fixture
def with_bruno(ring, enrol, anna, bruno):
    """Bruno, a mortician, was enrolled at position 5."""
    ring.apply(5, enrol(bruno, "bruno", "mortician", [anna, bruno]))
    return ring


def refused(ring, position, entry, words):
    before = copy.deepcopy(ring.enrolments())
    with pytest.raises(KeyringError, match=words):
        ring.apply(position, entry)
    assert ring.enrolments() == before


def test_the_start_enrols_the_register_and_its_director(ring, register_key, anna):
    assert ring.roles(0) == {anna.reference: "director", register_key.reference: "register"}
    assert ring.register_keys() == (register_key.verify_key,)
    assert ring.key(anna.reference, 0) == anna.verify_key
    assert ring.person_of(anna.reference) == "anna"
    assert ring.role_of(register_key.reference) == "register"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"role": "mortician"}, "not enrolled as a director's"),
        ({"role": None}, "does not say role"),
        ({"person": ""}, "does not say person"),
        ({"person": "register"}, "register's own id"),
        ({"key": "anna"}, "no sound key"),
        ({"key": 5}, "does not say key"),
        ({"register_key": ""}, "does not say register_key"),
    ],
)
def test_a_start_that_is_not_sound_is_refused(start, changes, words):
    refused(Keyring(), 0, start(**changes), words)


def test_a_start_is_signed_by_both_keys_and_nobody_else(start, register_key, anna, bruno):
    for signers in ((register_key,), (anna,)):
        refused(Keyring(), 0, start(signers), "not signed by its key and the director's")
    refused(Keyring(), 0, start((register_key, anna, bruno)), "not valid there")


def test_register_and_director_do_not_share_a_key_or_a_name(start, register_key, anna):
    same_name = SigningKey.from_seed(register_key.name, bytes(32))
    same_raw = SigningKey.from_seed("hollow-lane.example/other", bytes([1]) * 32)
    for key in (register_key, same_name, same_raw):
        signers = (register_key, key) if key is not register_key else (register_key,)
        entry = start(signers, key=str(key.verify_key))
        refused(Keyring(), 0, entry, "may not share a key or its name")


def test_the_start_stands_at_position_0_and_once(start, ring, make_entry):
    refused(Keyring(), 1, start(), "has begun already")
    refused(ring, 1, start(), "has begun already")
    refused(Keyring(), 0, make_entry(), "does not begin with its start")
    refused(Keyring(), 0, make_entry(kind="register-started"), "does not begin with its start")


def test_positions_only_grow(with_bruno, make_entry):
    refused(with_bruno, 5, make_entry(), "comes after")
    refused(with_bruno, 4, make_entry(), "comes after")
    with_bruno.apply(6, make_entry())


def test_another_registers_entry_is_refused(ring, make_entry):
    refused(ring, 1, make_entry(register="elsewhere.example"), "another register")


def test_a_key_is_valid_from_its_enrolment_on(with_bruno, bruno):
    assert with_bruno.key(bruno.reference, 4) is None
    assert with_bruno.key(bruno.reference, 5) == bruno.verify_key
    assert with_bruno.key(bruno.reference, 10**9) == bruno.verify_key
    assert with_bruno.key("nobody+00000000", 5) is None
    assert with_bruno.role_of("nobody+00000000") is None
    assert with_bruno.person_of("nobody+00000000") is None
    assert not with_bruno.suspect("nobody+00000000", 5)


@pytest.mark.parametrize("role", sorted(ROLES))
def test_every_role_can_be_enrolled(ring, enrol, anna, bruno, role):
    ring.apply(1, enrol(bruno, "bruno", role, [anna, bruno]))
    assert ring.roles(1)[bruno.reference] == role


def test_enrolment_needs_a_director_and_the_new_key(
    *, with_bruno, enrol, register_key, anna, bruno, clara
):
    def entry(*signers, role="assistant", person="clara"):
        return enrol(clara, person, role, signers)

    refused(with_bruno, 6, entry(anna), "not signed by the new key")
    refused(with_bruno, 6, entry(clara), "without a director's signature")
    refused(with_bruno, 6, entry(bruno, clara), "without a director's signature")
    refused(with_bruno, 6, entry(register_key, clara), "without a director's signature")
    refused(with_bruno, 6, entry(anna, clara, role="owner"), "no role")
    refused(with_bruno, 6, entry(anna, clara, role="register"), "no role")
    refused(with_bruno, 6, entry(anna, clara, person="register"), "register's own id")
    with_bruno.apply(6, entry(anna, clara))


def test_a_director_cannot_enrol_herself_by_the_same_entry(ring, enrol, clara):
    refused(ring, 1, enrol(clara, "clara", "director", [clara]), "without a director's signature")


def test_a_second_director_may_enrol(ring, enrol, anna, bruno, clara):
    ring.apply(1, enrol(bruno, "bruno", "director", [anna, bruno]))
    ring.apply(2, enrol(clara, "clara", "assistant", [bruno, clara]))
    assert ring.roles(2)[clara.reference] == "assistant"


def test_no_key_is_enrolled_twice_and_no_name_for_two(with_bruno, enrol, anna, bruno, renewed):
    refused(with_bruno, 6, enrol(bruno, "bruno", "assistant", [anna, bruno]), "enrolled before")
    other_name = SigningKey.from_seed("hollow-lane.example/other", bytes([3]) * 32)
    refused(with_bruno, 6, enrol(other_name, "dora", "station", [anna, other_name]), "enrolled bef")
    refused(with_bruno, 6, enrol(renewed, "dora", "station", [anna, renewed]), "gives anna's key")
    with_bruno.apply(6, enrol(renewed, "anna", "director", [anna, renewed]))


def test_a_replaced_key_is_valid_up_to_its_replacement(ring, act, anna, renewed):
    ring.apply(
        7,
        act(
            "key-replaced",
            [anna, renewed],
            key=str(renewed.verify_key),
            replaces=anna.reference,
        ),
    )
    assert ring.key(anna.reference, 7) == anna.verify_key
    assert ring.key(anna.reference, 8) is None
    assert ring.key(renewed.reference, 6) is None
    assert ring.key(renewed.reference, 7) == renewed.verify_key
    assert (ring.person_of(renewed.reference), ring.role_of(renewed.reference)) == (
        "anna",
        "director",
    )
    assert not ring.suspect(anna.reference, 7)
    assert ring.enrolment(anna.reference).until == 7


def test_a_replacement_is_signed_by_the_old_key_or_a_director_and_by_the_new(
    *, with_bruno, act, enrol, anna, bruno, clara
):
    fresh = SigningKey.from_seed("hollow-lane.example/bruno", bytes([9]) * 32)

    def entry(*signers, replaces=bruno.reference):
        return act("key-replaced", signers, key=str(fresh.verify_key), replaces=replaces)

    with_bruno.apply(6, enrol(clara, "clara", "assistant", [anna, clara]))
    refused(with_bruno, 7, entry(bruno), "not signed by the new key")
    refused(with_bruno, 7, entry(fresh), "without a director's signature")
    refused(with_bruno, 7, entry(clara, fresh), "without a director's signature")
    refused(with_bruno, 7, entry(anna, fresh, replaces="nobody+00000000"), "not valid")
    for signers in ((bruno, fresh), (anna, fresh)):
        copy.deepcopy(with_bruno).apply(7, entry(*signers))
    with_bruno.apply(7, entry(bruno, fresh))
    refused(with_bruno, 8, entry(anna, fresh), "not valid")


def test_a_new_key_does_not_take_anothers_name(with_bruno, act, anna, bruno, renewed):
    entry = act(
        "key-replaced", [bruno, renewed], key=str(renewed.verify_key), replaces=bruno.reference
    )
    refused(with_bruno, 6, entry, "gives anna's key name to bruno")


def test_the_registers_key_is_replaced(ring, act, register_key, anna, bruno):
    fresh = SigningKey.from_seed(register_key.name, bytes([9]) * 32)

    def entry(*signers):
        return act(
            "key-replaced",
            signers,
            key=str(fresh.verify_key),
            replaces=register_key.reference,
        )

    refused(ring, 1, entry(anna), "not signed by the new key")
    refused(ring, 1, entry(fresh), "without a director's signature")
    for signers in ((register_key, fresh), (anna, fresh)):
        copy.deepcopy(ring).apply(1, entry(*signers))
    ring.apply(1, entry(anna, fresh))
    assert ring.register_keys() == (register_key.verify_key, fresh.verify_key)
    assert ring.role_of(fresh.reference) == "register"
    assert ring.key(register_key.reference, 2) is None


def test_a_revoked_key_signs_no_more(with_bruno, act, make_entry, anna, bruno):
    by_bruno = make_entry(signers=(bruno.reference,))
    with_bruno.apply(6, by_bruno)
    with_bruno.apply(9, act("key-revoked", [anna], key=bruno.reference, reason="left the firm"))
    assert with_bruno.key(bruno.reference, 9) == bruno.verify_key
    assert with_bruno.key(bruno.reference, 10) is None
    assert bruno.reference not in with_bruno.roles(10)
    assert not with_bruno.suspect(bruno.reference, 9)
    refused(with_bruno, 10, by_bruno, "not valid there")
    both = make_entry(signers=(anna.reference, bruno.reference))
    refused(with_bruno, 10, both, "not valid there")


def test_revocation_is_a_directors_and_has_a_reason(with_bruno, act, anna, bruno):
    def entry(*signers, **changes):
        details = {"key": bruno.reference, "reason": "lost"} | changes
        return act("key-revoked", signers, **details)

    refused(with_bruno, 6, entry(bruno), "without a director's signature")
    refused(with_bruno, 6, entry(anna, reason=""), "does not say reason")
    refused(with_bruno, 6, entry(anna, key="nobody+00000000"), "never enrolled")
    with_bruno.apply(6, entry(anna))


def test_a_compromised_key_is_in_doubt_from_a_position_on(with_bruno, act, anna, bruno):
    def entry(since):
        return act(
            "key-revoked",
            [anna],
            key=bruno.reference,
            reason="stolen",
            compromised_since=since,
        )

    for since in (4, 10, -1, "7", True, 7.0):
        refused(with_bruno, 9, entry(since), "doubts a key")
    with_bruno.apply(9, entry(7))
    assert [with_bruno.suspect(bruno.reference, position) for position in range(5, 10)] == [
        False,
        False,
        True,
        True,
        True,
    ]
    with_bruno.apply(12, entry(6))  # found out later: it began earlier
    assert with_bruno.suspect(bruno.reference, 6)
    assert with_bruno.enrolment(bruno.reference).until == 9
    with_bruno.apply(13, entry(8))  # a doubt is not taken back
    assert with_bruno.suspect(bruno.reference, 6)


def test_a_retired_key_can_be_found_compromised_later(ring, act, anna, renewed):
    ring.apply(
        3,
        act("key-replaced", [anna, renewed], key=str(renewed.verify_key), replaces=anna.reference),
    )
    ring.apply(
        8,
        act("key-revoked", [renewed], key=anna.reference, reason="copied", compromised_since=2),
    )
    assert ring.suspect(anna.reference, 2)
    assert ring.enrolment(anna.reference).until == 3
    assert not ring.suspect(renewed.reference, 8)


def test_the_last_director_and_the_registers_key_are_not_revoked(
    *, ring, act, enrol, register_key, anna, bruno
):
    def entry(key, *signers):
        return act("key-revoked", signers, key=key.reference, reason="retired")

    refused(ring, 1, entry(anna, anna), "revokes the last director key")
    refused(ring, 1, entry(register_key, anna), "revokes the last register key")
    ring.apply(1, enrol(bruno, "bruno", "director", [anna, bruno]))
    ring.apply(2, entry(anna, anna))
    refused(ring, 3, entry(bruno, bruno), "revokes the last director key")


@pytest.mark.parametrize("kind", KEY_KINDS)
def test_acts_on_keys_mean_nothing_in_another_case(
    *, ring, make_entry, register_key, anna, bruno, kind
):
    """Tampering: a key enrolled outside the register's own chain."""
    entry = make_entry(
        kind=kind,
        details={
            "register_key": str(bruno.verify_key),
            "key": str(bruno.verify_key),
            "person": "bruno",
            "role": "director",
            "replaces": anna.reference,
            "reason": "none",
        },
    )
    before = ring.enrolments()
    ring.apply(1, entry)
    assert ring.enrolments() == before
    smuggled = make_entry(kind=kind, signers=(bruno.reference,), details=entry.details)
    refused(ring, 2, smuggled, "not valid there")
    assert ring.keys_for(2, smuggled)(bruno.reference) is None


def test_other_kinds_in_the_registers_chain_need_valid_signers_only(ring, act, anna, bruno):
    ring.apply(1, act("policy-set", [anna]))
    refused(ring, 2, act("policy-set", [bruno]), "not valid there")


def test_signatures_are_checked_with_the_key_an_entry_brings(
    *, ring, enrol, make_entry, anna, bruno, clara
):
    entry, note = read_entry(
        sign_entry(enrol(bruno, "bruno", "mortician", [anna, bruno]), [anna, bruno])
    )
    key_of = ring.keys_for(4, entry)
    assert key_of(anna.reference) == anna.verify_key
    assert key_of(bruno.reference) == bruno.verify_key
    assert key_of(clara.reference) is None
    check_signatures(entry, note, key_of)
    plain, note = read_entry(sign_entry(make_entry(signers=(bruno.reference,)), [bruno]))
    with pytest.raises(SignatureError):
        check_signatures(plain, note, ring.keys_for(4, plain))
    ring.apply(4, entry)
    check_signatures(plain, note, ring.keys_for(5, plain))
    check_signatures(
        entry, note.__class__.parse(sign_entry(entry, [anna, bruno])), ring.keys_for(4, entry)
    )


def test_a_key_brought_that_is_not_sound(ring, act, anna):
    entry = act("key-enrolled", [anna], key="nonsense", person="x", role="station")
    with pytest.raises(KeyringError, match="no sound key"):
        ring.keys_for(1, entry)
    assert issubclass(KeyringError, FormatError)


@given(
    enrolled=st.integers(1, 20),
    lived=st.integers(1, 20),
    asked=st.integers(0, 60),
    replaced=st.booleans(),
)
def test_validity_is_by_position_alone(
    *, start, enrol, act, anna, bruno, enrolled, lived, asked, replaced
):
    """Whatever clocks say: from the entry that enrols a key to the entry that ends it."""
    fresh = SigningKey.from_seed("hollow-lane.example/bruno", bytes([9]) * 32)
    ended = enrolled + lived
    end = (
        act("key-replaced", [anna, fresh], key=str(fresh.verify_key), replaces=bruno.reference)
        if replaced
        else act("key-revoked", [anna], key=bruno.reference, reason="left")
    )
    ring = Keyring.fold(
        [(0, start()), (enrolled, enrol(bruno, "bruno", "mortician", [anna, bruno])), (ended, end)]
    )
    assert (ring.key(bruno.reference, asked) is not None) == (enrolled <= asked <= ended)
    assert (ring.key(fresh.reference, asked) is not None) == (replaced and asked >= ended)
    assert ring.key(anna.reference, asked) == anna.verify_key
