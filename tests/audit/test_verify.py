"""A sound register, and what a report of it says and does not say."""

from __future__ import annotations

import pytest
from invented import PINNED, A, holding

from continuity.audit import entries
from continuity.audit.parallel import Workers
from continuity.audit.report import SHAPE
from continuity.audit.trust import Trust
from continuity.errors import InputError

LATEST = "; whether this is the latest state cannot be told from here"


def test_a_sound_register_is_never_simply_well(copy, original):
    report = copy.verify(PINNED)
    assert report.findings == ()
    assert report.sound
    assert report.sound_to == original.size
    assert report.words == (
        f"sound to entry {original.size}, anchored by nobody outside, {original.size} entries not"
        f" anchored{LATEST}"
    )


def test_a_key_that_was_not_given_is_not_pinned(copy):
    report = copy.verify(Trust())
    assert report.sound
    assert not report.pinned
    assert "; its key is its own word, for none was given from outside; " in report.words


def test_a_checkpoint_kept_outside_anchors_what_it_covers(copy, original):
    report = copy.verify(holding(original.second))
    assert report.anchored_to == original.size - 5
    assert report.unanchored == 5
    assert report.words.endswith(f"5 entries not anchored{LATEST}")


def test_what_is_new_is_verified_alone(copy, original):
    report = copy.verify(PINNED, since=original.first)
    assert report.findings == ()
    assert report.scope == "since"
    assert 0 < report.start < report.size
    assert report.checked == report.size - report.start


def test_what_a_killed_process_leaves_undone_is_done_here(copy, monkeypatch):
    """Whoever kills for want of memory kills one of them; the verdict stays what it is."""
    alone = copy.verify(PINNED, processes=1)
    monkeypatch.setattr(entries, "RANGE", 4)
    handed_out = Workers._hand_out
    jobs = []

    def killing(self, work, job):
        future = handed_out(self, work, job)
        jobs.append(job)
        if len(jobs) == 3:
            for process in self._pool._processes.values():
                process.kill()
        return future

    monkeypatch.setattr(Workers, "_hand_out", killing)
    assert copy.verify(PINNED, processes=2) == alone
    assert len(jobs) > 8


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
        f" 2 entries not anchored{LATEST}"
    )


def test_one_case_says_what_it_leaves_out(copy, original):
    report = copy.verify(holding(original.second), case=A)
    assert report.uncovered == (
        "whether the other cases, and the tables made from them, are sound: not gone through",
        (
            "whether an entry made after the last case index, at position 35, was left out;"
            " 2 of this case are not covered by it"
        ),
    )
    assert report.as_json()["unknown"][:2] == list(report.uncovered)
    assert report.rests_on[1:] == ("a checkpoint of size 36 kept by the coroner",)
    assert copy.verify(PINNED, case="2031-0003").uncovered[1].endswith("35, was left out")
    copy.sql("DELETE FROM checkpoint")
    assert copy.verify(PINNED, case=A).uncovered[1:] == (
        "whether this case has more entries: no case index is published that covers it",
    )


def test_one_case_is_found_wanting_by_itself(copy, original):
    at = copy.positions(A)[5]
    copy.put(at, copy.note(at).replace(b'["2031-0001.1"]', b'["2031-0001.2"]'))
    report = copy.verify(PINNED, case=A)
    assert {"signature-wrong", "not-in-tree"} <= set(report.codes)
    assert report.words.startswith(f"case {A}: NOT SOUND: sound to its entry 5 of 11")
    assert copy.verify(PINNED, case="2031-0003").sound


def test_one_case_misses_what_its_index_counts(copy):
    """The last entries of the case are gone, and its row says so; the index counts them still."""
    case, last = copy.case_id("2031-0003"), copy.positions("2031-0003")[-1]
    copy.sql("DELETE FROM entry WHERE position = ?", last)
    row = "length = 3, head = ?, position = ?"
    copy.sql(f"UPDATE case_head SET {row} WHERE case_id = ?", *leaf_and_position(copy, last), case)
    assert "index-differs" in copy.verify(PINNED, case="2031-0003").codes


def leaf_and_position(copy, gone):
    sql = "SELECT leaf, position FROM entry WHERE position = ?"
    return copy.rows(sql, gone - 1)[0]


@pytest.mark.parametrize(
    ("sql", "code"),
    [
        ("UPDATE case_head SET length = 9 WHERE name = '2031-0001'", "case-head-differs"),
        ("UPDATE label SET thing = '2031-0001.1'", "label-differs"),
        ("DELETE FROM in_care WHERE opened = 6", "in-care-differs"),
        ("UPDATE checkpoint SET root = zeroblob(32) WHERE size = 36", "checkpoint-malformed"),
        ("DELETE FROM node WHERE level = 1 AND position = 4", "not-in-tree"),
    ],
)
def test_one_case_and_the_tables_about_it(copy, sql, code):
    copy.sql(sql)
    assert code in copy.verify(PINNED, case=A).codes


def test_a_case_that_is_not_there_is_the_callers_error(copy):
    with pytest.raises(InputError, match="no case 2031-0099"):
        copy.verify(PINNED, case="2031-0099")


def test_the_registers_own_chain_is_a_case_too(copy):
    assert copy.verify(PINNED, case="register").findings == ()


def test_what_is_new_alone_says_that_the_old_was_not_looked_at(copy, original):
    copy.sql("UPDATE entry SET note = x'00' WHERE position = ?", copy.positions("2031-0003")[1])
    report = copy.verify(PINNED, since=original.second)
    assert report.sound
    assert report.unknown[0] == (
        "whether entries 1 to 36 still stand as they were verified: not gone through again"
    )
    assert not copy.verify(PINNED).sound


def test_checkpoints_before_the_trusted_one_are_held_to_it(copy, original):
    report = copy.verify(holding(original.first), since=original.second)
    assert report.findings == ()
    assert [anchor.size for anchor in report.anchors] == [36, 14]
    copy.sql("UPDATE node SET hash = zeroblob(32) WHERE level = 3 AND position = 0")
    assert "checkpoint-differs" in copy.verify(PINNED, since=original.second).codes


def test_what_is_new_is_found_wanting_alone(copy, original):
    copy.put(original.size - 1, copy.note(original.size - 1).replace(b'"m1"', b'"m9"'))
    report = copy.verify(PINNED, since=original.second)
    assert report.sound_to == original.size - 1
    copy.sql("UPDATE case_head SET head = zeroblob(32) WHERE name = '2031-0003'")
    assert "case-head-differs" in copy.verify(PINNED, since=original.first).codes
