"""Cosignatures and time stamps: who outside has seen the register, and until when that shows.

The time-stamping authority is a local one: `openssl ts`, with certificates made for the test.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest
from cryptography.hazmat.primitives.serialization import Encoding
from invented import OTHER_WITNESS, PINNED, REGISTER_KEY, START, WITNESS, size_of
from stamping import Authority, needs_openssl

from continuity.audit import anchors
from continuity.audit.anchors import (
    TIME_STAMP,
    TimeStampError,
    attach_cosignatures,
    attach_time_stamp,
    read_certificates,
    request_time_stamp,
)
from continuity.audit.trust import Held, Trust
from continuity.audit.verify import verify
from continuity.errors import FormatError, InputError
from continuity.ledger import checkpoint
from continuity.ledger.checkpoint import Checkpoint, cosigner_key
from continuity.ledger.note import Note, SignatureError
from continuity.store.sqlite import SqliteStore

KEYS = tuple(cosigner_key(one.verify_key) for one in (WITNESS, OTHER_WITNESS))
SEEN_AT = START + timedelta(hours=4)


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    return Authority(tmp_path_factory.mktemp("ts") / "authority")


@pytest.fixture
def store(copy):
    with SqliteStore.open(copy.path) as opened:
        yield opened


def cosigned(note: bytes, *witnesses) -> bytes:
    found = Note.parse(note)
    for witness in witnesses:
        found = checkpoint.cosign(found, witness, int(SEEN_AT.timestamp()))
    return found.encode()


@needs_openssl
def test_a_time_stamp_anchors_a_checkpoint_until_its_certificate_ends(
    copy, store, original, authority
):
    response = authority.stamp(request_time_stamp(original.second))
    size = size_of(original.second)
    anchor = attach_time_stamp(store, response, [authority.root])
    assert (anchor.size, anchor.how, anchor.by) == (size, "time-stamp", "CN=invented-authority")
    assert abs(anchor.at - datetime.now(UTC)) < timedelta(minutes=5)
    assert timedelta(days=363) < anchor.until - anchor.at < timedelta(days=366)
    report = copy.verify(Trust(REGISTER_KEY.verify_key, authorities=(authority.root,)))
    assert report.sound
    assert report.anchors == (anchor,)
    assert f"by CN=invented-authority (time-stamp), checkable until {anchor.until:%Y-%m-%d}" in (
        report.words
    )


@needs_openssl
def test_a_time_stamp_whose_certificate_ran_out_is_told(copy, store, original, authority):
    response = authority.stamp(request_time_stamp(original.second))
    anchor = attach_time_stamp(store, response, [authority.root])
    trust = Trust(REGISTER_KEY.verify_key, authorities=(authority.root,))
    for seconds, ended in ((0, False), (1, True)):
        for case in (None, "2031-0001"):
            now = anchor.until + timedelta(seconds=seconds)
            report = verify(store, trust, case=case, now=now)
            assert report.sound
            assert ("anchor-ended" in report.codes) is ended


@needs_openssl
def test_a_time_stamp_without_its_authority_is_told_and_does_not_count(
    copy, store, original, authority
):
    response = authority.stamp(request_time_stamp(original.second))
    attach_time_stamp(store, response, [authority.root])
    report = copy.verify(PINNED)
    assert report.codes == ("anchor-unusable",)
    assert report.anchors == ()
    assert report.sound


@needs_openssl
def test_a_time_stamp_of_something_else_is_refused(store, original, authority):
    other = checkpoint.sign(Checkpoint("other", 36, bytes(32)), REGISTER_KEY).encode()
    for response in (authority.stamp(request_time_stamp(other)), b"no time stamp at all"):
        with pytest.raises(TimeStampError):
            attach_time_stamp(store, response, [authority.root])
    assert store.cosignatures(size_of(original.second)) == []


@needs_openssl
def test_a_time_stamp_finds_the_checkpoint_it_is_of(store, original, authority):
    response = authority.stamp(request_time_stamp(original.first))
    assert attach_time_stamp(store, response, [authority.root]).size == size_of(original.first)
    assert store.cosignatures(size_of(original.second)) == []


@needs_openssl
def test_a_time_stamp_of_another_authority_is_refused(store, original, authority, tmp_path):
    other = Authority(tmp_path / "other")
    response = other.stamp(request_time_stamp(original.second))
    with pytest.raises(TimeStampError, match="does not hold"):
        attach_time_stamp(store, response, [authority.root])


@needs_openssl
@pytest.mark.parametrize("extensions", ["lax", "none"])
def test_an_authority_must_be_for_time_stamping_alone(tmp_path, extensions):
    """`openssl ts` would not even stamp with such a certificate, so it is judged by itself."""
    wrong = Authority(tmp_path / "wrong", extensions)
    (certificate,) = read_certificates((wrong.folder / "tsa.pem").read_bytes())
    signer = SimpleNamespace(issuer=certificate.issuer, serial_number=certificate.serial_number)
    data = certificate.public_bytes(Encoding.DER)
    signed = SimpleNamespace(signer_infos=[signer], certificates=[data])
    with pytest.raises(TimeStampError, match="not for time-stamping"):
        anchors._signing_certificate(SimpleNamespace(signed_data=signed))


@needs_openssl
def test_a_time_stamp_damaged_anywhere_never_counts(copy, store, original, authority):
    response = authority.stamp(request_time_stamp(original.second))
    size = size_of(original.second)
    note = Note.parse(original.second)
    for at in range(0, len(response), 23):
        spoiled = response[:at] + bytes([response[at] ^ 0x10]) + response[at + 1 :]
        try:
            anchor = attach_time_stamp(store, spoiled, [authority.root])
        except TimeStampError:
            continue
        # A few bits are in nobody's signature: they must change nothing that is said.
        assert anchor == attach_time_stamp(store, response, [authority.root]), at
    assert note.text
    with store.writing() as pen:
        pen.put_cosignature(size, TIME_STAMP, b"no time stamp at all")
    trust = Trust(REGISTER_KEY.verify_key, authorities=(authority.root,))
    assert "time-stamp-wrong" in copy.verify(trust).codes


def test_certificates_that_are_none_are_refused():
    for data in (b"", b"nonsense", b"-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----"):
        with pytest.raises(FormatError, match="neither PEM nor DER"):
            read_certificates(data)


def test_a_cosignature_from_a_file_is_kept_and_counts(copy, store, original):
    (anchor,) = attach_cosignatures(store, cosigned(original.second, WITNESS), KEYS)
    assert (anchor.by, anchor.at) == ("coroner-office.example", SEEN_AT)
    report = copy.verify(replace(PINNED, witnesses=KEYS))
    assert report.anchors == (anchor,)
    assert report.unanchored == 5
    assert copy.verify(PINNED).anchors == ()


def test_a_held_checkpoint_may_bring_its_cosignatures_along(copy, original):
    held = Held(cosigned(original.second, WITNESS), "the coroner")
    report = copy.verify(replace(PINNED, witnesses=KEYS, held=(held,)))
    assert {one.how for one in report.anchors} == {"held-checkpoint", "cosignature"}


def test_a_cosignature_of_another_checkpoint_is_refused(store, original):
    forged = cosigned(original.first, WITNESS).replace(b"\n14\n", b"\n15\n")
    with pytest.raises(InputError, match="keeps no such checkpoint"):
        attach_cosignatures(store, forged, KEYS)
    line = Note.parse(cosigned(original.first, WITNESS)).signatures[-1]
    second = Note.parse(original.second)
    moved = Note(second.text, (*second.signatures, line)).encode()
    with pytest.raises(SignatureError, match="does not fit"):
        attach_cosignatures(store, moved, KEYS)


def test_only_known_witnesses_count(store, original):
    with pytest.raises(InputError, match="None of the witnesses"):
        attach_cosignatures(store, original.second, KEYS)
    with pytest.raises(InputError, match="None of the witnesses"):
        attach_cosignatures(store, cosigned(original.second, WITNESS), KEYS[1:])


def test_a_cosignature_altered_where_it_is_kept_is_told(copy, store, original):
    attach_cosignatures(store, cosigned(original.second, WITNESS), KEYS)
    for sql in (
        "UPDATE cosignature SET blob = CAST(replace(CAST(blob AS TEXT), 'A', 'B') AS BLOB)",
        "UPDATE cosignature SET blob = x'00'",
    ):
        copy.sql(sql)
        report = copy.verify(replace(PINNED, witnesses=KEYS))
        assert report.codes == ("cosignature-wrong",)
        assert not report.sound
    copy.sql("UPDATE cosignature SET kind = 'horoscope'")
    assert copy.verify(replace(PINNED, witnesses=KEYS)).codes == ("anchor-unusable",)


POLICY = """
# what the auditor trusts
log {log}

witness coroner {one}
witness branch {two} https://witness.invalid/
group enough any coroner branch
quorum enough
"""


def policy(text: str = POLICY) -> str:
    return text.format(log=REGISTER_KEY.verify_key, one=KEYS[0], two=KEYS[1])


def test_what_is_trusted_can_stand_in_a_policy_text(copy, store, original):
    trust = Trust.from_policy(policy())
    assert (trust.register_key, trust.witnesses) == (REGISTER_KEY.verify_key, KEYS)
    assert trust.quorum == 1
    assert copy.verify(trust).codes == ("quorum-missing",)
    attach_cosignatures(store, cosigned(original.second, OTHER_WITNESS), KEYS)
    assert copy.verify(trust).findings == ()
    assert Trust.from_policy(policy().replace("any", "all")).quorum == 2
    assert Trust.from_policy(policy().replace("quorum enough", "quorum coroner")).witnesses == (
        KEYS[0],
    )
    assert Trust.from_policy(policy().replace("quorum enough", "quorum none")).quorum == 0


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("quorum enough", ""),
        ("quorum enough", "quorum others"),
        ("quorum enough", "quorum enough\nquorum none"),
        ("any", "3"),
        ("any", "0"),
        ("any", "some"),
        ("any coroner branch", "any coroner coroner"),
        ("any coroner branch", "any coroner elsewhere"),
        ("log ", "log nonsense\nlog "),
        ("log ", "ledger "),
        ("witness branch", "witness coroner"),
        ("# what", "unknown line"),
        ("+", "-"),
    ],
)
def test_a_policy_that_is_not_understood_to_the_last_line_is_refused(old, new):
    assert old in policy()
    with pytest.raises(FormatError):
        Trust.from_policy(policy().replace(old, new))
