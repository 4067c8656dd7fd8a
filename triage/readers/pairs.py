"""Labels and values in the visible page, however the page sets them side by side.

Tables, definition lists, list items, rows of two boxes, alternating boxes, "Label: value" lines,
and values that carry their label in a data attribute.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice

from triage.readers.dates import is_recent
from triage.readers.labels import LONGEST_LABEL, field_of_label
from triage.readers.markup import HtmlElement, with_attributes
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
    field: str | None  # that the label announces


def _field_of(label: str, value: str) -> str | None:
    field = field_of_label(label)
    if field == "date" and not is_recent(value):
        return None  # "Date: 1950s" is a property of the thing
    return field


_INLINE_LINE = re.compile(r"\s*([^:：\n]{2,60}?)\s*[:：]\s*(\S.*)", re.S)


def _in_line(line: str) -> re.Match[str] | None:
    """ "Label: value"; most lines hold no colon, and the pattern is slow to find that."""
    return _INLINE_LINE.fullmatch(line) if _has_colon(line) else None


def find_pairs(root: HtmlElement, outside: set[HtmlElement]) -> list[Pair]:
    """List all pairs in page order; nothing below the elements `outside` is looked at."""
    pairs: list[Pair] = []
    kin = _Kin()
    labelled = frozenset(
        e
        for e in with_attributes(root, "data-label", "data-th", "aria-label", "title")
        if _label_of(e)
    )
    pending = [root]
    while pending:
        element = pending.pop()
        if element in outside or not isinstance(element.tag, str):
            continue
        count = len(element)
        if count == 0 and element not in labelled and not _may_be_line(element):
            continue
        if count == 1 and _is_wrapper(element) and element not in labelled:
            pending.append(element[0])
            continue
        found, is_whole = _pairs_of(element, count, element in labelled, kin)
        pairs.extend(found)
        if count and not (found and is_whole):
            pending.extend(reversed(element))
    return pairs


_MAKES = frozenset(
    ("tr", "table", "dl", "html", "body", "head", "main", "tbody", "script", "style")
)


def _is_wrapper(element: HtmlElement) -> bool:
    """Say whether an element is a bare box about its one child, which says all that there is."""
    child = element[0]
    is_bare = not (element.text and element.text.strip()) and not (
        child.tail and child.tail.strip()
    )
    return is_bare and element.tag not in _MAKES and not _has_colon(child.text)


def _may_be_line(element: HtmlElement) -> bool:
    """Say whether an element without others may be a line of a label and its value."""
    text = element.text
    return _has_colon(text) or (element.tag == "li" and _DASH.search(text or "") is not None)


def _has_colon(text: str | None) -> bool:
    return text is not None and (":" in text or "：" in text or "【" in text)


@dataclass
class _Kin:
    """How the children of an element are made, counted once for all of them."""

    _rows: dict[HtmlElement, Counter[tuple[str | None, ...]]] = field(default_factory=dict)
    _boxes: dict[HtmlElement, Counter[tuple[str | None, ...]]] = field(default_factory=dict)
    _marks: dict[HtmlElement, Counter[tuple[str | None, ...]]] = field(default_factory=dict)
    _lines: dict[HtmlElement, Counter[tuple[str, int, bool]]] = field(default_factory=dict)
    _before: dict[tuple[HtmlElement, str], HtmlElement | None] = field(default_factory=dict)

    def rows_like(self, element: HtmlElement, parent: HtmlElement) -> int:
        """How many children of a parent hold two boxes of the same make as this one's."""
        return self.rows_like_in(element, parent)

    def rows_like_in(self, element: HtmlElement, parent: HtmlElement) -> int:
        """The same for another parent."""
        if parent not in self._rows:
            self._rows[parent] = Counter(
                _row_make(boxes) for e in parent if (boxes := _two_of(e)) is not None
            )
        boxes = _two_of(element)
        return self._rows[parent][_row_make(boxes)] if boxes is not None else 0

    def boxes_like(self, element: HtmlElement, parent: HtmlElement) -> int:
        """How many hold one box of the same make."""
        if parent not in self._boxes:
            self._boxes[parent] = Counter(_box_make(e) for e in parent if len(e) == 1)
        return self._boxes[parent][_box_make(element)]

    def marks_like(self, element: HtmlElement, parent: HtmlElement) -> int:
        """How many begin with an element of the same tag."""
        rows = parent.getparent() if parent.tag == "tr" and len(parent) == 1 else None
        holder = parent if rows is None else rows
        if holder not in self._marks:
            marked = holder if rows is None else [row[0] for row in holder if len(row) == 1]
            self._marks[holder] = Counter(
                (s.tag, s[0].tag) for s in marked if len(s) and isinstance(s.tag, str)
            )
        return self._marks[holder][(element.tag, element[0].tag)]

    def lines_like(self, element: HtmlElement, parent: HtmlElement) -> int:
        """How many are written like this one: in two lines, or in two parts with a dash between."""
        if parent not in self._lines:
            self._lines[parent] = Counter(
                (e.tag, len(parts), is_dash)
                for e in islice(parent, 200)
                if isinstance(e.tag, str)
                for parts, is_dash in (_two_parts(e),)
            )
        parts, is_dash = _two_parts(element)
        return self._lines[parent][element.tag, len(parts), is_dash]

    def before_rows(self, element: HtmlElement, tag: str) -> HtmlElement | None:
        """The nearest sibling before an element that is no row of two boxes with this tag."""
        passed: list[tuple[HtmlElement, str]] = []
        here, before = element, element.getprevious()
        while (here, tag) not in self._before:
            passed.append((here, tag))
            if before is None or len(before) != 2 or before.tag != tag:
                self._before[here, tag] = before
                break
            here, before = before, before.getprevious()
        found = self._before[here, tag]
        self._before.update(dict.fromkeys(passed, found))
        return found


def _two_of(element: HtmlElement) -> tuple[HtmlElement, HtmlElement] | None:
    """The two boxes of an element that holds no more, side by side or with a line end between."""
    if len(element) == 2:
        return element[0], element[1]
    if not 2 < len(element) < 5 or any((c.tail or "").strip() for c in element):
        return None
    told = [c for c in element if c.tag != "br" and isinstance(c.tag, str) and _says_anything(c)]
    return (told[0], told[1]) if len(told) == 2 else None


def _row_make(boxes: tuple[HtmlElement, HtmlElement]) -> tuple[str | None, ...]:
    first, second = boxes
    element = first.getparent()
    assert element is not None
    return element.tag, element.get("class"), first.tag, second.tag, first.get("class")


def _box_make(element: HtmlElement) -> tuple[str | None, ...]:
    return element.tag, element.get("class"), element[0].tag


def _pairs_of(
    element: HtmlElement, count: int, is_labelled: bool, kin: _Kin
) -> tuple[list[Pair], bool]:
    """The pairs that an element itself sets out; second, whether they use it up."""
    tag = element.tag
    if tag == "tr":
        return list(_row_pairs(element)), True
    if tag == "table":
        return list(_columns(element)), True
    if tag == "dl":
        return list(_definitions(element)), True
    if tag in _MAKES:
        return list(_label_then_next(element)), False
    if count >= 4:
        found = list(_alternating(element))
        if found:
            return found, True
    labelled = _label_of(element) if is_labelled else None
    if labelled and count < 4 and (value := flat_text(element)) and len(value) < LONGEST_VALUE:
        value = re.sub(rf"^{re.escape(labelled)}\s*:?\s*", "", value)
        return ([_pair(labelled, value, element, element.getparent())] if value else []), True
    boxes = _full_children(element) if 2 <= count <= 5 and not _own_text(element) else []
    if len(boxes) == 3 and boxes[1].tag == "br":
        del boxes[1]
    if len(boxes) == 2:
        found, is_whole = _two_boxes(element, (boxes[0], boxes[1]), kin)
        if found or count == 2:
            return found, is_whole
    if count == 1 and (found := list(_text_then_box(element, kin))):
        return found, True
    if count > 2 and (found := list(_label_then_next(element))):
        return found, False
    if count > 1 and all(_has_colon(c.text) for c in element) and not _own_text(element):
        return [], False  # each child is a line of its own
    return list(_lines(element, kin)), False


def _label_of(element: HtmlElement) -> str | None:
    """The label in an attribute: meant as one, or a title that is a known one."""
    stated = element.get("data-label") or element.get("data-th")
    told = element.get("aria-label") or element.get("title")
    if stated or not told or element.tag in ("a", "button", "input", "img", "abbr", "iframe"):
        return stated
    return told if field_of_label(told) not in (None, "none") else None


# what sites set about a text for its direction; no part of it (Unicode, 2.13 of UAX 9)
_MARKS = " \n\t\u200b\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff\u061c"
_BULLETS = f"{_MARKS}・•●■◆○◇□※►▶▪·✓✔"


def _pair(label: str, value: str, element: HtmlElement, group: HtmlElement | None) -> Pair:
    label = " ".join(label.strip(_MARKS).split()).rstrip(":：").strip(_BULLETS)
    value = value.strip(_MARKS)
    return Pair(label, value, element, element if group is None else group, _field_of(label, value))


def _row_pairs(row: HtmlElement) -> Iterator[Pair]:
    cells = [c for c in row if c.tag in ("td", "th")]
    texts = [flat_text(c) for c in cells]
    if len(cells) == 3 and "" in texts:
        cells, texts = [c for c, t in zip(cells, texts, strict=True) if t], [t for t in texts if t]
    table = next(row.iterancestors("table"), row.getparent())
    if len(cells) not in (2, 4, 6) or any(c.find(".//table") is not None for c in cells):
        return
    boxed = [parts for c in cells if (parts := _two_parts(c)[0]) and _is_marked(c)]
    if len(boxed) == len(cells):
        yield from (_pair(p[0], p[1], c, table) for p, c in zip(boxed, cells, strict=True))
        return
    for n in range(0, len(cells), 2):
        if _is_label(texts[n]) and texts[n + 1] and len(texts[n + 1]) <= LONGEST_VALUE:
            yield _pair(texts[n], texts[n + 1], cells[n + 1], table)


def _columns(table: HtmlElement) -> Iterator[Pair]:
    """A table of one row of headings and one row of values."""
    rows = [[c for c in row if c.tag in ("td", "th")] for row in table.iter("tr")]
    if len(rows) != 2 or len(rows[0]) != len(rows[1]) or len(rows[0]) < 2:
        return
    if any(c.tag == "th" for c in rows[1]):
        return
    if not all(c.tag == "th" for c in rows[0]) and not _are_labels(rows):
        return
    for head, cell in zip(*rows, strict=True):
        label, value = flat_text(head), flat_text(cell)
        if _is_label(label) and value:
            yield _pair(label, value, cell, table)


def _are_labels(rows: list[list[HtmlElement]]) -> bool:
    """Say whether plain cells are headings: all could be, and known labels stand only there."""
    heads, values = ([flat_text(c) for c in row] for row in rows)
    known = sum(field_of_label(t) is not None for t in heads)
    return all(map(_is_label, heads)) and known > 1 and not any(map(field_of_label, values))


def _definitions(top: HtmlElement) -> Iterator[Pair]:
    """<dt> with the <dd> elements that follow it, wrapped in <div> or not."""
    label: str | None = None
    values: list[HtmlElement] = []
    for element in [*top.iter("dt", "dd"), None]:
        if element is not None and element.tag == "dd":
            values.append(element)
            continue
        texts = [t for v in values if (t := flat_text(v))]
        if label and texts and not _is_question(label):
            yield _pair(label, ", ".join(texts), values[0], top)
        label = flat_text(element) if element is not None else None
        values = []


def _alternating(top: HtmlElement) -> Iterator[Pair]:
    """Boxes that take turns as label and value, told apart by tag or class."""
    children = [c for c in top if c.tag != "br"]
    is_headed = bool(children) and _heads_specifics(children[0])
    del children[: int(is_headed)]
    if len(children) < 4 or len(children) % 2:
        return
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


def _heads_specifics(element: HtmlElement | None) -> bool:
    return element is not None and heading_zone(flat_text(element)[:81]) == "specifics"


_WITH_FIGURES = frozenset(
    (
        *("price", "bid", "start_bid", "sold", "buy_now", "shipping"),
        *("listing_id", "date_listed", "ends_at"),
    )
)
_ALONE = _WITH_FIGURES | {"seller", "seller_id", "location"}


def _may_follow(label: str, text: str) -> bool:
    """Say whether a text may be the value of a label: figures where it needs some, and not those
    of another label that begins the text ("Shipping 5,50 €")."""
    if field_of_label(label) not in _WITH_FIGURES:
        return True
    words = text.split(" ", 4)[:4]
    starts = (" ".join(words[:count]) for count in range(1, len(words)))
    return any(c.isdigit() for c in text) and not any(field_of_label(s) in _ALONE for s in starts)


def _label_then_next(element: HtmlElement) -> Iterator[Pair]:
    """Among many children, a known label alone in one and its value in the next."""
    previous: str | None = None
    for child in element:
        if child.tag == "br" and not (child.tail or "").strip():
            continue  # the value may stand on the next line
        if previous is not None and len(child) <= 3 and len(child.text or "") <= LONGEST_VALUE:
            text = flat_text(child)
            if text and field_of_label(text) is None and _may_follow(previous, text):
                yield _pair(previous, text, child, element)
        label = _bare_text(child) if child.tag not in _CONTROLS else ""
        is_label = bool(label) and not (child.tail or "").strip()
        previous = label if is_label and field_of_label(label) in _ALONE else None


_CONTROLS = ("button", "input", "select", "option")


def _bare_text(element: HtmlElement) -> str:
    """The text of an element that holds no others, or one that holds none."""
    if len(element) == 1 and not (element.text or "").strip() and not element[0].tail:
        element = element[0]
    if len(element) or element.text is None or len(element.text) > LONGEST_LABEL:
        return ""
    return " ".join(element.text.split())


def _full_children(element: HtmlElement) -> list[HtmlElement]:
    """The children that hold any text: a picture or an empty box between two is nothing."""
    return [c for c in element if c.tag == "br" or _says_anything(c)]


def _says_anything(element: HtmlElement) -> bool:
    if len(element) == 0:
        return bool((element.text or "").strip(" \n\t\r.·…_-–—:|"))
    return bool(flat_text(element))


def _two_boxes(
    element: HtmlElement, boxes: tuple[HtmlElement, HtmlElement], kin: _Kin
) -> tuple[list[Pair], bool]:
    """An element that holds a label box and a value box, if its siblings are built alike."""
    first, second = boxes
    if not isinstance(first.tag, str) or not isinstance(second.tag, str) or second.tag == "br":
        return list(_lines(element, kin)), False
    label, value = flat_text(first), flat_text(second)
    if len(value) <= LONGEST_LABEL and _fits_before(value, label):
        return [_pair(value, label, first, element.getparent())], True
    if not _is_label(label) or not value or len(value) > LONGEST_VALUE:
        return list(_lines(element, kin)), False
    tail = (first.tail or "").strip()
    is_said = label.rstrip().endswith((":", "：")) or tail in (":", "：") or field_of_label(label)
    if tail and tail not in (":", "：", "-", "–", "|"):
        return list(_lines(element, kin)), False
    is_row = _two_of(element) is not None and (
        _has_like_siblings(element, kin) or _is_under_specifics(element, kin)
    )
    if is_said or is_row:
        return [_pair(label, value, second, element.getparent())], bool(is_said)
    return [], False


def _fits_before(label: str, value: str) -> bool:
    """Say whether a known label stands under its value: "3 May 2026" over "Listed"."""
    field = field_of_label(label)
    if field not in ("date_listed", "ends_at", "shipping", "listing_id") or ":" in label:
        return False
    return any(c.isdigit() for c in value) and field_of_label(value) is None


_NO_VALUE = BLOCKS | {"br", "img", "a", "time"}


def _text_then_box(element: HtmlElement, kin: _Kin) -> Iterator[Pair]:
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
    is_known = field_of_label(label) is not None or label.endswith(":")
    if is_known or kin.boxes_like(element, parent) >= 2:
        yield _pair(label, value, child, parent)


def _has_like_siblings(element: HtmlElement, kin: _Kin) -> bool:
    """Two or more rows of the same make: the same tag and class, each of two short boxes."""
    parent = element.getparent()
    if parent is None:
        return False
    alike = kin.rows_like(element, parent)
    if alike < 3:  # one of two columns
        alike += sum(kin.rows_like_in(element, other) for other in _columns_beside(parent))
    boxes = _two_of(element)
    if boxes is None:
        return False
    first, second = boxes
    distinct = (first.tag, first.get("class")) != (second.tag, second.get("class"))
    enough = distinct or alike >= 3 or any(is_named(e, "specifics") for e in (parent, element))
    return alike >= 2 and enough and all(map(_is_icon, element.iter("img")))


def _columns_beside(parent: HtmlElement) -> list[HtmlElement]:
    """The siblings next to an element that are made like it."""
    if parent.tag not in ("ul", "ol", "dl", "table", "tbody"):
        return []
    near = (parent.getprevious(), parent.getnext())
    made = (parent.tag, parent.get("class"))
    return [e for e in near if e is not None and (e.tag, e.get("class")) == made]


def _is_icon(image: HtmlElement) -> bool:
    """Say whether a picture is a small sign beside a label."""
    if ".svg" in (image.get("src") or ""):
        return True
    sides = [image.get(name) or "" for name in ("width", "height")]
    return any(
        side.removesuffix("px").isdigit() and int(side.removesuffix("px")) <= 40 for side in sides
    )


def _is_under_specifics(element: HtmlElement, kin: _Kin) -> bool:
    """A row without names under a heading that announces item specifics, if only a lone one."""
    if element.find(".//img") is not None or element.find(".//a") is not None:
        return False
    top: HtmlElement | None = element
    for _ in range(3):
        if top is None:
            return False
        before = kin.before_rows(top, element.tag)
        if before is not None:
            return heading_zone(flat_text(before)[:81]) == "specifics"
        top = top.getparent()
    return False


_COMMAS = re.compile(r",\s+(?=[^\W\d][^,:]{1,30}:\s)")
_NO_DASH = re.compile(r"\s(?:[|·•]|//?)\s|\t|\s*;\s")
_BARS = re.compile(r"\s+[|·•–—]\s+|\s+//?\s+(?=[^\W\d][^/]{1,40}:\s)|\t+|\s*;\s+")


def split_row(line: str) -> list[str]:
    """Cut a line at bars and dots, if more than one part is a label with its value.

    >>> split_row("Seller: A | Listed: 3 May | No.: 12"), split_row("Lens: 48 mm - wide")
    (['Seller: A', 'Listed: 3 May', 'No.: 12'], ['Lens: 48 mm - wide'])
    """
    listed = _COMMAS.split(line) if line.count(":") > 2 else []
    if len(listed) > 2 and all(len(p) <= 80 and _is_line(p) for p in listed):
        return listed
    if _BARS.search(line) is None:
        return [line]
    parts = _BARS.split(line)
    labels = [m[1] for p in parts if (m := _in_line(p)) is not None and _is_label(m[1])]
    is_alone = any(field_of_label(t) in _ALONE for t in labels)
    is_row = len(labels) > 1 or (is_alone and _NO_DASH.search(line) is not None)
    return parts if is_row else [line]


def _is_line(text: str) -> bool:
    match = _in_line(text)
    return match is not None and _is_label(match[1])


def _lines(element: HtmlElement, kin: _Kin) -> Iterator[Pair]:
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
    if len(lines) == 2 and field_of_label(lines[0]) in _ALONE and _may_follow(*lines):
        yield _pair(lines[0], lines[1], element, group)
        return
    parts = _two_parts(element)[0] if len(text) <= 140 else []
    if parts and not any(map(_has_colon, lines)):
        parent = element.getparent()
        alike = kin.lines_like(element, parent) if parent is not None else 0
        if alike >= 3 or (alike == 2 and (_is_marked(element) or _is_headed(parent))):
            yield _pair(parts[0], parts[1], element, parent)
            return
    for line in lines:
        if line[0] == "【" and (named := _BRACKETED.fullmatch(line)) is not None:
            yield _pair(named[1], named[2], element, group)
            continue
        match = _in_line(line)
        if (
            match
            and _is_label(match[1])
            and len(match[2]) <= LONGEST_VALUE
            and "//" not in match[2][:2]
        ):
            if match[1][-1].isdecimal() and _MINUTES.match(match[2]):
                continue  # a time of day
            yield _pair(match[1], match[2].strip(), element, group)
        elif bold and line.startswith(bold) and _is_bold_label(element, bold, kin):
            rest = line[len(bold) :].strip(" \t–-")
            yield from [_pair(bold, rest, element, group)] if rest else []


_DASH = re.compile(r"\s[–—=→»›-]\s")
_DASHED = re.compile(r"([^\W\d][^–—=→»›:.!?]{1,30}?)\s+[–—=→»›-]\s+(\S.{0,60})")
_BRACKETED = re.compile(r"【([^】]{1,20})】\s*[:：]?\s*(\S.{0,200})")


def _is_marked(element: HtmlElement) -> bool:
    """Say whether the first of an element's lines is set off by a mark of its own."""
    if len(element) == 0 or (element.text or "").strip():
        return False
    return element[0].tag in _SET_OFF and not (element[0].tail or "").strip()


_SET_OFF = frozenset(("b", "strong", "small", "span", "em", "i", "u", "label", "font", "mark"))


def _is_headed(parent: HtmlElement | None) -> bool:
    """Say whether the rows in a box stand under a heading that announces item specifics."""
    if parent is None:
        return False
    first = parent[0]
    return _heads_specifics(parent.getprevious()) or (len(first) < 3 and _heads_specifics(first))


def _two_parts(element: HtmlElement) -> tuple[list[str], bool]:
    """A short label and its value: in two lines of an element, or about a dash in its one line.

    Second, whether it is a dash that parts them.
    """
    if element.tag not in ("li", "p", "div", "td", "dd"):
        return [], False
    if len(element) == 0:
        if not _DASH.search(element.text or ""):
            return [], False
        match = _DASHED.fullmatch(" ".join((element.text or "")[:120].split()))
        return (list(match.groups()), True) if match else ([], False)
    is_broken = len(element) < 4 and sum(c.tag == "br" for c in element) == 1
    if not is_broken or any(c.tag in BLOCKS or len(c) for c in element):
        return [], False
    lines = [line for line in text_lines(element).split("\n") if line]
    is_short = len(lines) == 2 and len(lines[0]) <= 40 and len(lines[1]) <= 80
    return (lines, False) if is_short and _is_label(lines[0]) else ([], False)


_MINUTES = re.compile(r"\d\d\b")
_INLINE = frozenset(("a", "b", "strong", "i", "em", "span", "time", "h1", "title"))


def _may_hold_lines(element: HtmlElement) -> bool:
    """Look for a colon, or a mark at the beginning, before any text is put together."""
    own = element.text
    if len(element) == 0:
        return _may_be_line(element)
    first = element[0]
    if (own is None or not own.strip()) and first.tail and first.tail.strip():
        return True
    if own and (":" in own or "：" in own):
        return True
    if len(element) < 4 and any(c.tag == "br" for c in element):
        return True
    if len(element) <= 2 and element[-1].tag == "br" and element[-1].tail:
        return True  # a label over its value
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


def _is_bold_label(element: HtmlElement, text: str, kin: _Kin) -> bool:
    if field_of_label(text) is not None:
        return True
    parent = element.getparent()
    return parent is not None and kin.marks_like(element, parent) >= 2


def _own_text(element: HtmlElement) -> str:
    """Text that stands directly in an element, between its children, without ":" and such."""
    parts = [element.text or "", *((c.tail or "") for c in element)]
    return "".join(parts).strip(" \n\t\r:：|–-•·")


def _is_label(text: str) -> bool:
    if not text or len(text) > LONGEST_LABEL:
        return False
    has_letter = text[0].isalpha() or any(c.isalpha() for c in text)
    return has_letter and _NO_LABEL.search(text) is None and not _is_question(text)


def _is_question(text: str) -> bool:
    """Say whether a text asks something: "Q: Is the bridge 18 mm?", but not "Box?"."""
    if text[-1] not in "?？؟":
        return False
    return len(text.split()) > 3 or _ASKS.match(text) is not None


_ASKS = re.compile(r"(?i)(?:q|question|frage|f|domanda|d|pregunta|p|vraag|v|質問)\s*\d*\s*[:：.)]")

_NO_LABEL = re.compile(r"[.!?]\s|https?:")
