"""Which hazard panels a label carries, from the plain state of what is inside.

Unfixed contents carry the biohazard panel (29 CFR 1910.1030(g)(1)(i)), formaldehyde its own by
strength (29 CFR 1910.1048(m); CLP statements), and contents under treatment carry both. The
thresholds, words and their sources are data, in `hazards.toml`. Law differs by place: local
codes and licensed practice decide.

A panel's code is stable. When `panels_for` answers differently from what the label in place
carries, relabelling is due.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from continuity_labels.errors import LabelError
from continuity_labels.spacing import NO_BREAK

if TYPE_CHECKING:
    from collections.abc import Mapping

_PURE = 1000
_UNSTATED: Final = "formaldehyde-unstated"


@dataclass(frozen=True)
class HazardState:
    """What is inside, as far as hazards go.

    Attributes:
        unfixed: whether any tissue in it is not fixed.
        formaldehyde_tenths: strength of the solution in tenths of a per cent (37 is 3.7 %);
            0 for none, None where nobody has said.
        treating: whether treatment is under way.

    Raises:
        LabelError: the strength is not between 0 and 1000 tenths of a per cent.
    """

    unfixed: bool
    formaldehyde_tenths: int | None = None
    treating: bool = False

    def __post_init__(self) -> None:
        tenths = self.formaldehyde_tenths
        if tenths is not None and not 0 <= tenths <= _PURE:
            raise LabelError(
                f"a formaldehyde strength of {tenths} tenths of a per cent is outside 0 to {_PURE}."
            )


@dataclass(frozen=True)
class Panel:
    """One hazard panel, as it is printed.

    Attributes:
        code: stable, for telling that relabelling is due.
        word: the large word.
        biohazard: whether the biohazard symbol stands beside it.
        lines: what stands below, the gravest first.
        pictograms: codes of the GHS pictograms beside it.
    """

    code: str
    word: str
    biohazard: bool
    lines: tuple[str, ...]
    pictograms: tuple[str, ...] = ()


def panels_for(state: HazardState) -> tuple[str, ...]:
    """The codes of the panels that are due, biohazard first; none for harmless contents.

    While treatment is under way with a solution of unstated strength, the formaldehyde panel
    says so; a stated strength of 0 is believed.
    """
    due = [_data()["biohazard"]["code"]] if state.unfixed or state.treating else []
    tenths = state.formaldehyde_tenths
    if tenths is None:
        due += [_UNSTATED] if state.treating else []
    else:
        tiers = [
            tier for tier in _data()["formaldehyde"] if tier.get("from_tenths", _PURE + 1) <= tenths
        ]
        due += [tiers[-1]["code"]] if tiers else []
    return tuple(due)


@cache
def panels() -> Mapping[str, Panel]:
    """Every panel by its code."""
    data = _data()
    words = data["statements"]
    bio = data["biohazard"]
    known = {bio["code"]: Panel(bio["code"], bio["word"], True, (bio["line"],))}  # noqa: FBT003
    for tier in data["formaldehyde"]:
        lines = [f"Contains formaldehyde, {tier['strength'].replace(' %', f'{NO_BREAK}%')}"]
        lines += [f"{words[code]} ({code})" for code in tier["statements"]]
        lines += [tier["note"]] if "note" in tier else []
        pictograms = tuple(tier["pictograms"])
        known[tier["code"]] = Panel(
            tier["code"], "DANGER", biohazard=False, lines=tuple(lines), pictograms=pictograms
        )
    return MappingProxyType(known)


def caution() -> str:
    """What every panel ends with: who decides."""
    return str(_data()["caution"])


def colour_advice() -> str:
    """What to tell whoever prints a biohazard panel in black on white."""
    return str(_data()["orange"])


def red_advice() -> str:
    """What to tell whoever prints hazard pictograms in black alone."""
    return str(_data()["red"])


def sticker_advice() -> str:
    """What to tell whoever prints a panel where its pictograms do not fit."""
    return str(_data()["stickers"])


@cache
def _data() -> dict[str, Any]:
    text = resources.files("continuity_labels").joinpath("hazards.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
