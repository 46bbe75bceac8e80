"""Reading a dossier's file: the page is made anew and compared, and hostile files cost little."""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hostile import hostile_firm
from misshapen import misshapen
from tampers import TAMPERS

from continuity.audit.dossier import story
from continuity.audit.dossier.page import CLOSES, OPENS, embedded, write_page
from continuity.audit.dossier.reading import (
    MAX_FILE_BYTES,
    is_dossier,
    read_dossier,
    read_file,
    verify,
)
from continuity.audit.dossier.what import Dossier, Placed
from continuity.audit.version import made_with
from continuity.errors import FormatError, InputError
from continuity.ledger import canonical

if TYPE_CHECKING:
    from pathlib import Path

    from continuity.audit.trust import Trust


def test_the_page_and_the_machine_part_alone_read_the_same(
    sound: Dossier, sound_page: bytes
) -> None:
    assert read_dossier(sound_page) == sound
    assert read_dossier(sound.encode()) == sound
    assert read_dossier(sound.encode() + b"\n") == sound


def test_a_register_is_told_from_a_dossier(sound: Dossier, tmp_path: Path) -> None:
    for data, expected in (
        (write_page(sound), True),
        (sound.encode(), True),
        (b"SQLite format 3\0", False),
        (b"", False),
    ):
        file = tmp_path / "file"
        file.write_bytes(data)
        assert is_dossier(file) is expected
    with pytest.raises(InputError, match="No such file"):
        is_dossier(tmp_path / "missing")


def test_the_same_machine_part_makes_the_same_page(sound: Dossier, sound_page: bytes) -> None:
    assert write_page(Dossier.decode(sound.encode())) == sound_page


def test_a_sound_page_is_sound(sound_page: bytes, sound: Dossier, pinned: Trust) -> None:
    assert verify(sound_page, pinned).codes == ()
    assert verify(sound.encode(), pinned).codes == ()


def test_a_hostile_page_reads_as_it_was_written(pinned: Trust) -> None:
    dossier = hostile_firm().dossier(everything=True)
    page = write_page(dossier)
    assert read_dossier(page) == dossier
    assert verify(page, pinned).codes == ()


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        (b"was inspected: leak", b"was inspected: no leak"),
        (b"Not checked:", b"Checked and sound:"),
        (b"canSign = good", b"canSign = true; good"),
        (b"--moss:", b"--ross:"),
        (b"</body>", b" </body>"),
    ],
)
def test_no_word_of_the_page_is_changed_unseen(
    sound_page: bytes, pinned: Trust, was: bytes, becomes: bytes
) -> None:
    altered = sound_page.replace(was, becomes, 1)
    assert altered != sound_page
    assert verify(altered, pinned).codes == ("page-differs",)


def test_a_page_that_another_version_told_otherwise_is_not_relied_on(
    sound: Dossier, pinned: Trust
) -> None:
    page = write_page(replace(sound, made_with="continuity 0.0.9"))
    assert verify(page, pinned).codes == ()  # it tells the same, so nothing is left to compare
    report = verify(page.replace(b"was inspected: leak", b"was inspected: no leak"), pinned)
    assert report.codes == ("page-of-another-version",)
    assert report.sound
    assert not report.words_hold
    assert "the page's words NOT compared with them" in report.words
    (finding,) = report.findings
    assert finding.sentence.startswith("The page says that it was made with continuity 0.0.9, and")
    assert "--tell-anew FILE" in finding.sentence


def test_a_page_that_differs_says_which_version_made_it(sound_page: bytes, pinned: Trust) -> None:
    report = verify(sound_page.replace(b"was inspected: leak", b"was inspected: no leak"), pinned)
    assert f"it was made with {made_with()}, which is this program's" in report.findings[0].sentence
    assert not report.sound
    assert not report.words_hold
    assert report.entries_sound


@pytest.mark.parametrize("tamper", TAMPERS, ids=lambda tamper: tamper.name)
def test_a_tampered_machine_part_is_found_in_its_file(
    tamper, sound: Dossier, sound_page: bytes, pinned: Trust
) -> None:
    altered = tamper.alter(sound)
    assert set(verify(altered.encode(), pinned).codes) == tamper.codes
    before, _, rest = sound_page.partition(OPENS)
    page = before + OPENS + embedded(altered).encode() + CLOSES + rest.partition(CLOSES)[2]
    assert set(verify(page, pinned).codes) - {"page-differs"} == tamper.codes
    if tamper.sound:
        assert verify(page, pinned).codes[-1:] == ("page-differs",)


@pytest.mark.parametrize("name", misshapen())
def test_what_is_no_dossier_is_refused_in_one_sentence(name: str) -> None:
    data = misshapen()[name]
    with pytest.raises(FormatError) as refusal:
        verify(data)
    assert "\n" not in str(refusal.value)
    assert len(str(refusal.value)) < 300


def test_an_empty_dossier_is_found_wanting() -> None:
    plain = Dossier("t", "w", "r", "c", None, (), None, (), (), (), (), ()).encode()
    assert set(verify(plain).codes) == {"keys-broken", "beyond-index"}


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="No such file"):
        read_file(tmp_path / "missing.html")


def test_a_file_too_long_is_not_read(tmp_path: Path) -> None:
    file = tmp_path / "long.html"
    with file.open("wb") as sparse:
        sparse.truncate(MAX_FILE_BYTES + 1)
    with pytest.raises(InputError, match="longer than"):
        read_file(file)


def test_cost_grows_no_faster_than_the_file(sound: Dossier) -> None:
    """Twice as many hostile entries take about twice as long: never four times."""

    def cost(count: int) -> float:
        note = sound.entries[0].note
        entries = tuple(Placed(100 + n, note, (bytes(32),) * 63) for n in range(count))
        data = replace(sound, entries=entries).encode()
        started = time.process_time()
        assert not verify(data).sound
        return time.process_time() - started

    cost(50)
    assert cost(1600) < 3 * cost(800) + 0.2


def test_a_case_too_large_to_tell_is_checked_all_the_same(
    monkeypatch: pytest.MonkeyPatch, sound_page: bytes, pinned: Trust
) -> None:
    monkeypatch.setattr(story, "MOST_WORK", 100)
    report = verify(sound_page, pinned)
    assert report.codes == ("page-too-large",)
    assert report.sound
    assert not report.words_hold


def test_a_thousand_thousand_brackets_are_refused_at_once() -> None:
    started = time.process_time()
    for data in (b"[" * 1_000_000, b'{"a":' * 200_000, OPENS * 50_000 + b"<"):
        with pytest.raises(FormatError):
            verify(data)
    assert time.process_time() - started < 2


def test_canonical_json_alone_is_accepted(sound: Dossier) -> None:
    value = canonical.parse(sound.encode(), max_bytes=10_000_000)
    assert canonical.encode(value, max_bytes=10_000_000) == sound.encode()
