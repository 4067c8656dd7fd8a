"""Which heading names the listing, and what in it is no part of the name."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

import pytest

from extractors.records import Listing
from tests.triage.readers.pages import one, picture

NAME = "Gantreux 404 frame"
TEXT = "<p class='price'>£60.00</p><h3>Description</h3><div>Found in a drawer.<br>Lens width 48 mm.</div>"


def page(heading: str, title: str = f"{NAME} | Old Row") -> Listing:
    head = f"<head><title>{title}</title></head>"
    body = f"<html>{head}<body>{heading}<img src='a.jpg'>{TEXT}</body></html>"
    return one(body, {"a.jpg": picture(1)})


@pytest.mark.parametrize(
    ("heading", "title"),
    [
        (
            f'<h1 class="logo"><a href="/">Old Row</a></h1><h2>{NAME}</h2>',
            f"Old Row :: Eyewear :: {NAME}",
        ),
        (f'<h1><a href="/">Old Row</a></h1><h2>{NAME}</h2>', f"{NAME} - Old Row"),
        (f"<h1>Old Row</h1><h2>{NAME}</h2>", f"{NAME} - Old Row"),
        (f"<h1>Eyewear</h1><h2>{NAME}</h2>", f"{NAME} | Old Row"),
        (f"<h1>Eyewear</h1><h1>{NAME}</h1>", f"{NAME} | Old Row"),
        (
            f'<h1><a href="https://old.example">Old Row</a></h1><div class="nm">{NAME}</div>',
            f"{NAME} | Old Row",
        ),
        (f"<h1>{NAME}</h1><h2>Old Row</h2>", f"{NAME} | Old Row"),
        (f"<h1>{NAME}</h1><h2>Fits most faces and heads</h2>", "Welcome to the old row of frames"),
    ],
)
def test_the_heading_that_the_page_s_title_repeats_names_the_listing(
    heading: str, title: str
) -> None:
    listing = page(heading, title)
    assert listing.title == NAME
    assert listing.description == "Found in a drawer.\nLens width 48 mm."


@pytest.mark.parametrize(
    "heading",
    [
        f'<h1>{NAME} <span class="badge">New</span></h1>',
        f'<h1><span class="chip chip--new">New</span> {NAME}</h1>',
        f'<h1>{NAME}<small class="tag">Vintage</small></h1>',
        f'<h1><span class="sr-only">Details about </span>{NAME}</h1>',
        f"<h1>{NAME} <span>only one</span></h1>",
        f'<h1>{NAME} <span class="price">£60.00</span></h1>',
    ],
)
def test_what_stands_beside_the_name_in_its_heading_is_left_out(heading: str) -> None:
    assert page(heading).title == NAME


@pytest.mark.parametrize(
    ("heading", "title", "name"),
    [
        (f"<h1>{NAME} <small>48-20</small></h1>", f"{NAME} 48-20 | Old Row", f"{NAME} 48-20"),
        (
            '<h1><span class="brand">Gantreux</span> <span class="name">404 frame</span></h1>',
            "Old Row",
            NAME,
        ),
        ('<h1>Gantreux <span class="label">404</span> frame</h1>', f"{NAME} | Old Row", NAME),
    ],
)
def test_parts_of_the_name_stay_in_it(heading: str, title: str, name: str) -> None:
    assert page(heading, title).title == name


def test_a_badge_set_behind_the_heading_still_speaks() -> None:
    assert page(f'<h1>{NAME} <span class="badge">Sold</span></h1>').ended is True


@pytest.mark.parametrize(
    ("heading", "title"),
    [
        ("<h1>Gan&shy;treux 404&#8203; frame</h1>", "Old Row"),
        (f'<h1 title="{NAME}">Gantreux 404 fr…</h1>', "Gantreux 404… | Old Row"),
        (f"<h1>{NAME} (#12345678)</h1>", f"{NAME} · Old Row"),
        (f'<h1>{NAME} <a href="/share">Share</a></h1>', f"{NAME} · Old Row"),
        (f"<h1>Item 12345678</h1><h2>{NAME}</h2>", f"Item 12345678: {NAME}"),
        (
            f"<h1>Autumn Spectacles Sale</h1><h2>{NAME}</h2>",
            f"{NAME} | Autumn Spectacles Sale | Gavel",
        ),
        (f'<h2 class="item-title">{NAME}</h2>', "Old Row - item 12345678"),
        (f'<div role="heading" aria-level="1">{NAME}</div>', "Old Row"),
        (
            f"<table><tr><th>Title</th><td>{NAME}</td></tr><tr><th>Colour</th><td>green</td></tr></table>",
            "Item 12345678",
        ),
    ],
)
def test_a_name_is_found_by_role_attribute_or_label_and_cleaned(heading: str, title: str) -> None:
    assert page(heading, title).title == NAME


def test_share_tags_lose_the_site_s_name() -> None:
    tags = f'<meta property="og:site_name" content="Old Row"><meta property="og:title" content="{NAME} | Old Row">'
    body = f"<html><head>{tags}<title>Old Row</title></head><body><img src='a.jpg'>{TEXT}<p>Seller: rosa</p></body></html>"
    assert one(body, {"a.jpg": picture(1)}).title == NAME


@pytest.mark.parametrize(
    "prices",
    [
        "<p>Previously £60.00</p><p>£45.00</p>",
        "<p><b>-25%</b> <span>£60.00</span> <b>£45.00</b></p>",
        "<p>£37.50 excl. VAT</p><p>£45.00 incl. VAT</p>",
        "<p>or £3.75/week</p><p>£45.00</p>",
        "<p>Insured to £200</p><p>£45.00</p>",
        '<p class="price"><span>£</span><span>45</span><span class="dec">00</span></p>',
    ],
)
def test_the_price_among_other_amounts_is_chosen(prices: str) -> None:
    body = f"<html lang=en><body><h1>{NAME}</h1><img src='a.jpg'>{prices}{TEXT.partition('</p>')[2]}</body></html>"
    assert one(body, {"a.jpg": picture(1)}).price == 45
