"""Whatever is given to anything that reads, it answers or refuses in a sentence; nothing else.

`make fuzz` gives a million inputs and more. Every input that once broke something stands in
`FOUND`, with what it broke.
"""

from __future__ import annotations

import os
import random
import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzzing import targets
from tests.fuzzing.spoiling import TOKENS, spoilt
from tests.fuzzing.targets import TARGETS, feed

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn

SLOW = {"dossier": 10, "recording": 60, "scans": 60, "arguments": 60, "key_file": 40}
FOUND = Path(__file__).with_name("found")


@st.composite
def wounded(draw: DrawFn, name: str) -> bytes:
    """A sound input with some wounds, or anything at all."""
    target = TARGETS[name]
    if draw(st.integers(0, 4)) == 0:
        return draw(st.binary(max_size=min(64, target.longest)))
    data = bytearray(draw(st.sampled_from(list(target.sound()))))
    for _ in range(draw(st.integers(0, 3))):
        at = draw(st.integers(0, len(data)))
        data[at : at + draw(st.integers(0, 3))] = draw(
            st.sampled_from(TOKENS) | st.binary(max_size=4)
        )
    return bytes(data[: target.longest])


@pytest.mark.parametrize("name", TARGETS)
def test_whatever_is_given_is_answered_or_refused(name: str) -> None:
    @settings(
        max_examples=SLOW.get(name, 120),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
    @given(wounded(name))
    def holds(data: bytes) -> None:
        began = time.monotonic()
        feed(name, data)
        assert time.monotonic() - began < 5 * TARGETS[name].seconds

    holds()


@pytest.mark.parametrize("name", TARGETS)
def test_what_is_sound_is_taken(name: str) -> None:
    """Or the fuzzers would spoil what was never read."""
    taken = 0
    for data in TARGETS[name].sound():
        try:
            TARGETS[name].read(data)
        except targets.REFUSALS:
            continue
        taken += 1
    assert taken or name == "time_stamp"


@pytest.mark.parametrize(
    "path", sorted(FOUND.glob("*/*")), ids=lambda path: f"{path.parent.name}-{path.name}"
)
def test_what_once_broke_something_no_longer_does(path: Path) -> None:
    feed(path.parent.name, path.read_bytes())


def test_spoiling_gives_the_same_again_and_spoils() -> None:
    sound = TARGETS["entry"].sound()
    some = [spoilt(sound, random.Random(seed), 4096) for seed in range(200)]
    assert some == [spoilt(sound, random.Random(seed), 4096) for seed in range(200)]
    assert len(set(some) - set(sound)) > 150


def test_memory_does_not_grow_with_what_is_read() -> None:
    """Of the readers that keep nothing; a margin for what the interpreter itself keeps."""
    names = ("intent_line", "note", "entry", "proof", "receipt", "canonical_json", "disclosed")

    def read(count: int) -> int:
        chance = random.Random(count)
        for _ in range(count):
            for name in names:
                feed(name, spoilt(TARGETS[name].sound(), chance, 4096))
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
        return pages * os.sysconf("SC_PAGE_SIZE")

    if not Path("/proc/self/statm").exists():
        pytest.skip("NOT TRIED: this system does not tell a process's memory")
    before = read(150)
    assert read(300) - before < 8_000_000
