"""What others said about a checkpoint: cosignatures of witnesses, and time stamps.

Cosignatures are those of C2SP tlog-cosignature v1.0.1 (Ed25519), time stamps those of RFC 3161.
Both cover the checkpoint's text. They come as files; no server of theirs or ours is needed.
"""

from __future__ import annotations

from datetime import UTC, datetime
from hashlib import sha256, sha384, sha512
from typing import TYPE_CHECKING

from continuity.audit.report import Anchor, Finding
from continuity.errors import FormatError, InputError
from continuity.ledger.checkpoint import MAX_SIZE, Checkpoint
from continuity.ledger.note import Note, SignatureError, SignatureLine

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from cryptography.x509 import Certificate
    from rfc3161_client import TimeStampResponse

    from continuity.audit.trust import Trust
    from continuity.ledger.checkpoint import CosignerKey
    from continuity.store.protocol import Cosignature, Store

COSIGNATURE = "cosignature"
"""The kind under which a witness's signature line is kept."""

TIME_STAMP = "rfc3161"
"""The kind under which a time-stamping authority's response is kept, DER."""

MAX_TOKEN_BYTES = 65_535
MAX_KEPT = 100
"""Most words of others read for one checkpoint."""


class TimeStampError(FormatError):
    """A time stamp is not of this checkpoint, or not of an authority that is trusted."""


def attach_cosignatures(store: Store, data: bytes, keys: Sequence[CosignerKey]) -> list[Anchor]:
    """Keep the cosignatures that a witness put under one of the register's checkpoints.

    Args:
        store: The register.
        data: The checkpoint's note as the witness gave it back.
        keys: The witnesses' keys; what others signed is passed over.

    Raises:
        InputError: The register keeps no such checkpoint, or no known witness signed it.
        SignatureError: A known witness's cosignature does not fit.
    """
    note = Note.parse(data)
    checkpoint = _must_be_kept(store, note)
    lines = [line for line in note.signatures if _key_of(line, keys)]
    if not lines:
        raise InputError("None of the witnesses given has cosigned this checkpoint.")
    found = [_cosigned(note, checkpoint.size, line, keys) for line in lines]
    with store.writing() as pen:
        for line in lines:
            alone = Note(note.text, (line,)).encode()[len(note.text) + 1 :]
            pen.put_cosignature(checkpoint.size, COSIGNATURE, alone)
    return found


def request_time_stamp(data: bytes) -> bytes:
    """Make the request (DER) for a time stamp of a checkpoint's note; any authority takes it.

    Raises:
        FormatError: The note is not a checkpoint.
    """
    from rfc3161_client import TimestampRequestBuilder  # noqa: PLC0415 - wanted once in a while

    note = Note.parse(data)
    Checkpoint.parse(note.text)
    request: bytes = TimestampRequestBuilder().data(note.text).build().as_bytes()
    return request


def attach_time_stamp(store: Store, response: bytes, authorities: Sequence[bytes]) -> Anchor:
    """Keep an authority's time stamp beside the checkpoint that it covers.

    Raises:
        TimeStampError: The response is none, of none of the authorities, or of no checkpoint that
            the register keeps.
    """
    covered = _decode(response).tst_info.message_imprint.message
    for row in store.checkpoints():
        note = Note.parse(row.note)
        if covered in {digest(note.text).digest() for digest in (sha256, sha384, sha512)}:
            anchor = read_time_stamp(note, row.size, response, authorities)
            with store.writing() as pen:
                pen.put_cosignature(row.size, TIME_STAMP, response)
            return anchor
    raise TimeStampError("This register keeps no checkpoint that the time stamp is of.")


def read_time_stamp(note: Note, size: int, response: bytes, authorities: Sequence[bytes]) -> Anchor:
    """Check a time stamp of a checkpoint, as RFC 3161 section 2.2 asks, at the time it states.

    The authority's certificate must be for time-stamping and nothing else (section 2.3).

    Args:
        note: The checkpoint.
        size: Its size.
        response: The authority's answer, DER.
        authorities: Root certificates, PEM or DER.

    Raises:
        TimeStampError: It is not one.
    """
    import rfc3161_client  # noqa: PLC0415 - loads slowly, and few checkpoints have a time stamp

    answer = _decode(response)
    roots = [root for data in authorities for root in read_certificates(data)]
    try:
        leaf = _signing_certificate(answer)
        builder = rfc3161_client.VerifierBuilder(roots=roots, intermediates=[])
        builder.build().verify_message(answer, note.text)
        at = answer.tst_info.gen_time.astimezone(UTC)
        until = leaf.not_valid_after_utc
    except (rfc3161_client.VerificationError, ValueError, TypeError, KeyError) as error:
        raise TimeStampError(f"The time stamp of size {size} does not hold: {error}.") from None
    return Anchor(size, "time-stamp", leaf.subject.rfc4514_string(), at, until)


def read_certificates(data: bytes) -> list[Certificate]:
    """Read an authority's certificates, PEM or DER.

    Raises:
        FormatError: They are none.
    """
    from cryptography import x509  # noqa: PLC0415 - wanted where there is a time stamp

    try:
        if b"-----BEGIN" in data:
            return x509.load_pem_x509_certificates(data)
        return [x509.load_der_x509_certificate(data)]
    except ValueError:
        raise FormatError("The authority's certificate is neither PEM nor DER.") from None


def judge(
    note: Note, size: int, kept: Iterable[Cosignature], trust: Trust
) -> Iterator[Finding | Anchor]:
    """Judge all that was said about one sound checkpoint.

    Args:
        note: The checkpoint, whose own lines may hold cosignatures too.
        size: Its size.
        kept: What the register keeps beside it.
        trust: Whose word counts.
    """
    lines = list(note.signatures)
    for row in list(kept)[:MAX_KEPT]:
        if row.kind == COSIGNATURE:
            try:
                lines += Note.parse(note.text + b"\n" + row.blob).signatures
            except (FormatError, TypeError):
                yield Finding("cosignature-wrong", f"A cosignature kept of size {size} is none.")
        elif row.kind == TIME_STAMP:
            yield _judge_time_stamp(note, size, row.blob, trust)
        else:
            sentence = f"Of size {size} something is kept that is unknown here: {row.kind!r:.40}."
            yield Finding("anchor-unusable", sentence)
    for line in dict.fromkeys(lines):
        if _key_of(line, trust.witnesses):
            try:
                yield _cosigned(note, size, line, trust.witnesses)
            except SignatureError as error:
                yield Finding("cosignature-wrong", str(error))


def _judge_time_stamp(note: Note, size: int, blob: bytes, trust: Trust) -> Finding | Anchor:
    if not trust.authorities:
        sentence = f"Size {size} has a time stamp, and no authority was given to check it by."
        return Finding("anchor-unusable", sentence)
    try:
        return read_time_stamp(note, size, blob, trust.authorities)
    except FormatError as error:
        return Finding("time-stamp-wrong", str(error))


def _decode(response: bytes) -> TimeStampResponse:
    import rfc3161_client  # noqa: PLC0415 - loads slowly, and few checkpoints have a time stamp

    if len(response) > MAX_TOKEN_BYTES:
        raise TimeStampError(f"The time stamp is longer than {MAX_TOKEN_BYTES} bytes.")
    try:
        answer = rfc3161_client.decode_timestamp_response(response)
        answer.tst_info  # noqa: B018 - an answer that grants nothing has none
    except (ValueError, TypeError) as error:
        raise TimeStampError(f"The time stamp cannot be read: {error}.") from None
    return answer


def _signing_certificate(answer: TimeStampResponse) -> Certificate:
    from cryptography import x509  # noqa: PLC0415 - wanted where there is a time stamp
    from cryptography.x509.oid import ExtendedKeyUsageOID  # noqa: PLC0415

    (signer,) = answer.signed_data.signer_infos
    for data in answer.signed_data.certificates:
        found = x509.load_der_x509_certificate(data)
        if (found.issuer, found.serial_number) == (signer.issuer, signer.serial_number):
            break
    else:
        raise TimeStampError("The time stamp does not bring its authority's certificate.")
    try:
        usage = found.extensions.get_extension_for_class(x509.ExtendedKeyUsage)
    except x509.ExtensionNotFound:
        raise TimeStampError("The authority's certificate is not for time-stamping.") from None
    if not usage.critical or list(usage.value) != [ExtendedKeyUsageOID.TIME_STAMPING]:
        raise TimeStampError("The authority's certificate is not for time-stamping alone.")
    return found


def _must_be_kept(store: Store, note: Note) -> Checkpoint:
    checkpoint = Checkpoint.parse(note.text)
    for row in store.checkpoints():
        if row.size == checkpoint.size and Note.parse(row.note).text == note.text:
            return checkpoint
    raise InputError(f"This register keeps no such checkpoint of size {checkpoint.size}.")


def _key_of(line: SignatureLine, keys: Sequence[CosignerKey]) -> CosignerKey | None:
    return next((k for k in keys if (k.name, k.key_id) == (line.name, line.key_id)), None)


def _cosigned(note: Note, size: int, line: SignatureLine, keys: Sequence[CosignerKey]) -> Anchor:
    key = _key_of(line, keys)
    seconds = key.time_of(note.text, line.blob) if key else None
    if seconds is None:
        raise SignatureError(f"The cosignature of {line.reference} of size {size} does not fit.")
    try:
        at = datetime.fromtimestamp(min(seconds, MAX_SIZE), UTC)
    except (OverflowError, ValueError, OSError):
        sentence = f"The cosignature of {line.reference} gives a time that never comes."
        raise SignatureError(sentence) from None
    return Anchor(size, "cosignature", line.name, at)
