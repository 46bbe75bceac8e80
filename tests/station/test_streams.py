"""Recorded streams of scans, read from files: what the station says, and what is recorded."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.station.conftest import Post

STREAMS = sorted(Path(__file__).with_name("streams").glob("*.txt"))


def test_there_are_streams() -> None:
    assert [path.stem for path in STREAMS] == ["a-bag-out-and-back", "change-of-hands", "haste"]


@pytest.mark.parametrize("path", STREAMS, ids=lambda path: path.stem)
def test_a_recorded_stream(post: Post, path: Path) -> None:
    before = {case: len(post.kinds(case)) for case in post.register.case_numbers()}
    expected = []
    post.wait(3)
    for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
        what, _, rest = line.partition(" ")
        if what == ">":
            post.wait(0.0)
            post.desk.scan(post.names.get(rest, rest.strip('"')))
            post.seconds[0] += 0.01
        elif what == "+":
            post.wait(float(rest))
        elif what == "=":
            assert post.desk.answer.word == rest, f"{path.name} line {number}: {post.desk.answer}"
        elif what == "-":
            expected.append(rest)
    recorded = [k for case, size in before.items() for k in post.kinds(case)[size:]]
    assert recorded == expected
