"""Text that stands bare between blocks, put in boxes of its own.

Old pages set "<b>Price:</b> 12<br>" right between rules and tables. A browser lays an anonymous
box about such a run (CSS 2.2, 9.2.1.1); here it becomes a <div>, so that every later step sees it.
"""

from __future__ import annotations

from triage.readers.markup import HtmlElement, select
from triage.readers.words import BLOCKS

_HOLDERS = frozenset(
    ("body", "main", "div", "td", "th", "section", "article", "form", "center", "font", "li",
     "blockquote", "fieldset", "dd", "aside", "header")
)  # fmt: skip


# elements with text of their own beside others
_MIXED = "descendant-or-self::*[* and text()[normalize-space()]]"


def wrap_runs(root: HtmlElement) -> None:
    """Put each run of text and inline elements between blocks in a <div>, in place."""
    for element in select(root, _MIXED):
        if element.tag in _HOLDERS and _has_bare_text(element) and any(map(_is_block, element)):
            _wrap(element)


def _has_bare_text(element: HtmlElement) -> bool:
    texts = (element.text, *(child.tail for child in element))
    return any(text and not text.isspace() for text in texts)


def _is_block(element: HtmlElement) -> bool:
    return element.tag in BLOCKS or not isinstance(element.tag, str)


def _wrap(element: HtmlElement) -> None:
    made: list[HtmlElement] = []
    run: list[HtmlElement] = []
    lead, element.text = element.text, None
    for child in list(element):
        if not _is_block(child):
            run.append(child)
            continue
        made += _boxed(element, lead, run)
        made.append(child)
        lead, child.tail, run = child.tail, None, []
    made += _boxed(element, lead, run)
    element[:] = made


def _boxed(parent: HtmlElement, lead: str | None, run: list[HtmlElement]) -> list[HtmlElement]:
    """A run in a box of its own; one without text of its own, such as pictures, as it is."""
    if not (lead or "").strip() and not any((c.tail or "").strip() for c in run):
        return run
    box = parent.makeelement("div")
    box.text = lead
    box.extend(run)
    return [box]
