"""Policy: data with its sources; a firm's own changes what it names and keeps the rest."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from pydantic import ValidationError

from continuity.care import entries, policy
from continuity.care.house import Role
from continuity.care.things import Disposition
from continuity.errors import InputError


def test_every_value_names_its_source_or_says_that_it_has_none() -> None:
    rules = policy.default()
    data = [*rules.thresholds.values(), *rules.acts.values(), *rules.findings.values()]
    for rule in (*data, rules.identifiers, rules):
        assert re.search(r"no source|\d|HTA|Dover|Strasbourg|ICRP", rule.source), rule.source


def test_the_thresholds_in_their_units() -> None:
    rules = policy.default()
    assert {name: (t.value, t.unit) for name, t in rules.thresholds.items()} == {
        "closing-sighting": (240, "minutes"),
        "treatment": (240, "minutes"),
        "late-entry": (120, "minutes"),
        "ahead-of-clock": (120, "seconds"),
        "long-in-store": (30, "days"),
        "long-delay": (10, "days"),
        "similar-name": (86, "percent"),
        "weight-fall": (10, "percent"),
        "weight-rise": (25, "percent"),
        "reference-margin": (50, "percent"),
        "overdue": (120, "minutes"),
        "place-count": (24, "hours"),
        "custody-gap": (60, "minutes"),
        "station-repeat": (2, "seconds"),
        "station-sequence": (30, "seconds"),
        "station-closing": (30, "minutes"),
        "station-key": (15, "minutes"),
        "station-pin": (0, "count"),
    }
    assert rules.span("closing-sighting") == timedelta(minutes=240)
    assert rules.span("place-count") == timedelta(days=1)
    assert rules.threshold("weight-fall") == 10


def test_three_identifiers_one_unique_never_an_age_from_the_body() -> None:
    """HTA traceability standard T1(c)."""
    rule = policy.default().identifiers
    assert rule.least == 3
    assert "mortuary-number" in rule.unique
    assert not {"name", "date-of-birth"} & set(rule.unique)
    assert rule.counted == (
        "name",
        "date-of-birth",
        "address",
        "mortuary-number",
        "coroner-reference",
        "hospital-number",
        "national-number",
        "case-number",
    )
    assert set(rule.unique) < set(rule.counted)
    assert rule.from_body == ("body-tag",)


def test_two_persons_identify_and_sign_the_check() -> None:
    rules = policy.default()
    two = {name for name, rule in rules.acts.items() if rule.persons == 2}
    assert {"identified", "closing-check-signed", "coffin-shared"} <= two
    assert rules.act("moved") is rules.acts["any"]
    assert rules.act("closing-check-signed").roles == ("director",)


def test_every_act_and_role_the_policy_names_exists() -> None:
    rules = policy.default()
    assert set(rules.acts) - {"any"} <= set(entries.KINDS)
    assert {role for rule in rules.acts.values() for role in rule.roles} <= {r.value for r in Role}


def test_devices_are_asked_about_before_cremation_alone() -> None:
    rules = policy.default()
    only = {code for code, rule in rules.findings.items() if rule.only_before}
    assert only == {"battery-inside", "radioactive-inside", "power-unknown", "implants-not-stated"}
    assert rules.stops("battery-inside", Disposition.CREMATION)
    assert not rules.stops("battery-inside", Disposition.BURIAL)
    assert not rules.asks("battery-inside", None)


def test_what_is_only_to_be_known() -> None:
    rules = policy.default()
    assert {code for code, rule in rules.findings.items() if not rule.stops} == {
        "cause-struck",
        "never-looked-into",
        "not-seen-empty",
        "identified-otherwise",
        "retention-restated",
        "seen-otherwise",
        "wish-changed",
        "turned-out-anothers",
        "went-apart",
        "shares-a-coffin",
        "recorded-late",
        "out-of-order",
        "similar-name",
        "long-in-store",
        "place-not-counted",
        "effect-to-be-released",
        "ashes-awaited",
        "ashes-here",
        "return-later",
        "disposal-awaited",
        "implausible-weight",
        "ashes-implausible",
        "disposition-not-recorded",
        "clock-went-back",
        "dated-ahead",
    }


def test_a_firms_policy_changes_what_it_names_and_keeps_the_rest() -> None:
    firm = policy.from_toml('name = "ours"\n[thresholds.treatment]\nvalue = 300\n', "firm.toml")
    assert firm.name == "ours"
    assert firm.span("treatment") == timedelta(hours=5)
    assert firm.thresholds["treatment"].unit == "minutes"
    assert firm.findings == policy.default().findings


def test_an_older_policy_without_a_threshold_or_finding_takes_the_shipped_one() -> None:
    data = policy.default().model_dump()
    del data["thresholds"]["treatment"]
    del data["findings"]["never-looked-into"]
    older = policy.Policy.model_validate(data)
    assert older.threshold("treatment") == 240
    assert older.span("treatment") == timedelta(minutes=240)
    assert not older.stops("never-looked-into", None)
    assert older.finding("never-looked-into") == policy.default().finding("never-looked-into")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("[", "firm.toml: not TOML"),
        ("[thresholds.treatment]\nvalue = -1\n", "firm.toml: thresholds.treatment.value: "),
        ("[thresholds.nap]\nvalue = 1\nunit = 'hours'\nsource = 'x'\n", "thresholds.nap: no such"),
        ("[findings.nap]\nstops = true\nsource = 'x'\n", "findings.nap: no such finding"),
        ("[findings.nap]\nstops = true\n", "firm.toml: findings.nap.source: Field required"),
        ("[acts.any]\npersons = 9\n", "firm.toml: acts.any.persons: "),
        ("colour = 'blue'\n", "firm.toml: colour: "),
        ("x = " + "[" * 5000, "firm.toml: not TOML"),
    ],
)
def test_a_wrong_policy_is_told_in_a_sentence(text: str, sentence: str) -> None:
    with pytest.raises(InputError) as caught:
        policy.from_toml(text, "firm.toml")
    assert sentence in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "good", "bad"),
    [
        ("[thresholds.treatment]\nvalue = {}\n", 1_000_000, 1_000_001),
        ("[thresholds.treatment]\nvalue = {}\n", 0, -1),
        ("[acts.any]\npersons = {}\n", 3, 4),
        ("[acts.any]\npersons = {}\n", 1, 0),
        ("[identifiers]\nleast = {}\n", 10, 11),
        ("[identifiers]\nleast = {}\n", 1, 0),
    ],
)
def test_a_number_out_of_reason_is_refused(text: str, good: int, bad: int) -> None:
    policy.from_toml(text.format(good), "firm.toml")
    with pytest.raises(InputError, match=r"firm\.toml: "):
        policy.from_toml(text.format(bad), "firm.toml")


def test_the_rule_for_any_act_is_the_firms_or_the_one_that_ships() -> None:
    firm = policy.from_toml("[acts.any]\npersons = 2\n", "firm.toml")
    assert "no-such-kind" not in firm.acts
    assert firm.act("no-such-kind").persons == 2
    older = firm.model_copy(update={"acts": {}})
    assert older.act("no-such-kind") == policy.default().acts["any"]


def test_what_is_unknown_is_called_what_it_is() -> None:
    for field, what in (("thresholds", "threshold"), ("findings", "finding")):
        rule = "value = 1\nunit = 'hours'" if what == "threshold" else "stops = true"
        with pytest.raises(InputError, match=rf"{field}\.nap: no such {what}$"):
            policy.from_toml(f"[{field}.nap]\n{rule}\nsource = 'x'\n", "firm.toml")


def test_a_policy_in_force_is_never_changed() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        policy.default().name = "another"
