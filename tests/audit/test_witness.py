"""A witness cosigns what continues the last it cosigned, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented import (
    PINNED,
    REGISTER,
    REGISTER_KEY,
    START,
    WITNESS,
    Copy,
    key,
    make,
    opened,
    signed_tree,
    size_of,
)

from continuity.audit.anchors import attach_cosignatures
from continuity.audit.witness import Request, Witness, ask
from continuity.errors import BehindGuardError, FormatError, InputError
from continuity.ledger import checkpoint, merkle
from continuity.ledger.checkpoint import Checkpoint, cosigner_key
from continuity.ledger.merkle import ProofError
from continuity.ledger.note import SignatureError
from continuity.store.sqlite import SqliteStore

NOW = START + timedelta(hours=5)
PIN = REGISTER_KEY.verify_key


@pytest.fixture
def witness(tmp_path):
    (tmp_path / "witness").mkdir()
    return Witness(WITNESS, tmp_path / "witness")


def asked(copy: Copy, old: int) -> Request:
    with SqliteStore.open(copy.path) as store:
        return Request.parse(ask(store, old).encode())


def test_from_file_to_file_the_register_gets_its_witness(copy, witness, original):
    assert witness.last_seen(REGISTER) == 0
    cosigned = witness.cosign(asked(copy, 0), PIN, NOW)
    assert witness.last_seen(REGISTER) == size_of(original.second)
    keys = (cosigner_key(WITNESS.verify_key),)
    with SqliteStore.open(copy.path) as store:
        attach_cosignatures(store, cosigned, keys)
    report = copy.verify(replace(PINNED, witnesses=keys, quorum=1))
    assert report.findings == ()
    assert (report.anchors[0].at, report.anchors[0].by) == (NOW, WITNESS.name)


def test_it_follows_the_register_as_it_grows(copy, witness, original):
    witness.cosign(asked(copy, 0), PIN, NOW)
    register = opened(copy.path)
    register.checkpoint(REGISTER_KEY)
    register.store.close()
    grown = asked(copy, size_of(original.second))
    assert grown.proof
    witness.cosign(grown, PIN, NOW)
    assert witness.last_seen(REGISTER) == original.size
    witness.cosign(asked(copy, original.size), PIN, NOW)  # the same again, at a later time


def test_it_never_cosigns_a_register_that_was_rewritten(
    copy, witness, original, tmp_path, monkeypatch
):
    witness.cosign(asked(copy, 0), PIN, NOW)
    (tmp_path / "other").mkdir()
    monkeypatch.setattr("invented.START", START + timedelta(hours=1))
    other = Copy(make(tmp_path / "other", monkeypatch).path)
    same_size = asked(other, size_of(original.second))
    with pytest.raises(ProofError, match="one of them was rewritten"):
        witness.cosign(same_size, PIN, NOW)
    note = signed_tree(other.notes())
    with SqliteStore.open(other.path) as store, store.writing() as pen:
        found = checkpoint.open(note, PIN)
        pen.put_checkpoint(found.size, found.root, note)
    with pytest.raises(ProofError, match="does not begin"):
        witness.cosign(asked(other, size_of(original.second)), PIN, NOW)
    assert witness.last_seen(REGISTER) == size_of(original.second)


def test_it_never_goes_back(copy, witness, original, tmp_path):
    witness.cosign(asked(copy, 0), PIN, NOW)
    older = original.copy(tmp_path, original.backup)
    with pytest.raises(InputError, match="36 was cosigned last; ask from there"):
        witness.cosign(asked(older, 0), PIN, NOW)
    with pytest.raises(InputError, match="no checkpoint of size 36 or more"):
        asked(older, 36)
    with pytest.raises(ProofError):
        witness.cosign(replace(asked(older, 0), old=36), PIN, NOW)


def test_it_cosigns_only_what_the_registers_own_key_signed(copy, witness):
    with pytest.raises(SignatureError):
        witness.cosign(asked(copy, 0), key(REGISTER, 66).verify_key, NOW)
    other = checkpoint.sign(Checkpoint("other", 3, bytes(32)), REGISTER_KEY).encode()
    with pytest.raises(InputError, match="is of other"):
        witness.cosign(Request(0, (), other), PIN, NOW)


def test_of_two_requests_at_once_one_is_cosigned(copy, witness, monkeypatch):
    """The other finds that the witness has moved on, before it signs anything."""
    request, rival = asked(copy, 0), signed_tree(copy.notes())
    kept = witness._kept(REGISTER)
    monkeypatch.setattr(merkle, "verify_consistency", lambda *_: kept.advance(None, rival))
    with pytest.raises(BehindGuardError, match="moved on"):
        witness.cosign(request, PIN, NOW)
    assert kept.read() == rival


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"old 0", b"old 00"),
        (b"old 0", b"old -1"),
        (b"old 0", b"old \xd9\xa1"),
        (b"old 0", b"old"),
        (b"old 0", b"new 0"),
        (b"old 0", b"old 0\nAAAA"),
        (b"old 0", b"old 0\nnot base64"),
        (b"old 0", b"old 0" + b"\n" + b"\n".join([b"A" * 43 + b"="] * 64)),
        (b"\n\n", b"\n"),
        (REGISTER.encode(), b""),
    ],
)
def test_a_request_that_is_none_is_refused(copy, old, new):
    data = asked(copy, 0).encode()
    with pytest.raises(FormatError):
        Request.parse(data.replace(old, new, 1))


@given(st.binary(max_size=300))
def test_no_request_makes_it_crash(data):
    with pytest.raises(FormatError):
        Request.parse(data)
