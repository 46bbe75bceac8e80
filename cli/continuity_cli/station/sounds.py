"""Sounds of the answers: told apart with eyes on the work. Bells of the terminal, or tones of ours.

A terminal has one bell, so the answers differ in how often and how fast it rings. Where a program
that plays sound files is named, each answer has a tone of its own instead, made here.
"""

from __future__ import annotations

import io
import math
import struct
import subprocess
import tempfile
import wave
from pathlib import Path
from typing import Final

from continuity_cli.station.answer import Tone

BELLS: Final[dict[Tone, tuple[float, ...]]] = {
    Tone.READY: (),
    Tone.GO_ON: (),
    Tone.RECORDED: (0.0,),
    Tone.CLEAR: (0.0, 0.6),
    Tone.REFUSED: (0.0, 0.15, 0.3),
    Tone.WRONG_CASE: (0.0, 0.12, 0.24, 0.36, 0.48, 0.6, 0.72, 0.84),
    Tone.DROPPED: (0.0, 0.3),
}
"""When the bell rings, in seconds after the answer: nothing for what only goes on."""

_NOTES: Final[dict[Tone, tuple[tuple[int, int], ...]]] = {
    Tone.GO_ON: ((880, 40),),
    Tone.RECORDED: ((660, 90), (990, 160)),
    Tone.CLEAR: ((660, 120), (880, 120), (1100, 320)),
    Tone.REFUSED: ((220, 180), (0, 60), (220, 260)),
    Tone.WRONG_CASE: ((180, 120), (340, 120)) * 5,
    Tone.DROPPED: ((440, 120), (330, 240)),
}
"""Tones in hertz and milliseconds: recorded rises, refused is low and twice, wrong case howls."""

_RATE: Final = 16_000
_LOUD: Final = 0.6
_FADE: Final = 0.005


def wav(tone: Tone) -> bytes:
    """The tone as a WAV file: one channel, 16 bits; empty for an answer that makes none."""
    if tone not in _NOTES:
        return b""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(_RATE)
        for hertz, milliseconds in _NOTES[tone]:
            file.writeframes(_note(hertz, milliseconds / 1000))
    return out.getvalue()


def _note(hertz: int, seconds: float) -> bytes:
    """A sine with soft ends, so that it does not click."""
    count = round(seconds * _RATE)
    samples = (
        math.sin(2 * math.pi * hertz * n / _RATE)
        * min(1.0, n / (_FADE * _RATE), (count - n) / (_FADE * _RATE))
        for n in range(count)
    )
    return b"".join(struct.pack("<h", round(32_767 * _LOUD * sample)) for sample in samples)


class Player:
    """Plays tones by a program of the system, without waiting for it.

    Args:
        command: the program and its options; the file's path is put behind them.
    """

    def __init__(self, command: list[str]) -> None:
        self._command = command
        self._folder = tempfile.TemporaryDirectory(prefix="continuity-tones-")
        self._playing: subprocess.Popen[bytes] | None = None
        for tone in _NOTES:
            self._path(tone).write_bytes(wav(tone))

    def play(self, tone: Tone) -> None:
        """Start a tone; the one still playing gives way. A program that fails is let be."""
        if self._playing and self._playing.poll() is None:
            self._playing.terminate()
        if tone in _NOTES:
            try:
                self._playing = subprocess.Popen(  # noqa: S603 - whoever starts the station names it
                    [*self._command, str(self._path(tone))],
                    stdin=subprocess.DEVNULL,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                )
            except OSError:
                self._playing = None

    def close(self) -> None:
        """Stop what plays, and remove the files."""
        if self._playing and self._playing.poll() is None:
            self._playing.terminate()
        if self._playing:
            self._playing.wait()
        self._folder.cleanup()

    def _path(self, tone: Tone) -> Path:
        return Path(self._folder.name, f"{tone.value}.wav")
