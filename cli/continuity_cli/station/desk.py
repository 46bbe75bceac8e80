"""The desk: takes scans, records what they mean, and answers. Shows nothing itself.

What it answers as recorded is on the disk: `Register.record` returns only after the commit. A
power cut before that leaves nothing, and the station, started again, says what the last entry was.
"""

from __future__ import annotations

import re
import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from continuity import clock
from continuity.care.intent import read_intent
from continuity.care.refusal import RefusedError
from continuity.chains import event_of
from continuity.errors import ContinuityError, InputError
from continuity.ledger.chain import read_entry
from continuity_cli.station import grammar, intents, words
from continuity_cli.station.answer import Answer, Tone, View, cannot, refused
from continuity_cli.station.below import Below
from continuity_cli.station.grammar import State
from continuity_cli.station.keys import Keys
from continuity_cli.station.reading import Reader
from continuity_cli.station.settings import Settings
from continuity_cli.station.tokens import (
    Ask,
    Dropped,
    Found,
    HandOver,
    Identify,
    Refuse,
    SignCheck,
    SignedFor,
    SignIn,
    SignOut,
    Tick,
    Undo,
)
from continuity_cli.station.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from continuity.care.case import Case
    from continuity.recording import Receipt, Signatory
    from continuity.register import Register
    from continuity_cli.station.tokens import Deed, Outcome, Work

_MENDED_BY_SECOND = {"second-person", "role"}
"""Refusals that a second person's signature mends, if that one stands among them."""


@dataclass(frozen=True, slots=True)
class _Last:
    """The last entry of this station, which UNDO corrects."""

    case: str
    leaf: str
    by: str
    told: str


def _local_now() -> datetime:
    return clock.now().astimezone()


def _or_found(mend: str) -> str:
    """What mends a refusal, for whoever has the board in sight and no command line."""
    told = re.sub(r"(?:record (?:it|this) with|use) --found", "scan FOUND", mend)
    return told if told != mend else f"{mend}; if it is so all the same, scan FOUND"


class Desk:
    """One station at work on one register. Use it in the thread that opened the register.

    Args:
        register: the open register.
        keys: the folder of key files.
        seconds: a clock that only runs forward, in seconds.
        now: the local hour, with its offset.
        settings: how long to wait for what; None takes the policy's.
    """

    def __init__(
        self,
        register: Register,
        keys: Path,
        *,
        seconds: Callable[[], float] = time.monotonic,
        now: Callable[[], datetime] = _local_now,
        settings: Settings | None = None,
    ) -> None:
        self.settings = settings or Settings.of(register.house().policy)
        self._register = register
        self._keys = Keys(keys, pin=self.settings.pin)
        self._reader = Reader(register, self._keys.locked)
        self._watch = Watch(register)
        self._below = Below(register, now)
        self.seconds = seconds
        self._now = now
        self._state = State()
        self._signs: Signatory | None = None
        self._second: Signatory | None = None
        self._last: _Last | None = None
        self._handed: HandOver | None = None
        self._heard = ("", float("-inf"))
        self._scanned_at = seconds()
        self.answer = self._hello()

    def scan(self, text: str) -> Answer | None:
        """Take one scan.

        Returns:
            The answer; None for a scan repeated so soon that it counts once.
        """
        now = self.seconds()
        self.tick()
        text, (heard, at) = text.strip(), self._heard
        repeated = text == heard and now - at < self.settings.repeat
        if text and not repeated:
            self._scanned_at = now
            self.answer = self._taken(text)
        # After the answer: whoever scans again while the register is slow means the same scan.
        self._heard = (text or heard, self.seconds())
        return self.answer if text and not repeated else None

    def _taken(self, text: str) -> Answer:
        before = self._state
        try:
            token = self._reader.read(text, pin=before.pin_of is not None)
            self._state, outcome = grammar.step(before, token)
            return self._answered(outcome, before)
        except ContinuityError as error:
            self._state = replace(self._state.idle(), interrupted=True)
            return cannot(error)

    def tick(self) -> Answer | None:
        """Let time pass: what is unfinished for too long is dropped, and nothing recorded."""
        quiet = self.seconds() - self._scanned_at
        done = grammar.lapse(
            self._state,
            sequence=quiet >= self.settings.sequence,
            closing=quiet >= self.settings.closing,
            key=quiet >= self.settings.key,
        )
        if self._second and quiet >= self.settings.sequence:
            self._second = None
        if self._state.refused and quiet >= self.settings.sequence:
            self._state = replace(self._state, refused=None)
        if done is None:
            return None
        self._state, outcome = done
        if self._state.who is None:
            self._signs = None
        self._second = None
        # What was dropped by time may be scanned again at once: that is no repetition.
        self._heard = ("", float("-inf"))
        self.answer = self._answered(outcome, self._state)
        return self.answer

    def warm(self) -> None:
        """Read what the first answer needs, so that the first scan waits for nothing."""
        from continuity.care import closing, names  # noqa: F401, PLC0415
        from continuity_cli.labelling import faces  # noqa: F401, PLC0415

        self._reader.warm()

    def look(self) -> bool:
        """Follow treatments in other cases, a few at a time; True while there are more to read.

        Raises:
            RegisterError: the register cannot be read.
        """
        return self._watch.look()

    def view(self) -> View:
        """What stands around the answer just now."""
        now, quiet = self._now(), self.seconds() - self._scanned_at
        state = self._state
        return View(
            who=state.who,
            second=self._second.person if self._second else None,
            key_left=max(0.0, self.settings.key - quiet) if state.who else 0.0,
            begun=state.words,
            left=max(0.0, self.settings.sequence - quiet) if state.open else 0.0,
            span=self.settings.sequence,
            pin=state.pin_of is not None,
            closing=state.closing,
            immersions=self._watch.immersions(now),
            clock=f"{now:%H:%M:%S}",
        )

    def _hello(self) -> Answer:
        """What stands there at the start: the last entry of the register, whoever wrote it."""
        store = self._register.store
        stored = store.entry_at(store.head().size - 1)
        if stored is None:
            return Answer(Tone.READY, "READY", "scan a badge")
        event = event_of(read_entry(stored.note)[0], stored.leaf, self._register.house())
        head = store.case_head(stored.case_id)
        chain = head.name if head else None
        told = words.of_entry(event, chain, self._now())
        # Of what stands in several cases this is the copy in the last; the first is corrected.
        number = next(iter(event.act.in_cases), chain)
        if number and event.act.kind in intents.KINDS:
            self._last = _Last(number, event.origin, event.by, told)
        return Answer(Tone.READY, "READY", f"last recorded: {told}", "scan a badge")

    def _answered(self, outcome: Outcome, before: State) -> Answer:
        match outcome:
            case Ask():
                dropped = f"dropped: {outcome.dropped}. " if outcome.dropped else ""
                answer = Answer(Tone.GO_ON, "GO ON", self._state.words, f"{dropped}{outcome.wants}")
            case Refuse():
                answer = refused(outcome.code, outcome.why, outcome.mend)
            case Dropped():
                word = "TIMED OUT" if outcome.by_time else "DROPPED"
                rest = "what was seen stays recorded" if outcome.closing else "nothing was recorded"
                answer = Answer(Tone.DROPPED, word, outcome.what, rest)
            case SignOut():
                self._signs = self._second = None
                answer = Answer(Tone.READY, "LOCKED", "the key is put away", "scan a badge")
            case SignIn():
                answer = self._sign_in(outcome, before)
            case Undo():
                answer = self._undone()
            case _:
                answer = self._recorded(outcome)
        return answer

    def _sign_in(self, asked: SignIn, before: State) -> Answer:
        try:
            signatory = self._keys.unlock(asked.person, asked.pin, self.seconds())
        except InputError as error:
            self._state = replace(before, pin_of=None, interrupted=True)
            return refused("not-unlocked", str(error).rstrip("."), "scan the badge again")
        if not asked.second:
            self._signs, self._second = signatory, None
            what = "scan a label or an act"
            return Answer(Tone.GO_ON, "SIGNED IN", asked.person, what)
        self._second = signatory
        held, self._state = self._state.held, replace(self._state, held=None)
        if held is not None:
            return self._undone() if isinstance(held, Undo) else self._recorded(held)
        return Answer(
            Tone.GO_ON,
            "TWO SIGN",
            f"{self._state.who} and {asked.person} sign the next entry",
            self._state.words or "scan a label or an act",
        )

    def _recorded(self, deed: Work | Found) -> Answer:
        if isinstance(deed, SignedFor) and not deed.things:
            if self._handed is None or self._handed.taker != deed.taker:
                self._state = replace(self._state, interrupted=True)
                why = f"nothing was just handed over to {deed.taker} here"
                return refused("which-things", why, "scan SIGNED FOR, the things, then who signed")
            deed = replace(deed, things=self._handed.things)
        number = intents.case_number(deed)
        try:
            case = self._register.case(number)
            if isinstance(deed, SignCheck) and not self._register.closing_check(number).clear:
                return self._not_clear(number)
            on_the_tag = self._on_the_tag(case) if isinstance(deed, Identify) else ()
            fields = intents.fields(deed, case, on_the_tag)
            receipt = self._record(fields)
        except (InputError, RefusedError) as error:
            return self._not_recorded(error, deed, number)
        told = words.of_deed(deed, receipt.act.kind)
        self._last = _Last(number, receipt.leaf, self._state.who or "", told)
        self._handed = deed if isinstance(deed, HandOver) else None
        if isinstance(deed, SignCheck):
            self._state = replace(self._state, closing=None)
        if isinstance(deed, Tick) and deed.begins:
            self._below.begin()
        answer = Answer(Tone.RECORDED, "RECORDED", told, case=number, receipts=(receipt,))
        if receipt.act.despite:
            mend = "an irregularity is open until a named person resolves it"
            answer = replace(answer, word="FOUND", mend=mend)
        return self._below.of(answer, self._state.closing)

    def _on_the_tag(self, case: Case) -> tuple[str, ...]:
        from continuity_cli.labelling import faces  # noqa: PLC0415 - `warm` has read it

        details = faces.details_of(case, self._register.personal_details(case.number))
        return faces.on_the_tag(case, details)

    def _record(self, fields: intents.Fields) -> Receipt:
        signatories = [s for s in (self._signs, self._second) if s]
        receipt = self._register.record(read_intent(fields), signatories)
        self._second = None
        return receipt

    def _undone(self) -> Answer:
        last = self._last
        if last is None or last.by != self._state.who:
            self._state = replace(self._state, interrupted=True)
        if last is None:
            why = "UNDO takes back the last scanned act, once: there is none, or it is back already"
            return refused("nothing-to-undo", why, "for others: continuity record corrected")
        if last.by != self._state.who:
            why = f"the last entry is by {last.by}"
            return refused("not-yours", why, f"{last.by} can undo it, or continuity record")
        try:
            receipt = self._record(intents.undoing(last.case, last.leaf))
        except (InputError, RefusedError) as error:
            return self._not_recorded(error, Undo(), last.case)
        self._last = None
        answer = Answer(
            Tone.RECORDED,
            "UNDONE",
            f"no longer holds: {last.told}",
            "it stays legible, struck by a correction",
            case=last.case,
            receipts=(receipt,),
        )
        return self._below.of(answer, self._state.closing)

    def _not_recorded(self, error: ContinuityError, deed: Deed, number: str) -> Answer:
        self._state = replace(self._state, interrupted=True)
        if not isinstance(error, RefusedError):
            return refused("input", str(error), "nothing was recorded")
        codes = {objection.code for objection in error.objections}
        if self._second is None and "second-person" in codes <= _MENDED_BY_SECOND:
            self._state = replace(self._state, held=deed)
            told = words.of_deed(deed) if not isinstance(deed, Undo) else "the correction"
            mend = "scan the second person's badge; CANCEL drops it"
            return Answer(Tone.GO_ON, "SECOND", f"a second person must sign: {told}", mend)
        chosen = next((o for o in error.objections if o.code == "wrong-case"), error.objections[0])
        mend = chosen.mend
        if chosen.code == "not-here":
            mend = "if it came back: scan its holder, its label, then the place"
        if not isinstance(deed, (Undo, Found)) and all(o.findable for o in error.objections):
            self._state = replace(self._state, refused=deed)
            mend = _or_found(mend)
        answer = refused(chosen.code, chosen.sentence, mend)
        if isinstance(deed, Tick):
            if deed.begins:
                self._state = replace(self._state, closing=None)
                return answer
            return self._below.of(replace(answer, case=number), self._state.closing)
        return answer

    def _not_clear(self, number: str) -> Answer:
        self._state = replace(self._state, interrupted=True)
        answer = refused("not-clear", f"case {number} is not clear", "mend what is listed")
        return self._below.of(replace(answer, word="NOT CLEAR", case=number), number)
