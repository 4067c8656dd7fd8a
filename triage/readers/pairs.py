"""Labels and values in the visible page, however the page sets them side by side.

Tables, definition lists, list items, rows of two boxes, alternating boxes, "Label: value" lines,
and values that carry their label in a data attribute.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from triage.readers.labels import LONGEST_LABEL, field_of_label
from triage.readers.markup import HtmlElement
from triage.readers.words import BLOCKS, flat_text, text_lines
from triage.readers.zones import heading_zone, is_named

LONGEST_VALUE = 600


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """One label with its value; `group` is what holds the rows (a table, a list, a box)."""

    label: str
    value: str
    element: HtmlElement  # that holds the value (and maybe more)
    group: HtmlElement

    @property
    def field(self) -> str | None:
        return field_of_label(self.label)


_INLINE_LINE = re.compile(r"\s*([^:：\n]{2,60}?)\s*[:：]\s*(\S.*)", re.S)


def find_pairs(root: HtmlElement, outside: set[HtmlElement]) -> list[Pair]:
    """List all pairs in page order; nothing below the elements `outside` is looked at."""
    pairs: list[Pair] = []
    pending = [root]
    while pending:
        element = pending.pop()
        if element in outside or not isinstance(element.tag, str):
            continue
        found, is_whole = _pairs_of(element)
        pairs.extend(found)
        if len(element) and not (found and is_whole):
            pending.extend(reversed(element))
    return pairs


def _pairs_of(element: HtmlElement) -> tuple[list[Pair], bool]:
    """The pairs that an element itself sets out; second, whether they use it up."""
    tag = element.tag
    if tag == "tr":
        return list(_row_pairs(element)), True
    if tag == "table":
        return list(_columns(element)), True
    if tag == "dl":
        return list(_definitions(element)), True
    if tag in ("html", "body", "head", "main", "tbody", "script", "style"):
        return [], False
    count = len(element)
    if count >= 4 and count % 2 == 0:
        found = list(_alternating(element))
        if found:
            return found, True
    labelled = element.get("data-label") or element.get("data-th")
    if labelled and count < 4 and (value := flat_text(element)) and len(value) < LONGEST_VALUE:
        value = re.sub(rf"^{re.escape(labelled)}\s*:?\s*", "", value)
        return ([_pair(labelled, value, element, element.getparent())] if value else []), True
    if count == 2 and not _own_text(element):
        return _two_boxes(element)
    if count == 1 and (found := list(_text_then_box(element))):
        return found, True
    if count > 2 and (found := list(_label_then_next(element))):
        return found, False
    return list(_lines(element)), False


def _pair(label: str, value: str, element: HtmlElement, group: HtmlElement | None) -> Pair:
    label = re.sub(r"\s+", " ", label).strip().rstrip(":：").strip()
    return Pair(label, value, element, element if group is None else group)


def _row_pairs(row: HtmlElement) -> Iterator[Pair]:
    cells = [c for c in row if c.tag in ("td", "th")]
    texts = [flat_text(c) for c in cells]
    table = next(row.iterancestors("table"), row.getparent())
    if len(cells) not in (2, 4, 6) or any(c.find(".//table") is not None for c in cells):
        return
    for n in range(0, len(cells), 2):
        if _is_label(texts[n]) and texts[n + 1] and len(texts[n + 1]) <= LONGEST_VALUE:
            yield _pair(texts[n], texts[n + 1], cells[n + 1], table)


def _columns(table: HtmlElement) -> Iterator[Pair]:
    """A table of one row of headings and one row of values."""
    rows = [[c for c in row if c.tag in ("td", "th")] for row in table.iter("tr")]
    if len(rows) != 2 or len(rows[0]) != len(rows[1]) or len(rows[0]) < 2:
        return
    if not all(c.tag == "th" for c in rows[0]) or any(c.tag == "th" for c in rows[1]):
        return
    for head, cell in zip(*rows, strict=True):
        label, value = flat_text(head), flat_text(cell)
        if _is_label(label) and value:
            yield _pair(label, value, cell, table)


def _definitions(top: HtmlElement) -> Iterator[Pair]:
    """<dt> with the <dd> elements that follow it, wrapped in <div> or not."""
    label: str | None = None
    values: list[HtmlElement] = []
    for element in [*top.iter("dt", "dd"), None]:
        if element is not None and element.tag == "dd":
            values.append(element)
            continue
        texts = [t for v in values if (t := flat_text(v))]
        if label and texts:
            yield _pair(label, ", ".join(texts), values[0], top)
        label = flat_text(element) if element is not None else None
        values = []


def _alternating(top: HtmlElement) -> Iterator[Pair]:
    """Boxes that take turns as label and value, told apart by tag or class."""
    children = list(top)
    kinds = [(c.tag, c.get("class")) for c in children]
    if kinds[0] == kinds[1] or set(kinds[::2]) != {kinds[0]} or set(kinds[1::2]) != {kinds[1]}:
        return
    if _own_text(top) or any(c.tag in ("tr", "li", "script", "img") for c in children):
        return
    texts = [flat_text(c) for c in children]
    if not all(_is_label(t) for t in texts[::2]) or not all(texts[1::2]):
        return
    known = sum(field_of_label(t) is not None or t.rstrip().endswith(":") for t in texts[::2])
    if known == 0 and not all(len(t) <= 40 for t in texts):
        return
    for label, value, child in zip(texts[::2], texts[1::2], children[1::2], strict=True):
        if len(value) <= LONGEST_VALUE:
            yield _pair(label, value, child, top)


_WITH_FIGURES = frozenset(
    (
        *("price", "bid", "start_bid", "sold", "buy_now", "shipping"),
        *("listing_id", "date_listed", "ends_at"),
    )
)
_ALONE = _WITH_FIGURES | {"seller", "seller_id", "location"}


def _may_follow(label: str, text: str) -> bool:
    return field_of_label(label) not in _WITH_FIGURES or any(c.isdigit() for c in text)


def _label_then_next(element: HtmlElement) -> Iterator[Pair]:
    """Among many children, a known label alone in one and its value in the next."""
    previous: str | None = None
    for child in element:
        if previous is not None and len(child) <= 3 and len(child.text or "") <= LONGEST_VALUE:
            text = flat_text(child)
            if text and field_of_label(text) is None and _may_follow(previous, text):
                yield _pair(previous, text, child, element)
        label = _bare_text(child)
        is_label = bool(label) and not (child.tail or "").strip()
        previous = label if is_label and field_of_label(label) in _ALONE else None


def _bare_text(element: HtmlElement) -> str:
    """The text of an element that holds no others, or one that holds none."""
    if len(element) == 1 and not (element.text or "").strip() and not element[0].tail:
        element = element[0]
    if len(element) or element.text is None or len(element.text) > LONGEST_LABEL:
        return ""
    return " ".join(element.text.split())


def _two_boxes(element: HtmlElement) -> tuple[list[Pair], bool]:
    """An element that holds a label box and a value box, if its siblings are built alike."""
    first, second = element
    if not isinstance(first.tag, str) or not isinstance(second.tag, str) or second.tag == "br":
        return list(_lines(element)), False
    label, value = flat_text(first), flat_text(second)
    if not _is_label(label) or not value or len(value) > LONGEST_VALUE:
        return list(_lines(element)), False
    tail = (first.tail or "").strip()
    is_said = label.rstrip().endswith((":", "：")) or tail in (":", "：") or field_of_label(label)
    if tail and tail not in (":", "：", "-", "–", "|"):
        return list(_lines(element)), False
    if is_said or _has_like_siblings(element) or _is_under_specifics(element):
        return [_pair(label, value, second, element.getparent())], bool(is_said)
    return [], False


_NO_VALUE = BLOCKS | {"br", "img", "a", "time"}


def _text_then_box(element: HtmlElement) -> Iterator[Pair]:
    """Bare text with the value in the one element after it: "<li>Brand<span>X</span></li>"."""
    label = " ".join((element.text or "").split())
    if not label:
        return
    child = element[0]
    if not _is_label(label) or (child.tail or "").strip() or child.tag in _NO_VALUE:
        return
    value = flat_text(child)
    parent = element.getparent()
    if not value or parent is None or len(value) > LONGEST_VALUE:
        return
    kind = (element.tag, element.get("class"), child.tag)
    alike = sum(1 for s in parent if len(s) == 1 and (s.tag, s.get("class"), s[0].tag) == kind)
    if field_of_label(label) is not None or label.endswith(":") or alike >= 2:
        yield _pair(label, value, child, parent)


def _has_like_siblings(element: HtmlElement) -> bool:
    """Two or more rows of the same make: the same tag and class, each of two short boxes."""
    parent = element.getparent()
    if parent is None:
        return False
    kind = (
        element.tag,
        element.get("class"),
        element[0].tag,
        element[1].tag,
        element[0].get("class"),
    )
    alike = [
        s
        for s in parent
        if len(s) == 2 and (s.tag, s.get("class"), s[0].tag, s[1].tag, s[0].get("class")) == kind
    ]
    distinct = (element[0].tag, element[0].get("class")) != (
        element[1].tag,
        element[1].get("class"),
    )
    enough = distinct or len(alike) >= 3 or any(is_named(e, "specifics") for e in (parent, element))
    return len(alike) >= 2 and enough and element.find(".//img") is None


def _is_under_specifics(element: HtmlElement) -> bool:
    """A row without names under a heading that announces item specifics, if only a lone one."""
    top: HtmlElement | None = element
    for _ in range(3):
        if top is None or element.find(".//img") is not None or element.find(".//a") is not None:
            return False
        before = next(top.itersiblings(preceding=True), None)
        while before is not None and len(before) == 2 and before.tag == element.tag:
            before = before.getprevious()
        if before is not None:
            return heading_zone(flat_text(before)[:81]) == "specifics"
        top = top.getparent()
    return False


_BARS = re.compile(r"\s+[|·•–—]\s+|\t+|\s*;\s+")


def split_row(line: str) -> list[str]:
    """Cut a line at bars and dots, if more than one part is a label with its value.

    >>> split_row("Seller: A | Listed: 3 May | No.: 12"), split_row("Lens: 48 mm - wide")
    (['Seller: A', 'Listed: 3 May', 'No.: 12'], ['Lens: 48 mm - wide'])
    """
    parts = _BARS.split(line)
    labelled = [p for p in parts if (m := _INLINE_LINE.fullmatch(p)) and _is_label(m[1])]
    return parts if len(labelled) > 1 else [line]


def _lines(element: HtmlElement) -> Iterator[Pair]:
    """ "Label: value" lines of an element that holds text and inline marks only."""
    if not _may_hold_lines(element):
        return
    if element.tag in _INLINE and not _stands_alone(element):
        return
    if any(c.tag in BLOCKS for c in element.iterdescendants()):
        return
    text = text_lines(element)
    if not text or len(text) > 2000:
        return
    lines = [part for line in text.split("\n") for part in split_row(line) if part.strip()]
    group = element.getparent() if len(lines) == 1 else element
    bold = _leading_label(element) if len(lines) == 1 else None
    for line in lines:
        match = _INLINE_LINE.fullmatch(line)
        if (
            match
            and _is_label(match[1])
            and len(match[2]) <= LONGEST_VALUE
            and "//" not in match[2][:2]
        ):
            if re.search(r"\d$", match[1]) and re.match(r"\d\d\b", match[2]):
                continue  # a time of day
            yield _pair(match[1], match[2].strip(), element, group)
        elif bold and line.startswith(bold) and _is_bold_label(element, bold):
            rest = line[len(bold) :].strip(" \t–-")
            yield from [_pair(bold, rest, element, group)] if rest else []


_INLINE = frozenset(("a", "b", "strong", "i", "em", "span", "time", "h1", "title"))


def _may_hold_lines(element: HtmlElement) -> bool:
    """Look for a colon, or a mark at the beginning, before any text is put together."""
    own = element.text
    if len(element) == 0:
        return own is not None and (":" in own or "：" in own)
    first = element[0]
    if (own is None or not own.strip()) and first.tail and first.tail.strip():
        return True
    if own and (":" in own or "：" in own):
        return True
    for child in element:
        if child.tag in BLOCKS:
            return False
        for text in (child.text, child.tail):
            if text and (":" in text or "：" in text):
                return True
    return False


def _stands_alone(element: HtmlElement) -> bool:
    """A <span> that is a line of its own: no text of its parent's around it."""
    parent = element.getparent()
    if parent is None or element.tag != "span":
        return False
    return not _own_text(parent)


def _leading_label(element: HtmlElement) -> str | None:
    """The text of the bold (or otherwise marked) first child, if the value is bare text after."""
    if (element.text or "").strip() or len(element) == 0:
        return None
    first = element[0]
    if first.tag in ("a", "br", "img", "time") or not (first.tail or "").strip():
        return None
    text = flat_text(first)
    return text if _is_label(text) else None


def _is_bold_label(element: HtmlElement, text: str) -> bool:
    return field_of_label(text) is not None or _bold_siblings(element)


def _bold_siblings(element: HtmlElement) -> bool:
    parent = element.getparent()
    if parent is None:
        return False
    kinds = Counter((s.tag, s[0].tag) for s in parent if len(s) and isinstance(s.tag, str))
    return kinds[(element.tag, element[0].tag)] >= 2


def _own_text(element: HtmlElement) -> str:
    """Text that stands directly in an element, between its children, without ":" and such."""
    parts = [element.text or "", *((c.tail or "") for c in element)]
    return "".join(parts).strip(" \n\t\r:：|–-•·")


def _is_label(text: str) -> bool:
    if not text or len(text) > LONGEST_LABEL:
        return False
    return any(c.isalpha() for c in text) and not re.search(r"[.!?]\s|https?:", text)
