"""Every row of the tables in STATION.md is scanned into an invented case and comes to what it says."""

from __future__ import annotations

import re
from importlib import resources
from typing import TYPE_CHECKING

import pytest

from continuity_cli.station.answer import Tone
from tests.station.conftest import ONE

if TYPE_CHECKING:
    from tests.station.conftest import Post

PAGE = resources.files("continuity_cli.station").joinpath("STATION.md").read_text("utf-8")


def rows(heading: str) -> list[tuple[str, list[str]]]:
    """The first two cells of a table's rows, found by its heading's second cell."""
    table = PAGE.partition(f"| scans | {heading} |")[2].partition("\n\n")[0]
    cells = [line.split("|")[1:3] for line in table.splitlines() if line.startswith("| ")]
    return [(c[0].strip(), re.findall(r"`([a-z-]+)`", c[1])) for c in cells if "---" not in c[0]]


def test_the_page_has_its_tables() -> None:
    assert len(rows("recorded")) == 47
    assert len(rows("refused")) == 22


@pytest.mark.parametrize(("scans", "kinds"), rows("recorded"))
def test_what_a_sequence_records(post: Post, scans: str, kinds: list[str]) -> None:
    before = len(post.kinds())
    answer = post.scan(*scans.split(", "))
    assert answer.tone is Tone.RECORDED
    assert post.kinds()[before:] == kinds


@pytest.mark.parametrize(("scans", "codes"), rows("refused"))
def test_what_a_sequence_is_refused_for(post: Post, scans: str, codes: list[str]) -> None:
    *first, last = scans.split(", ")
    if first:
        post.scan(*first)
    before = post.register.store.head().size
    answer = post.scan(last)
    assert [answer.code] == codes
    assert answer.tone is (Tone.WRONG_CASE if codes == ["wrong-case"] else Tone.REFUSED)
    assert post.register.store.head().size == before
    assert ONE in post.register.case_numbers()
