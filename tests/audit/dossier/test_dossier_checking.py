"""Checking a dossier: sound ones pass and say on what they rest, each tampered one is found."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from scenario import WITNESS, treat, whole
from tampers import TAMPERS, Tamper

from continuity.audit.dossier.checking import check
from continuity.audit.trust import Held, Trust
from continuity.ledger import checkpoint as checkpoints
from continuity.ledger.checkpoint import cosigner_key
from continuity.ledger.keys import VerifyKey
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from continuity.audit.dossier.what import Dossier

LATEST = "; whether this is the latest state cannot be told from here"


def test_a_sound_dossier_says_what_it_rests_on(sound: Dossier, pinned: Trust) -> None:
    report = check(sound, pinned)
    assert report.sound
    assert report.codes == ()
    assert report.pinned
    assert report.proved == len(sound.entries) == 25
    assert report.complete_to == 25
    assert report.unanchored == 0
    assert report.words == (
        "sound in 25 entries of the case, 25 of them under the checkpoint of 40, complete to its"
        f" entry 25, anchored by nobody outside, 0 entries not anchored{LATEST}"
    )


def test_without_a_pinned_key_the_words_say_so(sound: Dossier) -> None:
    report = check(sound)
    assert report.sound
    assert not report.pinned
    assert "; its key is its own word, for none was given from outside; " in report.words
    assert report.rests_on[0].endswith(
        ", which is the dossier's own word: give the one that was handed out when the register was"
        " started (--key)"
    )


@pytest.mark.parametrize("tamper", TAMPERS, ids=lambda tamper: tamper.name)
def test_each_tamper_is_found(tamper: Tamper, sound: Dossier, pinned: Trust) -> None:
    report = check(tamper.alter(sound), pinned)
    assert set(report.codes) == tamper.codes
    assert report.sound is tamper.sound


def test_a_tail_after_the_checkpoint_is_counted_as_not_anchored(
    sound: Dossier, pinned: Trust
) -> None:
    (tamper,) = (t for t in TAMPERS if t.name == "recorded-after-the-checkpoint")
    report = check(tamper.alter(sound), pinned)
    assert (report.proved, report.unanchored, report.complete_to) == (25, 1, 25)
    assert "1 entries not anchored" in report.words


def test_a_witness_anchors_the_checkpoint(sound: Dossier, pinned: Trust) -> None:
    note = checkpoints.cosign(Note.parse(sound.checkpoint or b""), WITNESS, 1_772_600_000)
    trust = replace(pinned, witnesses=(cosigner_key(WITNESS.verify_key),), quorum=1)
    report = check(replace(sound, checkpoint=note.encode()), trust)
    assert report.sound
    assert "anchored to entry 40 at 2026-03-04T04:53:20Z by witness.example/elm" in report.words
    alone = check(sound, trust)
    assert alone.codes == ("quorum-missing",)


def test_a_false_cosignature_of_a_known_witness_is_found(sound: Dossier, pinned: Trust) -> None:
    note = checkpoints.cosign(Note.parse(sound.checkpoint or b""), WITNESS, 1_772_600_000)
    last = note.signatures[-1]
    later = replace(last, blob=bytes(8) + last.blob[8:])
    forged = Note(note.text, (*note.signatures[:-1], later))
    trust = replace(pinned, witnesses=(cosigner_key(WITNESS.verify_key),))
    report = check(replace(sound, checkpoint=forged.encode()), trust)
    assert report.codes == ("cosignature-wrong",)


def held(dossier: Dossier, pinned: Trust, kept_by: str = "the coroner's office") -> Trust:
    """What a receipt of this dossier's checkpoint would hold."""
    return replace(pinned, held=(Held(dossier.checkpoint or b"", kept_by),))


def test_a_checkpoint_kept_outside_anchors_a_later_dossier(pinned: Trust) -> None:
    firm = whole(treated=False)
    trust = held(firm.dossier(), pinned)
    treat(firm)
    firm.publish()
    report = check(firm.dossier(), trust)
    assert report.codes == ()
    assert "anchored to entry 21 by the coroner's office (held-checkpoint)" in report.words


def test_a_rewriting_shows_against_a_checkpoint_kept_outside(sound: Dossier, pinned: Trust) -> None:
    (tamper,) = (t for t in TAMPERS if t.name == "rewritten-with-every-key")
    rewritten = tamper.alter(sound)
    early = whole(treated=False)
    later = whole()
    assert check(rewritten, pinned).sound
    assert check(later.dossier(), held(sound, pinned)).codes == ("forked",)
    assert check(later.dossier(), held(early.dossier(), pinned)).codes == ("rewritten",)
    assert check(rewritten, held(sound, pinned)).codes == ("anchor-unusable",)
    assert check(sound, held(rewritten, pinned)).codes == ("anchor-unusable",)


def test_a_stale_dossier_is_told_by_a_later_checkpoint(sound: Dossier, pinned: Trust) -> None:
    (tamper,) = (t for t in TAMPERS if t.name == "stale-but-genuine")
    report = check(tamper.alter(sound), held(sound, pinned))
    assert report.codes == ("anchor-unusable",)
    assert "is later than the dossier's" in report.findings[0].sentence


def test_what_was_kept_outside_must_be_of_this_register(sound: Dossier, pinned: Trust) -> None:
    (made_up,) = (t for t in TAMPERS if t.name == "register-made-up-under-another-key")
    assert check(sound, held(made_up.alter(sound), pinned)).codes == ("checkpoint-signature",)


def test_another_origin_than_the_pinned_one_is_found(sound: Dossier) -> None:
    other = VerifyKey("continuity-register/" + "0" * 32, WITNESS.verify_key.raw)
    assert check(sound, Trust(other)).codes == ("not-the-pinned-register", "not-the-pinned-key")
