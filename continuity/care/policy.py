"""Policy: thresholds and requirements as data, each with its source.

The default ships as `policy.toml`; a firm's own TOML changes what it names and keeps the rest,
is checked against the same model, and is adopted by an entry, so that the auditor knows what was
in force. Nothing in code names a jurisdiction: local codes and licensed practice decide.
"""

from __future__ import annotations

import tomllib
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from continuity.care.things import Disposition, Text
from continuity.errors import InputError


class _Data(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    source: Text = Field(description="a citation, or the words: common practice, no source")


class Threshold(_Data):
    """A whole number in a named unit."""

    value: int = Field(ge=0, le=1_000_000)
    unit: Literal["minutes", "seconds", "days", "percent", "grams", "hours", "persons", "count"]


class ActRule(_Data):
    """Who may record a kind of entry, and how many must sign it."""

    roles: tuple[Text, ...]
    persons: int = Field(1, ge=1, le=3)


class FindingRule(_Data):
    """Whether a finding stops the closing, and before which dispositions alone it is asked."""

    stops: bool
    only_before: tuple[Disposition, ...] = ()


class IdentifierRule(_Data):
    """Which identifiers identify a decedent."""

    least: int = Field(ge=1, le=10)
    unique: tuple[Text, ...] = Field(description="identifiers that only one decedent can have")
    counted: tuple[Text, ...] = Field(
        description="every identifier that counts; whatever else is read identifies nobody"
    )
    from_body: tuple[Text, ...] = Field(
        min_length=1, description="where an identifier must be read from"
    )


class Policy(_Data):
    """Everything a firm may set."""

    name: Text
    thresholds: dict[str, Threshold]
    acts: dict[str, ActRule]
    findings: dict[str, FindingRule]
    identifiers: IdentifierRule

    @model_validator(mode="after")
    def _units_stay(self) -> Self:
        """Its name says what a threshold measures; another unit would be read as this one."""
        known = _as_shipped()["thresholds"]
        for name, rule in self.thresholds.items():
            if name in known and rule.unit != known[name]["unit"]:
                raise ValueError(f"thresholds.{name}: its unit is {known[name]['unit']}")
        return self

    def threshold(self, name: str) -> int:
        """A threshold's value; the default's where an older policy does not know it."""
        return (self.thresholds.get(name) or default().thresholds[name]).value

    def span(self, name: str) -> timedelta:
        """A threshold as a span of time."""
        rule = self.thresholds.get(name) or default().thresholds[name]
        return timedelta(**{rule.unit: rule.value})

    def act(self, kind: str) -> ActRule:
        """The rule for recording a kind of entry."""
        return self.acts.get(kind) or self.acts.get("any") or default().acts["any"]

    def finding(self, code: str) -> FindingRule | None:
        """The rule for a finding; the default's where an older policy does not know it."""
        return self.findings.get(code) or default().findings.get(code)

    def asks(self, code: str, disposition: Disposition | None) -> bool:
        """Whether a finding is asked at all before this disposition."""
        rule = self.finding(code)
        return rule is None or not rule.only_before or disposition in rule.only_before

    def stops(self, code: str, disposition: Disposition | None) -> bool:
        """Whether a finding stops the closing before this disposition; an unlisted one does."""
        rule = self.finding(code)
        return rule is None or (rule.stops and self.asks(code, disposition))


@cache
def _as_shipped() -> dict[str, Any]:
    # By its path: every command needs it, and importlib.resources takes longer to read than it.
    return tomllib.loads(Path(__file__).with_name("policy.toml").read_text("utf-8"))


@cache
def default() -> Policy:
    """The policy that ships with this program."""
    return Policy.model_validate(_as_shipped())


def from_toml(text: str, where: str) -> Policy:
    """Read a firm's policy: what it names replaces the default's, the rest is kept.

    Raises:
        InputError: not TOML, or not a policy; the sentence names the field.
    """
    try:
        given = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(f"{where}: not TOML ({error})") from error
    merged = _merge(default().model_dump(mode="json"), given)
    try:
        policy = Policy.model_validate(merged)
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(part) for part in first["loc"])
        why = first["msg"].removeprefix("Value error, ")
        raise InputError(": ".join(part for part in (where, field, why) if part)) from error
    for field, what in (("thresholds", "threshold"), ("findings", "finding")):
        unknown = sorted(set(getattr(policy, field)) - set(getattr(default(), field)))
        if unknown:
            raise InputError(f"{where}: {field}.{unknown[0]}: no such {what}")
    return policy


def _merge(base: dict[str, Any], over: dict[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, value in over.items():
        old = merged.get(key)
        both = isinstance(old, dict) and isinstance(value, dict)
        merged[key] = _merge(old, value) if both else value  # type: ignore[arg-type]
    return merged
