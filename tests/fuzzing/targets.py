"""Everything that reads what somebody else wrote, each as a function of bytes.

A target returns, whatever it is given, and may refuse by this project's errors alone. What it took
must be what it was given: where there is one spelling, it is written again and compared.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import sys
import tempfile
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from continuity.audit import anchors
from continuity.audit.dossier import reading
from continuity.audit.receiptcheck import verify_receipt
from continuity.audit.receipts import read_receipt
from continuity.audit.trust import Trust
from continuity.audit.witness import Request
from continuity.care import policy
from continuity.care.intent import read_intent, read_line
from continuity.care.times import parse_time, write_time
from continuity.errors import ContinuityError
from continuity.ledger import canonical, disclosure
from continuity.ledger.chain import read_entry
from continuity.ledger.checkpoint import Checkpoint, CosignerKey, format_proof, parse_proof
from continuity.ledger.keys import SigningKey, VerifyKey, load_private
from continuity.ledger.note import Note
from continuity_cli.main import run
from continuity_cli.plain import harmless
from continuity_cli.station.desk import Desk
from continuity_labels.code import CodeBook, read_any
from continuity_labels.errors import LabelError
from continuity_labels.stocks import load_stocks
from tests.fuzzing import acts, samples

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from continuity.care.house import House
    from continuity.register import Register

FRESH_EVERY = 200  # inputs, for targets that fill a register


def intent_line(data: bytes) -> None:
    intent = read_line(data)
    fields = {"kind": intent.act.kind, **intent.act.details()}
    again = read_intent({**fields, "case": intent.case, "found": intent.found})
    assert again.act == intent.act


def canonical_json(data: bytes) -> None:
    with contextlib.suppress(ContinuityError):
        canonical.parse(data)
    assert canonical.encode(canonical.decode(data)) == data


def note(data: bytes) -> None:
    assert Note.parse(data).encode() == data


def entry(data: bytes) -> None:
    found, signed = read_entry(data)
    assert signed.text == found.text()


def checkpoint(data: bytes) -> None:
    with contextlib.suppress(ContinuityError):
        assert Checkpoint.parse(data).text() == data
    Checkpoint.parse(Note.parse(data).text)


def proof(data: bytes) -> None:
    found = parse_proof(data)
    assert format_proof(found.index, found.hashes, found.checkpoint, found.extra) == data


def key_text(data: bytes) -> None:
    text = data.decode("utf-8", "replace")
    for kind in (VerifyKey, CosignerKey):
        with contextlib.suppress(ContinuityError):
            assert str(kind.parse(text)) == text
    SigningKey.parse(text)


def key_file(data: bytes) -> None:
    file = scratch("a.key")
    file.write_bytes(data)
    file.chmod(0o600)
    with contextlib.suppress(ContinuityError):
        load_private(file, None)
    load_private(file, b"invented")


def disclosed(data: bytes) -> None:
    text = data.decode("utf-8", "replace")
    disclosure.read(text)
    disclosure.digest_of(text)


def receipt(data: bytes) -> None:
    verify_receipt(read_receipt(data), register().store)


def witness_request(data: bytes) -> None:
    request = Request.parse(data)
    assert request.encode() == data


def dossier(data: bytes) -> None:
    report = reading.verify(data)
    json.dumps(report.as_json())


def time(data: bytes) -> None:
    try:
        moment = parse_time(data.decode("utf-8", "replace"))
    except ValueError:
        return
    assert parse_time(write_time(moment)) == moment


def trust_policy(data: bytes) -> None:
    Trust.from_policy(data.decode("utf-8", "replace"))


def time_stamp(data: bytes) -> None:
    with contextlib.suppress(ContinuityError):
        anchors.read_certificates(data)
    anchors.read_time_stamp(Note.parse(samples.checkpoints()[0]), 1, data, [])


def label_code(data: bytes) -> None:
    text = data.decode("utf-8", "replace")
    code = read_any(text)
    assert read_any(code.text) == code
    assert read_any(code.grouped) == code
    CodeBook(samples.REGISTER).parse(text)


def policy_file(data: bytes) -> None:
    found = policy.from_toml(data.decode("utf-8", "replace"), "policy.toml")
    for name in policy.default().thresholds:
        found.threshold(name)
    for kind in ("any", "sighted", "no-such-kind"):
        found.act(kind)
    found.span("ahead-of-clock")
    assert policy.Policy.model_validate(found.model_dump(mode="json")) == found


def stock_file(data: bytes) -> None:
    file = scratch("stocks.toml")
    file.write_bytes(data)
    load_stocks(file)


def shown(data: bytes) -> None:
    text = data.decode("utf-8", "surrogateescape")
    assert harmless(text).replace("\u200c", "").replace("\u200d", "").isprintable()


def recording(data: bytes) -> None:
    """Whatever an act says, it is recorded or refused, and the case can be told after it."""
    used().register.record(read_intent(acts.an_act(data)), samples.BY)
    for case in samples.CASES:
        _state.kept.register.closing_check(case)


def scans(data: bytes) -> None:
    """A stream of scans, one a line; every label of the firm is one letter."""
    desk = station()
    for text in data.decode("utf-8", "replace").split("\n")[:40]:
        desk.scan(_state.codes.get(text, text))
        desk.tick()


def arguments(data: bytes) -> None:
    """The words of `record`, divided by zero bytes."""
    words = data.decode("utf-8", "surrogateescape").split("\0")[:30]
    out, err = _streams()
    for stream in (out, err):
        stream.seek(0)
        stream.truncate()
    kept = used().register
    with (
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        _instead(kept),
    ):
        status = run(["record", *words, "--as", "m1", "--keys", str(keys())])
    assert status in (0, 2, 3, 4), (status, err.getvalue())
    assert status == 0 or err.getvalue().count("\n") == 1 or "Usage" in err.getvalue()


@dataclass
class _State:
    """What the targets that fill a register share."""

    inputs: int = 0
    kept: samples.Kept = field(default_factory=samples.started)
    desk: Desk | None = None
    codes: dict[str, str] = field(default_factory=dict)


_state = _State()


def used() -> samples.Kept:
    """A register that is made afresh now and then."""
    _state.inputs += 1
    if _state.inputs % FRESH_EVERY == 0:
        _state.kept, _state.desk = samples.started(), None
    return _state.kept


def station() -> Desk:
    kept = used()
    if _state.desk is None:
        from continuity_cli.labelling import codes  # noqa: PLC0415 - one target needs it
        from continuity_labels.actions import Action, action_code  # noqa: PLC0415

        book = CodeBook(kept.register.id)
        house: House = kept.register.house()
        texts = [action_code(book, action).text for action in Action]
        texts += [codes.place_code(book, place).text for place in house.places]
        texts += [codes.holder_code(book, holder).text for holder in house.holders]
        texts += [codes.badge_code(book, k.person, ref).text for ref, k in house.keys.items()]
        texts += [f"{case}.{n}" for case in samples.CASES for n in range(1, 7)]
        _state.codes = {chr(ord("!") + n): text for n, text in enumerate(texts)}
        _state.desk = Desk(kept.register, keys(), seconds=_Seconds())
    return _state.desk


class _Seconds:
    def __init__(self) -> None:
        self._now = 0.0

    def __call__(self) -> float:
        self._now += 0.7
        return self._now


@contextlib.contextmanager
def _instead(register: Register):
    """Let the command line open this register, whatever path it is given."""

    @contextlib.contextmanager
    def opened(_files):
        yield register

    from continuity_cli.commands import record  # noqa: PLC0415 - the name it has imported

    before, record.opened = record.opened, opened
    try:
        yield
    finally:
        record.opened = before


@cache
def _streams() -> tuple[io.StringIO, io.StringIO]:
    """Always the same two: click keeps every stream that it has once written to."""
    return io.StringIO(), io.StringIO()


@cache
def register() -> Register:
    return samples._published()[0]


@cache
def keys() -> Path:
    from continuity.ledger.keys import save_private  # noqa: PLC0415

    folder = scratch("keys")
    folder.mkdir()
    for signatory in samples.BY:
        save_private(signatory.key, folder / f"{signatory.person}.key", None)
    return folder


@cache
def _scratch() -> tempfile.TemporaryDirectory[str]:
    memory = Path("/dev/shm")
    return tempfile.TemporaryDirectory(dir=memory if os.access(memory, os.W_OK) else None)


def scratch(name: str) -> Path:
    """A path in a folder of this process's own."""
    return Path(_scratch().name, name)


def _toml(name: str) -> bytes:
    from importlib import resources  # noqa: PLC0415

    package, _, file = name.rpartition("/")
    return resources.files(package).joinpath(file).read_bytes()


def _words() -> list[bytes]:
    lines = [json.loads(line) for line in samples.lines()]
    plain = [
        [line["kind"], *(w for k, v in line.items() if isinstance(v, str) for w in (f"--{k}", v))]
        for line in lines
    ]
    return ["\0".join(words[:1] + words[3:]).encode() for words in plain]


derived = CodeBook(samples.REGISTER).derived("an invented word")


@dataclass(frozen=True)
class Target:
    """One reader: what it is given sound, and how long it may take for one input."""

    read: Callable[[bytes], None]
    sound: Callable[[], Sequence[bytes]]
    longest: int = 4096  # bytes of an input
    seconds: float = 2.0


TARGETS = {
    target.read.__name__: target
    for target in (
        Target(intent_line, samples.lines),
        Target(canonical_json, lambda: [*samples.lines(), b'{"a":[1,{"b":null}]}']),
        Target(note, samples.entries),
        Target(entry, samples.entries),
        Target(checkpoint, samples.checkpoints),
        Target(proof, samples.proofs),
        Target(key_text, samples.key_texts, 512),
        Target(key_file, samples.key_files),
        Target(disclosed, samples.disclosures),
        Target(receipt, samples.receipts),
        Target(witness_request, samples.cosigning),
        Target(dossier, samples.dossiers, 400_000, 10.0),
        Target(time, lambda: [b"2026-03-01T14:05:00+01:00", b"2026-03-01T13:05:00.000Z"], 64),
        Target(
            trust_policy,
            lambda: [
                b"log "
                + samples.key_texts()[0]
                + b"\nwitness w "
                + samples.key_texts()[1]
                + b"\ngroup g 1 w\nquorum g\n"
            ],
        ),
        Target(time_stamp, lambda: [bytes.fromhex("30030a0100")], 1024),
        Target(
            label_code,
            lambda: [f(derived).encode() for f in (str, lambda code: code.text.lower())],
            64,
        ),
        Target(policy_file, lambda: [_toml("continuity.care/policy.toml")], 32_768),
        Target(
            stock_file,
            lambda: [_toml("continuity_labels/stocks.toml").replace(b'name = "', b'name = "own-')],
            8192,
        ),
        Target(shown, lambda: ["\u202ea\x1b[2J\n\u200c\U0001f480".encode()], 256),
        Target(recording, lambda: [bytes([n]) for n in range(64)], 16),
        Target(scans, lambda: [b'!\n"\n#\n$\n0\n1', b"2026-0001.2\n%\n&", b"4711\n'"], 128),
        Target(arguments, _words, 512),
    )
}

REFUSALS = (ContinuityError, LabelError)


def feed(name: str, data: bytes) -> None:
    """Give a target an input; whatever else than a refusal comes out of it is a bug."""
    with contextlib.suppress(*REFUSALS):
        TARGETS[name].read(data)


assert sys.getrecursionlimit() <= 10_000
