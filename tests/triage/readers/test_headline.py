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
