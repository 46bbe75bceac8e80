"""A sound register, and what a report of it says and does not say."""

from __future__ import annotations

from invented import PINNED, A, holding

from continuity.audit.report import SHAPE
from continuity.audit.trust import Trust


def test_a_sound_register_is_never_simply_well(copy, original):
    report = copy.verify(PINNED)
    assert report.findings == ()
    assert report.sound
    assert report.sound_to == original.size
    assert report.words == (
        f"sound to entry {original.size}, anchored by nobody outside, {original.size} entries not"
        " anchored; freshness unknown"
    )


def test_a_key_that_was_not_given_is_not_pinned(copy):
    report = copy.verify(Trust())
    assert report.sound
    assert not report.pinned
    assert "taken from the register itself: not pinned" in report.words


def test_a_checkpoint_kept_outside_anchors_what_it_covers(copy, original):
    report = copy.verify(holding(original.second))
    assert report.anchored_to == original.size - 5
    assert report.unanchored == 5
    assert report.words.endswith("5 entries not anchored; freshness unknown")


def test_what_is_new_is_verified_alone(copy, original):
    report = copy.verify(PINNED, since=original.first)
    assert report.findings == ()
    assert report.scope == "since"
    assert 0 < report.start < report.size
    assert report.checked == report.size - report.start


def test_two_processes_find_what_one_finds(copy):
    copy.put(20, copy.note(20).replace(b"sighted", b"sightet"))
    alone = copy.verify(PINNED, processes=1)
    assert not alone.sound
    assert copy.verify(PINNED, processes=2) == alone


def test_progress_is_told_to_the_end(copy, original):
    told = []
    copy.verify(PINNED, progress=lambda done, size: told.append((done, size)))
    assert told[-1] == (original.size, original.size)


def test_the_report_as_json_names_its_shape_and_what_nobody_can_know(copy):
    found = copy.verify(PINNED).as_json()
    assert found["shape"] == SHAPE
    assert found["unknown"][0] == "whether this is the latest state of the register"
    assert found["sound_to"] == found["size"]


def test_the_first_bad_entry_of_each_case_is_named(copy):
    for name in (A, "2031-0002"):
        for position in copy.positions(name)[2:4]:
            copy.sql("UPDATE entry SET leaf = randomblob(32) WHERE position = ?", position)
    report = copy.verify(PINNED)
    first = {f.name: f.position for f in report.first_bad().values()}
    assert first == {name: copy.positions(name)[2] for name in (A, "2031-0002")}
    assert report.sound_to == min(first.values())


def test_one_case_is_verified_by_itself(copy, original):
    report = copy.verify(holding(original.second), case=A)
    assert report.findings == ()
    assert report.checked == len(copy.positions(A)) == 11
    assert report.words == (
        f"case {A}: sound to its entry 11, anchored to entry 36 by the coroner (held-checkpoint),"
        " 2 entries not anchored; freshness unknown"
    )
