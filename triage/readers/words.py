"""The text of elements as a reader sees it: blocks on lines of their own, cells kept apart."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import zip_longest

from triage.readers.markup import HtmlElement, parse_html
from triage.readers.source import Unreadable

BLOCKS = frozenset(
    [
        "address",
        "article",
        "aside",
        "blockquote",
        "body",
        "center",
        "dd",
        "details",
        "dialog",
        "div",
        "dl",
        "dt",
        "fieldset",
        "figcaption",
        "figure",
        "footer",
        "form",
        "h1",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "header",
        "hgroup",
        "hr",
        "html",
        "legend",
        "li",
        "main",
        "menu",
        "nav",
        "ol",
        "p",
        "pre",
        "section",
        "summary",
        "table",
        "tbody",
        "thead",
        "tfoot",
        "tr",
        "ul",
        "caption",
    ]
)
SILENT = frozenset(
    [
        "script",
        "style",
        "template",
        "noscript",
        "head",
        "title",
        "svg",
        "math",
        "select",
        "option",
        "button",
        "input",
        "textarea",
        "iframe",
        "object",
    ]
)
# where a word may break, which no reader sees: soft hyphens, spaces and joints without width
INVISIBLE = dict.fromkeys((0xAD, 0x200B, 0x2060, 0xFEFF), "")
# letters that are all parted hide a word from a search; a single mark lets a long word break
_PARTED = re.compile(r"(?<!\w)\w(?:[\u200b\u2060\ufeff]+\w){2,}(?!\w)")
_ROW = "\x1f"  # stands between cells until a line is whole


def without_invisible(text: str) -> str:
    """Drop soft hyphens and zero-width marks, but where they part every letter of a word.

    >>> ascii(without_invisible("tortoise\u200bshell, g\u200be\u200bn, x\u200by"))
    "'tortoiseshell, g\\\\u200be\\\\u200bn, xy'"
    """
    cleaned = (part.translate(INVISIBLE) for part in _PARTED.split(text))
    kept = (match.group() for match in _PARTED.finditer(text))
    return "".join(part for pair in zip_longest(cleaned, kept, fillvalue="") for part in pair)


def text_lines(element: HtmlElement) -> str:
    """Text with its line structure: <br>, blocks and rows end lines, cells are set off by a tab.

    Line breaks between blocks are counted as in WHATWG HTML, 3.2.7 "innerText": one about a
    block, two (an empty line) about a <p>; breaks that meet count once.
    """
    if len(element) == 0 and not line_ends_kept(element):
        return " ".join((element.text or "").split())
    pieces: list[str | int] = []
    if not _collect_all(element, pieces):
        pieces = list(_pieces(element))
    lines = map(_tidy_line, _joined(pieces).split("\n"))
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip("\n")


def _joined(pieces: Iterable[str | int]) -> str:
    """Put the breaks that are due (numbers) between the texts that they part."""
    due = 0
    started = False
    found: list[str] = []
    for piece in pieces:
        if isinstance(piece, int):
            due = max(due, piece)
        elif due and not piece.strip(" \t"):
            continue
        elif piece:
            if started and due:
                found.append("\n" * due)
            found.append(piece)
            due, started = 0, started or bool(piece.strip())
    return "".join(found)


def _tidy_line(line: str) -> str:
    if _ROW not in line:
        return " ".join(line.split())
    return "\t".join(" ".join(cell.split()) for cell in line.split(_ROW)).strip()


def flat_text(element: HtmlElement) -> str:
    """All text on one line.

    >>> from lxml.etree import HTML
    >>> flat_text(HTML("<p>one<br>two  <b>three</b></p>"))
    'one two three'
    """
    if len(element) == 0:
        return " ".join((element.text or "").split())
    found: list[str] = []
    if element.text:
        found.append(element.text)
    if not _gather(element, found, 0):
        return " ".join(text_lines(element).split())
    return " ".join("".join(found).split())


_DEEPEST = 60  # boxes; below, the text is put together without recursion
_APART = BLOCKS | {"br", "td", "th"}


def _gather(element: HtmlElement, found: list[str], depth: int) -> bool:
    """Add all text below an element to what was found; False if it nests too deep for that."""
    for child in element:
        tag = child.tag
        is_apart = tag in _APART
        if is_apart:
            found.append(" ")
        if tag not in SILENT and isinstance(tag, str):
            if child.text:
                found.append(child.text)
            if len(child) and not (depth < _DEEPEST and _gather(child, found, depth + 1)):
                return False
        if is_apart:
            found.append(" ")
        if child.tail:
            found.append(child.tail)
    return True


def _collect_all(top: HtmlElement, pieces: list[str | int]) -> bool:
    """Add the texts and breaks of an element; False if it nests too deep for that."""
    keeps = bool(line_ends_kept(top))
    _open(top, top.tag, keeps, pieces)
    is_whole = _collect(top, keeps, pieces, 0)
    if top.tag in BLOCKS:
        pieces.append(2 if top.tag == "p" else 1)
    return is_whole


def _open(element: HtmlElement, tag: str, keeps: bool, pieces: list[str | int]) -> None:
    """Add what stands at an element's beginning: a break or a cell's mark, and its first text."""
    if tag == "br":
        pieces.append("\n")
    elif tag in BLOCKS:
        pieces.append(2 if tag == "p" else 1)
    elif tag in ("td", "th"):
        pieces.append(_ROW)
    if element.text:
        pieces.append(element.text if keeps else _soft(element.text))


def _collect(element: HtmlElement, keeps: bool, pieces: list[str | int], depth: int) -> bool:
    """Add what is below an element; whether line ends count is handed down (CSS Text 3, 3)."""
    for child in element:
        tag, tail = child.tag, child.tail
        is_shown = isinstance(tag, str) and tag not in SILENT
        if is_shown:
            own = line_ends_kept(child) if child.attrib or tag in ("pre", "textarea") else None
            inner = keeps if own is None else own
            _open(child, tag, inner, pieces)
            if len(child) and not (depth < _DEEPEST and _collect(child, inner, pieces, depth + 1)):
                return False
            if tag in BLOCKS:
                pieces.append(2 if tag == "p" else 1)
        if tail:
            is_between = tag in BLOCKS and tail.isspace()
            pieces.append(tail if keeps and is_shown and not is_between else _soft(tail))
    return True


def _pieces(top: HtmlElement) -> Iterator[str | int]:
    """The same without recursion, because pages nest as deep as they like."""
    stack: list[tuple[HtmlElement, bool, bool]] = [(top, bool(line_ends_kept(top)), False)]
    while stack:
        element, keeps, is_end = stack.pop()
        tag = element.tag
        if is_end:
            yield from _after(element, element is top, keeps)
            continue
        if not isinstance(tag, str) or (tag in SILENT and element is not top):
            if element is not top and element.tail:
                yield _soft(element.tail)
            continue
        own = line_ends_kept(element)
        inner = keeps if own is None else own
        found: list[str | int] = []
        _open(element, tag, inner, found)
        yield from found
        stack.append((element, keeps, True))
        stack.extend((child, inner, False) for child in reversed(element))


def _after(element: HtmlElement, is_top: bool, keeps: bool) -> Iterator[str | int]:
    """What ends an element, and the text after it, for which its parent says what line ends are."""
    if element.tag in BLOCKS:
        yield 2 if element.tag == "p" else 1
    if element.tail and not is_top:
        is_between = element.tag in BLOCKS and element.tail.isspace()
        yield element.tail if keeps and not is_between else _soft(element.tail)


def _soft(text: str) -> str:
    return text.replace("\r", " ").replace("\n", " ")


_PRE_CLASS = re.compile(r"(?:^|[\s:_-])(?:white-?space-)?pre-?(?:line|wrap|formatted)\b", re.I)


def line_ends_kept(element: HtmlElement) -> bool | None:
    """Whether an element says that line ends in the source are lines; None if it says nothing.

    By its tag, its style, or a class that says so ("whitespace-pre-line").
    """
    style = element.get("style")
    if style and "white-space" in style:
        return "pre" in style or "break-spaces" in style
    if element.tag in ("pre", "textarea"):
        return True
    names = element.get("class")
    return True if names and "pre" in names and _PRE_CLASS.search(names) else None


def one_line(text: str) -> str:
    """A text on one line and without capitals, to compare it with others."""
    return " ".join(text.split()).casefold()


def plain_text(text: str) -> str:
    """A description that holds markup as its text lines."""
    if not re.search(r"<(?:p|br|div|li|b|ul|span|table)\b[^>]*>", text, re.I):
        return text
    try:
        root = parse_html(text)
    except Unreadable:
        return text
    return text_lines(root) if root is not None else text
