"""The full screen, driven by Textual's pilot as a scanner drives it: by keys that end with Enter."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any

import pytest
from textual.events import Paste

from continuity_cli.station.answer import Tone
from continuity_cli.station.screen import Station

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from textual.pilot import Pilot

    from tests.station.conftest import Post

SIZE = (100, 30)


class Silent:
    """Hears what would be played."""

    def __init__(self) -> None:
        self.heard: list[Tone] = []

    def play(self, tone: Tone) -> None:
        self.heard.append(tone)


def on_screen(post: Post, work: Callable[[Pilot[None], Station], Awaitable[None]]) -> Silent:
    """Run the station without a terminal and do something with it."""
    silent = Silent()

    async def run() -> None:
        app = Station(post.desk, "An invented firm", silent)
        async with app.run_test(size=SIZE) as pilot:
            await work(pilot, app)

    asyncio.run(run())
    return silent


def shown(app: Station, widget: str) -> str:
    return str(app.query_one(f"#{widget}").render())


async def scan(post: Post, pilot: Pilot[None], *names: str) -> None:
    """Scan as a terminal gives it that takes a fast scanner for somebody who pastes."""
    for name in names:
        post.wait(3)
        pilot.app.post_message(Paste(f"{post.names.get(name, name)}\n"))
        await pilot.pause()


def test_a_scanners_keys_are_answered_in_full(post: Post) -> None:
    async def work(pilot: Pilot[None], app: Station) -> None:
        await pilot.press(*post.names["heart"], "enter")
        await pilot.pause()
        assert app.query_one("#answer").has_class("go-on")
        assert "heart 2026-0001.6" in shown(app, "begun")
        await scan(post, pilot, "cold-room")
        assert app.query_one("#answer").has_class("recorded")
        assert shown(app, "what") == "heart 2026-0001.6 → cold-room"
        assert shown(app, "step") == "NEXT in 2026-0001: look at the body"
        assert "█" in shown(app, "large")

    assert on_screen(post, work).heard == [Tone.GO_ON, Tone.RECORDED]
    assert post.kinds()[-1] == "moved"


def test_wrong_case_looks_and_sounds_like_nothing_else(post: Post) -> None:
    async def work(pilot: Pilot[None], app: Station) -> None:
        await scan(post, pilot, "bag", "strange-bag")
        panel = app.query_one("#answer")
        assert panel.classes == {"wrong-case"}
        assert panel.styles.border_top[0] == "outer"
        assert "[wrong-case]" in shown(app, "what")

    assert on_screen(post, work).heard == [Tone.GO_ON, Tone.WRONG_CASE]


def test_every_kind_of_answer_has_its_own_border_or_background(post: Post) -> None:
    looks = {}

    async def work(pilot: Pilot[None], app: Station) -> None:
        panel = app.query_one("#answer")
        for tone in Tone:
            panel.set_classes(tone.value)
            await pilot.pause()
            looks[tone] = (panel.styles.border_top[0], panel.styles.background.hex)

    on_screen(post, work)
    assert len(set(looks.values())) == len(Tone)
    borders = {t: looks[t][0] for t in (Tone.RECORDED, Tone.CLEAR, Tone.REFUSED, Tone.WRONG_CASE)}
    assert len(set(borders.values())) == 4, "told apart without colour"


def test_an_unfinished_sequence_counts_down_and_times_out_by_itself(post: Post) -> None:
    async def work(pilot: Pilot[None], app: Station) -> None:
        await scan(post, pilot, "heart")
        post.seconds[0] += 20
        await pilot.pause(0.4)
        assert "10 s  heart 2026-0001.6" in shown(app, "begun")
        post.seconds[0] += 10
        await pilot.pause(0.4)
        assert app.query_one("#answer").has_class("dropped")
        assert shown(app, "mend") == "nothing was recorded"

    assert on_screen(post, work).heard == [Tone.GO_ON, Tone.DROPPED]


def test_a_pin_is_shown_as_dots(post: Post) -> None:
    async def work(pilot: Pilot[None], app: Station) -> None:
        await scan(post, pilot, "d1")
        await pilot.press(*"4711")
        assert shown(app, "begun").endswith("> ••••")
        await pilot.press("enter")
        await pilot.pause()
        assert "signed in: d1" in shown(app, "top")

    on_screen(post, work)


def test_treatments_under_way_stand_below(post: Post) -> None:
    async def work(pilot: Pilot[None], app: Station) -> None:
        await scan(post, pilot, "IMMERSE", "bag")
        app._look()
        post.wait(100 * 60)
        app.show_around()
        await pilot.pause()
        assert shown(app, "solution") == (
            "in solution  viscera 2026-0001.3  1 h 40 of 4 h 00  due 12:00"
        )

    on_screen(post, work)


def test_what_an_entry_says_is_shown_and_never_obeyed(post: Post) -> None:
    post.record("moved", things=["2026-0001.6"], place="cold-room", remark="[red]x[/red]")
    item = {"what": "part", "description": "[bold]toe[/bold] \u202e"}
    post.record("received", "2026-0001", giver="coroner", place="table-1", items=[item])
    post.label("toe", "2026-0001.10")

    async def work(pilot: Pilot[None], app: Station) -> None:
        await scan(post, pilot, "toe")
        assert shown(app, "what") == "[bold]toe[/bold] \\u202e 2026-0001.10"

    on_screen(post, work)


def test_two_scans_pasted_at_once_are_two(post: Post) -> None:
    async def work(pilot: Pilot[None], app: Station) -> None:
        post.wait(3)
        app.post_message(Paste(f"{post.names['heart']}\n{post.names['cold-room']}\n"))
        await pilot.pause()
        assert app.query_one("#answer").has_class("recorded")

    on_screen(post, work)


@pytest.mark.parametrize("key", ["ctrl+q", "ctrl+c"])
def test_it_takes_two_to_leave(post: Post, key: str) -> None:
    async def work(pilot: Pilot[None], app: Station) -> None:
        await pilot.press(key)
        assert app.is_running
        assert shown(app, "begun") == "press it again to leave the station"
        post.seconds[0] += 3
        await pilot.press(key)
        assert app._exit is False
        await pilot.press(key)
        assert app._exit is True

    on_screen(post, work)


def test_keys_that_no_label_holds_do_nothing(post: Post) -> None:
    async def work(pilot: Pilot[None], app: Station) -> None:
        code = post.names["heart"]
        app._typed = code
        await pilot.press("Z", "backspace", "f1", "up", "tab", "x", "escape")
        await pilot.pause()
        assert shown(app, "what") == "heart 2026-0001.6"

    on_screen(post, work)


def test_without_a_player_the_bell_rings_as_often_as_the_answer_asks(
    post: Post, monkeypatch: pytest.MonkeyPatch
) -> None:
    rung: list[Any] = []

    async def run() -> None:
        app = Station(post.desk, "An invented firm")
        monkeypatch.setattr(app, "bell", lambda: rung.append(1))
        async with app.run_test(size=SIZE) as pilot:
            await scan(post, pilot, "heart", "heart")
            await pilot.pause(0.5)

    asyncio.run(run())
    assert len(rung) == 3


def test_a_scan_counted_once_is_said_so(post: Post) -> None:
    async def work(pilot: Pilot[None], app: Station) -> None:
        await scan(post, pilot, "heart", "cold-room")
        app.post_message(Paste(f"{post.names['cold-room']}\n"))
        await pilot.pause()
        assert shown(app, "begun").endswith("the same scan again: counted once")
        post.wait(2.5)
        app.pass_time()
        assert "counted once" not in shown(app, "begun")

    assert on_screen(post, work).heard == [Tone.GO_ON, Tone.RECORDED]


def test_a_long_list_says_how_much_of_it_is_left_out(post: Post) -> None:
    async def work(pilot: Pilot[None], app: Station) -> None:
        await scan(post, pilot, "CLOSING CHECK", "body")
        lines = shown(app, "list").splitlines()
        listed = [line for line in lines if line.startswith("  □")]
        whole, more = (
            int(next(w for w in s.split() if w.isdigit())) for s in (lines[0], lines[-2])
        )
        assert whole == len(listed) + more
        assert lines[-2] == f"  and {more} more"
        assert app.query_one("#list").region.bottom <= app.query_one("#answer").region.bottom - 2

    on_screen(post, work)
