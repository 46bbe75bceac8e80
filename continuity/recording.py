"""Recording: an intent is judged, signed and written, or refused whole.

Each intent is judged against its own case and every case it touches, inside the store's one
transaction: whoever comes second is judged against what the first has done. Of two stations that
scan one bag and put it into two places one is told no: an intent may say up to which entry its
maker had looked, and what was moved since is not where they saw it.
"""

from __future__ import annotations

import secrets
from bisect import bisect_left
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from continuity.care import rules
from continuity.care.case import Case
from continuity.care.fold import fold
from continuity.care.records import Event
from continuity.care.refusal import RefusedError
from continuity.care.scene import Scene
from continuity.care.things import case_of
from continuity.care.times import write_time
from continuity.chains import Chain, Chains, Others
from continuity.errors import InputError
from continuity.ledger.caseindex import INDEX_CASE, INDEX_KIND
from continuity.ledger.chain import Entry, Seen, genesis, read_entry, sign_entry
from continuity.ledger.disclosure import disclose
from continuity.ledger.keyring import KEY_KINDS, REGISTER_CASE, Keyring

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from continuity.care.acts.base import Act
    from continuity.care.house import House
    from continuity.care.intent import Intent
    from continuity.care.refusal import Objection
    from continuity.ledger.keys import SigningKey
    from continuity.store.protocol import Stored, Transaction


@dataclass(frozen=True, slots=True)
class Signatory:
    """An enrolled person, or a station, with the key unlocked."""

    person: str
    key: SigningKey


@dataclass(frozen=True, slots=True)
class Receipt:
    """What was recorded: by it anybody can ask later whether it still stands.

    Attributes:
        case: the case's number; None for the register's own chain.
        number: the entry's number in its chain.
        position: its position in the register.
        leaf: its leaf hash, in hexadecimal.
        act: the act as recorded, with the numbers of new things.
        mirrored: the other cases it was written into as well.
        recorded_at: when, UTC.
    """

    case: str | None
    number: int
    position: int
    leaf: str
    act: Act
    mirrored: tuple[str, ...]
    recorded_at: datetime


@dataclass(frozen=True, slots=True)
class Stamp:
    """When an act happened and was recorded, by whom, and with which keys it is signed."""

    occurred_at: datetime
    recorded_at: datetime
    by: str
    keys: tuple[SigningKey, ...]


class Recorder:
    """Writes into one transaction of a store, and notes which chains it has touched."""

    def __init__(
        self, pen: Transaction, chains: Chains, clock: Callable[[], datetime], touched: set[str]
    ) -> None:
        self._pen = pen
        self._chains = chains
        self._clock = clock
        self.touched = touched

    def record(self, intent: Intent, signatories: Sequence[Signatory]) -> Receipt:
        """Judge an intent and append its entry, and its copies in the cases it touches.

        Raises:
            InputError: it names what this register does not know, or a time that has not come.
            RefusedError: a rule of care speaks against it.
        """
        now = self.now()
        house = self._chains.house(self._pen)
        persons = _persons(house, signatories, intent.act)
        occurred_at = self._time(intent, now, house)
        case_id, chain = self._chain_for(intent)
        scene = self._scene(chain, house, persons, occurred_at)
        scene_now = self._scene_now(scene, chain)
        _must_exist(intent.act, scene, scene_now)
        act = intent.act.settle(scene)
        objections = rules.judge(act, scene)
        if intent.as_of is not None:
            objections += self._moved_since(intent.as_of, act)
        others = [] if act.for_house else rules.concerned(act, scene, scene_now)
        chains = [self._chains.by_number(self._pen, number) for number in others]
        if others:
            cases = (scene.case.number or act.opens(), *others)
            act = act.model_copy(update={"in_cases": cases})
        touched = [c for c in (chain, *chains) if c is not None]
        drafts = [_draft(act, c, occurred_at, now, persons) for c in touched]
        corrects = act.strikes_leaf() is not None
        if corrects or any(c.goes_on_after(occurred_at) for c in touched):
            objections += rules.upsets(scene, drafts)
        if others:
            after = rules.once_recorded(scene, drafts) if corrects else None
            act = act.model_copy(update={"known": rules.made_known(act, scene, after)})
        act = _despite(act, objections, intent)
        stamp = Stamp(occurred_at, now, persons[0], tuple(s.key for s in signatories))
        self.touched.add(case_id)
        stored = self.write(case_id, act, stamp)
        copy = act.model_copy(update={"personal": {}})
        for other in chains:
            self.touched.add(other.case_id)
            self.write(other.case_id, copy, stamp, mirrors=stored.leaf)
        if act.changes_presence or any(c.case.disposed for c in touched):
            for touched_id in (case_id, *(other.case_id for other in chains)):
                self._note_presence(touched_id)
        return Receipt(
            intent.case, stored.number, stored.position, stored.leaf.hex(), act, tuple(others), now
        )

    def _chain_for(self, intent: Intent) -> tuple[str, Chain | None]:
        """The chain an intent goes into: none yet for a new case, none for our own two."""
        if intent.act.for_house:
            return INDEX_CASE if intent.act.kind == INDEX_KIND else REGISTER_CASE, None
        opened = intent.act.opens()
        if opened is not None and self._pen.case_by_name(opened) is None:
            return secrets.token_hex(16), None
        chain = self._chains.by_number(self._pen, intent.case or "")
        return chain.case_id, chain

    def _scene(
        self,
        chain: Chain | None,
        house: House,
        persons: tuple[str, ...],
        occurred_at: datetime,
    ) -> Scene:
        """What an intent is judged against: the state at the time it happened."""
        if chain is None:
            return Scene(Case(""), {}, house, occurred_at, persons)
        others = Others(self._chains, self._pen, occurred_at)
        return Scene(chain.at(None, occurred_at), others, house, occurred_at, persons)

    def _scene_now(self, scene: Scene, chain: Chain | None) -> Scene:
        """The same with all that has happened since."""
        case = chain.case if chain else scene.case
        return replace(scene, case=case, others=Others(self._chains, self._pen, None))

    def _moved_since(self, size: int, act: Act) -> Iterator[Objection]:
        """What speaks against an act whose maker looked when the register held `size` entries.

        Raises:
            InputError: it never held more than it does now.
        """
        held = self._pen.head().size
        if size > held:
            raise InputError(f"as_of {size}: the register has {held} entries")
        now, looked = {}, {}
        for number in dict.fromkeys(map(case_of, act.mentions())):
            head = self._pen.case_by_name(number)
            if head is not None and head.position >= size:
                chain = self._chains.chain(self._pen, head)
                stored = self._pen.entries(chain.case_id)
                known = bisect_left(stored, size, key=lambda s: s.position)
                now[number] = chain.case
                looked[number] = fold(chain.case_id, number, chain.events[:known])
        if now:
            yield from rules.moved_meanwhile(act, looked, now)

    def write(
        self,
        case_id: str,
        act: Act,
        stamp: Stamp,
        *,
        mirrors: bytes | None = None,
    ) -> Stored:
        """Sign and append one entry, its personal details put away behind digests."""
        pen = self._pen
        kept = {field: disclose(field, value) for field, value in act.personal.items()}
        recorded = act.model_copy(update={"personal": {f: d for f, (_, d) in kept.items()}})
        head = pen.case_head(case_id)
        checkpoint = pen.latest_checkpoint()
        entry = Entry(
            register=pen.register,
            case=case_id,
            number=head.length if head else 0,
            previous=head.head if head else genesis(pen.register, case_id),
            kind=act.kind,
            occurred_at=write_time(stamp.occurred_at),
            recorded_at=write_time(stamp.recorded_at),
            utc_offset=_offset(stamp.recorded_at),
            recorded_by=stamp.by,
            signers=tuple(key.reference for key in stamp.keys),
            seen=Seen(checkpoint.size, checkpoint.root) if checkpoint else None,
            details=recorded.details(),
            mirrors=mirrors,
        )
        if act.kind in KEY_KINDS:
            _must_be_allowed(pen, entry)
        note = sign_entry(entry, stamp.keys)
        stored = pen.append(note, case_id, entry.number, act.kind, act.opens())
        for field, (text, _) in kept.items():
            pen.put_disclosure(stored.position, field, text)
        label = act.labels()
        if label and mirrors is None:
            pen.put_label(label[0], case_id, label[1], stored.position)
        return stored

    def _note_presence(self, case_id: str) -> None:
        """Keep the list of cases in care: what a count of a place, and alike names, look at."""
        chain = self._chains.by_id(self._pen, case_id)
        self._pen.put_in_care(case_id, chain.opened if chain.case.in_care else None)

    def _time(self, intent: Intent, now: datetime, house: House) -> datetime:
        if intent.occurred_at is None:
            return now
        ahead = intent.occurred_at - now
        if ahead > house.policy.span("ahead-of-clock"):
            raise InputError(
                f"occurred_at {write_time(intent.occurred_at)}: that is still to come; now it is"
                f" {write_time(now)}"
            )
        return intent.occurred_at

    def now(self) -> datetime:
        """The hour, UTC, cut to milliseconds."""
        now = self._clock().astimezone(UTC)
        return now.replace(microsecond=now.microsecond // 1000 * 1000)


def _persons(house: House, signatories: Sequence[Signatory], act: Act) -> tuple[str, ...]:
    """Who signs; each key must be enrolled for the person and still valid, or be the one enrolled.

    A key that the act itself brings in signs only to prove that its holder has it.
    """
    persons = []
    for signatory in signatories:
        if str(signatory.key.verify_key) == act.brings_key():
            continue
        key = house.keys.get(signatory.key.reference)
        if key is None or key.person != signatory.person:
            raise InputError(
                f"key {signatory.key.reference}: not enrolled in this register for"
                f" {signatory.person}; a director can enrol it"
            )
        if key.revoked:
            raise InputError(
                f"key {signatory.key.reference}: replaced or revoked; use the present key of"
                f" {signatory.person}"
            )
        persons.append(signatory.person)
    if not persons:
        raise InputError("nobody signs; name the key of whoever records this")
    return tuple(dict.fromkeys(persons))


def _must_be_allowed(pen: Transaction, entry: Entry) -> None:
    """Only what a verifier will accept may change who can sign.

    Raises:
        KeyringError: those who sign may not do this, or the new key did not sign.
    """
    before = ((s.position, read_entry(s.note)[0]) for s in pen.entries(REGISTER_CASE))
    Keyring.fold(before).apply(pen.head().size, entry)


def _must_exist(act: Act, scene: Scene, now: Scene) -> None:
    """Every thing an act names must exist, save those it brings in under its own case."""
    new = set(act.introduces())
    for thing in act.mentions():
        if thing in new and not thing.startswith(f"{scene.case.number}."):
            raise InputError(f"thing {thing}: a new thing takes a number of its own case")
        if thing not in new and not act.for_house and scene.find(thing) is None:
            if now.find(thing) is not None:
                raise InputError(
                    f"thing {thing}: not yet in this register at {write_time(scene.occurred_at)};"
                    " give a later occurred_at, or correct the entry that brought it in"
                )
            raise InputError(f"thing {thing}: no such thing in this register; check the label")


def _draft(
    act: Act, chain: Chain, occurred_at: datetime, now: datetime, persons: tuple[str, ...]
) -> rules.History:
    """The chain, and the act as its next entry, not yet written."""
    number = len(chain.events)
    event = Event(act, chain.case_id, number, occurred_at, now, persons[0], persons, leaf="")
    return rules.History(chain.case_id, chain.number, chain.events, event)


def _despite(act: Act, objections: Sequence[Objection], intent: Intent) -> Act:
    """The act as it will be recorded: refused, or with what it was recorded in spite of."""
    if not objections:
        return act
    final = [o for o in objections if not o.findable]
    if final or not intent.found:
        what = f"{act.kind} in case {intent.case}" if intent.case else act.kind
        raise RefusedError(final or objections, what)
    return act.model_copy(update={"despite": tuple(sorted({o.code for o in objections}))})


def _offset(now: datetime) -> str:
    """What the local clock adds to UTC, `+HH:MM`."""
    text = f"{now.astimezone():%z}"
    return f"{text[:3]}:{text[3:5]}"
