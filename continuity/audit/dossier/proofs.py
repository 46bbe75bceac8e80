"""The last parts of the page: every entry verbatim, the proofs, the keys, and how to check them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.dossier.markup import h, verbatim
from continuity.errors import FormatError
from continuity.ledger import merkle
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.keyring import Keyring, KeyringError
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from continuity.audit.dossier.story import Story
    from continuity.audit.dossier.what import Placed


def entries(story: Story) -> list[Element]:
    """The case's entries, verbatim, each folded away under its number."""
    return [
        h(
            "p",
            "Each entry as it was signed: a type line, one line of canonical JSON, and a signature"
            " line for every key. Hidden characters are shown by their code points.",
            class_="aside",
        ),
        *(
            _sheet("case", number, placed, told.entry.kind)
            for number, (placed, told) in enumerate(
                zip(story.dossier.entries, story.told, strict=True)
            )
        ),
    ]


def proof(story: Story) -> list[Element]:
    """What holds the entries in place, the keys, and the register's own entries."""
    return [
        h("h3", "Checkpoint"),
        *_checkpoint(story),
        h("h3", "Case index"),
        *_index(story),
        h("h3", "Keys, by position in the register"),
        _keys(story),
        h("h3", "How to check this without this page"),
        h(
            "p",
            "The machine part of this file stands between the tags ",
            h("code", '<script type="application/json" id="dossier">'),
            " and ",
            h("code", "</script>"),
            ", and its format is published as ",
            h("code", "continuity-dossier/1"),
            ". The command ",
            h("code", "continuity verify FILE"),
            " reads it, checks it with the keys you give, and makes this page anew to compare its"
            " words.",
        ),
        h("h3", "The register's own entries, verbatim", id="own"),
        h(
            "p",
            "Keys, places, holders and policy: the register's own chain, whole, so that no change"
            " of keys is hidden.",
            class_="aside",
        ),
        *(
            _sheet("register", number, placed, placed.entry.kind)
            for number, placed in enumerate(story.dossier.register_entries)
        ),
    ]


_CHAINS = {
    "case": ("entry", "Entry"),
    "register": ("own", "Register entry"),
    "index": ("index", "Case index entry"),
}


def _sheet(chain: str, number: int, placed: Placed, kind: str) -> Element:
    covered = "held by its chain"
    if placed.proof is not None:
        covered = f"proof of {len(placed.proof)} hashes"
    id_as, called = _CHAINS[chain]
    return h(
        "details",
        h(
            "summary",
            h("b", str(number)),
            f" {kind} ",
            h("span", f"position {placed.position}, {covered}", class_="state"),
        ),
        h("p", "Leaf ", h("code", merkle.leaf_hash(placed.note).hex())),
        verbatim(
            "pre",
            placed.note.decode(),
            data_chain=chain,
            data_number=str(number),
            tabindex="0",
            role="group",
            aria_label=f"{called} {number}, verbatim",
        ),
        id=f"{id_as}-{number}",
        class_="sheet",
    )


def _checkpoint(story: Story) -> list[Element]:
    note = story.dossier.checkpoint
    if note is None:
        return [h("p", "None was signed yet: nothing outside holds these entries in place.")]
    try:
        size = Checkpoint.parse(Note.parse(note).text).size
    except FormatError:
        return [h("p", "It cannot be read.")]
    covered = sum(placed.position < size for placed in story.dossier.entries)
    parts = [
        h(
            "p",
            f"It covers the first {size} entries of the register, {covered} of this case's"
            f" {len(story.entries)} among them; {len(story.entries) - covered} came later and are"
            " not anchored by it.",
        ),
        verbatim("pre", note.decode(), tabindex="0", role="group", aria_label="Checkpoint"),
    ]
    if story.dossier.attestations:
        kinds = ", ".join(one.kind for one in story.dossier.attestations)
        parts.append(
            h(
                "p",
                f"Beside it lie {len(story.dossier.attestations)} attestations ({kinds}); this page"
                " does not check them, ",
                h("code", "continuity verify"),
                " does.",
            )
        )
    return parts


def _index(story: Story) -> list[Element]:
    index = story.dossier.index
    if index is None:
        return [
            h("p", "None was published yet: that later entries were left out cannot be ruled out.")
        ]
    counted = f"{index.case.length} entries of this case" if index.case else "none of this case"
    return [
        h(
            "p",
            f"The entry at position {index.entry.position} records the root of the case index,"
            f" which counts {counted} and {index.register.length} of the"
            " register's own chain before it.",
        ),
        _sheet("index", 0, index.entry, index.entry.entry.kind),
    ]


def _keys(story: Story) -> Element:
    keyring = Keyring()
    for placed in story.dossier.register_entries:
        try:
            keyring.apply(placed.position, placed.entry)
        except KeyringError:
            break
    lines = []
    for held in keyring.enrolments():
        end = "" if held.until is None else str(held.until)
        doubt = "" if held.suspect_since is None else f"in doubt from {held.suspect_since}"
        lines.append(
            h(
                "tr",
                h("th", held.person, scope="row"),
                h("td", held.role),
                h("td", str(held.since)),
                h("td", end),
                h("td", doubt),
                h("td", h("code", str(held.key))),
            )
        )
    names = ("Whose", "Role", "From", "To", "Doubt", "Public key")
    return h(
        "div",
        h(
            "table",
            h("caption", "Keys"),
            h("thead", h("tr", [h("th", name, scope="col") for name in names])),
            h("tbody", lines),
        ),
        class_="scroll",
        tabindex="0",
        role="group",
        aria_label="Keys",
    )
