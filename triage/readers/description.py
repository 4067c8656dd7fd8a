"""Which element of a page holds the seller's description."""

from __future__ import annotations

import re
from itertools import islice

from triage.readers.addresses import seller_in
from triage.readers.gallery import FRAME_ATTRIBUTE
from triage.readers.hidden import OPENED
from triage.readers.labels import field_of_label, may_begin_with_label
from triage.readers.markup import HtmlElement, drop, select, with_attributes
from triage.readers.phrases import says
from triage.readers.prices import find_money, has_currency
from triage.readers.visible_facts import split_label, split_parts
from triage.readers.words import BLOCKS, flat_text, line_ends_kept, text_lines
from triage.readers.zones import HEADINGS, heading_zone, is_named


def find_description(
    body: HtmlElement, anchor: HtmlElement | None
) -> tuple[HtmlElement, str] | None:
    """Find the description and its origin: a frame, marked up, under its heading, or by name.

    The heading itself is not part of it.
    """
    above = set(anchor.iterancestors()) if anchor is not None else set()
    for find in (_frame, _marked, _named, _opened, _headed, _free_text):
        element = find(body, above)
        if element is not None:
            _drop_heading(element)
            _drop_controls(element)
            _move_site_lines(element)
            origin = "frame" if find is _frame else "visible text"
            return element, origin
    return None


def _frame(body: HtmlElement, above: set[HtmlElement]) -> HtmlElement | None:
    """A grafted frame named so, else the one with the most text, if it is a text at all."""
    frames = [f for f in body.iter("div") if f.get(FRAME_ATTRIBUTE) is not None and f not in above]
    frames = [f for f in frames if not any(a.get(FRAME_ATTRIBUTE) for a in f.iterancestors())]
    named = [f for f in frames if is_named(f, "description")]
    texts = [(len(flat_text(f)), f) for f in (named or frames)]
    length, best = max(texts, key=lambda t: t[0], default=(0, None))
    return best if length >= (1 if named else 40) else None


def _marked(body: HtmlElement, above: set[HtmlElement]) -> HtmlElement | None:
    found = select(
        body,
        "descendant::*/@itemprop[.='description']/.."
        " | descendant::*/@property[.='description' or .='schema:description']/..",
    )
    shown = [e for e in found if e.tag not in ("meta", "link") and e not in above]
    shown = [e for e in shown if not _is_nested_item(e) and flat_text(e)]
    return shown[0] if shown else None


def _is_nested_item(element: HtmlElement) -> bool:
    """A description of an offer, seller or review rather than of the thing."""
    for ancestor in element.iterancestors():
        kind = ancestor.get("itemtype") or ancestor.get("typeof")
        if kind:
            return not kind.rstrip("/").endswith(("Product", "Offer", "IndividualProduct"))
    return False


def _named(body: HtmlElement, above: set[HtmlElement]) -> HtmlElement | None:
    """The outermost element named so that has a text of its own and is no heading or button."""
    for element in body.iter("div", "section", "article", "p", "td", "pre", "span", "blockquote"):
        if element in above or not is_named(element, "description"):
            continue
        text = flat_text(element)
        if len(text) < 3 or heading_zone(text) is not None:
            continue
        return _inner_named(element)
    return None


def _inner_named(element: HtmlElement) -> HtmlElement:
    """Go inward while a single child holds all of the text but the heading."""
    while True:
        children = [c for c in element if isinstance(c.tag, str) and flat_text(c)]
        rest = [c for c in children if heading_zone(flat_text(c)) != "description"]
        if len(rest) != 1 or (element.text or "").strip() or (rest[0].tail or "").strip():
            return element
        if rest[0].tag not in ("div", "section", "article") or len(children) - len(rest) > 1:
            return element
        element = rest[0]


def _opened(body: HtmlElement, above: set[HtmlElement]) -> HtmlElement | None:
    """The part that a tab or button called "Description" opens, by its id."""
    for control in with_attributes(body, "aria-controls", "data-target", "data-bs-target", "href"):
        if control.get("href", "#")[:1] != "#":
            continue
        text = _heading_text(control) if len(control) < 4 else ""
        if not text or len(text) > 60 or heading_zone(text) != "description":
            continue
        names = (control.get(n) for n in ("aria-controls", "data-target", "data-bs-target", "href"))
        name = next((n for n in names if n), "").lstrip("#")
        found = select(body, "descendant::*[@id = $name]", name=name) if name else []
        if found and found[0] not in above and flat_text(found[0]):
            return found[0]
    return None


def _heading_text(element: HtmlElement) -> str:
    """The text of a heading, that of a button in it included."""
    text = flat_text(element)
    if not text and element.tag != "button":
        buttons = list(element.iter("button"))
        text = flat_text(buttons[0]) if len(buttons) == 1 else ""
    return text


def _drop_controls(element: HtmlElement) -> None:
    """Take out what folds, translates or reports the text ("Show more"): links, and leaves."""
    tags = ("a", "button", "span", "div", "p", "label", "summary")
    for child in list(element.iterdescendants(*tags)):
        if len(child) > 1 or (len(child) and child.tag not in ("a", "button", "summary")):
            continue
        if len(child.text or "") <= 60 and says("control", flat_text(child)):
            if _is_button(child):
                _mark_folds(child)
            drop(child)


def _is_button(element: HtmlElement) -> bool:
    """Say whether an element acts in the page, as what folds a text does; a seller sets none."""
    if element.tag in ("button", "label") or element.get("role") == "button":
        return True
    return (
        element.tag == "a" and re.match(r"#|javascript:|$", element.get("href") or "") is not None
    )


def _mark_folds(control: HtmlElement) -> None:
    """Mark what a control unfolds: its siblings, or those of the part that ends with it.

    What they begin with may stand before them, cut off; then it is taken out.
    """
    parent = control.getparent()
    above = parent.getparent() if parent is not None else None
    for holder in (parent, above):
        for part in list(holder) if holder is not None else ():
            if part is control or part.tag not in ("span", "div", "p", "section"):
                continue
            part.set(OPENED, "1")
            before = part.getprevious()
            if before is not None and _is_cut_from(before, part, control):
                drop(before)


def _is_cut_from(before: HtmlElement, whole: HtmlElement, control: HtmlElement) -> bool:
    """Say whether a part is the cut beginning of the next one, or the dots between the two."""
    text = flat_text(before)
    if control in before.iterdescendants():
        text = text.removesuffix(flat_text(control)).strip()
    bare = text.rstrip(". …")
    return text.endswith(("…", "...")) and flat_text(whole).startswith(bare)


_HEADING_TAGS = (*HEADINGS, "dt", "strong", "b", "summary", "legend")
_LEAVES = ("div", "span")  # headings only if they hold text alone


def _headed(body: HtmlElement, above: set[HtmlElement]) -> HtmlElement | None:
    """What stands under a heading "Description": the rest of its box, or what follows it."""
    for heading in body.iter(
        *_HEADING_TAGS, "p", "div", "span", "th", "td", "label", "a", "li", "button", "font", "u"
    ):
        if len(heading) and heading[0].tag == "br" and heading not in above:
            found = _under_first_line(heading)
            if found is not None:
                return found
        if len(heading) and heading.tag in _LEAVES:
            continue
        if heading.tag in ("a", "li") and heading.get("role") != "heading":
            continue
        text = _heading_text(heading) if len(heading) < 4 else ""
        if not text or len(text) > 60 or heading_zone(text) != "description" or heading in above:
            continue
        found = _panel_of(heading)
        if found is None:
            found = _under(heading, above)
        if found is not None and not _is_rows(found):
            return found
    return None


def _under_first_line(element: HtmlElement) -> HtmlElement | None:
    """The lines of an element below the first, if that says "[Description]"; up to another such."""
    first = " ".join((element.text or "")[:80].split())
    if not first or heading_zone(first) != "description":
        return None
    box = element.makeelement("div")
    box.text, element[0].tail = element[0].tail, None
    following = list(element)[1:]
    for n, child in enumerate(following):
        if child.tag == "br" and _opens_a_part(child.tail):
            following = following[:n]
            break
    element[0].addnext(box)
    box.extend(following)
    return box if flat_text(box) else None


_MARKED = re.compile(r"\s*([^\w\s(（]\s*)+\S.{0,40}?(\W*)$")


def _opens_a_part(text: str | None) -> bool:
    """Say whether a line in a text is a heading set off by marks: "【発送方法】", "■ Shipping"."""
    line = (text or "").strip()
    if not 2 < len(line) <= 40 or not _MARKED.match(line) or line[0] in "・-–•*":
        return False
    return heading_zone(line) in ("specifics", "other", "similar") or line[0] in "【［[＜<"


def _panel_of(heading: HtmlElement) -> HtmlElement | None:
    """The panel at a tab's own place, where as many panels as tabs follow the tabs."""
    if heading.tag not in ("label", "button", "a", "li", "span", "div"):
        return None
    parent = heading.getparent()
    tabs = (
        [e for e in parent if e.tag == heading.tag and flat_text(e)] if parent is not None else []
    )
    if parent is None or not 2 <= len(tabs) <= 12 or any(len(flat_text(t)) > 40 for t in tabs):
        return None
    number = tabs.index(heading)
    inside = [e for e in tabs[-1].itersiblings() if e.tag in _PANELS and e.tag != heading.tag]
    beside = [e for e in parent.itersiblings() if e.tag in _PANELS]
    held = list(beside[0]) if beside else []
    for panels in (inside, beside, held):
        if len(panels) == len(tabs) and len(flat_text(panels[number])) >= _SHORTEST:
            return panels[number]
    return None


_PANELS = frozenset(("div", "section", "article"))


def _under(heading: HtmlElement, above: set[HtmlElement]) -> HtmlElement | None:
    top = heading
    for _ in range(5):
        parent = top.getparent()
        if parent is None:
            return None
        following = [s for s in top.itersiblings() if isinstance(s.tag, str)]
        if (
            any(flat_text(s) or (s.tail or "").strip() for s in following)
            or (top.tail or "").strip()
        ):
            return _collect(top, following, parent, above)
        if parent in above or parent.tag in ("body", "main"):
            return None
        top = parent
    return None


def _collect(
    top: HtmlElement, following: list[HtmlElement], parent: HtmlElement, above: set[HtmlElement]
) -> HtmlElement | None:
    """The elements after the heading, up to the next part; put in one box if several."""
    taken: list[HtmlElement] = []
    for sibling in following:
        if sibling in above or _begins_part(sibling, top) or (taken and _is_seller_card(sibling)):
            break
        taken.append(sibling)
    taken = _without_end(taken)
    if not taken and not (top.tail or "").strip():
        return None
    if len(taken) == 1 and not (top.tail or "").strip() and not (taken[0].tail or "").strip():
        return taken[0]
    box = parent.makeelement("div")
    box.text, top.tail = top.tail, None
    top.addnext(box)
    box.extend(taken)
    return box


def _without_end(taken: list[HtmlElement]) -> list[HtmlElement]:
    """Leave what the site has put under a text: rows, its own lines, its menus, bare headings."""
    while True:
        kept = _without_rows(taken)
        while kept and (
            _is_site_line(kept[-1])
            or _is_price_line(kept[-1])
            or (len(kept) > 1 and _ends_no_text(kept[-1]))
        ):
            kept = kept[:-1]
        if len(kept) == len(taken):
            return kept
        taken = kept


def _is_price_line(element: HtmlElement) -> bool:
    """Say whether an element shows an amount and hardly more: the price set below the text."""
    if element.tag not in ("p", "div", "span", "strong", "b") or len(element) > 4:
        return False
    text = flat_text(element)
    if not text or len(text) > 40 or not has_currency(text):
        return False
    found = find_money(text)
    rest = f"{text[: found[0].start]} {text[found[0].end :]}".strip() if len(found) == 1 else text
    return not rest or says("offers", rest) or field_of_label(rest) == "price"


def _ends_no_text(element: HtmlElement) -> bool:
    return element.tag in HEADINGS or _is_of_the_site(element) or _is_menu(element)


_MOST_BESIDE = 60  # characters that may stand beside a menu's links: a year and the site's name


def _is_menu(element: HtmlElement) -> bool:
    """Say whether an element is a bar of a site's short links with hardly a word beside them."""
    texts = [flat_text(a) for a in islice(element.iter("a"), 200)]
    if len(texts) < 3 or max(map(len, texts)) > 40:
        return False
    said = sum(len(t.replace(" ", "")) for t in texts)
    beside = len(flat_text(element).replace(" ", "")) - said
    return beside <= min(_MOST_BESIDE, said)


def _without_rows(taken: list[HtmlElement]) -> list[HtmlElement]:
    """Leave rows of labels and values at the end to the item specifics, if a text stands above."""
    kept = list(taken)
    while kept and (_is_rows(kept[-1]) or not flat_text(kept[-1]) or _is_list_apart(kept)):
        kept.pop()
    kept = _without_lone_rows(kept)
    return kept if kept and len(kept) < len(taken) and flat_text(kept[0]) else taken


def _is_list_apart(taken: list[HtmlElement]) -> bool:
    """Say whether the last of several elements lists labels and values apart from a text's box.

    Under paragraphs without a box a bare list may be the seller's own.
    """
    last, first = taken[-1], taken[0]
    if len(taken) < 2 or (first.tag in ("p", "ul") and not last.attrib):
        return False
    if last.tag in ("ul", "ol"):
        lines = [flat_text(e) for e in last if isinstance(e.tag, str) and flat_text(e)]
    elif last.tag == "div" and first.tag == "div" and not _holds_blocks(last):
        lines = [line for line in text_lines(last).split("\n") if line]
    else:
        return False
    return len(lines) > 1 and all(_LABELLED.fullmatch(line) for line in lines)


_LABELLED = re.compile(r"[^\W\d][^:：.!?]{1,30}\s?[:：]\s*\S.{0,80}")


def _without_lone_rows(taken: list[HtmlElement]) -> list[HtmlElement]:
    """Leave out rows made alike that follow a text one by one, without a box about them."""
    makes = [(e.tag, e.get("class")) for e in taken]
    first = len(taken)
    while first > 1 and makes[first - 1] == makes[-1] and _is_lone_row(taken[first - 1]):
        first -= 1
    return taken[:first] if len(taken) - first > 1 else taken


def _is_lone_row(element: HtmlElement) -> bool:
    return element.tag in ("div", "li") and len(element) == 2 and _is_row(element)


_ROWS = frozenset(("tr", "div", "li", "p"))


def _is_rows(element: HtmlElement) -> bool:
    """Say whether an element is a table of two columns, or rows of a label and its value."""
    if element.tag == "dl":
        return element.find(".//dd") is not None
    if element.tag not in ("table", "div", "ul", "section"):
        return False
    if element.tag == "table":
        rows = list(islice(element.iter("tr"), 60))
        if element.find(".//table") is not None:
            return False
    else:
        rows = [e for e in element if isinstance(e.tag, str)]
        if (element.text or "").strip() or any((e.tail or "").strip() for e in rows):
            return False
        if len(rows) == 1:  # a wrapper
            return _is_rows(rows[0])
    told = [row for row in rows if flat_text(row)]
    least = 1 if element.tag == "table" else 2
    return len(told) >= least and all(row.tag in _ROWS and _is_row(row) for row in told)


def _is_row(row: HtmlElement) -> bool:
    """Say whether an element is a short label, set off by a mark of its own, and a short value."""
    parts = [e for e in row if e.tag != "br" and flat_text(e)]
    if not parts or len(parts) > 2 or (row.text or "").strip():
        return False
    label = flat_text(parts[0]).rstrip(" :：")
    value = flat_text(parts[1]) if len(parts) == 2 else (parts[0].tail or "").strip()
    between = (parts[0].tail or "").strip(" :：\n\t–-") if len(parts) == 2 else ""
    is_short = 0 < len(label) <= 40 and 0 < len(value) <= 120 and not between
    return is_short and any(c.isalpha() for c in label) and label[-1] not in ".!?"


def _is_seller_card(element: HtmlElement) -> bool:
    """A short block that links to the seller's own page, or is named for the seller.

    What a seller has typed may stand in a part named for users too, but holds no link or control.
    """
    if element.tag not in _CARDS or len(flat_text(element)) > 160:
        return False
    if any(seller_in(link.get("href") or "") for link in element.iter("a")):
        return True
    if not is_named(element, "seller"):
        return False
    marks = islice(element.iter("a", "button", "img", "span", "strong", "b", "h3", "h4"), 20)
    return any(e.tag in ("a", "button", "img") or is_named(e, "seller") for e in marks)


_CARDS = frozenset(("div", "section", "aside", "p", "a", "ul", "dl", "footer", "figure"))


def _is_site_line(element: HtmlElement) -> bool:
    """A line of the site's own under the text: the listing's number, the day it was listed."""
    if len(element) > 8:
        return False
    text = flat_text(element)
    if not text or len(text) > 160:
        return False
    found = [split_label(part) for part in split_parts(text)]
    return all(
        f is not None and f[0] in ("listing_id", "date_listed", "seller", "seller_id")
        for f in found
    )


def _is_of_the_site(element: HtmlElement) -> bool:
    """Say whether an element says only what sites say of a page: views, tags, links to share.

    Also a line of a known label of the site's ("Location: Leeds").
    """
    if len(element) > 12 or (element.tail or "").strip():
        return False
    text = flat_text(element)
    if not text or len(text) > 160:
        return not text
    if says("site_line", text) or _is_seller_card(element):
        return True
    links = [flat_text(a) for a in element.iter("a")]
    if links and sum(map(len, links)) >= 0.9 * len(text.replace(" ", "")) and len(links) > 1:
        return True
    label = text.partition(":")[0] if ":" in text[:40] else ""
    return bool(label) and field_of_label(label) in ("location", "none", "returns", "shipping")


def _move_site_lines(element: HtmlElement) -> None:
    """Put lines of the site's own at a description's end behind it."""
    while len(element) > 1 and not (element[-1].tail or "").strip():
        last = element[-1]
        is_line = last.tag in ("p", "div", "ul", "small", "span", "footer") and (
            _says_site_line(last) or _is_site_line(last) or _is_seller_card(last)
        )
        if not is_line or not flat_text(last) or element.getparent() is None:
            return
        tail, element.tail = element.tail, None
        element.addnext(last)
        last.tail = tail


def _says_site_line(element: HtmlElement) -> bool:
    text = flat_text(element)
    if len(text) > 160 or len(element) > 12:
        return False
    links = [flat_text(a) for a in element.iter("a")]
    is_linked = len(links) > 1 and sum(map(len, links)) >= 0.9 * len(text.replace(" ", ""))
    return is_linked or says("site_line", text)


def _begins_part(element: HtmlElement, heading: HtmlElement) -> bool:
    if element.tag in ("footer", "aside", "form", "nav", "hr"):
        return True
    first = element if element.tag in HEADINGS else next(iter(element.iter(*HEADINGS)), None)
    if first is None and _is_bold_line(element):
        return heading_zone(flat_text(element)) in ("specifics", "similar", "other")
    if first is None:
        return element.tag in ("dt", "table") and heading.tag == "dt"
    text = _heading_text(first)
    if heading_zone(text) in ("specifics", "similar", "other"):
        return True
    if says("seller_heading", text) or field_of_label(text) in _SITE_FIELDS:
        return True
    rank = heading.tag if heading.tag in HEADINGS else "h3"
    return first is element and element.tag <= rank


# fields over which a site sets headings of its own
_SITE_FIELDS = ("seller", "shipping", "location", "returns", "price", "listing_id", "date_listed")


def _is_bold_line(element: HtmlElement) -> bool:
    """Say whether a paragraph is one short bold text: a heading in all but name."""
    inner = element[0] if element.tag in ("p", "div") and len(element) == 1 else element
    is_alone = inner is element or not ((element.text or "") + (inner.tail or "")).strip()
    return is_alone and inner.tag in ("b", "strong") and len(flat_text(inner)) <= 60


def _drop_heading(element: HtmlElement) -> None:
    """Take the part's own heading out, if it is the first thing with text in it."""
    for child in list(element):
        if not isinstance(child.tag, str) or not flat_text(child):
            continue
        if (element.text or "").strip():
            return
        zone = heading_zone(flat_text(child))
        if zone == "description" or (zone == "specifics" and _is_heading(child)):
            drop(child)
        return


def _is_heading(element: HtmlElement) -> bool:
    return element.tag in HEADINGS or next(iter(element.iter(*HEADINGS)), None) is not None


_SHORTEST = 40  # characters of a text that nothing names a description


def _free_text(body: HtmlElement, above: set[HtmlElement]) -> HtmlElement | None:
    """Where nothing is named or headed: a long text whose line ends are kept by style, or that
    states its own direction, as sites set what people have typed; else the longest paragraph."""
    styled = with_attributes(body, "dir", "style")
    styled += select(body, "descendant::*[contains(@class, 'pre')]")
    typed = [e for e in styled if e.tag in _TYPED and e not in above and _is_typed(e)]
    outer = [e for e in typed if not any(a in set(typed) for a in e.iterancestors())]
    texts = [(len(flat_text(e)), -n, e) for n, e in enumerate(outer)]
    long = [t for t in texts if t[0] >= _SHORTEST or "\n" in (t[2].text or "").strip()]
    if long:
        return max(long)[2]
    found = _paragraphs(body, above)
    return found if found is not None else _shorter(body, above)


_LEAST = 20  # characters of a shorter text


def _shorter(body: HtmlElement, above: set[HtmlElement]) -> HtmlElement | None:
    """A short text of more than one line or sentence, best one in a part named for texts."""
    best: tuple[bool, int, HtmlElement] | None = None
    for element in body.iter("div", "p", "section", "span", "td", "article"):
        is_broken = len(element) > 0 and element.find("br") is not None
        is_typed = is_named(element, "typed")
        if not (is_broken or is_typed) or element in above or not _is_short_text(element):
            continue
        rank = (is_typed, len(flat_text(element)))
        if best is None or rank > best[:2]:
            best = (*rank, element)
    return best[2] if best is not None else None


def _is_short_text(element: HtmlElement) -> bool:
    if any(e.tag in _NO_TEXT for e in element.iterdescendants()):
        return False
    lines = [line for line in text_lines(element).split("\n") if line.strip()]
    text = " ".join(lines)
    if len(text) < _LEAST or (len(lines) < 2 and len(_SENTENCE_END.findall(text)) < 2):
        return False
    if has_currency(text) and find_money(text[:40]):
        return False
    told = sum(":" in line[:40] or split_label(line) is not None for line in lines)
    return 2 * told < len(lines) and bool(_SENTENCE_END.search(text))


_NO_TEXT = frozenset(
    (*HEADINGS, "a", "img", "input", "button", "select", "table", "dl", "form", "nav", "footer")
)


_TYPED = frozenset(("div", "span", "p", "pre", "td", "section", "article"))


def _is_typed(element: HtmlElement) -> bool:
    if element.tag != "pre" and line_ends_kept(element):
        return True
    if element.get("dir") == "auto" and element.tag not in ("td", "section", "article"):
        return not _holds_blocks(element)
    return False


def _holds_blocks(element: HtmlElement) -> bool:
    if any(c.tag in _BOXES for c in element):
        return True
    return any(len(c) and any(d.tag in _BOXES for d in c.iterdescendants()) for c in element)


_BOXES = BLOCKS - {"p"}


def _paragraphs(body: HtmlElement, above: set[HtmlElement]) -> HtmlElement | None:
    """The box of plain paragraphs with the longest text of sentences, without links."""
    best: tuple[int, HtmlElement] | None = None
    run = _longest_run(body, above)
    for element in body.iter("p", "div"):
        if len(element) == 0 and len(element.text or "") < 80:
            continue
        if element in above or _holds_blocks(element) or element.find(".//a") is not None:
            continue
        text = flat_text(element)
        if len(text) < 80 or len(re.findall(r"[.!?;](?:\s|$)", text)) < 2:
            continue
        if best is None or len(text) > best[0]:
            best = (len(text), element)
    if run and sum(len(flat_text(p)) for p in run) > (best[0] if best is not None else 79):
        return _boxed(run)
    return best[1] if best is not None else None


def _longest_run(body: HtmlElement, above: set[HtmlElement]) -> list[HtmlElement]:
    """The longest text of several plain paragraphs that follow one another."""
    runs: list[list[HtmlElement]] = []
    seen: set[HtmlElement] = set()
    for first in body.iter("p", "div"):
        if first in seen or first in above:
            continue
        run = []
        here: HtmlElement | None = first
        while here is not None and here.tag == first.tag and here not in above:
            seen.add(here)
            if not _is_prose(here):
                break
            run.append(here)
            here = here.getnext() if not (here.tail or "").strip() else None
        if len(run) > 1:
            runs.append(run)
    texts = [" ".join(map(flat_text, run)) for run in runs]
    long = [(len(t), -n) for n, t in enumerate(texts) if len(_SENTENCE_END.findall(t)) > 1]
    return runs[-max(long)[1]] if long else []


_SENTENCE_END = re.compile(r"[.!?;。](?:\s|$)")


def _is_prose(element: HtmlElement) -> bool:
    """Say whether a paragraph is a text of its own: no picture, no link, no label at its start."""
    if len(element) and any(e.tag in _NO_PROSE for e in element.iterdescendants()):
        return False
    text = flat_text(element)
    if len(text) < 15 or (has_currency(text[:30]) and find_money(text[:30])):
        return False
    if ":" in text[:40] and field_of_label(text.partition(":")[0]) is not None:
        return False
    return not may_begin_with_label(text) or split_label(text) is None


_NO_PROSE = BLOCKS | {"a", "img", "input", "button", "select", "table"}


def _boxed(run: list[HtmlElement]) -> HtmlElement:
    """Siblings put in a box of their own."""
    box = run[0].makeelement("div")
    run[0].addprevious(box)
    box.extend(run)
    return box
