"""What style sheets say of lines: where line ends count, what is struck out, what is a block.

Sites set what people have typed with `white-space: pre-line` or `pre-wrap` (CSS Text 3, 3), and old
prices with `text-decoration: line-through` (CSS Text Decoration 3, 2), mostly by a class. What a
rule says is written into the elements' own style, so that every later step sees it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from triage.readers.markup import HtmlElement, select
from triage.readers.style_sheets import Cascade, Effects, names_in, read_rules
from triage.readers.words import line_ends_kept

_SAYS = re.compile(
    r"white-space(?:-collapse)?\s*:\s*(pre(?:-line|-wrap|serve[\w-]*)?|break-spaces)\b"
)
_DECLARED = re.compile(r"(?:^|[;{\s])white-space(?:-collapse)?\s*:\s*([\w-]+)", re.I)


def write_looks(root: HtmlElement, sheets: Iterable[str]) -> None:
    """Write into the style of elements what rules say of their line ends and of lines through."""
    telling = [s for s in sheets if "line-through" in s or ("white-space" in s and _SAYS.search(s))]
    rules = read_rules(telling, names_in(root), _effects) if telling else ()
    if not any(said for rule in rules for _, said in rule.effects):
        return
    cascade = Cascade(rules)
    for element in select(root, "descendant-or-self::*"):
        found = cascade.effects(element) if cascade.candidates(element) else {}
        if found.get("white-space") and line_ends_kept(element) is None:
            _keep(element)
        if found.get("line-through"):
            _add(element, "text-decoration:line-through")


def hand_down(element: HtmlElement) -> None:
    """Write into an element what it inherits from those around it."""
    if line_ends_kept(element) is not None:
        return
    around = (line_ends_kept(a) for a in element.iterancestors())
    if next((kept for kept in around if kept is not None), False):
        _keep(element)


_SHOWN_AS_BLOCK = re.compile(
    r"(?:^|[;{\s])display\s*:\s*(?:block|flex|grid|list-item|table)\b(?!-)", re.I
)


def set_out_blocks(element: HtmlElement, sheets: Iterable[str]) -> None:
    """Make boxes of the parts of lines, below an element, that a style shows as blocks."""
    parts = list(element.iterdescendants("span", "b", "strong", "a", "i", "em", "label"))
    if not parts:
        return
    telling = [sheet for sheet in sheets if _SHOWN_AS_BLOCK.search(sheet)]
    rules = read_rules(telling, names_in(element), _display) if telling else ()
    cascade = Cascade(rules)
    for part in parts:
        found = cascade.effects(part) if rules else {}
        if found.get("display") or _SHOWN_AS_BLOCK.search(part.get("style") or ""):
            part.tag = "div"


def _display(style: str) -> Effects:
    if "display" not in style:
        return ()
    return (("display", _SHOWN_AS_BLOCK.search(style) is not None),)


def _keep(element: HtmlElement) -> None:
    _add(element, "white-space:pre-line")


def _add(element: HtmlElement, declared: str) -> None:
    style = element.get("style")
    element.set("style", f"{style};{declared}" if style else declared)


def _effects(style: str) -> Effects:
    found: Effects = ()
    if stated := _DECLARED.findall(style):
        found = (("white-space", stated[-1].lower().startswith(("pre", "break"))),)
    if "text-decoration" in style:
        found += (("line-through", "line-through" in style),)
    return found
