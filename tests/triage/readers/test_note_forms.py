"""Notes of one listing in the forms that people and programs give such notes."""

# ruff: noqa: E501 - the notes stand as they are written

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.readers import plain_text
from triage.readers.note_forms import plain_note, read_mapping
from triage.readers.source import Source

T = "Vennerby 12 round frame"
D = "From an old shop.\nLens 48 mm, bridge 21 mm."
U = "https://stall.example/a/271828182"
NOTES: dict[str, str] = {}


L = [
    ("Title", T),
    ("Price", "€45.50"),
    ("Shipping", "€4.90"),
    ("Seller", "old_panes"),
    ("Item number", "271828182"),
    ("Listed", "2026-11-03"),
    ("Link", U),
    ("Maker", "Vennerby"),
    ("Bridge", "21 mm"),
]


def j(form: Callable[[str, str], str], rows: Sequence[tuple[str, str]] = L, sep: str = "\n") -> str:
    return sep.join(form(k, v) for k, v in rows)


NOTES["colon"] = (
    f"{T}\nPrice: €45.50\nShipping: €4.90\nSeller: old_panes\nItem number: 271828182\nListed: 2026-11-03\nLink: {U}\nMaker: Vennerby\nBridge: 21 mm\n\n{D}\n"
)

NOTES["eq"] = j(lambda k, v: f"{k} = {v}") + "\n\n" + D
NOTES["ini"] = (
    "[listing]\n" + j(lambda k, v: f"{k.lower().replace(' ', '_')}={v}") + "\n[description]\n" + D
)
NOTES["front"] = "---\n" + j(lambda k, v: f'{k.lower().replace(" ", "_")}: "{v}"') + "\n---\n\n" + D
NOTES["front_q"] = "---\n" + j(lambda k, v: f"{k.lower().replace(' ', '_')}: '{v}'") + "\n---\n" + D
NOTES["yaml_block"] = (
    j(lambda k, v: f"{k.lower()}: {v}") + "\ndescription: |\n  " + D.replace("\n", "\n  ") + "\n"
)
NOTES["yaml_fold"] = (
    j(lambda k, v: f"{k.lower()}: {v}", L[:7])
    + "\ndescription: |-\n  "
    + D.replace("\n", "\n  ")
    + "\nspecs:\n  Maker: Vennerby\n  Bridge: 21 mm\n"
)
NOTES["yaml_nested"] = (
    f"title: {T}\nprice:\n  amount: 45.50\n  currency: EUR\nshipping: 4.90 EUR\nseller:\n  name: old_panes\n  id: 8812\nid: 271828182\nlisted: 2026-11-03\nurl: {U}\nspecs:\n  - name: Maker\n    value: Vennerby\n  - name: Bridge\n    value: 21 mm\ndescription: >-\n  From an old shop.\n\n  Lens 48 mm, bridge 21 mm.\n"
)
NOTES["md_bold"] = f"# {T}\n\n" + j(lambda k, v: f"**{k}:** {v}  ", L[1:]) + "\n\n" + D
NOTES["md_bold2"] = (
    f"# {T}\n\n" + j(lambda k, v: f"- **{k}**: {v}", L[1:]) + "\n\n## Description\n\n" + D
)
NOTES["md_table"] = (
    f"# {T}\n\n| Field | Value |\n|---|---|\n"
    + j(lambda k, v: f"| {k} | {v} |", L[1:])
    + "\n\n## Description\n\n"
    + D
)
NOTES["md_table2"] = (
    f"# {T}\n\n| | |\n|:--|--:|\n" + j(lambda k, v: f"| **{k}** | {v} |", L[1:]) + "\n\n" + D
)
NOTES["tab"] = j(lambda k, v: f"{k}\t{v}") + "\n\n" + D
NOTES["tab_t"] = f"{T}\n" + j(lambda k, v: f"{k}\t{v}", L[1:]) + "\n\n" + D
NOTES["aligned"] = j(lambda k, v: f"{k:<16}{v}") + "\n\n" + D
NOTES["aligned2"] = j(lambda k, v: f"{k:<16}: {v}") + "\n\n" + D
NOTES["dots"] = j(lambda k, v: f"{k} {'.' * (20 - len(k))} {v}") + "\n\n" + D
NOTES["dash"] = j(lambda k, v: f"{k} - {v}") + "\n\n" + D
NOTES["endash"] = j(lambda k, v: f"{k} – {v}") + "\n\n" + D
NOTES["arrow"] = j(lambda k, v: f"{k} -> {v}") + "\n\n" + D
NOTES["pipe"] = j(lambda k, v: f"{k} | {v}") + "\n\n" + D
NOTES["below"] = f"{T}\n\n" + j(lambda k, v: f"{k}:\n{v}\n", L[1:]) + "\nDescription:\n" + D
NOTES["below2"] = f"{T}\n\n" + j(lambda k, v: f"{k}\n{v}\n", L[1:]) + "\nDescription\n" + D
NOTES["under"] = (
    f"{T}\n{'=' * len(T)}\n\n"
    + j(lambda k, v: f"{k}: {v}", L[1:])
    + "\n\nDescription\n-----------\n"
    + D
)
NOTES["wiki"] = (
    f"== {T} ==\n" + j(lambda k, v: f"* {k}: {v}", L[1:]) + "\n\n=== Description ===\n" + D
)
NOTES["desc_first"] = f"{T}\n\n{D}\n\n" + j(lambda k, v: f"{k}: {v}", L[1:])
NOTES["desc_first2"] = f"{T}\n\n{D}\n\n----\n" + j(lambda k, v: f"{k}: {v}", L[1:])
NOTES["desc_first3"] = (
    f"Title: {T}\nDescription:\n{D}\n\nPrice: €45.50\nShipping: €4.90\nSeller: old_panes\nItem number: 271828182\nListed: 2026-11-03\nLink: {U}\nMaker: Vennerby\nBridge: 21 mm"
)
NOTES["upper"] = j(lambda k, v: f"{k.upper()}: {v}") + "\n\n" + D
NOTES["hash"] = j(lambda k, v: f"#{k.lower().replace(' ', '')}: {v}") + "\n\n" + D
NOTES["at"] = j(lambda k, v: f"@{k.lower().replace(' ', '_')} {v}") + "\n\n" + D
NOTES["org"] = (
    f"* {T}\n:PROPERTIES:\n"
    + j(lambda k, v: f":{k.upper().replace(' ', '_')}: {v}", L[1:])
    + "\n:END:\n"
    + D
)
NOTES["semi"] = (
    T
    + "\n"
    + j(lambda k, v: f"{k}: {v}", L[1:7], "; ")
    + "\nMaker: Vennerby\nBridge: 21 mm\n\n"
    + D
)
NOTES["oneline"] = T + "\n" + j(lambda k, v: f"{k}: {v}", L[1:], " | ") + "\n\n" + D
NOTES["quote"] = "> " + NOTES["colon"].replace("\n", "\n> ")
NOTES["numbered"] = j(lambda k, v: f"{k}: {v}").replace("\n", "\n2. ") + "\n\n" + D


@pytest.mark.parametrize("text", NOTES.values(), ids=NOTES)
def test_a_note_in_any_form(text: str) -> None:
    (listing,) = plain_text.read(Source(Path("/x"), "a.txt", content=text.encode())).listings
    lines = [line for line in listing.description.split("\n") if line.strip()]
    if "yaml_nested" in text or ">-" in text:
        lines = listing.description.split("\n\n")
    assert (listing.title, lines) == (T, D.split("\n"))
    assert (listing.price, listing.currency) == (Decimal("45.50"), "EUR")
    assert listing.shipping == Decimal("4.90")
    assert (listing.seller_name, listing.listing_id) == ("old_panes", "271828182")
    assert (listing.url, listing.date_listed) == (U, "2026-11-03")
    specifics = {label.casefold(): value for label, value in listing.specifics}
    assert specifics == {"maker": "Vennerby", "bridge": "21 mm"}


def test_address_and_day_of_saving_above_the_title() -> None:
    text = f"{U}\nsaved 2026-11-20\n\n{T}\n€45.50 + €4.90 shipping\nSeller: old_panes\n\n{D}"
    (listing,) = plain_text.read(Source(Path("/x"), "a.txt", content=text.encode())).listings
    assert (listing.title, listing.url, listing.date_saved) == (T, U, "2026-11-20")
    assert (listing.price, listing.shipping) == (Decimal("45.50"), Decimal("4.90"))


@pytest.mark.parametrize(
    "text",
    [
        "Round frame\nLens 48 mm - bridge 21 mm\nArms 140 - a bit bent",
        "Round frame\n\nAs found... with dust... and a case\nFirst: look. Second: ask.",
        "A letter\n\n> quoted once\n\nPrice? Ask. Sizes | see photo",
        "key: value\n  continued: here",
    ],
)
def test_other_text_stays_as_it_is(text: str) -> None:
    assert plain_note(text) == text
    assert read_mapping(text) is None


@given(st.text(alphabet="ab:-|>#\"' \n\t=[]*price", max_size=200))
def test_any_note_is_brought_to_a_form(text: str) -> None:
    assert plain_note(text).count("\n") <= text.count("\n") + text.count("|") + text.count(";") + 9
    read_mapping(text)
