"""Where a description ends, which lines below it are rows, and how rows are set."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

import pytest

from extractors.records import Listing
from tests.triage.readers.pages import one, picture

LINES = "Found in a drawer.\nLens width 48 mm."
BOX = '<h2>Description</h2><div class="b">Found in a drawer.<br>Lens width 48 mm.</div>'
ROWS = {"Maker": "Gantreux", "Eye size": "48 mm"}


def page(part: str, language: str = "en") -> Listing:
    head = "<h1>Frame Gantreux 48-22</h1><img src='a.jpg'><p class='price'>£60.00</p>"
    return one(f"<html lang={language}><body>{head}{part}</body></html>", {"a.jpg": picture(1)})


BELOW = {
    "list of lines": "<ul><li>Maker: Gantreux</li><li>Eye size: 48 mm</li></ul>",
    "definitions in boxes": "<dl><div><dt>Maker</dt><dd>Gantreux</dd></div><div><dt>Eye size</dt><dd>48 mm</dd></div></dl>",
    "lines of a box": "<div>Maker: Gantreux<br>Eye size: 48 mm</div>",
    "table": "<table><tr><th>Maker</th><td>Gantreux</td></tr><tr><th>Eye size</th><td>48 mm</td></tr></table>",
}


@pytest.mark.parametrize("shape", BELOW)
def test_rows_right_below_a_text_are_specifics(shape: str) -> None:
    listing = page(BOX + BELOW[shape])
    assert (listing.description, dict(listing.specifics)) == (LINES, ROWS)


@pytest.mark.parametrize(
    "row",
    [
        "<dl><dt>Maker</dt><dd>Gantreux</dd></dl>",
        "<table><tr><th>Maker</th><td>Gantreux</td></tr></table>",
    ],
)
def test_a_single_row_below_a_text_is_one_too(row: str) -> None:
    listing = page(BOX + row)
    assert (listing.description, dict(listing.specifics)) == (LINES, {"Maker": "Gantreux"})


def test_a_list_in_the_text_or_under_its_paragraphs_stays_the_seller_s() -> None:
    inside = page(
        "<h2>Description</h2><div>Sizes:<ul><li>Lens: 48 mm</li><li>Bridge: 20 mm</li></ul>Sent tracked.</div>"
    )
    below = page(
        "<h2>Description</h2><p>Found in a drawer, see sizes.</p><ul><li>Lens: 48 mm</li><li>Bridge: 20 mm</li></ul>"
    )
    assert "Lens: 48 mm" in (inside.description or "")
    assert "Lens: 48 mm" in (below.description or "")


@pytest.mark.parametrize(
    ("said", "language"),
    [
        ("3 days ago", "en"), ("Yesterday", "en"), ("Just now", "en"), ("vor 3 Tagen", "de"), ("Gestern, 14:05", "de"),
        ("il y a 3 jours", "fr"), ("Hier à 14:05", "fr"), ("3 giorni fa", "it"), ("hace 3 días", "es"), ("3 dagen geleden", "nl"),
        ("3 dni temu", "pl"), ("för 3 dagar sedan", "sv"), ("for 3 dage siden", "da"), ("há 3 dias", "pt"), ("3日前", "ja"),
    ],
)  # fmt: skip
def test_a_time_ago_below_a_text_is_no_part_of_it(said: str, language: str) -> None:
    listing = page(f"{BOX}<p class='time'>{said}</p>", language)
    assert (listing.description, listing.date_listed) == (LINES, None)


@pytest.mark.parametrize(
    "heading",
    [
        "【商品説明】",
        "■商品説明",
        "＜商品説明＞",
        "[Description]",
        "*** Description ***",
        "Beschreibung:",
        "-- Description --",
    ],
)
@pytest.mark.parametrize(
    "shape",
    [
        "<table><tr><td colspan=2>{}<br>{}</td></tr></table>",
        "<p>{}<br>{}</p>",
        "<div><b>{}</b><br>{}</div>",
    ],
)
def test_a_heading_in_the_first_line_opens_the_text(heading: str, shape: str) -> None:
    assert page(shape.format(heading, LINES.replace("\n", "<br>"))).description == LINES


def test_a_second_heading_in_the_same_cell_ends_the_text() -> None:
    cell = "【商品説明】<br>引き出しの品です。<br>レンズ48mm。<br><br>【発送方法】<br>ゆうパック"
    assert (
        page(f"<table><tr><td>{cell}</td></tr></table>", "ja").description
        == "引き出しの品です。\nレンズ48mm。"
    )


SETTINGS = {
    "spans in turn": '<div><h2>Details</h2><span class="n">Maker</span><span class="d">Gantreux</span><span class="n">Eye size</span><span class="d">48 mm</span></div>',
    "headings in turn": "<section><h3>Details</h3><h4>Maker</h4><p>Gantreux</p><h4>Eye size</h4><p>48 mm</p></section>",
    "bold over value": "<h2>Details</h2><ul><li><strong>Maker</strong><br>Gantreux</li><li><strong>Eye size</strong><br>48 mm</li></ul>",
    "small over value": "<h2>Details</h2><div><p><small>Maker</small><br>Gantreux</p><p><small>Eye size</small><br>48 mm</p></div>",
    "cells with both": "<h2>Details</h2><table><tr><td><b>Maker</b><br>Gantreux</td><td><b>Eye size</b><br>48 mm</td></tr></table>",
    "marks of direction": "<h2>Details</h2><table><tr><th>&lrm;Maker</th><td>&lrm;Gantreux</td></tr><tr><th>&rlm;Eye size&#x202c;</th><td>&#x2068;48 mm&#x2069;</td></tr></table>",
    "signs of equality": "<h2>Details</h2><ul><li>Maker = Gantreux</li><li>Eye size = 48 mm</li></ul>",
    "arrows": "<h2>Details</h2><ul><li>Maker → Gantreux</li><li>Eye size → 48 mm</li></ul>",
    "bullets of the site": "<h2>Details</h2><p>・Maker：Gantreux<br>・Eye size：48 mm</p>",
    "labels in brackets": "<h2>Details</h2><p>【Maker】Gantreux<br>【Eye size】48 mm</p>",
}  # fmt: skip


@pytest.mark.parametrize("setting", SETTINGS)
def test_rows_are_read_however_they_are_set(setting: str) -> None:
    assert dict(page(SETTINGS[setting] + BOX).specifics) == ROWS


@pytest.mark.parametrize("css", ["item-foot", "ad-foot", "listingFoot"])
def test_a_last_line_that_tells_id_and_day_is_no_pages_foot(css: str) -> None:
    foot = f'<div class="{css}">Listing ID: 771204 | Date posted: 6 November 2026</div>'
    listing = page(f"{BOX}{foot}<div class='{css}'>Help | Terms | About us</div>")
    assert (listing.listing_id, listing.date_listed) == ("771204", "2026-11-06")
    assert listing.description == LINES
