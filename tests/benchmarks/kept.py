"""What was measured, kept from one run to the next, and the page made from it."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.benchmarks.measure import Figure, table

if TYPE_CHECKING:
    from collections.abc import Iterable

FIGURES = Path(__file__).with_name("figures.json")
PAGE = Path(__file__).with_name("FIGURES.md")


def keep(part: str, measured: str, figures: Iterable[Figure]) -> str:
    """Put a part's figures in the place of its last; give the page anew.

    Args:
        part: Its name.
        measured: On which day and machine.
        figures: What came out.
    """
    parts: dict[str, Any] = json.loads(FIGURES.read_text("utf-8")) if FIGURES.exists() else {}
    parts[part] = {"measured": measured, "figures": [asdict(one) for one in figures]}
    FIGURES.write_text(json.dumps(parts, indent=1, ensure_ascii=False) + "\n", "utf-8")
    text = _page(parts)
    PAGE.write_text(text, "utf-8")
    return text


_PAGE = """# Figures

Written by `make bench`; do not edit. Each ratio was measured side by side in one run, and is of
medians. *Processor* is time on a processor, *elapsed* is time on the wall: on a machine that does
other work as well, the first is the steadier; *undisturbed* is what nine rounds in ten took longer
than. What a run left out stands here as it was last measured.

{parts}
## What misses its target, and why

{missed}
"""


def _page(kept: dict[str, Any]) -> str:
    parts, missed = "", []
    for name, part in kept.items():
        figures = [Figure(**one) for one in part["figures"]]
        notes = "".join(f"{note}\n\n" for note in dict.fromkeys(f.note for f in figures) if note)
        heading = name[0].upper() + name[1:]
        parts += f"## {heading}\n\nMeasured {part['measured']}.\n\n{table(figures)}\n\n{notes}"
        missed += [f"- **{f.what}** ({f.ratio:.2f}): {f.why}" for f in figures if f.missed]
    return _PAGE.format(parts=parts, missed="\n".join(missed) or "Nothing.")
