"""A policy that would stop every later act, or mean another thing by a number, is not adopted."""

from __future__ import annotations

from typing import Any

import pytest

from continuity.care import policy
from continuity.care.intent import read_intent
from continuity.errors import InputError
from continuity_labels.errors import StockError
from continuity_labels.stocks import load_stocks
from tests.fuzzing import samples

CLOCK = "ahead-of-clock"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (f"[thresholds.{CLOCK}]\nvalue = {10**30}\n", f"f.toml: thresholds.{CLOCK}.value: Input"),
        (f"[thresholds.{CLOCK}]\nunit = 'percent'\n", f"f.toml: thresholds.{CLOCK}: its unit is s"),
        ("[thresholds.treatment]\nunit = 'hours'\n", "thresholds.treatment: its unit is minutes"),
        (f"value = {'9' * 5000}\n", "f.toml: not TOML"),
    ],
)
def test_a_file_that_says_so_is_refused(text: str, sentence: str) -> None:
    with pytest.raises(InputError) as refused:
        policy.from_toml(text, "f.toml")
    assert sentence in str(refused.value)


@pytest.mark.parametrize("wrong", [{"value": 10**30}, {"unit": "persons"}, {"value": -1}], ids=str)
def test_an_act_that_says_so_is_refused_and_the_next_act_is_recorded(
    wrong: dict[str, Any],
) -> None:
    register = samples.started().register
    given = policy.default().model_dump(mode="json")
    given["thresholds"][CLOCK] |= wrong
    with pytest.raises(InputError, match=r"policy-adopted: policy\.thresholds|its unit is"):
        read_intent({"kind": "policy-adopted", "policy": given})
    sighted = {"kind": "sighted", "things": ["2026-0001.1"]}
    register.record(read_intent(sighted | {"occurred_at": "2026-03-02T08:00:30Z"}), samples.BY)


def test_a_policy_without_a_rule_for_any_act_leaves_the_shipped_one() -> None:
    given = policy.default().model_dump(mode="json")
    del given["acts"]["any"]
    register = samples.started().register
    register.record(read_intent({"kind": "policy-adopted", "policy": given}), samples.BY)
    register.record(read_intent({"kind": "sighted", "things": ["2026-0001.1"]}), samples.BY)


def test_stocks_with_a_number_too_long_to_read_are_told(tmp_path: Any) -> None:
    file = tmp_path / "stocks.toml"
    file.write_text(f"[[stock]]\nwidth_mm = {'9' * 5000}\n")
    with pytest.raises(StockError, match="is not TOML"):
        load_stocks(file)
    file.write_text(f"stock = {'[' * 5000}\n")
    with pytest.raises(StockError, match="is not TOML"):
        load_stocks(file)
