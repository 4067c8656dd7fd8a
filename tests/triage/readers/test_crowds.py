"""Long lists around a listing: left out, and quickly; lists of the listing's own stay."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

import pytest

from tests.endings import calls
from tests.triage.readers.pages import one

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
        rows = "".join(crowd.format(n=n) for n in range(count))
        page = PAGE.format(
            rows=ROWS, text="Lens 48 mm wide.", before="", after=f"<div>{rows}</div>"
        )
        return calls(lambda: one(page))

    work(100)
    assert work(4_000) < 5 * work(1_000)
