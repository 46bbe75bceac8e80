"""Checks a dossier's machine part, from its bytes and from keys the reader brings along.

The same steps, under the same codes, stand in the page's own script and, written apart from the
published format, in the tests' second verifier. What cannot be followed is named once, and what
rests on it is not judged.
"""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from continuity.audit.anchors import judge
from continuity.audit.dossier.completeness import check_chains, check_seen, root_recorded
from continuity.audit.dossier.details import check_details
from continuity.audit.dossier.held import judge_held
from continuity.audit.dossier.verdict import Report
from continuity.audit.entries import TWO_DIRECTORS
from continuity.audit.outside import judge_quorum
from continuity.audit.report import Anchor, own_word
from continuity.audit.trust import Trust
from continuity.care.acts.house import DIRECTORS_TO_RESTORE
from continuity.errors import FormatError
from continuity.ledger import merkle
from continuity.ledger.caseindex import INDEX_CASE
from continuity.ledger.chain import ChainChecker, Entry, check_signatures, read_entry
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.keyring import KEY_KINDS, REGISTER_CASE, REGISTER_ROLE
from continuity.ledger.note import Note, SignatureError, verify
from continuity.store.protocol import Cosignature

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from continuity.audit.dossier.what import Dossier, Placed

_FAMILY = b"continuity-entry/"
_TYPE = b"continuity-entry/1\n"


def check(dossier: Dossier, trust: Trust | None = None) -> Report:
    """Check a machine part; the page around it is `reading`'s to compare.

    Args:
        dossier: As it was read.
        trust: The keys the reader had from elsewhere; None: none at all.
    """
    trust = trust or Trust()
    report = Report(dossier)
    checkpoint = _read_checkpoint(dossier, report)
    _check_positions(dossier, report)
    _follow_register(dossier, checkpoint, report)
    if report.keys_known:
        _check_pins(dossier, trust, report)
    if checkpoint and report.keys_known:
        _check_signature(dossier, checkpoint, trust, report)
    _follow_case(dossier, checkpoint, report)
    if dossier.index and dossier.checkpoint is None:
        sentence = "It shows a case index, and no checkpoint that the index stands under."
        report.add("index-differs", sentence, case=INDEX_CASE)
    if checkpoint:
        _check_index(dossier, checkpoint, report)
        check_seen(dossier, checkpoint, report)
    check_details(dossier, [entry for entry, _ in report.entries], report)
    return report


def _read_checkpoint(dossier: Dossier, report: Report) -> Checkpoint | None:
    if dossier.checkpoint is None:
        return None
    try:
        checkpoint = Checkpoint.parse(Note.parse(dossier.checkpoint).text)
    except FormatError as error:
        report.add("checkpoint-malformed", str(error))
        return None
    if checkpoint.origin != dossier.register or not checkpoint.size:
        report.add("checkpoint-malformed", "It is of another register, or of an empty one.")
        return None
    return checkpoint


def _check_positions(dossier: Dossier, report: Report) -> None:
    """In each chain positions rise, and no two entries share one."""
    taken: set[int] = set()
    for case, placed in (
        (REGISTER_CASE, dossier.register_entries),
        (dossier.case, dossier.entries),
        (INDEX_CASE, (dossier.index.entry,) if dossier.index else ()),
    ):
        last = -1
        for number, one in enumerate(placed):
            if one.position <= last or one.position in taken:
                sentence = f"Position {one.position} is taken, or stands after a later one."
                report.add(
                    "position-wrong", sentence, case=case, number=number, position=one.position
                )
                break
            last = one.position
            taken.add(last)


def _follow(
    placed: Sequence[Placed], checker: ChainChecker, report: Report
) -> Iterator[tuple[Placed, Entry, Note, bytes]]:
    """Read a chain's entries in order; the first that cannot be followed ends it."""
    for number, one in enumerate(placed):
        code = _unread(one)
        try:
            entry, note = read_entry(one.note)
            leaf = merkle.leaf_hash(one.note)
            code = "chain-broken" if entry.register == checker.register else "wrong-register"
            checker.accept(entry, leaf)
        except FormatError as error:
            report.add(code, str(error), case=checker.case, number=number, position=one.position)
            return
        yield one, entry, note, leaf


def _unread(one: Placed) -> str:
    """The code of an entry that cannot be read."""
    is_other = one.note.startswith(_FAMILY) and not one.note.startswith(_TYPE)
    return "version-unknown" if is_other else "entry-malformed"


def _follow_register(dossier: Dossier, checkpoint: Checkpoint | None, report: Report) -> None:
    checker = ChainChecker(dossier.register, REGISTER_CASE)
    for one, entry, note, leaf in _follow(dossier.register_entries, checker, report):
        if not _check_signed(one, entry, note, report):
            return
        try:
            report.keyring.apply(one.position, entry)
        except FormatError as error:
            _add(report, "keys-broken", str(error), one, entry)
            return
        if entry.kind in KEY_KINDS or one.proof is not None:
            _is_included(one, entry, leaf, checkpoint, report)
        _check_persons(one, entry, report)
        report.house.append((entry, leaf))
    if not dossier.register_entries:
        report.add("keys-broken", "The dossier holds nothing of the register's own chain.")


def _follow_case(dossier: Dossier, checkpoint: Checkpoint | None, report: Report) -> None:
    checker = ChainChecker(dossier.register, dossier.case)
    for one, entry, note, leaf in _follow(dossier.entries, checker, report):
        if report.keys_known and _check_signed(one, entry, note, report):
            _check_persons(one, entry, report)
        if _is_included(one, entry, leaf, checkpoint, report):
            report.proved += 1
        report.entries.append((entry, leaf))
    if not dossier.entries:
        report.add("beyond-index", "The dossier holds no entry of the case.", case=dossier.case)


def _check_index(dossier: Dossier, checkpoint: Checkpoint, report: Report) -> None:
    """The entry that records the case index, by itself, and what the index says."""
    if dossier.index is None:
        return
    one = dossier.index.entry
    code = _unread(one)
    try:
        entry, note = read_entry(one.note)
        code = "index-differs" if entry.register == dossier.register else "wrong-register"
        root = root_recorded(entry, one, dossier.register, checkpoint)
    except FormatError as error:
        report.add(code, str(error), case=INDEX_CASE, position=one.position)
        return
    if report.keys_known:
        if not _check_signed(one, entry, note, report):
            return
        _check_persons(one, entry, report)
    check_chains(dossier, one.position, root, report)


def _check_signed(one: Placed, entry: Entry, note: Note, report: Report) -> bool:
    try:
        key_of = report.keyring.keys_for(one.position, entry)
    except FormatError as error:
        _add(report, "keys-broken", str(error), one, entry)
        return False
    for reference in entry.signers:
        if key_of(reference) is None:
            sentence = f"{reference} signed, and is not valid at position {one.position}."
            _add(report, "key-not-valid", sentence, one, entry)
            return False
        if report.keyring.suspect(reference, one.position):
            sentence = f"{reference} was declared compromised from before this entry."
            _add(report, "key-suspect", sentence, one, entry)
    try:
        check_signatures(entry, note, key_of)
    except SignatureError as error:
        _add(report, "signature-wrong", str(error), one, entry)
        return False
    return True


def _check_persons(one: Placed, entry: Entry, report: Report) -> None:
    persons = [report.keyring.person_of(reference) for reference in entry.signers]
    if entry.recorded_by not in persons:
        sentence = f"{entry.recorded_by} recorded it, and signed with no key."
        _add(report, "recorder-differs", sentence, one, entry)
    directors = {
        person
        for person, reference in zip(persons, entry.signers, strict=True)
        if report.keyring.role_of(reference) == "director"
    }
    if entry.kind in TWO_DIRECTORS and len(directors) < DIRECTORS_TO_RESTORE:
        sentence = f"{entry.kind} needs two directors."
        _add(report, "second-person-missing", sentence, one, entry)


def _is_included(
    one: Placed, entry: Entry, leaf: bytes, checkpoint: Checkpoint | None, report: Report
) -> bool:
    """Whether an entry is shown to be in the tree; size and root come from the checkpoint."""
    if (checkpoint is None or one.position >= checkpoint.size) and one.proof is None:
        return False
    try:
        if checkpoint is None or one.proof is None:
            raise merkle.ProofError("The entry or the dossier lacks what shows it in the tree.")
        merkle.verify_inclusion(leaf, one.position, checkpoint.size, one.proof, checkpoint.root)
    except FormatError as error:
        _add(report, "not-in-the-tree", str(error), one, entry)
        return False
    return True


def _check_pins(dossier: Dossier, trust: Trust, report: Report) -> None:
    keys = report.keyring.register_keys()
    if trust.pinned_origin not in (None, dossier.register):
        sentence = f"The dossier is of {dossier.register}; {trust.pinned_origin} was expected."
        report.add("not-the-pinned-register", sentence)
    if trust.register_key is None:
        shown = keys[0].reference if keys else "none"
        report.rests_on = (own_word(shown, "dossier"),)
        return
    report.rests_on = (f"register key {trust.register_key.reference}, given from outside",)
    report.pinned = trust.register_key in keys
    if not report.pinned:
        sentence = f"The key given, {trust.register_key.reference}, never was this register's."
        report.add("not-the-pinned-key", sentence)


def _check_signature(
    dossier: Dossier, checkpoint: Checkpoint, trust: Trust, report: Report
) -> None:
    keys = [
        enrolment.key
        for enrolment in report.keyring.enrolments()
        if enrolment.role == REGISTER_ROLE and enrolment.valid_at(checkpoint.size - 1)
    ]
    try:
        verify(Note.parse(dossier.checkpoint or b""), keys)
    except FormatError as error:
        report.add("checkpoint-signature", str(error))
        return
    report.checkpoint = checkpoint
    _judge_anchors(dossier, checkpoint, trust, report)


def _judge_anchors(dossier: Dossier, checkpoint: Checkpoint, trust: Trust, report: Report) -> None:
    """What others said of the checkpoint, by the keys and authorities the reader brings along."""
    kept = [Cosignature(checkpoint.size, a.kind, a.blob) for a in dossier.attestations]
    words = chain(
        judge(Note.parse(dossier.checkpoint or b""), checkpoint.size, kept, trust),
        judge_held(dossier, checkpoint, report.keyring, trust),
    )
    anchors = []
    for word in words:
        if isinstance(word, Anchor):
            anchors.append(word)
        else:
            report.add(word.code, word.sentence)
    anchors.sort(key=lambda anchor: -anchor.size)
    for finding in judge_quorum(anchors, trust):
        report.add(finding.code, finding.sentence)
    report.anchors = tuple(anchors)


def _add(report: Report, code: str, sentence: str, one: Placed, entry: Entry) -> None:
    report.add(code, sentence, case=entry.case, number=entry.number, position=one.position)
