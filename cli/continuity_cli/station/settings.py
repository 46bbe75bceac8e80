"""How long the station waits for what. A firm's policy may set each; law differs by place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from continuity.care.policy import Policy

_PREFIX = "station-"
_SECONDS = {"seconds": 1, "minutes": 60, "hours": 3600}


@dataclass(frozen=True, slots=True)
class Settings:
    """Common practice, no source, unless a threshold of the policy says otherwise. In seconds.

    Attributes:
        repeat: a scan repeated within this time counts once (`station-repeat`).
        sequence: an unfinished sequence is dropped after this time (`station-sequence`).
        closing: a closing check is put down after this time without a scan (`station-closing`).
        key: a key is put away after this time without a scan (`station-key`).
        pin: only a key that is locked by a PIN may sign in (`station-pin`, a count of 1).
    """

    repeat: float = 2.0
    sequence: float = 30.0
    closing: float = 1800.0
    key: float = 900.0
    pin: bool = False

    @classmethod
    def of(cls, policy: Policy) -> Settings:
        """As a policy sets them."""
        given = {
            name.removeprefix(_PREFIX): rule.value * _SECONDS.get(rule.unit, 1)
            for name, rule in policy.thresholds.items()
            if name.startswith(_PREFIX)
        }
        usual = cls()
        return cls(
            repeat=given.get("repeat", usual.repeat),
            sequence=given.get("sequence", usual.sequence),
            closing=given.get("closing", usual.closing),
            key=given.get("key", usual.key),
            pin=bool(given.get("pin", usual.pin)),
        )
