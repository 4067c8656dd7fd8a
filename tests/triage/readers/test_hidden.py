"""Text out of a reader's sight, by rules in the page and in sheets saved beside it."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

import pytest

from tests.endings import ends
from tests.triage.readers.pages import HOME, one
from triage.readers.hidden import find_hidden, hides
from triage.readers.markup import parse_html

SHEET = "https://stallrow.example/s/main.css"
PAGE = """<html><head><link rel="stylesheet" href="/s/main.css"><style>{style}</style></head><body><h1>Frame Gantreux 48-22</h1>
<p>Price: $90.00</p><p>Seller: rosa</p><h2>Description</h2><div class="d">Lens 48, bridge 22.{part}</div></body></html>"""


def texts(style: str, part: str, linked: str = "") -> tuple[str | None, str | None]:
    page = PAGE.format(style=style, part=part)
    listing = one(page, {SHEET: linked.encode()} if linked else None, HOME)
    return listing.hidden_text, listing.description


@pytest.mark.parametrize(
    "rule",
    [
        ".x{display:none}",
        ".x{visibility:hidden}",
        "div .x{display:none!important}",
        ".d>span.x{opacity:0}",
        ".x{font-size:0}",
        ".x{font-size:1px}",
        ".x{position:absolute;left:-9999px}",
        ".x{color:#fff}",
        "span{color:rgb(255, 254, 255)}",
        ".d{background:#f4f4f4} .x{color:#f5f5f5}",
        ".x{height:0;overflow:hidden}",
        "@media screen and (min-width:40em){.x{display:none}}",
        ".x{display:block} .d .x{display:none}",
        "[data-k]{text-indent:-9999px}",
        "[1x],.x{display:none}",
        "span:not(.y){clip:rect(0,0,0,0)}",
        "span:not(.y, #z, :first-of-type:last-child.w){opacity:0}",
        ":is(.q, .x){display:none}",
        ".d :where(b, span.x){display:none}",
        ".d *{display:none}",
        "h2 + .d > .x{display:none}",
        "h1 ~ div .x{display:none}",
        "span:first-child{display:none}",
        "span:nth-of-type(2n + 1){display:none}",
        "span:nth-last-child(-n+3){display:none}",
        ":root .x:only-child{display:none}",
        ".d{color:#000; .x{display:none}}",
        ".d{color:#000; &.d > .x{display:none} border:0}",
        ".d{ @media screen{ & .x{display:none} } }",
        "@charset 'utf-8';.x{display:none}",
        ".x{opacity:0;animation:out 1s forwards}@keyframes out{from{opacity:1}to{opacity:0}}",
        ".x{opacity:0;animation:in 1s}",
        ".x{display:none;animation:in 1s}@keyframes in{to{opacity:1}}",
        ":root{--n:none}.x{display:var(--n)}",
        ".x{display:var(--missing, none)}",
        ".x{line-height:0;overflow:hidden}",
        ".x{position:fixed;top:100vh}",
    ],
)
@pytest.mark.parametrize("is_linked", [False, True])
def test_rules_that_hide_are_followed(rule: str, is_linked: bool) -> None:
    part = '<span class="x" data-k="1"> Signed MIROVALE.</span>'
    hidden, shown = texts("" if is_linked else rule, part, rule if is_linked else "")
    assert hidden == "Signed MIROVALE."
    assert "MIROVALE" not in (shown or "")


@pytest.mark.parametrize(
    "rule",
    [
        ".x{font-size:.9em}",
        ".x{font-size:1rem}",
        ".x{opacity:.7}",
        "@media print{.x{display:none}}",
        "@media (max-width:600px){.x{display:none}}",
        ".x{display:none} .d .x{display:block}",
        ".x{display:none} .x.y{display:inline}",
        ".other .x{display:none}",
        ".d.none>.x{display:none}",
        ".x:hover{display:none}",
        ".x::before{display:none}",
        ".x{color:#fff;background:#222}",
        ".d{background:url(dark.png)} .x{color:#fff}",
        "@keyframes a{from{opacity:0}}",
        ".x{display:none}@media (min-width:768px){.md\\:block{display:block}}",
        "@layer u{.x{display:none}.md\\:block{@media (width>=48rem){display:block}}}",
        ".x{display:none}.md\\:block.\\[\\&\\>p\\]\\:flex{display:flex}",
        ".x{display:none}@media (width <= 1400px){.y{display:inline}}",
        "@media (width < 48rem){.x{display:none}}",
        "@media not screen{.x{display:none}}",
        "@media (min-width:9000px){.x{display:none}}",
        "@supports not (display:grid){.x{display:none}}",
        "@starting-style{.x{opacity:0}}",
        ".x{opacity:0;animation:in 1s forwards}@keyframes in{from{opacity:0}to{opacity:1}}",
        "span:nth-child(2){display:none}",
        "span:first-child:hover{display:none}",
        ":is(.q, .x:hover){display:none}",
        "h1 + .d > .x{display:none}",
        "p > .x ~ .x{display:none}",
        "*{display:none}",
        ".e{color:#000; .x{display:none}}",
        ".d{ @media print{ .x{display:none} } }",
        ".d{.x{display:none} .x{display:inline}}",
        ":root{--fg:#000} .dark{--fg:#fff} .x{color:var(--fg)}",
        ".dark{--n:none} .x{display:var(--n)}",
        ".x{position:absolute;top:100vh}",
        ".x{line-height:1;overflow:hidden}",
        ".x{left:-4px}",
    ],
)
def test_rules_that_do_not_hide_leave_the_text(rule: str) -> None:
    part = '<span class="x y md:block [&>p]:flex"> Signed MIROVALE.</span>'
    hidden, shown = texts(rule, part)
    assert hidden is None
    assert "MIROVALE" in (shown or "")


def test_a_sheet_for_print_and_one_that_was_not_saved_change_nothing() -> None:
    page = PAGE.replace('rel="stylesheet"', 'rel="stylesheet" media="print"')
    page = page.format(style="", part='<span class="x"> Seven barrels.</span>')
    listing = one(page, {SHEET: b".x{display:none}"})
    assert listing.hidden_text is None
    listing = one(PAGE.format(style="", part='<b class="x"> Seven barrels.</b>'))
    assert "Seven barrels." in (listing.description or "")


def test_a_sheet_imports_another_saved_one() -> None:
    files = {
        SHEET: b'@import url("parts/b.css") screen;',
        "https://stallrow.example/s/parts/b.css": b".x{display:none}",
    }
    listing = one(PAGE.format(style="", part='<b class="x">Seven barrels</b>'), files)
    assert listing.hidden_text == "Seven barrels"


def test_a_sheet_in_the_page_imports_a_saved_one() -> None:
    files = {"https://stallrow.example/item/b.css": b".x{display:none}"}
    style = "@import 'b.css';"
    listing = one(PAGE.format(style=style, part='<b class="x">Seven barrels</b>'), files)
    assert listing.hidden_text == "Seven barrels"


def test_what_a_tab_or_fold_opens_is_not_hidden() -> None:
    style = "<style>.tab{display:none}.tab.on{display:block}</style>"
    rows = "<dl><dt>Bridge<dd>21 mm<dt>Colour<dd>green</dl>"
    page = f"""<html><head>{style}</head><body><h1>Frame Gantreux 48-22</h1><p>Price: $90.00</p>
    <button aria-controls="t2">Item specifics</button><div class="tab on">Lens 48.</div>
    <div class="tab" id="t2"><h2>Item specifics</h2>{rows}</div></body></html>"""
    listing = one(page)
    assert listing.specifics == (("Bridge", "21 mm"), ("Colour", "green"))
    assert listing.hidden_text is None


def test_a_sellers_own_control_opens_nothing() -> None:
    part = '<a href="#k">.</a><div id="k" style="display:none">Signed MIROVALE</div>'
    assert texts("", part)[0] == "Signed MIROVALE"


@pytest.mark.parametrize(
    ("style", "is_hidden"),
    [
        ("display: none", True),
        ("DISPLAY:NONE !important", True),
        ("font-size: 12px", False),
        ("font: 0/0 a", True),
        ("font: 400 16px/1 serif", False),
        ("mask-image: linear-gradient(transparent, transparent)", True),
        ("mask: linear-gradient(90deg, transparent 0%, transparent 100%) no-repeat", True),
        ("mask-image: linear-gradient(#000 80%, transparent)", False),
        ("-webkit-text-security: disc", True),
        ("z-index: -1", False),
        ("font: 1px serif", True),
        ("opacity:0.02", True),
        ("color: transparent", True),
        ("color: rgba(0,0,0,0)", True),
        ("transform: scale(0)", True),
        ("clip-path: inset(50%)", True),
        ("max-height: 0; overflow: hidden", True),
        ("max-height: 0", False),
        ("margin-left: -99999px", True),
        ("left: 50%; margin-left: -600px", False),
        ("position:absolute;left:200vw", True),
        ("left: 20vw", False),
        ("d\\69splay: none", True),
        ("transform: rotateY(90deg)", True),
        ("transform: translateX(-100%)", False),
        ("transform: translateX(-9999px)", True),
        ("filter: opacity(0)", True),
        ("filter: opacity(.5)", False),
        ("scale: 0", True),
        ("scale: 0.9", False),
        ("zoom: 0.01", True),
        ("zoom: 1", False),
        ("font-size: 2px", True),
        ("height:0em;overflow:hidden", True),
        ("clip-path: polygon(0 0)", True),
        ("clip-path: polygon(0 0, 100% 0, 100% 100%)", False),
        ("text-indent:200%;overflow:hidden", True),
        ("text-indent: 2em", False),
        ("color: rgb(0 0 0 / 0)", True),
        ("color: rgb(0 0 0 / 60%)", False),
    ],
)
def test_styles_of_an_element(style: str, is_hidden: bool) -> None:
    assert hides(style) is is_hidden


@pytest.mark.parametrize(
    ("part", "is_hidden"),
    [
        ("<p popover>Signed MIROVALE</p>", True),
        ("<details><summary>More</summary>Signed MIROVALE</details>", False),  # a click away
        ("<details>Signed MIROVALE</details>", False),
        ("<details><summary style='display:none'>.</summary>Signed MIROVALE</details>", True),
        ("<details open><summary hidden>.</summary>Signed MIROVALE</details>", False),
        ("<p aria-hidden='true'>Signed MIROVALE</p>", False),  # of screen readers alone
        ("<table><col><col style='visibility:collapse'><tr><td>a<td>Signed MIROVALE</table>", True),
        ("<p style='--k:none;display:var(--k)'>Signed MIROVALE</p>", True),
        (
            "<p style='position:absolute;z-index:-1'>Signed MIROVALE</p>"
            "<div style='position:absolute;background:#fff;height:200px'>.</div>",
            True,
        ),
        ("<p style='position:absolute;z-index:-1'>Signed MIROVALE</p><div>.</div>", False),
    ],
)
def test_elements_that_browsers_do_not_show(part: str, is_hidden: bool) -> None:
    hidden, shown = texts("", part)
    assert ("MIROVALE" in (hidden or ""), "MIROVALE" in (shown or "")) == (is_hidden, not is_hidden)


def test_what_a_control_of_the_page_pops_up_is_not_hidden() -> None:
    popped = '<button popovertarget="k">Barrels</button><div popover id="k">Seven</div><h2>'
    page = PAGE.replace("<h2>", popped, 1)
    assert one(page.format(style="", part="")).hidden_text is None


@pytest.mark.parametrize(
    "sheet",
    [
        "p{" * 50_000 + "display:none",
        "p{.x{" * 30_000 + "display:none",
        "p,b{.x,.b{.y,.z{display:none}}}" * 20_000,
        "".join(f"b:nth-child({n}n+1){{display:none}}" for n in range(20_000)),
        ":is(" * 50_000 + ".x{display:none}",
        ".x{mask-image:linear-gradient(" + "transparent" * 20_000 + ")}",
        ":root{" + "".join(f"--v{n}:none;" for n in range(50_000)) + "}.x{display:var(--v7)}",
        "b + b ~ b + .x{display:none}" * 5_000,
        "@keyframes a{" + "b{c:d} " * 100_000,
        "@keyframes a{" * 30_000 + "to{opacity:1}",
        ".x{color:#fff}" * 60_000,
        "".join(f".a .b .x{{color:#{n:06x}}}" for n in range(40_000)),
        "@media screen{" * 50_000 + ".x{display:none}",
        ".x" * 200_000 + "{display:none}",
        "/*" * 100_000,
        "a{" * 100_000,
        ",".join([".x"] * 100_000) + "{display:none}",
        ".x{display:none;" + "a:b;" * 200_000 + "}",
    ],
)
def test_hostile_sheets_are_read_to_their_end(sheet: str) -> None:
    root = parse_html("<body>" + '<p class="x b">a<b class="x">b</b>' * 2_000 + "</body>")
    assert root is not None
    assert ends(lambda: find_hidden(root, [sheet]))


def test_marks_that_part_every_letter_of_a_word_stay_and_single_ones_go() -> None:
    parted = "&#8203;".join("genuine")
    _, description = texts("", f"<p>Long tor&shy;toise&#8203;shell frame, {parted} pair.</p>")
    assert description is not None
    assert "Long tortoiseshell frame, " in description
    assert "\u200b".join("genuine") in description
