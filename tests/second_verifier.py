"""A second verifier, written from the format page alone (`continuity/ledger/FORMAT.md`).

It shares no line with the library: the standard library and `cryptography` are all it needs. It
reads a register's SQLite file, or a dossier, and says what is broken and where; whoever trusts the library's
verifier can ask this one as well. Section numbers in brackets are those of the page.

    python second_verifier.py REGISTER|DOSSIER [VKEY] [CHECKPOINT…]
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
import sqlite3
import sys
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

MAX_NOTE = 65_535
TYPE_LINE = b"continuity-entry/1\n"
FIELDS = {
    "case", "details", "kind", "number", "occurred_at", "previous", "recorded_at", "recorded_by",
    "register", "signers", "utc_offset",
}  # fmt: skip
IDENTIFIER = re.compile(r"[^\s\x00-\x1f\x7f]{1,255}")
KIND = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
TIME = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z")
OFFSET = re.compile(r"[+-]([01][0-9]|2[0-3]):[0-5][0-9]")
DECIMAL = re.compile(rb"0|[1-9][0-9]{0,18}")
ROLES = {"director", "mortician", "assistant", "auditor", "station", "witness"}
SMALL_ORDER = {
    bytes.fromhex(text)
    for text in (
        "00" * 32,
        "01" + "00" * 31,
        "ec" + "ff" * 30 + "7f",
        "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
        "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
        "ed" + "ff" * 30 + "7f",
        "ee" + "ff" * 30 + "7f",
    )
}


class BadError(Exception):
    """What was read is not what the page says it must be."""


def need(condition, why):
    if not condition:
        raise BadError(why)


def sha(*parts):
    return hashlib.sha256(b"".join(parts)).digest()


# [2] Base64, and canonical JSON ------------------------------------------------------------------


def unbase64(text):
    try:
        data = base64.b64decode(text, validate=True)
    except (TypeError, ValueError):
        raise BadError("not base64") from None
    need(base64.b64encode(data) == (text.encode() if isinstance(text, str) else text), "base64")
    return data


def unhex(text):
    need(isinstance(text, str) and re.fullmatch("[0-9a-f]{64}", text), "not a hash in hexadecimal")
    return bytes.fromhex(text)


def refuse(text):
    raise BadError(f"the number {text[:20]} may not stand here")


def whole(text):
    need(len(text) <= 17 and abs(int(text)) < 2**53, "the number is too large")
    return int(text)


def once(pairs):
    found = dict(pairs)
    need(len(found) == len(pairs), "a name stands twice in one object")
    return found


def canonical(value, depth=1):
    """Write JSON as RFC 8785 does, without floats."""
    if isinstance(value, dict):
        need(depth <= 32, "nested too deeply")
        names = sorted(value, key=lambda name: name.encode("utf-16-be"))
        inner = (f"{canonical(n)}:{canonical(value[n], depth + 1)}" for n in names)
        return "{" + ",".join(inner) + "}"
    if isinstance(value, list):
        need(depth <= 32, "nested too deeply")
        return "[" + ",".join(canonical(one, depth + 1) for one in value) + "]"
    return json.dumps(value, ensure_ascii=False)


def read_json(data):
    try:
        value = json.loads(
            data.decode(),
            parse_int=whole,
            parse_float=refuse,
            parse_constant=refuse,
            object_pairs_hook=once,
        )
        need(canonical(value).encode() == data, "the JSON is not in canonical form")
    except (ValueError, RecursionError):
        raise BadError("not UTF-8 JSON") from None
    return value


# [3] Notes and keys ------------------------------------------------------------------------------


def check_name(name):
    need(name and name.split() == [name] and "+" not in name, "a key's name")
    need(len(name.encode()) <= 255 and min(name) >= " ", "a key's name")


@dataclass(frozen=True)
class Key:
    name: str
    raw: bytes
    kind: int = 1

    @property
    def id(self):
        return sha(self.name.encode(), b"\n", bytes([self.kind]), self.raw)[:4]

    @property
    def reference(self):
        return f"{self.name}+{self.id.hex()}"

    def fits(self, message, signature):
        try:
            Ed25519PublicKey.from_public_bytes(self.raw).verify(signature, message)
        except (InvalidSignature, ValueError):
            return False
        return len(signature) == 64


def read_key(text):
    need(isinstance(text, str) and text.count("+") >= 2, "not a public key's text")
    name, claimed, data = text.split("+", 2)
    data = unbase64(data)
    check_name(name)
    need(len(data) == 33 and data[0] == 1, "not an Ed25519 key that signs notes")
    need(data[1:32] + bytes([data[32] & 0x7F]) not in SMALL_ORDER, "a key of small order")
    key = Key(name, data[1:])
    need(key.id.hex() == claimed, "the key's id is not its own")
    return key


def read_note(data, most=1_000_000):
    """Give a note's text, and its signatures as (name, key id, signature)."""
    need(isinstance(data, bytes) and len(data) <= most, "no bytes, or too many")
    try:
        data.decode()
    except ValueError:
        raise BadError("the note is not UTF-8") from None
    need(not any(byte < 0x20 and byte != 0x0A for byte in data), "a control character")
    end = data.rfind(b"\n\n")
    need(end >= 0 and data.endswith(b"\n"), "no signatures after a blank line")
    lines = data[end + 2 : -1].split(b"\n")
    need(len(lines) <= 100, "too many signatures")
    signatures = []
    for line in lines:
        need(line.startswith("— ".encode()), "a signature line begins otherwise")
        name, _, spelling = line[4:].partition(b" ")
        blob = unbase64(spelling)
        check_name(name.decode())
        need(len(blob) > 4, "a signature line without a signature")
        signatures.append((name.decode(), blob[:4], blob[4:]))
    return data[: end + 1], signatures


# [4] Entries -------------------------------------------------------------------------------------


@dataclass
class Entry:
    position: int
    body: dict
    text: bytes
    signatures: list
    leaf: bytes

    def __getattr__(self, name):
        return self.body.get(name)


def read_entry(position, data):
    text, signatures = read_note(data, MAX_NOTE)
    need(text.startswith(TYPE_LINE), "the type line is unknown")
    body = read_json(text[len(TYPE_LINE) : -1])
    need(isinstance(body, dict), "the body is no object")
    need(FIELDS <= set(body) <= FIELDS | {"mirrors", "seen"}, "the body's fields")
    forms = {"case": IDENTIFIER, "register": IDENTIFIER, "recorded_by": IDENTIFIER, "kind": KIND}
    forms |= {"occurred_at": TIME, "recorded_at": TIME, "utc_offset": OFFSET}
    for name, form in forms.items():
        need(isinstance(body[name], str) and form.fullmatch(body[name]), f"the form of {name}")
    for name in ("occurred_at", "recorded_at"):
        try:
            datetime.fromisoformat(body[name])
        except ValueError:
            raise BadError(f"{name} never was") from None
    need(type(body["number"]) is int and body["number"] >= 0, "the form of number")
    need(isinstance(body["details"], dict), "the form of details")
    unhex(body["previous"])
    if "mirrors" in body:
        unhex(body["mirrors"])
    if "seen" in body:
        seen = body["seen"]
        need(isinstance(seen, dict) and set(seen) == {"root", "size"}, "the form of seen")
        need(type(seen["size"]) is int and seen["size"] >= 0, "the form of seen")
        need(isinstance(seen["root"], str) and len(unbase64(seen["root"])) == 32, "form of seen")
    signers = body["signers"]
    need(isinstance(signers, list) and signers and len(set(map(str, signers))) == len(signers), "")
    declared = [f"{name}+{key_id.hex()}" for name, key_id, _ in signatures]
    need(declared == signers, "other signatures than declared")
    return Entry(position, body, text, signatures, sha(b"\0", data))


# [5] The tree ------------------------------------------------------------------------------------


def root_of(frontier):
    found = frontier[-1] if frontier else sha()
    for left in reversed(frontier[:-1]):
        found = sha(b"\1", left, found)
    return found


class Tree:
    def __init__(self):
        self.size, self.frontier, self.roots, self.nodes = 0, [], {0: sha()}, {}

    def add(self, leaf):
        level, index = 0, self.size
        while index & 1:
            leaf = sha(b"\1", self.frontier.pop(), leaf)
            level, index = level + 1, index >> 1
            self.nodes[level, index] = leaf
        self.frontier.append(leaf)
        self.size += 1
        self.roots[self.size] = root_of(self.frontier)


# [6] Keys by position ----------------------------------------------------------------------------


@dataclass
class Enrolled:
    key: Key
    person: str
    role: str
    since: int
    until: int | None = None

    def valid(self, position):
        return self.since <= position and (self.until is None or position <= self.until)


@dataclass
class Keys:
    known: dict = field(default_factory=dict)

    def valid(self, reference, position):
        enrolled = self.known.get(reference)
        return enrolled if enrolled and enrolled.valid(position) else None

    def brought(self, entry):
        fields = {
            "register-started": ("register_key", "key"),
            "key-enrolled": ("key",),
            "key-replaced": ("key",),
        }.get(entry.kind, ())
        keys = [read_key(entry.details.get(name)) for name in fields]
        return {key.reference: key for key in keys}

    def apply(self, entry):
        """Take an entry of the register's own chain that changes keys."""
        at, details, signers = entry.position, entry.details, entry.signers
        brought = self.brought(entry)
        for (_, _, signature), reference in zip(entry.signatures, signers, strict=True):
            enrolled = self.valid(reference, at)
            key = enrolled.key if enrolled else brought.get(reference)
            need(key and key.fits(entry.text, signature), "a signature")
        directors = [r for r in signers if (e := self.valid(r, at)) and e.role == "director"]
        if entry.kind == "register-started":
            need(at == 0 and entry.number == 0 and not self.known, "a second start")
            register, key = read_key(details["register_key"]), read_key(details["key"])
            need({register.reference, key.reference} == set(signers), "who signed the start")
            need(details.get("role") == "director", "the first person is no director")
            need(register.raw != key.raw and register.name != key.name, "one key for two")
            self.add(key, person_of(details), "director", at)
            self.add(register, "register", "register", at)
            return
        need(self.known, "the register has not begun")
        if entry.kind == "key-enrolled":
            key = read_key(details.get("key"))
            need(details.get("role") in ROLES, "no such role")
            need(key.reference in signers and directors, "who signed the enrolment")
            self.fresh(key, person_of(details))
            self.add(key, details["person"], details["role"], at)
        elif entry.kind == "key-replaced":
            key, old = read_key(details.get("key")), self.known.get(details.get("replaces"))
            need(old and old.until is None, "replaces a key that is not valid")
            need(key.reference in signers, "the new key did not sign")
            need(old.key.reference in signers or directors, "who signed the replacement")
            self.fresh(key, old.person)
            old.until = at
            self.add(key, old.person, old.role, at)
        else:
            old, since = self.known.get(details.get("key")), details.get("compromised_since")
            reason = details.get("reason")
            need(old and isinstance(reason, str) and reason, "revokes no key, or without reason")
            need(directors, "who signed the revocation")
            others = [e for e in self.known.values() if e is not old and e.role == old.role]
            if old.until is None and old.role in ("director", "register"):
                need(any(e.until is None for e in others), "revokes the last key of its role")
            if since is not None:
                need(type(since) is int and old.since <= since <= at, "doubts from nowhere")
            old.until = at if old.until is None else old.until

    def add(self, key, person, role, at):
        self.known[key.reference] = Enrolled(key, person, role, at)

    def fresh(self, key, person):
        for other in self.known.values():
            need(
                other.key.raw != key.raw and other.key.reference != key.reference, "key used twice"
            )
            need(other.key.name != key.name or other.person == person, "name used twice")


def person_of(details):
    person = details.get("person")
    need(isinstance(person, str) and person and person != "register", "whose key it is")
    return person


KEY_KINDS = ("register-started", "key-enrolled", "key-replaced", "key-revoked")


# [8] Checkpoints ---------------------------------------------------------------------------------


def read_checkpoint(note):
    text, signatures = read_note(note)
    lines = text.split(b"\n")
    need(len(lines) == 4 and not lines[3], "a checkpoint has three lines")
    need(DECIMAL.fullmatch(lines[1]), "a checkpoint's size")
    root = unbase64(lines[2])
    need(len(root) == 32 and int(lines[1]) < 2**63, "a checkpoint's root or size")
    return lines[0].decode(), int(lines[1]), root, text, signatures


# [9] The case index ------------------------------------------------------------------------------


def tree_root(leaves):
    tree = Tree()
    for leaf in leaves:
        tree.add(leaf)
    return root_of(tree.frontier)


def index_root(heads):
    buckets = [[] for _ in range(256)]
    for case, (length, head, position) in heads.items():
        digest = sha(case.encode())
        record = {"case": digest.hex(), "head": head.hex(), "length": length, "size": position + 1}
        buckets[digest[0]].append((digest, sha(b"\0", canonical(record).encode())))
    roots = []
    for bucket in buckets:
        size, root = len(bucket).to_bytes(8, "big"), tree_root(leaf for _, leaf in sorted(bucket))
        roots.append(sha(b"continuity-bucket/1\n", size, root) if bucket else sha())
    return tree_root(sha(b"\0", root) for root in roots)


# [7] The whole register --------------------------------------------------------------------------


TABLES = {
    "head", "entry", "node", "case_head", "checkpoint", "cosignature", "label", "case_index",
    "in_care",
}  # fmt: skip
PERSONAL_TABLES = {"owner", "disclosure"}
GUARD_RAIL = re.compile(
    r"CREATE TRIGGER (entry|node|checkpoint)_(update|delete) BEFORE (UPDATE|DELETE) ON \1\s+"
    r"BEGIN SELECT RAISE\(ABORT, '[^';]*'\); END"
)


@dataclass
class Verdict:
    register: str
    size: int
    broken: list = field(default_factory=list)

    @property
    def sound(self):
        return not self.broken

    @property
    def sound_to(self):
        return min([at for at, _ in self.broken if at is not None], default=self.size)


class Register:
    def __init__(self, path, vkey=None, held=()):
        self.main = open_file(path)
        self.personal = open_file(Path(f"{path}.personal"))
        (self.id, self.size, self.frontier) = self.one("SELECT register, size, frontier FROM head")
        self.verdict = Verdict(self.id, self.size)
        self.pin = read_key(vkey) if vkey else None
        self.held = held
        self.tree, self.keys, self.heads, self.names = Tree(), Keys(), {}, {}
        self.original, self.repeated_in, self.owed = None, set(), set()
        self.gone, self.erased, self.by_leaf = [], [], {}
        self.sound_checkpoints = {}
        self.lost = False  # an entry is missing: the tree can be computed no further

    def one(self, sql, *values):
        return self.main.execute(sql, values).fetchone()

    def bad(self, at, why):
        self.verdict.broken.append((at, why))

    def verify(self):
        self.fold_keys()
        expected = 0
        rows = self.main.execute(
            "SELECT position, case_id, number, kind, note, leaf FROM entry WHERE position >= 0"
            " AND position < ? ORDER BY position",
            (self.size,),
        )
        for at, *row in rows:
            if at != expected:
                self.bad(expected, "an entry is missing")
                self.lost = True
            self.take(at, row)
            expected = at + 1
        if expected < self.size:
            self.bad(expected, "an entry is missing")
            self.lost = True
        if not self.lost and self.frontier != b"".join(self.tree.frontier):
            self.bad(None, "the head row")
        if self.one("SELECT 1 FROM entry WHERE position >= ?", self.size):
            self.bad(None, "entries beyond what the head counts")
        self.settle(expected - 1)
        self.check_nodes()
        self.check_checkpoints()
        self.check_tables()
        self.check_files()
        self.check_personal()
        return self.verdict

    def fold_keys(self):
        marks = ",".join("?" * len(KEY_KINDS))
        rows = self.main.execute(
            "SELECT position, note FROM entry WHERE case_id = 'register' AND kind IN "
            f"({marks}) ORDER BY position",
            KEY_KINDS,
        )
        for at, note in rows:
            try:
                entry = read_entry(at, note)
                if entry.case == "register" and entry.kind in KEY_KINDS:
                    self.keys.apply(entry)
            except (BadError, KeyError, TypeError) as error:
                self.bad(at, f"keys: {error}")
        registers = [e.key for e in self.keys.known.values() if e.role == "register"]
        if self.pin and (self.pin not in registers or self.pin.name != self.id):
            self.bad(0, "not the register whose key was given")

    def take(self, at, row):
        case_id, number, kind, note, leaf = row
        try:
            entry = read_entry(at, note)
        except BadError as error:
            self.bad(at, f"entry: {error}")
            found = sha(b"\0", note) if isinstance(note, bytes) else b""
            self.grow(found)
            self.heads[case_id] = (number + 1 if type(number) is int else 0, found, at)
            return
        if leaf != entry.leaf:
            self.bad(at, "the leaf hash kept")
        if (case_id, number, kind) != (entry.case, entry.number, entry.kind):
            self.bad(at, "filed otherwise than it states")
        if entry.register != self.id:
            self.bad(at, "of another register")
        self.check_signers(entry)
        self.check_index(entry)
        self.check_chain(entry)
        self.check_mirror(entry)
        self.check_seen(entry)
        self.note_personal(entry)
        self.grow(entry.leaf)
        self.by_leaf[entry.leaf] = entry

    def grow(self, leaf):
        if not self.lost:
            self.tree.add(leaf)

    def check_signers(self, entry):
        persons, directors = set(), set()
        for reference, (_, _, signature) in zip(entry.signers, entry.signatures, strict=True):
            enrolled = self.keys.valid(reference, entry.position)
            if enrolled is None:
                self.bad(entry.position, f"{reference} is not valid here")
                continue
            persons.add(enrolled.person)
            if enrolled.role == "director":
                directors.add(enrolled.person)
            if not enrolled.key.fits(entry.text, signature):
                self.bad(entry.position, f"the signature of {reference}")
        if entry.recorded_by not in persons:
            self.bad(entry.position, "the recorder did not sign")
        if entry.kind == "register-restored" and len(directors) < 2:
            self.bad(entry.position, "fewer than two directors")

    def check_chain(self, entry):
        start = f"continuity-genesis/1\n{self.id}\n{entry.case}\n".encode()
        length, head, _ = self.heads.get(entry.case, (0, sha(start), None))
        if (entry.number, entry.previous) != (length, head.hex()):
            self.bad(entry.position, "does not follow the entry before it")
        self.heads[entry.case] = (entry.number + 1, entry.leaf, entry.position)

    def check_mirror(self, entry):
        at = entry.position
        if entry.kind == "case-opened" and entry.mirrors is None:
            self.names.setdefault(entry.case, entry.details.get("number"))
        if entry.mirrors is None:
            self.settle(at - 1)
            self.original, self.repeated_in = entry, {entry.case}
            self.owed = set(entry.details.get("in_cases") or ()) - {self.names.get(entry.case)}
            return
        first = self.original
        if first is None or entry.mirrors != first.leaf.hex() or entry.case in self.repeated_in:
            self.bad(at, "repeats an entry that does not stand right before it")
        elif repeated(first) != repeated(entry):
            self.bad(at, "repeats an entry otherwise than it stands")
        self.repeated_in.add(entry.case)
        self.owed.discard(self.names.get(entry.case))

    def settle(self, _before):
        if self.owed and self.original is not None:
            self.bad(self.original.position, "not written into every case it touches")
        self.owed = set()

    def check_seen(self, entry):
        if entry.seen is None:
            return
        size = entry.seen["size"]
        root = self.tree.roots.get(size)
        if size > entry.position or root is None or root != unbase64(entry.seen["root"]):
            self.bad(entry.position, "the checkpoint seen is not this register's")

    def check_index(self, entry):
        if (entry.kind == "cases-indexed") != (entry.case == "case-index"):
            self.bad(entry.position, "a case index and its own chain are two things")
        if entry.kind != "cases-indexed":
            return
        wanted = {"root": index_root(self.heads).hex(), "size": entry.position}
        wanted["count"] = len(self.heads)
        if any(entry.details.get(name) != value for name, value in wanted.items()):
            self.bad(entry.position, "the case index")

    def check_nodes(self):
        kept = {(level, at): found for level, at, found in self.main.execute("SELECT * FROM node")}
        for (level, index), found in self.tree.nodes.items():
            if kept.get((level, index)) != found:
                self.bad(((index + 1) << level) - 1, "a stored node of the tree")

    def check_checkpoints(self):
        for size, root, note in self.main.execute("SELECT * FROM checkpoint ORDER BY size"):
            self.check_checkpoint(note, (size, root))
        for note in self.held:
            self.check_checkpoint(note, None)

    def check_checkpoint(self, note, row):
        try:
            origin, size, root, text, signatures = read_checkpoint(note)
        except BadError as error:
            self.bad(None, f"checkpoint: {error}")
            return
        keys = [e.key for e in self.keys.known.values() if e.role == "register"]
        keys = [key for key in keys if self.keys.valid(key.reference, size - 1)]
        known = [(key, s) for n, i, s in signatures for key in keys if (key.name, key.id) == (n, i)]
        if origin != self.id or (row is not None and row != (size, root)):
            self.bad(None, "a checkpoint of another register, or kept as another")
        elif not known or not all(key.fits(text, signature) for key, signature in known):
            self.bad(None, "a checkpoint without a valid signature")
        elif size > self.size:
            self.bad(self.size, "the register is shorter than a checkpoint")
        elif size <= self.tree.size and self.tree.roots[size] != root:
            below = max([one for one in self.sound_checkpoints if one < size], default=0)
            self.bad(below, "a checkpoint states another root")
        elif size <= self.tree.size:
            self.sound_checkpoints[size] = root

    def check_tables(self):
        kept = {}
        for case, name, length, head, position in self.main.execute(
            "SELECT case_id, name, length, head, position FROM case_head"
        ):
            kept[case] = (length, head, position)
            if name != self.names.get(case):
                self.bad(None, "a case is filed under another number")
        if kept != self.heads:
            self.bad(None, "what is kept of the cases")
        labels = {}
        for entry in self.by_leaf.values():
            if entry.kind == "labelled":
                said = (entry.case, entry.details.get("thing"), entry.position)
                labels[entry.details.get("code")] = said
        rows = self.main.execute("SELECT code, case_id, thing, print FROM label")
        if {code: rest for code, *rest in rows} != {code: list(at) for code, at in labels.items()}:
            self.bad(None, "what is kept of the labels")

    def check_files(self):
        """Nothing stands in the files but a register's own tables, whole, and its guard rails."""
        for file, tables in ((self.main, TABLES), (self.personal, PERSONAL_TABLES)):
            for kind, name, table, sql in file.execute(
                "SELECT type, name, tbl_name, sql FROM sqlite_schema"
            ):
                rail = kind == "trigger" and GUARD_RAIL.fullmatch(sql or "")
                if not rail and (kind, table in tables) not in {("table", True), ("index", True)}:
                    self.bad(None, f"a {kind} {name} that no register has")
            if file.execute("PRAGMA integrity_check(1)").fetchone() != ("ok",):
                self.bad(None, "a file does not hold together")
        nodes = {(level, at) for level, at in self.main.execute("SELECT level, position FROM node")}
        if not self.lost and nodes - self.tree.nodes.keys():
            self.bad(None, "nodes that no entries make")
        for case, digest in self.main.execute("SELECT case_id, digest FROM case_head"):
            if sha(case.encode()) != digest:
                self.bad(None, "a case under another digest")
        if self.one("SELECT 1 FROM entry WHERE position < 0"):
            self.bad(None, "entries before the first position")
        if self.one("SELECT 1 FROM cosignature WHERE size NOT IN (SELECT size FROM checkpoint)"):
            self.bad(None, "cosignatures of no checkpoint")

    def note_personal(self, entry):
        if entry.kind == "personal-details-erased":
            numbers, fields = entry.details.get("entries"), entry.details.get("fields")
            self.erased.append((entry.case, entry.number, numbers or None, fields or None))
        digests = entry.details.get("personal")
        if not isinstance(digests, dict) or not digests:
            return
        rows = self.personal.execute(
            "SELECT field, disclosure FROM disclosure WHERE leaf = ?", (entry.leaf,)
        )
        kept = dict(rows.fetchall())
        for name, digest in digests.items():
            if name not in kept:
                self.gone.append((entry.position, entry.case, entry.number, name))
            elif not stands_for(kept[name], name, digest):
                self.bad(entry.position, "a personal detail is not the one that was signed")

    def check_personal(self):
        for at, case, number, name in self.gone:
            if not any(
                case == erased_case
                and number < erasure
                and number in (numbers or [number])
                and name in (fields or [name])
                for erased_case, erasure, numbers, fields in self.erased
            ):
                self.bad(at, "a personal detail is gone, and no entry erased it")


def repeated(entry):
    left_out = ("case", "number", "previous", "mirrors", "details")
    rest = {name: value for name, value in entry.body.items() if name not in left_out}
    details = {name: value for name, value in entry.details.items() if name != "personal"}
    return rest, details


def stands_for(text, name, digest):
    try:
        found = base64.urlsafe_b64encode(sha(text.encode("ascii"))).rstrip(b"=").decode()
        data = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
        parts = json.loads(data)
    except ValueError:
        return False
    return found == digest and isinstance(parts, list) and len(parts) == 3 and parts[1] == name


def open_file(path):
    connection = sqlite3.connect(f"{Path(path).absolute().as_uri()}?mode=ro", uri=True)
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, 16_000_000)
    return connection


def verify(path, vkey=None, held=()):
    """Verify a register's file; the public key and the checkpoints come from outside.

    The personal details lie in a second file beside the first, its name ending in `.personal`.
    """
    register = Register(path, vkey, held)
    try:
        return register.verify()
    finally:
        register.main.close()
        register.personal.close()


# [11] Dossiers -----------------------------------------------------------------------------------

MACHINE_PART = b'<script type="application/json" id="dossier">'
DOSSIER_FIELDS = {
    "attestations", "case", "checkpoint", "disclosures", "earlier", "entries", "format", "index",
    "made_at", "made_with", "register", "register_entries", "withheld",
}  # fmt: skip
MOST_DOSSIER = 64 * 1024 * 1024


def read_dossier(data):
    """Give the machine part of a dossier's page, or of a file that holds nothing else."""
    need(len(data) <= 4 * MOST_DOSSIER, "too long")
    if data.lstrip().startswith(b"<"):
        _, found, rest = data.partition(MACHINE_PART)
        need(found and MACHINE_PART not in rest, "no machine part, or two")
        inside, found, _ = rest.partition(b"</script>")
        need(found, "the machine part does not end")
        # A "<" stands as its escape, so that no text can end the element; all else is canonical.
        need(b"<" not in inside, "a bare less-than sign")
        value = read_json(re.sub(rb"(?<!\\)((?:\\\\)*)\\u003c", rb"\1<", inside))
    else:
        value = read_json(data.strip())
    need(isinstance(value, dict) and value.get("format") == "continuity-dossier/1", "the format")
    need(set(value) == DOSSIER_FIELDS, "the dossier's fields")
    check_shapes(value)
    return value


WORD = {"bucket_size": int, "index_path": list, "length": int, "path": list, "position": int}
PLACED = {"note": str, "position": int, "proof": (list, type(None))}
LISTED = {
    "attestations": {"blob": str, "kind": str},
    "disclosures": {"disclosure": str, "entry": int},
    "earlier": {"proof": list, "size": int},
    "entries": PLACED,
    "register_entries": PLACED,
    "withheld": {"entry": int, "field": str},
}


def check_shape(value, fields):
    need(isinstance(value, dict) and set(value) == set(fields), "lacks fields, or has others")
    for name, form in fields.items():
        need(isinstance(value[name], form) and not isinstance(value[name], bool), f"form of {name}")
        need(not isinstance(value[name], int) or value[name] >= 0, f"{name} is below nought")
        path_of(value[name] if isinstance(value[name], list) else [])


def check_shapes(value):
    for name in ("case", "made_at", "made_with", "register"):
        need(isinstance(value[name], str), f"the form of {name}")
    need(isinstance(value["checkpoint"], (str, type(None))), "the form of the checkpoint")
    for name, fields in LISTED.items():
        need(isinstance(value[name], list), f"{name} is no list")
        for one in value[name]:
            check_shape(one, fields)
    for one in value["attestations"]:
        unbase64(one["blob"])
    index = value["index"]
    if index is not None:
        check_shape(index, {"case": (dict, type(None)), "entry": dict, "register": dict})
        check_shape(index["entry"], PLACED)
        for word in filter(None, (index["case"], index["register"])):
            check_shape(word, WORD)


def path_of(value):
    need(isinstance(value, list) and len(value) <= 63, "a proof")
    hashes = [unbase64(one) for one in value]
    need(all(len(one) == 32 for one in hashes), "a hash in a proof")
    return hashes


def climb(leaf, index, size, path):
    """The root an inclusion proof leads to: RFC 9162 section 2.1.3.2."""
    need(0 <= index < size, "no such leaf")
    at, last = index, size - 1
    for sibling in path:
        need(last, "the proof is too long")
        if at & 1 or at == last:
            leaf = sha(b"\1", sibling, leaf)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            leaf = sha(b"\1", leaf, sibling)
        at, last = at >> 1, last >> 1
    need(not last, "the proof is too short")
    return leaf


def grown(first, second, path, old_root, new_root):
    """Whether one tree is the beginning of another: RFC 9162 section 2.1.4.2."""
    if first in (0, second):
        return not path and (new_root if first else sha()) == old_root
    if not path or first > second:
        return False
    path = [old_root, *path] if first & (first - 1) == 0 else path
    at, last = first - 1, second - 1
    while at & 1:
        at, last = at >> 1, last >> 1
    old = new = path[0]
    for sibling in path[1:]:
        if not last:
            return False
        if at & 1 or at == last:
            old, new = sha(b"\1", sibling, old), sha(b"\1", sibling, new)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            new = sha(b"\1", new, sibling)
        at, last = at >> 1, last >> 1
    return not last and old == old_root and new == new_root


class Dossier:
    """One dossier; `broken` says in words what is wrong."""

    def __init__(self, value, vkey=None):
        self.value, self.pin = value, read_key(vkey) if vkey else None
        self.broken, self.keys = [], Keys()
        self.own, self.case = [], []
        self.proved, self.complete_to, self.checkpoint = 0, None, None

    @property
    def sound(self):
        return not self.broken

    def bad(self, why):
        self.broken.append(why)

    def trying(self, what, work, *given):
        """Do a step that may find something broken; tell whether it did not."""
        try:
            work(*given)
        except (BadError, LookupError, TypeError, AttributeError) as error:
            self.bad(f"{what}: {error}")
            return False
        return True

    def verify(self):
        if self.value["checkpoint"] is not None:
            self.trying("checkpoint", self.open_checkpoint)
        elif self.value["index"] is not None:
            self.bad("a case index, and no checkpoint")
        self.trying("positions", self.check_positions)
        self.trying("the register's own chain", self.follow, "register", self.take_own)
        self.trying("keys", self.check_pin)
        if self.checkpoint and self.own_whole:
            self.trying("checkpoint", self.check_checkpoint)
        self.trying("the case's chain", self.follow, self.value["case"], self.take)
        if self.checkpoint and self.value["index"] is not None and self.own_whole:
            self.trying("index", self.check_index)
        if self.checkpoint:
            self.trying("earlier trees", self.check_seen)
        self.trying("personal details", self.check_details)
        return self

    @property
    def own_whole(self):
        return 0 < len(self.own) == len(self.value["register_entries"])

    def open_checkpoint(self):
        found = read_checkpoint(self.value["checkpoint"].encode())
        need(found[0] == self.value["register"] and found[1], "of another register, or of none")
        self.checkpoint = found

    def check_positions(self):
        taken = set()
        for chain in ("register_entries", "entries"):
            positions = [one["position"] for one in self.value[chain]]
            need(positions == sorted(positions), "not in order")
            taken.update(positions)
        count = len(self.value["register_entries"]) + len(self.value["entries"])
        if self.value["index"] is not None:
            taken.add(self.value["index"]["entry"]["position"])
            count += 1
        need(len(taken) == count, "one position for two entries")

    def follow(self, case, take):
        placed = self.value["register_entries" if case == "register" else "entries"]
        need(placed, "no entry at all")
        register = self.value["register"]
        head = sha(f"continuity-genesis/1\n{register}\n{case}\n".encode())
        for number, one in enumerate(placed):
            entry = read_entry(one["position"], one["note"].encode())
            need((entry.register, entry.case) == (register, case), "an entry of elsewhere")
            need((entry.number, entry.previous) == (number, head.hex()), "an entry out of line")
            head = entry.leaf
            take(entry, one["proof"])

    def take_own(self, entry, proof):
        if entry.kind in KEY_KINDS:
            self.keys.apply(entry)
        else:
            self.check_signers(entry)
        if entry.kind in KEY_KINDS or proof is not None:
            self.trying("tree", self.check_inclusion, entry, proof)
        self.own.append(entry)

    def take(self, entry, proof):
        if self.own_whole:
            self.trying("signers", self.check_signers, entry)
        if self.checkpoint and entry.position < self.checkpoint[1]:
            self.proved += self.trying("tree", self.check_inclusion, entry, proof)
        elif proof is not None:
            self.bad("a proof, and no checkpoint")
        self.case.append(entry)

    def check_signers(self, entry):
        signed = []
        for (_, _, signature), reference in zip(entry.signatures, entry.signers, strict=True):
            enrolled = self.keys.valid(reference, entry.position)
            need(enrolled and enrolled.key.fits(entry.text, signature), "a signature, or its key")
            signed.append(enrolled)
        need(entry.recorded_by in {one.person for one in signed}, "the recorder did not sign")
        directors = {one.person for one in signed if one.role == "director"}
        need(entry.kind != "register-restored" or len(directors) > 1, "it needs two directors")

    def check_inclusion(self, entry, proof):
        if proof is None and not (self.checkpoint and entry.position < self.checkpoint[1]):
            return
        need(self.checkpoint and proof is not None, "no proof, or no checkpoint")
        _, size, root, *_ = self.checkpoint
        need(climb(entry.leaf, entry.position, size, path_of(proof)) == root, "another root")

    def check_pin(self):
        registers = [e.key for e in self.keys.known.values() if e.role == "register"]
        if self.pin and self.own_whole:
            need(self.pin in registers, "not the register whose key was given")

    def check_checkpoint(self):
        _, size, _, text, signatures = self.checkpoint
        signed = 0
        for name, key_id, signature in signatures:
            enrolled = self.keys.valid(f"{name}+{key_id.hex()}", size - 1)
            if enrolled and enrolled.role == "register":
                need(enrolled.key.fits(text, signature), "the register's signature")
                signed += 1
        need(signed, "no key of the register signed it")

    def check_index(self):
        index = self.value["index"]
        one = index["entry"]
        entry = read_entry(one["position"], one["note"].encode())
        stated = (entry.register, entry.case, entry.kind)
        need(stated == (self.value["register"], "case-index", "cases-indexed"), "no case index")
        _, size, *_ = self.checkpoint
        need(entry.position == size - 1, "not the last entry under the checkpoint")
        need(entry.details.get("size") == entry.position, "it indexes something else")
        need(one["proof"] is not None, "not proved")
        self.check_inclusion(entry, one["proof"])
        self.check_signers(entry)
        root = unhex(entry.details.get("root"))
        self.check_record("register", index["register"], self.own, entry.position, root)
        if len(self.case) == len(self.value["entries"]):
            case = self.value["case"]
            self.check_record(case, index["case"], self.case, entry.position, root)
            if index["case"] is not None:
                self.complete_to = sum(one.position < entry.position for one in self.case)

    def check_record(self, case, word, chain, before, root):
        chain = [entry for entry in chain if entry.position < before]
        need((word["length"] if word else 0) == len(chain), f"it counts {case} otherwise")
        if not chain:
            return
        last, digest = chain[-1], sha(case.encode())
        record = {
            "case": digest.hex(),
            "head": last.leaf.hex(),
            "length": len(chain),
            "size": last.position + 1,
        }
        leaf, size = sha(b"\0", canonical(record).encode()), word["bucket_size"]
        bucket = climb(leaf, word["position"], size, path_of(word["path"]))
        bound = sha(b"continuity-bucket/1\n", size.to_bytes(8, "big"), bucket)
        top = climb(sha(b"\0", bound), digest[0], 256, path_of(word["index_path"]))
        need(top == root, f"its record of {case} leads elsewhere")

    def check_seen(self):
        _, size, root, *_ = self.checkpoint
        proofs = {one["size"]: path_of(one["proof"]) for one in self.value["earlier"]}
        for entry in self.case:
            if entry.seen is None:
                continue
            need(entry.seen["size"] <= entry.position, "an author had seen too much")
            if entry.seen["size"] <= size:
                path = proofs.get(entry.seen["size"])
                old = unbase64(entry.seen["root"])
                shown = path is not None and grown(entry.seen["size"], size, path, old, root)
                need(shown, f"not the tree that the author of entry {entry.number} had seen")

    def check_details(self):
        digests, erased = {}, set()
        for entry in self.case:
            if entry.kind == "personal-details-erased":
                numbers, fields = entry.details.get("entries"), entry.details.get("fields")
                erased |= {
                    (number, name)
                    for number, name in digests
                    if number in (numbers or [number]) and name in (fields or [name])
                }
            personal = entry.details.get("personal")
            for name, digest in (personal if isinstance(personal, dict) else {}).items():
                digests[entry.number, name] = digest
        said = set()
        read = range(len(self.case), len(self.value["entries"]))  # could not be followed
        for one in self.value["disclosures"]:
            if one["entry"] in read:
                continue
            names = [n for number, n in digests if number == one["entry"]]
            text = one["disclosure"]
            stands = [n for n in names if stands_for(text, n, digests[one["entry"], n])]
            need(stands, "a detail shown is another")
            need((one["entry"], stands[0]) not in said, "a detail is shown twice")
            said.add((one["entry"], stands[0]))
        withheld = {(one["entry"], one["field"]) for one in self.value["withheld"]}
        withheld = {place for place in withheld if place[0] not in read}
        need(withheld <= set(digests) - said, "a detail withheld is none, or shown")
        need(set(digests) <= said | withheld | erased, "a detail is gone, and no entry erased it")


def verify_dossier(data, vkey=None):
    """Verify a dossier's bytes; the public key comes from outside. BadError: it is none at all."""
    return Dossier(read_dossier(data), vkey).verify()


def main(arguments):
    path, vkey, *held = [*arguments, None][: max(2, len(arguments))]
    data = Path(path).read_bytes()[:64]
    if data.lstrip().startswith((b"<", b"{")):
        dossier = verify_dossier(Path(path).read_bytes(), vkey)
        print(*dossier.broken, "sound" if dossier.sound else "NOT SOUND", sep="\n")
        return 0 if dossier.sound else 1
    verdict = verify(path, vkey, [Path(one).read_bytes() for one in held])
    for at, why in verdict.broken:
        where = "the register" if at is None else f"entry {at + 1}"
        print(f"{where}: {why}")
    word = "sound" if verdict.sound else "NOT SOUND: sound"
    pinned = "" if vkey else "; its key was taken from the register itself"
    print(f"{word} to entry {verdict.sound_to} of {verdict.size}{pinned}")
    return 0 if verdict.sound else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
