"""Labels from the register: the entry first, then the file, and no name where none belongs."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from PIL import Image

from continuity.clock import now
from continuity.register import Register
from continuity_cli.labelling import faces, files
from continuity_labels.code import CodeBook, CodeType
from continuity_labels.reading import Decoder, decode

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Told, Tool

CASE = "2026-0001"
BODY, BAG, VISCERA, COFFIN = (f"{CASE}.{item}" for item in range(1, 5))


def personal(tool: Tool) -> None:
    """What the tag of the body needs: an invented name and a date of birth."""
    tool(
        "record", "identified", "--thing", BODY, "--stage", "receipt", "--with", "m2",
        "--identifier", "what=name", "--identifier", "what=date-of-birth",
        "--identifier", "what=case-number",
        "--personal", "name=Ada Invented", "--personal", "date-of-birth=1931-02-03",
    )  # fmt: skip


def label(tool: Tool, *words: object, status: int = 0) -> Told:
    return tool("label", *words, status=status)


def read(path: Path, *, smaller: int = 1) -> set[str]:
    """The codes in a picture."""
    with Image.open(path) as picture:
        seen = picture.convert("L").reduce(smaller)
    return {reading.text for reading in decode(seen, decoders=(Decoder.ZXING,))}


def in_force(tool: Tool, thing: str) -> tuple[str, tuple[str, ...], set[str]]:
    """The label of a thing, its panels, and what is void."""
    register = Register.open(tool.path)
    with register.store:
        known = register.case(CASE).things[thing]
        assert known.label is not None
        return known.label.code, known.label.panels, known.voided


def test_what_is_printed_is_recorded_and_can_be_read(tool: Tool) -> None:
    path = tool.folder / "bag.png"
    told = label(tool, BAG, "-o", path)
    code, panels, void = in_force(tool, BAG)
    assert read(path) == {code}
    assert (panels, void) == (("biohazard",), set())
    assert told.out.splitlines()[0].split("  ")[:4] == [
        BAG,
        "-".join(groups(code)),
        "print 1",
        "entry 2",
    ]
    assert "modules 0.68 mm, level H" in told.out
    assert f"written: {path}; print it at 100 %, actual size" in told.out
    assert "29 CFR 1910.1030(g)(1)(i)(C)" in told.err
    assert path.stat().st_mode & 0o777 == 0o600


def groups(code: str) -> tuple[str, ...]:
    return (code[:5], code[5:9], code[9:13], code[13:17], code[17:])


def test_printing_again_is_the_next_print_and_voids_the_earlier(tool: Tool) -> None:
    first = label(tool, BAG, "-o", tool.folder / "a.png", "--json").json["labels"][0]
    again = label(tool, BAG, "-o", tool.folder / "a.png", "--json").json["labels"][0]
    assert (first["print"], again["print"]) == (1, 2)
    assert again["code"][:17] == first["code"][:17]
    code, _, void = in_force(tool, BAG)
    assert (code, void) == (again["code"], {first["code"]})
    register = Register.open(tool.path)
    with register.store:
        assert register.thing_of_label(first["code"]) == BAG


def test_after_the_last_print_number_comes_a_new_code(tool: Tool) -> None:
    register = Register.open(tool.path)
    with register.store:
        book = CodeBook(register.id)
    first = label(tool, BAG, "-o", tool.folder / "a.png", "--json").json["labels"][0]["code"]
    code = book.parse(first)
    last = type(code)(code.type, code.tag, code.unique, 31)
    tool("record", "labelled", "--thing", BAG, "--code", last.text)
    told = label(tool, BAG, "-o", tool.folder / "a.png", "--json").json["labels"][0]
    assert (told["print"], told["code"][:17] == first[:17]) == (1, False)


def test_a_cases_whole_set_is_one_file(tool: Tool) -> None:
    personal(tool)
    path = tool.folder / "set.pdf"
    told = label(tool, CASE, "-o", path, "--json").json
    assert [each["thing"] for each in told["labels"]] == [BODY, BAG, VISCERA, COFFIN]
    assert told["files"] == [str(path)]
    assert path.read_bytes().count(b"/Type /Page\n") == 4
    assert label(tool, CASE, "--due").out == "no label is due\n"


def test_a_set_as_pictures_has_a_file_for_each(tool: Tool) -> None:
    told = label(tool, BAG, COFFIN, "-o", tool.folder / "x.png", "--json").json
    assert told["files"] == [str(tool.folder / f"x-{n}.png") for n in (1, 2)]


def test_only_the_bodys_own_tag_bears_a_name(tool: Tool) -> None:
    personal(tool)
    register = Register.open(tool.path)
    with register.store:
        case = register.case(CASE)
        details = faces.details_of(case, register.personal_details(CASE))
        book, policy = CodeBook(register.id), register.house().policy
        made = {
            thing.id: faces.thing_face(
                case,
                thing,
                book.mint(CodeType.THING),
                policy=policy,
                details=details,
                now=now().astimezone(),
            )
            for thing in faces.standing(case)
        }
    assert [i.value for i in made[BODY].identifiers] == ["Ada Invented", "1931-02-03", CASE]
    assert made[BODY].kind is faces.FaceKind.DECEDENT
    for thing in (BAG, VISCERA, COFFIN):
        assert made[thing].identifiers == ()
        assert "Ada" not in repr(made[thing])
    assert (made[BAG].what, made[BAG].ordinal, made[COFFIN].ordinal) == (
        "Viscera bag",
        (1, 1),
        None,
    )


def test_a_tag_without_three_identifiers_is_refused_and_nothing_recorded(tool: Tool) -> None:
    before = tool.size()
    told = label(tool, BODY, "-o", tool.folder / "tag.pdf", status=2)
    assert told.error == (
        "case 2026-0001: a decedent's tag carries three identifiers, and the register keeps case"
        " number; add others to the case's first entry (record corrected --case 2026-0001"
        " --strikes 0 --reason ... --instead coroner_reference=... --personal name=... --personal"
        " date-of-birth=...)"
    )
    assert tool.size() == before
    assert list(tool.folder.glob("*tag*")) == []
    tool("record", "corrected", "--case", "2026-0001", "--strikes", 0, "--reason", "incomplete",
         "--instead", "coroner_reference=C-1", "--personal", "name=Ann Invented")  # fmt: skip
    label(tool, BODY, "-o", tool.folder / "tag.pdf")


def test_an_unidentified_body_bears_a_number_as_a_part_does(tool: Tool) -> None:
    tool("record", "case-opened", "--number", "2026-0009", "--unidentified")
    tool(
        "record", "received", "--case", "2026-0009", "--giver", "coroner", "--place", "table-1",
        "--item", "what=decedent,description=unknown adult",
    )  # fmt: skip
    told = label(tool, "2026-0009", "-o", tool.folder / "u.pdf", "--json").json["labels"][0]
    assert (told["what"], told["stock"]) == ("Unknown adult", "tie-on-tag-300")


def test_a_description_that_holds_a_kept_name_is_not_shown(tool: Tool) -> None:
    personal(tool)
    tool(
        "record", "received", "--case", CASE, "--giver", "coroner", "--place", "table-1",
        "--item", "what=effect,description=ring of ADA",
    )  # fmt: skip
    told = label(tool, f"{CASE}.5", "-o", tool.folder / "r.pdf", "--json")
    assert told.json["labels"][0]["what"] == "Effect"
    told = label(tool, f"{CASE}.5", "-o", tool.folder / "r.pdf")
    assert "its description holds a kept name" in told.err


def test_a_label_is_due_when_its_panels_have_changed(tool: Tool) -> None:
    personal(tool)
    label(tool, CASE, "-o", tool.folder / "set.pdf")
    tool(
        "record", "cared-for", "--thing", BAG, "--step", "immersed", "--formaldehyde-tenths", "37",
        "--found",
    )  # fmt: skip
    told = label(tool, CASE, "--due", "-o", tool.folder / "due.pdf", "--json").json
    assert [(each["thing"], each["print"]) for each in told["labels"]] == [(BAG, 2), (VISCERA, 2)]
    assert told["labels"][0]["panels"] == ["biohazard", "formaldehyde-1"]
    assert in_force(tool, BAG)[1] == ("biohazard", "formaldehyde-1")


def test_a_long_description_takes_a_larger_stock_and_then_fewer_words(tool: Tool) -> None:
    """One long description must not keep a whole case without labels."""
    place, item = ("--place", "table-1"), "what=container,form=box,description="
    long = "box of letters and photographs as the family gave them in two bundles"
    tool("record", "provided", "--case", CASE, *place, "--item", f"{item}{long}")
    tool(
        "record", "provided", "--case", CASE, *place, "--item", f"{item}{' and '.join([long] * 6)}"
    )
    told = label(tool, f"{CASE}.5", f"{CASE}.6", "-o", tool.folder / "long.pdf", "--json")
    assert [each["what"] for each in told.json["labels"]] == [long.capitalize(), "Box"]
    told = label(tool, f"{CASE}.6", "-o", tool.folder / "long.pdf")
    assert (
        f"note: {CASE}.6: its description is too long for label-100x50-300, so the label says Box"
        in told.err
    )


def test_a_sheet_leaves_out_the_positions_that_are_used_up(tool: Tool) -> None:
    path = tool.folder / "sheet.pdf"
    words = (BAG, COFFIN, "--stock", "sheet-a4-2x5", "-o", path)
    label(tool, *words, "--skip", 1, "--skip", 2)
    told = label(tool, *words, "--skip", 99, status=2)
    assert told.error == "position 99 is not on the sheet sheet-a4-2x5, which has 1 to 10"
    told = label(tool, BAG, "--skip", 1, "-o", path, status=2)
    assert told.error == "--skip: label-100x50-300 is no sheet; there is nothing to skip"


def test_places_badges_holders_and_the_board_need_no_entry_and_are_always_the_same(
    tool: Tool,
) -> None:
    before = tool.size()
    words = ("--place", "table-1", "--badge", "m1", "--holder", "coroner")
    one = label(tool, *words, "-o", tool.folder / "one.pdf", "--json").json
    two = label(tool, *words, "-o", tool.folder / "two.pdf", "--json").json
    assert one["labels"] == two["labels"]
    assert [each["code"][0] for each in one["labels"]] == ["P", "B", "H"]
    assert [each["what"] for each in one["labels"]] == [
        "table-1: table one",
        "m1, mortician",
        "coroner",
    ]
    label(tool, "--board", "-o", tool.folder / "b.pdf")
    label(tool, "--board", "--page", "letter", "-o", tool.folder / "b.png")
    board = read(tool.folder / "b.png", smaller=3)
    assert len(board) == 27
    assert all(text.startswith("A") for text in board)
    assert tool.size() == before


def test_a_replaced_keys_badge_is_another(tool: Tool) -> None:
    words = ("--badge", "m1", "-o", tool.folder / "b.pdf", "--json")
    old = label(tool, *words).json["labels"][0]["code"]
    tool("enrol", "m1", "--replace", "--no-passphrase", "--as", "d1")
    assert label(tool, *words).json["labels"][0]["code"] != old


def test_a_firms_own_stocks(tool: Tool) -> None:
    own = tool.folder / "own.toml"
    own.write_text(
        '[[stock]]\nname = "card-80x40"\nabout = "Card"\nshape = "label"\n'
        "width_mm = 80.0\nheight_mm = 40.0\ndpi = 300\n"
    )
    assert "card-80x40" in label(tool, "--stocks", "--own-stocks", own).out
    assert "card-80x40" not in label(tool, "--stocks").out
    words = (COFFIN, "--stock", "card-80x40", "-o", tool.folder / "c.png")
    assert label(tool, *words, status=2).error.startswith("no stock is called 'card-80x40'")
    label(tool, *words, "--own-stocks", own)
    with Image.open(tool.folder / "c.png") as picture:
        assert picture.size == (945, 472)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ((), "label: nothing is named to print"),
        (("2026-0001.99",), "thing 2026-0001.99: no such thing in this register"),
        (("2026-0077",), "thing '2026-0077': not a thing's number"),
        ((COFFIN, "-o", "x.gif"), "--output x.gif: a label file ends in .pdf or .png"),
        ((COFFIN, "-o", "no-such-folder/x.pdf"), "no-such-folder/x.pdf: cannot be written"),
        ((COFFIN, "--board"), "--board: it fills a page of its own"),
        (("--place", "moon"), "place 'moon': none is named so in this register"),
        (("--badge", "m9"), "person 'm9': no key of theirs stands in this register"),
        (("--holder", "m9"), "holder 'm9': none is named so in this register"),
        ((BAG, "--stock", "label-50x52"), "no stock is called 'label-50x52'; there are label-"),
    ],
)
def test_what_cannot_be_printed_is_one_line_and_no_entry(
    tool: Tool, words: tuple[str, ...], sentence: str
) -> None:
    tool.patch.chdir(tool.folder)
    before = tool.size()
    told = label(tool, *words, status=2)
    assert told.error.startswith(sentence)
    assert tool.size() == before


def test_what_has_left_gets_no_label(tool: Tool) -> None:
    tool("record", "opened", "--thing", BAG, "--reason", "care", "--found")
    tool("record", "taken-out", "--thing", VISCERA, "--place", "table-1")
    tool("record", "packaging-discarded", "--thing", BAG, "--empty")
    told = label(tool, BAG, status=2)
    assert told.error.startswith("thing 2026-0001.2: it has left under its own number")


def test_without_a_name_for_the_file_it_says_what_is_on_it(tool: Tool) -> None:
    tool.patch.chdir(tool.folder)
    assert label(tool, BAG, "--json").json["files"] == ["2026-0001.2.pdf"]
    assert label(tool, BAG, COFFIN, "--json").json["files"] == ["2026-0001-labels.pdf"]
    assert label(tool, "--place", "table-1", "--json").json["files"] == ["table-1.pdf"]
    assert re.search(r"written: action-board\.pdf", label(tool, "--board").out)


def test_a_refused_entry_leaves_no_file_and_the_old_one_stands(tool: Tool) -> None:
    path = tool.folder / "bag.pdf"
    path.write_bytes(b"before")
    told = label(tool, BAG, "-o", path, "--as", "nobody", status=2)
    assert told.error.startswith("no key of nobody lies in ")
    assert path.read_bytes() == b"before"
    assert list(tool.folder.glob(".bag*")) == []


def test_an_entry_without_its_file_is_told_and_printing_again_mends_it(tool: Tool) -> None:
    path = tool.folder / "bag.png"
    label(tool, BAG, "-o", path)
    before = path.read_bytes()

    def stopped(*_: object) -> None:
        raise OSError(5, "the disk stopped")

    with tool.patch.context() as patch:
        patch.setattr("pathlib.Path.replace", stopped)
        told = label(tool, BAG, "-o", path, status=2)
    assert told.error == (
        f"{path}: recorded, and cannot be put in its place (the disk stopped); print again"
    )
    assert path.read_bytes() == before
    code, _, void = in_force(tool, BAG)
    assert read(path) == void, "what hangs on the bag is void, and known to be"
    label(tool, BAG, "-o", path)
    assert read(path) == {in_force(tool, BAG)[0]} != {code}


def test_files_are_on_the_disk_before_the_entry_and_in_their_place_after_it(tmp_path: Path) -> None:
    path = tmp_path / "one.pdf"
    with files.ready({path: b"content"}):
        assert not path.exists()
        [waiting] = tmp_path.iterdir()
        assert waiting.read_bytes() == b"content"
    assert [p.name for p in tmp_path.iterdir()] == ["one.pdf"]


def test_a_failing_entry_leaves_nothing_of_the_files(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError), files.ready({tmp_path / "a": b"a", tmp_path / "b": b"b"}):
        raise RuntimeError
    assert list(tmp_path.iterdir()) == []
