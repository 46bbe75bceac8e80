"""The station's screen: the answer fills it; below stands what is due, at the foot what is begun.

An answer is told three ways: by its shape and border, by its word, and by colour. Whatever a
scanner types is taken here, whatever has the focus; there is nothing to click.
"""

from __future__ import annotations

from itertools import zip_longest
from math import ceil
from typing import TYPE_CHECKING, ClassVar, Protocol

from textual.app import App
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Static

from continuity.errors import ContinuityError
from continuity_cli.plain import harmless
from continuity_cli.station import big
from continuity_cli.station.lines import ONCE, span
from continuity_cli.station.sounds import BELLS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from continuity_cli.station.answer import Answer, Tone, View
    from continuity_cli.station.desk import Desk

_MOST_TYPED = 200
_SHAPE_WIDTH = 14
_BAR = 20
_LEAST_LIST = 2
_AROUND_LIST = 14
"""Rows of a screen that are neither the large word nor the list."""
_FEW = 3
_TICK = 0.25
_LOOK = 0.5
_AGAIN = 2.0
_LEAVE = "press it again to leave the station"


class Sounds(Protocol):
    """What sounds an answer."""

    def play(self, tone: Tone) -> None:
        """Sound it, without waiting for the end."""


class Station(App[None]):
    """One workplace, all day.

    Args:
        desk: takes the scans.
        firm: the firm's name, for the top line.
        player: plays tones; None rings the terminal's bell.
    """

    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+q", "leave", "leave", priority=True),
        Binding("ctrl+c", "leave", "leave", priority=True),
    ]
    CSS = """
    Screen { layout: vertical; background: #101418; color: #f2f2f2; }
    #top { height: 1; background: #26313c; color: #ffffff; padding: 0 1; }
    #answer { height: 1fr; padding: 1 2; border: blank #101418; }
    #large { height: auto; }
    #what { margin-top: 1; text-style: bold; }
    #below { height: auto; padding: 0 2; }
    #step { text-style: bold; color: #ffe08a; }
    #begun { height: 1; background: #26313c; color: #ffffff; padding: 0 1; }
    #answer.ready { background: #101418; border: blank #101418; }
    #answer.go-on { background: #0b3a66; border: blank #0b3a66; }
    #answer.recorded { background: #0d4d2b; border: round #ffffff; }
    #answer.clear { background: #0d4d2b; border: double #ffffff; }
    #answer.refused { background: #6b3d00; border: heavy #ffffff; }
    #answer.wrong-case { background: #8c0f1f; border: outer #ffffff; text-style: bold; }
    #answer.dropped { background: #3a3f45; border: dashed #ffffff; }
    """

    def __init__(self, desk: Desk, firm: str, player: Sounds | None = None) -> None:
        super().__init__()
        self._desk = desk
        self._firm = harmless(firm)
        self._player = player
        self._typed = ""
        self._leaving = float("-inf")
        self._repeated = float("-inf")
        self._stands: dict[str, str] = {}

    def compose(self) -> ComposeResult:
        """The widgets, from the top down."""
        yield Static(id="top")
        with Vertical(id="answer"):
            yield Static(id="large")
            yield Static(id="what")
            yield Static(id="mend")
            yield Static(id="list")
        with Vertical(id="below"):
            yield Static(id="step")
            yield Static(id="solution")
        yield Static(id="begun")

    def on_mount(self) -> None:
        """Show what the desk says at its start, and let time pass from here on."""
        self._show(self._desk.answer)
        self.set_interval(_TICK, self.pass_time)
        self.set_interval(_LOOK, self._look)
        self.call_after_refresh(self._desk.warm)

    def on_resize(self) -> None:
        """Letters are as wide as there is room."""
        self._show(self._desk.answer)

    def on_key(self, event: events.Key) -> None:
        """Take what the scanner types; its Enter or Tab ends a scan."""
        event.stop()
        event.prevent_default()
        if event.key in {"enter", "tab", "ctrl+j"}:
            text, self._typed = self._typed, ""
            self.scan(text)
        elif event.key == "backspace":
            self._typed = self._typed[:-1]
        elif event.key == "escape":
            self._typed = ""
        elif event.character and event.is_printable:
            self._typed = (self._typed + event.character)[-_MOST_TYPED:]
        if event.key != "enter":
            self.show_around()

    def on_paste(self, event: events.Paste) -> None:
        """Some terminals give a fast scanner's typing as pasted text."""
        for line in event.text.splitlines(keepends=True):
            self._typed = (self._typed + line.rstrip("\r\n"))[-_MOST_TYPED:]
            if line.endswith(("\r", "\n")):
                text, self._typed = self._typed, ""
                self.scan(text)

    def scan(self, text: str) -> None:
        """Give a scan to the desk, show its answer and sound it."""
        answer = self._desk.scan(text)
        if answer is not None:
            self._show(answer)
            self._sound(answer.tone)
        else:
            self._repeated = self._desk.seconds() if text.strip() else self._repeated
            self.show_around()

    def action_leave(self) -> None:
        """Leave, when asked twice: no stray character of a scan may close the station."""
        if self._asked_to_leave():
            self.exit()
        self._leaving = self._desk.seconds()
        self.show_around()

    def _asked_to_leave(self) -> bool:
        return self._desk.seconds() - self._leaving < _AGAIN

    def pass_time(self) -> None:
        """Let what has waited for too long be dropped, and the clocks go on."""
        answer = self._desk.tick()
        if answer is not None:
            self._show(answer)
            self._sound(answer.tone)
        else:
            self.show_around()

    def _look(self) -> None:
        try:
            self._desk.look()
        except ContinuityError:
            # The next scan says what is wrong with the register; a clock need not.
            return

    def _sound(self, tone: Tone) -> None:
        if self._player:
            self._player.play(tone)
            return
        for after in BELLS[tone]:
            self.set_timer(after, self.bell) if after else self.bell()

    def _show(self, answer: Answer) -> None:
        panel = self.query_one("#answer")
        panel.set_classes(answer.tone.value)
        width = self.size.width - 8
        lines = big.word(answer.word, width - _SHAPE_WIDTH, tall=not answer.missing)
        marks = big.shape(answer.tone)
        large = "\n".join(
            f"{mark:<{_SHAPE_WIDTH}}{line}"
            for mark, line in zip_longest(marks, lines, fillvalue="")
        )
        self._put("large", large)
        code = f"  [{answer.code}]" if answer.code else ""
        entries = ", ".join(f"entry {r.number} of {r.case}" for r in answer.receipts)
        self._put("what", f"{answer.what}{code}")
        self._put("mend", "\n".join(filter(None, (entries, answer.mend))))
        self._put("list", "\n".join(self._list(answer)))
        step = f"NEXT in {answer.case}: {answer.next_step}" if answer.next_step else ""
        self._put("step", step)
        self.show_around()

    def _list(self, answer: Answer) -> Iterator[str]:
        large = self._stands["large"].count("\n") + 1
        room = max(_LEAST_LIST, self.size.height - _AROUND_LIST - large)
        if answer.missing:
            yield f"still missing: {len(answer.missing)}"
        left = room
        for number, line in enumerate(answer.missing):
            left -= ceil((len(line) + 4) / max(1, self.size.width - 8))
            if left < 0 and number:
                yield f"  and {len(answer.missing) - number} more"
                break
            yield f"  □ {line}"
        listed = answer.relabel[: max(1, left)]
        more = len(answer.relabel) - len(listed)
        for number, line in enumerate(listed, 1):
            told = f" (and {more} more)" if more and number == len(listed) else ""
            yield f"print a new label: {line}{told}"

    def show_around(self) -> None:
        """Show what stands around the answer: the hour, who is signed in, what is begun."""
        view = self._desk.view()
        who = f"{view.who}, key {ceil(view.key_left / 60)} min" if view.who else "nobody"
        second = f" with {view.second}" if view.second else ""
        closing = f"  closing check of {view.closing}" if view.closing else ""
        self._put("top", f"{view.clock}  {self._firm}  signed in: {who}{second}{closing}")
        self._put("solution", "\n".join(_solutions(view)))
        asked = self._asked_to_leave()
        again = self._desk.seconds() - self._repeated < _AGAIN
        self._put("begun", _LEAVE if asked else self._foot(view) + (f"  {ONCE}" if again else ""))

    def _foot(self, view: View) -> str:
        typed = "•" * len(self._typed) if view.pin else self._typed
        if not view.begun:
            return f"> {typed}"
        full = round(_BAR * view.left / view.span) if view.span else 0
        bar = "█" * full + "░" * (_BAR - full)
        return f"{bar} {int(view.left):>2} s  {view.begun}  > {typed}"

    def _put(self, widget: str, text: str) -> None:
        # As content without markup: what an entry says is shown, never obeyed. Only what changed:
        # a clock that ticks must not repaint the rest.
        if self._stands.get(widget) != text:
            self._stands[widget] = text
            lines = "\n".join(harmless(line) for line in text.split("\n"))
            self.query_one(f"#{widget}", Static).update(Content(lines))


def _solutions(view: View) -> Iterator[str]:
    for each in view.immersions[:_FEW]:
        state = "MAY COME OUT since" if each.over else "due"
        spent = f"{span(each.elapsed)} of {span(each.needed)}"
        yield f"in solution  {each.words} {each.thing}  {spent}  {state} {each.due}"
    if len(view.immersions) > _FEW:
        yield f"in solution  and {len(view.immersions) - _FEW} more"
