"""Each answer sounds different; what only goes on does not ring."""

from __future__ import annotations

import io
import sys
import wave
from typing import TYPE_CHECKING

from continuity_cli.station.answer import Tone
from continuity_cli.station.sounds import BELLS, Player, wav

if TYPE_CHECKING:
    from pathlib import Path


def test_the_bells_of_recorded_refused_and_wrong_case_differ() -> None:
    loud = [
        BELLS[t] for t in (Tone.RECORDED, Tone.CLEAR, Tone.REFUSED, Tone.WRONG_CASE, Tone.DROPPED)
    ]
    assert len(set(loud)) == len(loud)
    assert [len(BELLS[t]) for t in (Tone.RECORDED, Tone.REFUSED, Tone.WRONG_CASE)] == [1, 3, 8]
    assert BELLS[Tone.GO_ON] == BELLS[Tone.READY] == ()


def test_the_tones_are_sound_files_and_no_two_alike() -> None:
    made = {tone: wav(tone) for tone in Tone}
    assert made[Tone.READY] == b""
    assert len(set(made.values())) == len(Tone)
    with wave.open(io.BytesIO(made[Tone.RECORDED])) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, 16_000)
        assert file.getnframes() == 16_000 * 250 // 1000


def test_a_player_is_given_the_tones_file(tmp_path: Path) -> None:
    heard = tmp_path / "heard"
    code = f"import sys,shutil; shutil.copy(sys.argv[1], {str(heard)!r})"
    player = Player([sys.executable, "-c", code])
    player.play(Tone.REFUSED)
    assert player._playing is not None
    player._playing.wait()
    player.play(Tone.READY)
    player.close()
    assert heard.read_bytes() == wav(Tone.REFUSED)


def test_a_player_that_is_not_there_is_let_be() -> None:
    player = Player(["no-such-program-anywhere"])
    player.play(Tone.WRONG_CASE)
    player.close()
