"""The plain station: lines in, lines out."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from continuity.errors import InputError
from continuity_cli.station import lines
from continuity_cli.station.answer import Answer, Tone

if TYPE_CHECKING:
    from pathlib import Path

    from tests.station.conftest import Post


def test_lines_are_cut_at_any_end_and_the_last_needs_none(tmp_path: Path) -> None:
    path = tmp_path / "scans"
    path.write_bytes(b"one\r\ntwo\rthree\nfour")
    with lines.device(path) as descriptor:
        tap = lines.Tap(descriptor)
        got = [tap.line(0) for _ in range(5)]
        assert [text for text in got if text] == ["one", "two", "three", "four"]
        with pytest.raises(EOFError):
            tap.line(0)


def test_an_endless_line_is_kept_short_and_time_goes_on() -> None:
    reading, writing = os.pipe()
    tap = lines.Tap(reading)
    os.write(writing, b"x" * 4096)
    assert tap.line(0) is None
    os.write(writing, b"y" * 4000)
    assert tap.line(0) is None
    assert len(tap._buffer) == 4096
    assert tap.line(0.01) is None
    os.close(writing)
    os.close(reading)


def test_a_device_that_is_not_there_is_told(tmp_path: Path) -> None:
    with (
        pytest.raises(InputError, match=r"--scanner .*no-such: cannot be opened"),
        lines.device(tmp_path / "no-such"),
    ):
        pass


def test_an_answer_in_lines_holds_no_controls() -> None:
    answer = Answer(Tone.REFUSED, "REFUSED", "\x1b[2Jhello\nthere", "mend it", "code")
    assert list(lines.told(answer)) == ["REFUSED: \\x1b[2Jhello\\nthere [code]", "  mend it"]


def scanned(post: Post, *names: str) -> list[str]:
    """What the plain station says to these scans."""
    reading, writing = os.pipe()
    os.write(writing, "".join(f"{post.names.get(n, n)}\n" for n in names).encode())
    os.close(writing)
    said: list[str] = []
    lines.run(post.desk, reading, said.append)
    os.close(reading)
    return said


def test_a_stream_of_scans_is_answered_line_by_line(post: Post) -> None:
    post.restart()
    said = scanned(post, "m1", "heart", "cold-room", "bag", "strange-bag", "IMMERSE", "bag")
    entries = post.register.entries("2026-0001")
    assert said[0].startswith("READY: last recorded: ")
    this = "this is case 2026-0001"
    assert said[2:] == [
        "SIGNED IN: m1",
        "  scan a label or an act",
        "GO ON: heart 2026-0001.6",
        "  scan where it goes: a place, a container, the body",
        "RECORDED: heart 2026-0001.6 → cold-room",
        f"  entry {entries[-2].number} of 2026-0001",
        "  print a new label: 2026-0001.2: biohazard",
        "  print a new label: 2026-0001.3: biohazard",
        "  print a new label: 2026-0001.6: biohazard",
        "  print a new label: 2026-0001.7: biohazard",
        "  next in 2026-0001: look at the body",
        "GO ON: viscera bag 2026-0001.2",
        "  scan where it goes: a place, a container, the body",
        f"!!! WRONG CASE: 2026-0002.2 belongs to case 2026-0002, and {this} [wrong-case]",
        "  take the thing of the right case; if it is found so, scan FOUND",
        "GO ON: Immerse",
        "  scan the label; before it, if you know it, type the formaldehyde in per cent",
        "RECORDED: viscera bag 2026-0001.2: immersed",
        f"  entry {entries[-1].number} of 2026-0001",
        "  print a new label: 2026-0001.2: biohazard, formaldehyde-unstated",
        "  print a new label: 2026-0001.3: biohazard, formaldehyde-unstated",
        "  print a new label: 2026-0001.6: biohazard",
        "  print a new label: 2026-0001.7: biohazard",
        "  next in 2026-0001: look at the body",
        "  in solution: viscera 2026-0001.3, 0 h 00 of 4 h 00, until 12:00",
    ]


def test_a_repeated_scan_is_answered_with_one_line_that_it_counts_once(post: Post) -> None:
    said = scanned(post, "heart", "cold-room", "cold-room", "UNDO", "UNDO", "", " ")
    assert said.count("the same scan again: counted once") == 2
    recorded = said.index("RECORDED: heart 2026-0001.6 → cold-room")
    assert said.index("the same scan again: counted once") > recorded
    assert said[-1] == "the same scan again: counted once"
    assert sum(line.startswith("UNDONE: ") for line in said) == 1


def test_spans_are_told_in_hours_and_minutes() -> None:
    assert [lines.span(s) for s in (0, 59, 3600, 3660 + 59, 100 * 3600)] == [
        "0 h 00",
        "0 h 00",
        "1 h 00",
        "1 h 01",
        "100 h 00",
    ]
