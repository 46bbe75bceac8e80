"""The page in a real browser: it checks itself, says what it rests on, and lets nothing through."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hostile import hostile_firm
from misshapen import BENT, bent
from scenario import BODY, CASE, PHOTOGRAPH, PIN, WITNESS, whole
from shown import Shown
from tampers import TAMPERS, Tamper

from continuity.audit.dossier import sections
from continuity.audit.dossier.markup import h
from continuity.audit.dossier.page import CLOSES, OPENS, embedded, write_page
from continuity.audit.dossier.reading import verify
from continuity.ledger import checkpoint as checkpoints
from continuity.ledger.checkpoint import cosigner_key
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser

    from continuity.audit.dossier.what import Dossier

    Show = Callable[..., Shown]

pytestmark = pytest.mark.browser


def test_a_sound_page_says_so_and_asks_nobody_for_anything(
    show: Show, browser: Browser, sound_page: bytes
) -> None:
    page = browser.new_page()
    requests: list[str] = []
    complaints: list[str] = []
    page.on("request", lambda request: requests.append(request.url))
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    shown = show(sound_page, page)
    assert shown.state == "sound"
    assert shown.codes == set()
    assert "The entries in this file are sound, as far as it can show." in shown.words
    assert "Every signature was checked with the key valid at its entry." in shown.words
    assert "25 of 25 entries lie under the checkpoint of size 40; 0 not anchored." in shown.words
    assert "counts 25 entries: none is left out" in shown.words
    assert "The register's key is this file's own word for it" in shown.words
    assert "whether this is the latest state of the register" in shown.words
    assert requests == [page.url]
    assert complaints == []
    page.close()


def test_the_reader_can_pin_a_key(show: Show, sound_page: bytes) -> None:
    shown = show(sound_page)
    shown.check_with(PIN)
    assert shown.state == "sound"
    assert "It rests on the register's key that you gave." in shown.words
    shown.check_with(str(WITNESS.verify_key))
    assert (shown.state, shown.codes) == ("broken", {"not-the-pinned-key"})
    shown.check_with(PIN.replace("+", "+0", 1))
    assert "That is not a public key's text" in shown.page.inner_text("#pin-problem")


def test_the_reader_can_give_a_witness_s_key(show: Show, sound: Dossier) -> None:
    note = checkpoints.cosign(Note.parse(sound.checkpoint or b""), WITNESS, 1_772_600_000)
    shown = show(write_page(replace(sound, checkpoint=note.encode())))
    key = str(cosigner_key(WITNESS.verify_key))
    shown.check_with(f"{PIN}\n{key}")
    assert shown.state == "sound"
    assert "Anchored at 2026-03-04T04:53:20Z by witness.example/elm." in shown.words
    last = note.signatures[-1]
    false = Note(note.text, (*note.signatures[:-1], replace(last, blob=bytes(8) + last.blob[8:])))
    shown = show(write_page(replace(sound, checkpoint=false.encode())))
    shown.check_with(key)
    assert (shown.state, shown.codes) == ("broken", {"cosignature-wrong"})


@pytest.fixture(scope="module")
def opened(
    browser: Browser, sound_page: bytes, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Shown]:
    """A page that stays open, whose machine part is exchanged and checked again."""
    file = tmp_path_factory.mktemp("opened") / "dossier.html"
    file.write_bytes(sound_page)
    shown = Shown(browser.new_page())
    shown.page.goto(file.as_uri())
    shown.wait()
    yield shown
    shown.page.close()


@pytest.mark.parametrize("tamper", TAMPERS, ids=lambda tamper: tamper.name)
def test_each_tamper_is_found_in_the_browser_too(
    tamper: Tamper, opened: Shown, sound: Dossier
) -> None:
    opened.page.evaluate(
        "text => { document.getElementById('dossier').textContent = text }",
        embedded(tamper.alter(sound)),
    )
    opened.check_with(PIN)
    assert opened.codes - {"page-differs"} == tamper.codes
    assert tamper.sound or opened.state == "broken"


@pytest.mark.parametrize("name", BENT)
def test_a_part_that_is_misshapen_is_refused_in_the_browser_too(
    name: str, opened: Shown, sound: Dossier
) -> None:
    opened.page.evaluate(
        "text => { document.getElementById('dossier').textContent = text }",
        bent(sound.encode(), name).decode().replace("<", "\\u003c"),
    )
    opened.check_with(PIN)
    assert "the machine part cannot be read" in opened.words


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        (b">2026-03-02 08:28 UTC</time>", b">2026-03-02 09:28 UTC</time>"),
        (b'data-is="kind">inspected<', b'data-is="kind">sighted<'),
        (b'data-is="recorded_by">m1<', b'data-is="recorded_by">m2<'),
        (b">Ottilie Brandauer (invented)</bdi>", b">Ottilie Brandaver (invented)</bdi>"),
        (b'"leak":true', b'"leak":false'),
    ],
)
def test_a_page_that_shows_something_else_is_found(
    show: Show, sound_page: bytes, was: bytes, becomes: bytes
) -> None:
    altered = sound_page.replace(was, becomes, 1)
    assert altered != sound_page
    shown = show(altered)
    assert (shown.state, shown.codes) == ("broken", {"page-differs"})


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        (b">not clear</b>", b">clear</b>"),
        (b"was inspected: leak", b"was inspected: no leak"),
        (b"<h3>Signed closing checks</h3>", b"<h3>Signed closing checks</h3><p>Clear.</p>"),
        (b'<ol class="findings">', b'<ol class="findings" hidden="hidden">'),
        (b"</footer>", b"</footer><p>Checked by an invented authority.</p>"),
        (b"<title>Dossier", b"<title>Checked dossier"),
        (b"</body></html>", b"<p>Checked.</p></body></html>"),
    ],
)
def test_a_told_word_altered_by_hand_is_found(
    show: Show, sound_page: bytes, was: bytes, becomes: bytes
) -> None:
    assert sound_page.count(was) == 1
    shown = show(sound_page.replace(was, becomes))
    assert (shown.state, shown.codes) == ("broken", {"page-differs"})
    assert "it was altered since, or something in this browser alters it" in shown.words


def test_white_space_that_a_mail_adds_at_the_end_alters_nothing(
    show: Show, sound_page: bytes
) -> None:
    assert show(sound_page + b"\n \n").state == "sound"


def test_whoever_alters_words_and_digest_is_caught_by_another_program_alone(
    show: Show, sound: Dossier, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as forger:
        forger.setattr(sections, "_closing", lambda _: [h("p", "clear")])
        forged = write_page(sound)
    shown = show(forged)
    assert shown.state == "sound"
    assert "The words below are their maker's telling." in shown.words
    assert verify(forged).codes == ("page-differs",)


def test_a_row_or_a_sheet_left_out_is_found(show: Show, sound_page: bytes) -> None:
    for start, end in ((b'<tr data-row="4"', b"</tr>"), (b'<pre data-chain="case"', b"</pre>")):
        before, _, rest = sound_page.partition(start)
        after = rest.partition(end)[2]
        shown = show(before + after)
        assert (shown.state, shown.codes) == ("broken", {"page-differs"})


@pytest.mark.parametrize(
    ("broken", "reason"),
    [
        (lambda text: text.replace("continuity-dossier/1", "continuity-dossier/2"), "version"),
        (lambda text: text.replace('"case":', '"case":"x","case":', 1), "canonical"),
        (lambda text: text[:-1], "cannot be read"),
        (lambda _: "[" * 100_000 + "]" * 100_000, ""),
    ],
    ids=["version", "doubled-name", "cut-off", "deep"],
)
def test_a_machine_part_that_cannot_be_read_is_not_sound(
    show: Show, sound: Dossier, sound_page: bytes, broken: Callable[[str], str], reason: str
) -> None:
    before, _, rest = sound_page.partition(OPENS)
    after = rest.partition(CLOSES)[2]
    shown = show(before + OPENS + broken(embedded(sound)).encode() + CLOSES + after)
    assert shown.state == "broken"
    assert "Not sound: the machine part cannot be read" in shown.words
    assert reason in shown.words


def test_a_browser_without_ed25519_says_so(show: Show, browser: Browser, sound_page: bytes) -> None:
    page = browser.new_page()
    page.add_init_script(
        "crypto.subtle.importKey = async () => { throw new DOMException('', 'NotSupportedError') }"
    )
    shown = show(sound_page, page)
    assert shown.state == "unable"
    assert "Signatures could not be checked: this browser does not know Ed25519." in shown.words
    assert "NO SIGNATURE WAS CHECKED" in shown.words
    page.close()


def test_a_browser_without_webcrypto_says_so(
    show: Show, browser: Browser, sound_page: bytes
) -> None:
    page = browser.new_page()
    page.add_init_script("Object.defineProperty(Crypto.prototype, 'subtle', {value: undefined})")
    shown = show(sound_page, page)
    assert shown.state == "unable"
    assert "it has no WebCrypto" in shown.words
    page.close()


def test_without_scripts_the_page_says_that_nothing_was_checked(
    browser: Browser, sound_page: bytes, tmp_path: Path
) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    file = tmp_path / "dossier.html"
    file.write_bytes(sound_page)
    page.goto(file.as_uri())
    assert "Not checked: the script in this file did not run." in page.inner_text("#verdict")
    assert not page.is_visible("#pin")
    assert page.is_visible("text=Things and their descent")
    context.close()


def test_each_detail_is_disclosed_withheld_or_erased(show: Show) -> None:
    firm = whole()
    erasing = firm.tell(
        "personal-details-erased", by="d1 d2", fields=["next-of-kin"], ground="an invented ground"
    )
    firm.publish()
    shown = show(write_page(firm.dossier("recipient")))
    told = shown.page.inner_text("#persons")
    assert f"erased by entry {erasing.number}; ground: an invented ground" in told
    assert "Ilse Brandauer (invented) disclosed" in told
    assert "name withheld by whoever made this file" in " ".join(told.split())
    assert (shown.state, shown.codes) == ("sound", set())
    assert "a daughter, named in the papers" not in shown.page.content()


def test_hostile_texts_stay_texts(show: Show, browser: Browser) -> None:
    page = browser.new_page()
    dialogs: list[str] = []
    page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
    data = write_page(hostile_firm().dossier(everything=True))
    shown = show(data, page)
    assert shown.state == "sound"
    assert shown.codes == set()
    assert dialogs == []
    assert page.evaluate("globalThis.taken") is None
    assert page.eval_on_selector_all("script", "all => all.length") == 2
    assert page.eval_on_selector_all("img, iframe, object, base, form", "all => all.length") == 0
    assert (
        page.eval_on_selector_all("a", "all => all.filter(a => a.protocol != 'file:').length") == 0
    )
    told = page.inner_text("#history")
    assert "⟨U+202E⟩" in told
    assert "⟨U+0000⟩" in told
    assert "</script><script>globalThis.taken=1</script>" in told
    page.close()


def test_photographs_are_compared_with_their_digests(
    show: Show, sound_page: bytes, tmp_path: Path
) -> None:
    shown = show(sound_page)
    good, bad = tmp_path / "photograph.jpg", tmp_path / "other.jpg"
    good.write_bytes(b"an invented photograph\n")
    bad.write_bytes(b"another photograph\n")
    assert PHOTOGRAPH in shown.page.inner_text("#papers")
    shown.page.set_input_files("#papers-files", [good, bad])
    shown.page.wait_for_selector("#paper-results li:nth-child(2)")
    assert shown.page.inner_text("#paper-results").split("\n") == [
        "photograph.jpg is the one recorded: photograph of entry 4",
        "other.jpg is none of those recorded",
    ]


def test_four_hundred_entries_are_checked_while_one_waits(show: Show) -> None:
    firm = whole()
    while firm.tell("weighed", after=11, thing=BODY, grams=68_400).number < 399:
        pass
    firm.publish()
    dossier = firm.dossier("name")
    assert len(dossier.entries) == 400
    shown = show(write_page(dossier))
    assert shown.state == "sound"
    assert "400 of 400 entries lie under the checkpoint" in shown.words
    taken = shown.page.evaluate("performance.now()")
    assert taken < 10_000
    assert shown.page.eval_on_selector_all("#history tbody tr", "all => all.length") == 400


def test_landmarks_headings_and_contrast(show: Show, browser: Browser) -> None:
    page = write_page(whole(treated=False).dossier("name"))
    axe = pytest.importorskip(
        "axe_playwright_python.sync_playwright",
        reason="NO AXE-CORE: accessibility is not tested; install axe-playwright-python",
    )
    for scheme in ("light", "dark"):
        context = browser.new_context(color_scheme=scheme)
        shown = show(page, context.new_page())
        shown.page.eval_on_selector_all("details", "all => all.forEach(d => d.open = true)")
        rules = None if scheme == "light" else {"runOnly": ["color-contrast"]}
        found = axe.Axe().run(shown.page, options=rules).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"]) for v in found] == []
        roles = ["banner", "main", "contentinfo", "navigation"]
        assert [shown.page.get_by_role(role).count() for role in roles] == [1, 1, 1, 1]
        names = shown.page.eval_on_selector_all(
            "main > section",
            "all => all.map(s => document.getElementById("
            "s.getAttribute('aria-labelledby')).textContent)",
        )
        assert names[0] == "Does this file hold?"
        assert len(names) == 10
        context.close()


def test_dark_light_and_print_are_different_views_of_one_page(
    show: Show, browser: Browser, sound_page: bytes
) -> None:
    backgrounds = {}
    for scheme in ("light", "dark"):
        context = browser.new_context(color_scheme=scheme)
        shown = show(sound_page, context.new_page())
        paper = "getComputedStyle(document.documentElement).backgroundColor"
        backgrounds[scheme] = shown.page.evaluate(paper)
        shown.page.emulate_media(media="print", color_scheme=scheme)
        backgrounds[f"{scheme} print"] = shown.page.evaluate(paper)
        assert not shown.page.is_visible("nav")
        assert not shown.page.is_visible("#pin")
        context.close()
    assert backgrounds == {
        "light": "rgb(246, 243, 234)",
        "dark": "rgb(21, 25, 22)",
        "light print": "rgb(255, 255, 255)",
        "dark print": "rgb(255, 255, 255)",
    }


def test_printing_opens_every_fold(show: Show, sound_page: bytes) -> None:
    shown = show(sound_page)
    shown.page.emulate_media(media="print")
    printed = shown.page.pdf(prefer_css_page_size=True)
    assert printed.startswith(b"%PDF-")
    assert shown.page.eval_on_selector_all("details:not([open])", "all => all.length") == 0
    shown.page.emulate_media(media="screen")


def test_the_case_is_named_for_those_who_listen(show: Show, sound_page: bytes) -> None:
    shown = show(sound_page)
    assert shown.page.title() == f"Dossier of case {CASE}"
    drawing = shown.page.get_by_role("img", name="Things and their descent")
    assert drawing.count() == 1
    assert "9 things" in (drawing.locator("desc").text_content() or "")
