"""Every finding: what raises it, what does not, and what a director reads."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from continuity.care import closing, entries, policy
from continuity.care.times import write_time
from tests.care.histories import (  # noqa: F401 - each enters its histories
    HISTORIES,
    History,
    ashes,
    belonging,
    care_due,
    containers,
    contradictions,
    corrections,
    custody,
    devices,
    effects,
    identity,
    lineage,
    matters,
    receipt,
    retained,
    sightings,
    weights,
    whereabouts,
)

if TYPE_CHECKING:
    from continuity.care.closing import Finding

SENTENCES = Path(__file__).with_name("findings.json")
AS_READ = json.loads(SENTENCES.read_text("utf-8")) if SENTENCES.exists() else {}


def as_read(finding: Finding) -> dict[str, object]:
    """A finding as it stands in the file of sentences; what says nothing is left out."""
    told = {
        "code": finding.code,
        "stops": finding.stops,
        "sentence": finding.sentence,
        "mend": finding.mend,
        "things": list(finding.things),
        "cases": list(finding.cases),
        "entries": list(finding.entries),
        "place": finding.place,
        "holder": finding.holder,
        "seen": write_time(finding.seen) if finding.seen else None,
    }
    return {name: value for name, value in told.items() if value not in (None, [])}


def _found(history: History) -> list[Finding]:
    return list(history.world().check(history.case, **history.ask).findings)


@pytest.mark.parametrize("history", HISTORIES, ids=lambda h: f"{h.code}:{h.name}")
def test_a_history_raises_what_it_says_and_no_more(history: History) -> None:
    found = _found(history)
    assert tuple(sorted(f.code for f in found)) == history.finds
    if history.raises:
        assert [as_read(f) for f in found] == AS_READ[f"{history.code}: {history.name}"]


def test_every_finding_has_a_history_that_raises_it_and_one_that_spares_it() -> None:
    raised = {h.code for h in HISTORIES if h.raises}
    spared = {h.code for h in HISTORIES if not h.raises}
    assert raised == {kind.code for kind in closing.CHECKS}, (
        "write the smallest history that raises it into its subject's module in"
        " tests/care/histories, then run python -m tests.care.sentences"
    )
    assert spared == raised, "write the nearest history that does not raise it beside that one"


def test_the_sentences_are_of_histories_that_exist() -> None:
    raising = {f"{h.code}: {h.name}" for h in HISTORIES if h.raises}
    assert set(AS_READ) == raising, "run python -m tests.care.sentences, and read what changed"


def test_every_finding_is_weighed_by_the_policy_with_its_source_and_no_other() -> None:
    listed = {code: rule.source for code, rule in policy.default().findings.items()}
    assert listed == {kind.code: kind.source for kind in closing.CHECKS}, (
        "list it in care/policy.toml, with the source that its check names"
    )
    assert all(listed.values())


def test_every_finding_has_a_stable_code_in_plain_words_and_a_meaning() -> None:
    for kind in closing.CHECKS:
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", kind.code)
        assert kind.meaning.endswith(".")
        assert "\n" not in kind.meaning


def test_a_check_can_be_called_by_its_name_as_it_is_written_down() -> None:
    for kind in closing.CHECKS:
        assert (
            getattr(sys.modules[kind.check.__module__], kind.code.replace("-", "_")) is kind.check
        )


def test_what_would_mend_a_finding_names_kinds_that_exist() -> None:
    for findings in AS_READ.values():
        for finding in findings:
            for named in re.findall(r"\(([^)]*)\)", finding["mend"]):
                words = re.findall(r"[a-z]+(?:-[a-z]+)+|[a-z]+", named)
                assert words[0] in entries.KINDS, finding["mend"]


def test_no_sentence_carries_a_time() -> None:
    told = [f["sentence"] for findings in AS_READ.values() for f in findings]
    assert not [s for s in told if re.search(r"\d\d:\d\d", s)]


ASKED_OF_THE_CLOSING = [
    "agreement-not-stated",
    "another-case-inside",
    "battery-inside",
    "body-not-sutured",
    "care-due",
    "changed-after-closing",
    "closed-without-check",
    "closing-sighting-corrected",
    "condition-not-noted",
    "contents-not-recorded",
    "disposition-undecided",
    "effect-against-wish",
    "hazard-label-missing",
    "hazard-label-out-of-date",
    "identified-by-too-few",
    "identified-otherwise",
    "identifiers-disagree",
    "identity-not-from-the-body",
    "implants-not-stated",
    "leak-not-tended",
    "left-in-open-coffin",
    "long-in-store",
    "never-looked-into",
    "never-sighted",
    "no-unique-identifier",
    "not-identified-at-closing",
    "not-identified-at-receipt",
    "not-in-a-coffin",
    "not-packed",
    "not-powdered",
    "not-sealed",
    "not-sealed-again",
    "not-seen-empty",
    "not-sighted",
    "odour-not-tended",
    "person-unknown",
    "place-not-counted",
    "power-unknown",
    "radioactive-inside",
    "recalled",
    "seal-broken",
    "seen-otherwise",
    "shares-a-coffin",
    "similar-name",
    "still-under-treatment",
    "too-few-identifiers",
    "treatment-too-short",
    "wish-changed",
    "wish-not-followed",
]

NO_ACT_UNDOES = [
    "against-wish",
    "ashes-implausible",
    "cause-struck",
    "clock-went-back",
    "custody-gap",
    "dated-ahead",
    "disc-differs",
    "found-not-declared",
    "implausible-weight",
    "label-differs",
    "left-and-found-here",
    "lighter-than-its-contents",
    "matter-struck",
    "one-sided-hand-over",
    "other-than-planned",
    "pieces-do-not-add-up",
    "seal-differs",
    "signed-by-too-few",
    "signed-outside-role",
    "thing-struck",
    "two-holders",
    "two-places-at-once",
    "weight-fell",
    "weight-rose",
]


def test_what_is_asked_of_the_closing_alone_and_what_goes_on_after_the_disposition() -> None:
    assert sorted(k.code for k in closing.CHECKS if not k.goes_on) == ASKED_OF_THE_CLOSING


def test_only_a_fact_that_no_act_undoes_is_settled_by_word() -> None:
    assert sorted(k.code for k in closing.CHECKS if k.past) == NO_ACT_UNDOES
