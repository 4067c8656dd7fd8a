"""Long lists around a listing: left out, and quickly; lists of the listing's own stay."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

import pytest

from tests.endings import calls
from tests.triage.readers.pages import one, read

PAGE = """<html><body>{before}<h1>Frame Gantreux 48-22</h1><p>Price: $90.00</p><p>Seller: rosa</p>
<h2>Item specifics</h2><table>{rows}</table><h2>Description</h2><div>{text}</div>{after}</body></html>"""
ROWS = "<tr><th>Bridge</th><td>22 mm</td></tr><tr><th>Colour</th><td>green</td></tr>"
LINKS = "".join(f'<div class="c"><a href="/s/{n}">Location: town {n}</a></div>' for n in range(60))
BOXES = "".join(
    f'<label><input type="checkbox"><span>Location</span> <span>Town {n}</span></label>'
    for n in range(40)
)


@pytest.mark.parametrize(
    "crowd",
    [f"<div>{LINKS}</div>", f"<div>Places {LINKS} <p>end</p></div>", f"<form>{BOXES}</form>"],
)
def test_long_lists_around_a_listing_are_left_out(crowd: str) -> None:
    for place in ("before", "after"):
        parts = {"before": "", "after": "", place: crowd}
        listing = one(PAGE.format(rows=ROWS, text="Lens 48 mm wide.", **parts))
        assert listing.specifics == (("Bridge", "22 mm"), ("Colour", "green"))
        assert listing.location is None
        assert "town" not in (listing.description or "")


def test_long_lists_of_the_listing_stay() -> None:
    rows = "".join(f"<tr><th>Point {n}</th><td>{n} mm</td></tr>" for n in range(50))
    text = "".join(f"<p>Line {n}: as shown.</p>" for n in range(50))
    listing = one(PAGE.format(rows=rows, text=text, before="", after=""))
    assert len(listing.specifics) == 50
    assert len((listing.description or "").split("\n\n")) == 50


def test_links_that_a_seller_wrote_stay() -> None:
    links = "".join(f'<li><a href="/s/{n}">My frame number {n}</a></li>' for n in range(40))
    text = f'<div class="description">Others of mine: <ul>{links}</ul></div>'
    listing = one(PAGE.format(rows=ROWS, text=text, before="", after=""))
    assert "My frame number 39" in (listing.description or "")


@pytest.mark.parametrize(
    "crowd",
    [
        "<div class='r'><span>Colour: {n}</span><span>(12)</span></div>",
        "<p>Lens {n}: 48 mm</p>",
        "<li><b>ben</b> {n} Nov 2026</li>",
        "<p><span>a{n}</span></p>",
        "<div><a href='/u/ben{n}'>ben</a> 4.5 ★</div>",
    ],
)
def test_work_grows_with_the_page_and_no_faster(crowd: str) -> None:
    def work(count: int) -> int:
        rows = [crowd.format(n=n) for n in range(count)]
        held = "".join(f"<div>{''.join(rows[n : n + 100])}</div>" for n in range(0, count, 100))
        page = PAGE.format(rows=ROWS, text="Lens 48 mm wide.", before="", after=held)
        return calls(lambda: one(page))

    work(100)
    assert work(2_000) < 5 * work(500)


WALLS = {
    "lines": "<p>Colour {n}: round Lampe</p>",
    "boxes": "<div class='m{n}'><div class='p-4'><span>oak chair {n}</span></div></div>",
    "remarks": "<li><b>ben</b> Listed on 3 Nov 2026 <p>Fine, came after {n} days.</p></li>",
}


@pytest.mark.parametrize("row", WALLS.values(), ids=WALLS)
def test_hundreds_of_rows_are_no_part_of_a_listing(row: str) -> None:
    wall = f"<div>{''.join(row.format(n=n) for n in range(450))}</div>"
    alone = one(PAGE.format(rows=ROWS, text="Lens 48 mm wide.", before="", after=""))
    for place in ("before", "after"):
        parts = {"before": "", "after": "", place: wall}
        assert one(PAGE.format(rows=ROWS, text="Lens 48 mm wide.", **parts)) == alone


@pytest.mark.parametrize("holder", ["<div class='description'>{}</div>", "<iframe srcdoc='{}'>"])
def test_hundreds_of_rows_that_a_seller_wrote_stay(holder: str) -> None:
    text = "".join(f"<div>Line {n}: as shown.</div>" for n in range(450))
    listing = one(PAGE.format(rows=ROWS, text="", before="", after=holder.format(text)))
    assert "Line 449: as shown." in (listing.description or "")


def test_hundreds_of_cards_still_tell_a_list_of_listings() -> None:
    card = '<li><a href="/itm/{n}"><img src="{n}.jpg"> Frame number {n}</a> <b>$ {n}.50</b></li>'
    wall = "".join(card.format(n=n) for n in range(450))
    result = read(f"<html><body><h1>Frames</h1><p>$ 3.00</p><ul>{wall}</ul></body></html>")
    assert not result.listings
    assert result.problems[0].what == "a page that lists 450 others"
