"""What the children of the nursery do, each until it is killed or has done enough.

A deed is called with `tell`, which passes on one line for each thing that was acknowledged: what
is told has happened. An entry is told as its position and leaf hash.
"""

from __future__ import annotations

import codecs
import contextlib
import ctypes
import errno
import io
import os
import random
import resource
import signal
import sqlite3
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from continuity.audit import verify as _audit  # noqa: F401 - imported once, for all children
from continuity.care.entries import KINDS
from continuity.care.intent import read_intent
from continuity.errors import ContinuityError
from continuity.register import RefusedError, Register
from continuity.store import schema
from continuity.store.sqlite import SqliteStore
from continuity_cli.labelling import codes
from continuity_cli.main import continuity, run
from continuity_cli.station.answer import Tone
from continuity_cli.station.desk import Desk
from continuity_labels.code import CodeBook
from tests.faults.firm import BAG, CASES, COFFIN, REGISTER, Firm, by, key

if TYPE_CHECKING:
    from collections.abc import Callable

    from continuity.register import Receipt

    Tell = Callable[[Any], None]

# What a command imports when it is first used is imported before any child is born: it may become a
# user who may not read this program's files.
codecs.lookup("utf-16be")
for _kind in KINDS:
    KINDS[_kind].model_json_schema()
for _name in (
    "record",
    "case",
    "count",
    "verify",
    "closing-check",
    "custody",
    "label",
    "plan",
    "backup",
):
    continuity.get_command(None, _name)  # type: ignore[arg-type]


def ack(receipt: Receipt) -> list[Any]:
    return [receipt.position, receipt.leaf]


def append(tell: Tell, folder: str, seed: int, person: str = "m1", count: int = 10_000) -> None:
    """Sight, move and put in, now and then over two cases at once, or with personal details."""
    chance = random.Random(seed)
    firm = Firm(Path(folder))
    register = firm.open()
    for _ in range(count):
        tell(ack(register.record(read_intent(_some_act(chance)), by(person))))


def _some_act(chance: random.Random) -> dict[str, Any]:
    case = chance.choice(CASES)
    things = [f"{case}.1"]
    sighted = {"kind": "sighted", "case": case, "things": things, "scanned": True}
    match chance.randrange(4):
        case 0:
            return {"kind": "moved", "case": case, "things": things, "place": "cold-room"}
        case 1:
            other = CASES[case == CASES[0]]
            put = {"kind": "put-in", "case": case, "things": [case + BAG], "found": True}
            return {**put, "into": other + COFFIN}
        case 2:
            return {**sighted, "personal": {"eyes": f"blue {chance.random()}"}}
        case _:
            return sighted


def batch(tell: Tell, folder: str, seed: int) -> None:
    """Record five acts at a time: all of them, or none."""
    chance = random.Random(seed)
    register = Firm(Path(folder)).open()
    while True:
        intents = [read_intent(_some_act(chance)) for _ in range(5)]
        tell([ack(receipt) for receipt in register.record_all(intents, by("m1"))])


def count(tell: Tell, folder: str, seed: int) -> None:
    """Count a place with the command, over and over."""
    chance = random.Random(seed)
    while True:
        seen = chance.sample([f"{case}.{n}" for case in CASES for n in (1, 4, 5)], 4)
        command(tell, folder, ["count", "table-1", *seen, "--json", "--as", "m2"])


def label(tell: Tell, folder: str, seed: int) -> None:
    """Print the label of a thing with the command, over and over."""
    chance = random.Random(seed)
    number = 0
    while True:
        number += 1
        thing = f"{chance.choice(CASES)}.{chance.choice((3, 4, 5))}"
        file = Path(folder, f"label-{number}.png")
        command(tell, folder, ["label", thing, "-o", str(file), "--json", "--as", "m2"])


def backup(tell: Tell, folder: str, seed: int) -> None:
    """Copy the register with the command, over and over, into a new folder each time."""
    number = 0
    while True:
        number += 1
        copy = Path(folder, f"copy-{seed}-{number}")
        command(tell, folder, ["backup", str(copy), "--json"])


def erase(tell: Tell, folder: str, seed: int) -> None:
    """Open a case with personal details, and erase them."""
    chance = random.Random(seed)
    register = Firm(Path(folder)).open()
    while True:
        case = f"E-{chance.randrange(10**9)}"
        opened = {"kind": "case-opened", "case": case, "disposition": "burial"}
        secret = f"Secret{chance.randrange(10**12):012}"
        first = register.record(read_intent({**opened, "personal": {"name": secret}}), by("m1"))
        tell(["kept", case, secret, *ack(first)])
        erased = {"kind": "personal-details-erased", "case": case, "ground": "a court's order"}
        tell(["erased", case, secret, *ack(register.record(read_intent(erased), by("d1")))])


def scan(tell: Tell, folder: str, seed: int) -> None:
    """Move a body to and fro by scans at a station, which is started anew each time."""
    del seed
    firm = Firm(Path(folder))
    register = firm.open()
    book = CodeBook(register.id)
    desk = Desk(register, firm.keys)
    desk.scan(codes.badge_code(book, "m3", key("m3").reference).text)
    while True:
        for place in ("cold-room", "table-1"):
            desk.scan(f"{CASES[0]}.1")
            answer = desk.scan(codes.place_code(book, place).text)
            assert answer is not None
            assert answer.tone is Tone.RECORDED, answer
            last = register.store.head().size - 1
            stored = register.store.entry_at(last)
            assert stored is not None
            tell([last, stored.leaf.hex()])


def publish(tell: Tell, folder: str, seed: int) -> None:
    """Record, publish and move the guard on."""
    chance = random.Random(seed)
    register = Firm(Path(folder)).open(guarded=True)
    while True:
        tell(ack(register.record(read_intent(_some_act(chance)), by("m1"))))
        published = register.publish(by("d1"), key(REGISTER))
        tell(ack(published.index))


def _wide(database: Any) -> None:
    database.execute("CREATE TABLE wide AS SELECT position, note, kind FROM entry")
    database.execute("CREATE INDEX wide_kind ON wide (kind)")
    database["checkpoint"].transform(rename={"note": "text"})


def _narrow(database: Any) -> None:
    database["checkpoint"].transform(rename={"text": "note"})
    database.execute("ALTER TABLE wide ADD COLUMN place TEXT")


def _keep(database: Any) -> None:
    database.execute("CREATE TABLE copied AS SELECT * FROM disclosure")


def later_program() -> None:
    """Make of this process a program two versions later, whose layouts are invented."""
    schema.VERSION = 3
    SqliteStore.schema_version = 3
    schema.REGISTER = replace(schema.REGISTER, steps=(_wide, _narrow))
    schema.PERSONAL = replace(schema.PERSONAL, steps=(_keep, lambda _: None))


def migrate(tell: Tell, folder: str, seed: int) -> None:
    """Open a register with a later program, and go on recording with it."""
    later_program()
    append(tell, folder, seed)


def layouts(tell: Tell, folder: str) -> None:
    """With the later program: what stands in the register, and that it is whole."""
    later_program()
    firm = Firm(Path(folder))
    with SqliteStore.open(firm.path) as store:
        versions = [
            database.row("PRAGMA user_version")[0] for database in (store._main, store._personal)
        ]
        wide = store._main.row("SELECT count(*), count(place) FROM wide")
        size = store.head().size
        tell([versions, list(wide), size, store.integrity(), firm.verify().codes])


def command(
    tell: Tell,
    folder: str,
    words: list[str],
    stdin: str = "",
    *,
    prepared: str | None = None,
    given: Any = None,
) -> None:
    """Run the command line, and tell its status and what it said.

    Args:
        tell: takes the answer.
        folder: the firm's.
        words: what follows the program's name.
        stdin: what it reads.
        prepared: a function of this module called first, in the child.
        given: what that is called with.
    """
    os.environ["CONTINUITY_REGISTER"] = str(Path(folder, "register.db"))
    os.environ["CONTINUITY_KEYS"] = str(Path(folder, "keys"))
    if prepared:
        globals()[prepared](given)
    sys.stdin = io.TextIOWrapper(io.BytesIO(stdin.encode("utf-8", "surrogateescape")), "utf-8")
    out, err = io.StringIO(), io.StringIO()
    began = time.monotonic()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run(words)
    tell([status, out.getvalue(), err.getvalue(), time.monotonic() - began])


def prepare(tell: Tell, folder: str, words: list[str], prepared: str, given: Any) -> None:
    """Run the command line after something was done to its process."""
    command(tell, folder, words, prepared=prepared, given=given)


def as_nobody(_: Any) -> None:
    """Give up root for good."""
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)


def append_later(tell: Tell, folder: str) -> None:
    """With the later program: one more entry."""
    later_program()
    append(tell, folder, 0, count=1)


WRITE, SYNC, TRUNCATE, READ = 1, 2, 4, 8
"""The kinds of call that `failing.c` can let fail."""


def failing_disk(given: list[int]) -> None:
    """Let calls fail from now on; see `arm` in `failing.c`."""
    shim().arm(*given)


def shim() -> Any:
    return ctypes.CDLL(os.environ["LD_PRELOAD"])


def faulty(tell: Tell, folder: str, act: str, *given: int) -> None:
    """Do one act on a disk that fails in the middle, and again when it is well.

    Tells how many calls could have failed and what became of the first attempt, which personal
    details of the second case were kept then, and what became of the second attempt.
    """
    firm = Firm(Path(folder))
    do = ACTS[act](firm)
    shim().arm(*given)
    first = attempt(do)
    tell([shim().calls(), *first])
    shim().arm(0, 0, 0, 0)
    another = firm.open()
    with another.store:
        tell(another.personal_details(CASES[1]))
    tell(attempt(do))


def attempt(do: Callable[[], list[Any]]) -> list[Any]:
    """What became of an act: `done` with its entry, or the error's status and sentence."""
    try:
        return ["done", do()]
    except ContinuityError as error:
        return ["error", error.status, str(error)]


def _recording(firm: Firm, person: str, **fields: Any) -> Callable[[], list[Any]]:
    register = firm.open()
    intent = read_intent(fields)
    return lambda: ack(register.record(intent, by(person)))


def _publishing(firm: Firm) -> Callable[[], list[Any]]:
    register = firm.open(guarded=True)
    return lambda: ack(register.publish(by("d1"), key(REGISTER)).index)


def _opening(firm: Firm) -> Callable[[], list[Any]]:
    def do() -> list[Any]:
        register = firm.open()
        return ack(register.record(read_intent(SIGHTED), by("m1")))

    return do


SIGHTED = {"kind": "sighted", "case": CASES[0], "things": [f"{CASES[0]}.1"]}
FOUND_IN_ANOTHER = {
    "kind": "put-in",
    "things": [CASES[0] + BAG],
    "into": CASES[1] + COFFIN,
    "found": True,
    "personal": {"remark": "private"},
}
ERASED = {"kind": "personal-details-erased", "case": CASES[1], "ground": "a court's order"}

ACTS: dict[str, Callable[[Firm], Callable[[], list[Any]]]] = {
    "append": lambda firm: _recording(firm, "m1", **FOUND_IN_ANOTHER),
    "erase": lambda firm: _recording(firm, "d1", **ERASED),
    "publish": _publishing,
    "open": _opening,
}
"""One act of each kind, ready to be done; the register is open already, save for `open`."""


def flush_fails_and_killed(tell: Tell, folder: str) -> None:
    """Fail to flush an act's last commit, tell what became of it, and die."""
    do = ACTS["append"](Firm(Path(folder)))
    shim().arm(SYNC, 1, 1, errno.EIO)  # the personal details' flush comes first
    tell(attempt(do)[1:])
    os.kill(os.getpid(), signal.SIGKILL)


ROOM = 200_000  # bytes: what SQLite lays beside a register fits, and some entries


def small_files(firm: Firm) -> None:
    """Let no file grow much, as a quota would."""
    largest = max(file.stat().st_size for file in firm.folder.glob("register.db*"))
    resource.setrlimit(resource.RLIMIT_FSIZE, (largest + ROOM, resource.RLIM_INFINITY))


def more_room(firm: Firm) -> None:
    """Take both limits away again."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    (firm.folder / "ballast").unlink(missing_ok=True)


def small_disk(firm: Firm) -> None:
    """Move the firm to a file system of its own, seen by this process alone, with little room.

    Raises:
        OSError: this account may not.
    """
    kept = firm.copy(firm.folder.with_name("kept"))
    libc = ctypes.CDLL(None, use_errno=True)
    new_mounts, private = 0x20000, 0x44000  # CLONE_NEWNS; MS_REC | MS_PRIVATE
    for failed in (
        lambda: libc.unshare(new_mounts),
        lambda: libc.mount(b"none", b"/", None, private, None),
        lambda: libc.mount(b"none", os.fsencode(firm.folder), b"tmpfs", 0, b"size=2m"),
    ):
        if failed():
            raise OSError(ctypes.get_errno(), "not permitted")
    kept.copy(firm.folder)
    left = os.statvfs(firm.folder)
    ballast = bytes(left.f_bavail * left.f_frsize - ROOM)
    (firm.folder / "ballast").write_bytes(ballast)


def until_full(tell: Tell, folder: str, way: str) -> None:
    """Record until there is no room, and once more when there is; tell all, and what stands."""
    firm = Firm(Path(folder))
    try:
        globals()[way](firm)
    except OSError:
        tell("not permitted")
        return
    do = _recording(firm, "m1", **SIGHTED)
    while (told := attempt(do))[0] == "done":
        tell(told)
    tell(told)
    more_room(firm)
    tell(attempt(do))
    with SqliteStore.open(firm.path) as store:
        problems = store.integrity()
    report = firm.verify()
    tell([firm.leaves(), report.sound, report.codes, problems])


def impatient(seconds: float) -> None:
    """Wait no longer than this for another program's lock."""
    Register.open.__func__.__kwdefaults__["wait"] = seconds  # type: ignore[attr-defined]


def hold(tell: Tell, folder: str, lock: str) -> None:
    """Hold a register's lock, as any other program may, until killed."""
    other = sqlite3.connect(Path(folder, "register.db"), isolation_level=None)
    other.execute(f"BEGIN {lock}")
    if lock == "EXCLUSIVE":
        other.execute("SELECT count(*) FROM entry").fetchone()
    tell("held")
    time.sleep(600)


def stay_open(tell: Tell, folder: str) -> None:
    """Record, and again when a file called `go` is there; tell what became of either."""
    do = _recording(Firm(Path(folder)), "m1", **SIGHTED, personal={"eyes": "blue"})
    tell(attempt(do))
    while not Path(folder).with_name("go").exists():
        time.sleep(0.002)
    tell(attempt(do))


def station(tell: Tell, folder: str, person: str, seconds: float) -> None:
    """Record without a pause, on a case all stations share and on one of its own.

    Tells when it is ready, and begins when a file called `go` is there. Then tells what was
    acknowledged, how long each took in seconds, and what went wrong.
    """
    register = Firm(Path(folder)).open()
    own = f"S-{person.upper()}"
    opened = {"kind": "case-opened", "case": own, "disposition": "burial"}
    received = {"kind": "received", "case": own, "giver": "coroner", "place": "table-1"}
    body = {"items": [{"what": "decedent", "description": "adult"}]}
    register.record_all([read_intent(opened), read_intent(received | body)], by(person))
    shared, mine = (
        read_intent({"kind": "sighted", "case": case, "things": [f"{case}.1"]})
        for case in (CASES[0], own)
    )
    acks: list[Any] = []
    waits: list[float] = []
    wrong: list[str] = []
    tell("ready")
    while not Path(folder).with_name("go").exists():
        time.sleep(0.002)
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        began = time.perf_counter()
        try:
            acks.append(ack(register.record(mine if len(acks) % 2 else shared, by(person))))
        except ContinuityError as error:
            wrong.append(str(error))
        waits.append(time.perf_counter() - began)
    tell([acks, waits, wrong])


def race(tell: Tell, folder: str, person: str, rounds: list[list[Any]]) -> None:
    """At each moment try the act that belongs to it; tell `done`, or the codes of the refusal."""
    register = Firm(Path(folder)).open()
    for moment, fields in rounds:
        intent = read_intent(fields)
        time.sleep(max(0.0, moment - time.time()))
        try:
            tell(["done", *ack(register.record(intent, by(person)))])
        except RefusedError as refused:
            tell(["refused", sorted(o.code for o in refused.objections)])


def scan_race(tell: Tell, folder: str, person: str, thing: str, into: str) -> None:
    """At a station of its own scan a thing; when a file called `go` is there, where it goes."""
    firm = Firm(Path(folder))
    register = firm.open()
    desk = Desk(register, firm.keys)
    desk.scan(codes.badge_code(CodeBook(register.id), person, key(person).reference).text)
    desk.scan(thing)
    tell("scanned")
    while not Path(folder).with_name("go").exists():
        time.sleep(0.002)
    answer = desk.scan(into)
    tell([answer.word, answer.what] if answer else None)


def core_limit(tell: Tell, folder: str, words: list[str]) -> None:
    """Run the command line, and tell how large a core this process may leave behind."""
    resource.setrlimit(resource.RLIMIT_CORE, (0, resource.getrlimit(resource.RLIMIT_CORE)[1]))
    command(lambda _: None, folder, words)
    tell(resource.getrlimit(resource.RLIMIT_CORE))


def environment(variables: dict[str, str]) -> None:
    """Set variables of this process's environment, and let every file be made as open as may be."""
    os.umask(0)
    os.environ.update(variables)
