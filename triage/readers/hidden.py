"""Text that a page holds but does not show: hidden by style, size, colour or position.

It is flagged, never taken as the seller's claim. Inline styles, presentational attributes and
the simple selectors of style sheets (tag, .class, #id, tag.class) are read; scripts are not run.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from triage.readers.markup import HtmlElement, select
from triage.readers.words import flat_text

_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_COMMENT = re.compile(r"/\*.*?\*/", re.S)
_SIMPLE = re.compile(r"(?:[a-z][a-z0-9]*)?(?:[.#][\w-]+)*", re.I)
_HIDES = re.compile(
    r"display\s*:\s*none|visibility\s*:\s*(?:hidden|collapse)|(?<![\w-])opacity\s*:\s*0?\.?0*(?:\s*[;!}]|\s*$)"
    r"|font-size\s*:\s*(?:0*\.?0*|0?\.\d+|[01](?:\.\d+)?)\s*(?:px|pt|em|rem|%)?\s*(?:[;!}]|$)"
    r"|text-indent\s*:\s*-\d{3,}|(?<![\w-])(?:left|right|top|bottom)\s*:\s*-\d{3,}|margin(?:-left|-top)?\s*:\s*-\d{4,}"
    r"|clip\s*:\s*rect\(\s*[01](?:px)?[\s,]+[01](?:px)?[\s,]+[01](?:px)?[\s,]+[01](?:px)?\s*\)"
    r"|clip-path\s*:\s*(?:inset\(\s*(?:50|100)%|circle\(\s*0)"
    r"|transform\s*:[^;]*(?:scale[XY]?\(\s*0(?:\.0+)?\s*[,)]|translate[XY]?\(\s*-\d{4,})|color\s*:\s*transparent"
    r"|color\s*:\s*rgba\([^)]*,\s*0?\.?0*\s*\)|color\s*:\s*#[0-9a-f]{6}00\b|-webkit-text-fill-color\s*:\s*transparent"
    r"|content-visibility\s*:\s*hidden",
    re.I,
)
_SHUT = re.compile(r"(?<![\w-])(?:max-)?(?:height|width)\s*:\s*[01](?:px)?\s*(?:[;!]|$)", re.I)
_COLOUR = re.compile(r"(?<![\w-])color\s*:\s*([^;!]+)", re.I)
_GROUND = re.compile(r"background(?:-color)?\s*:\s*([^;!]+)", re.I)
_NAMES = {
    "white": "#ffffff",
    "black": "#000000",
    "snow": "#fffafa",
    "ivory": "#fffff0",
    "whitesmoke": "#f5f5f5",
    "red": "#ff0000",
}


def hides(style: str) -> bool:
    """Say whether a style declaration keeps text out of a reader's sight.

    >>> hides("display:none"), hides("font-size: 14px"), hides("position:absolute; left:-9999px")
    (True, False, True)
    """
    if not style:
        return False
    if _HIDES.search(style):
        return True
    return "overflow" in style and "hidden" in style and _SHUT.search(style) is not None


@dataclass(frozen=True, slots=True)
class HidingRules:
    """The classes, ids and tags that the page's style sheets hide or colour."""

    hidden: frozenset[str]
    colours: tuple[tuple[str, str], ...] = ()
    grounds: tuple[tuple[str, str], ...] = ()


_TELLING = re.compile(
    r"(?i)none|hidden|opacity|font-size|indent|:\s*-\d|clip|scale|color|ground|\b0\b"
)


def read_rules(sheets: Iterable[str]) -> HidingRules:
    """Read which simple selectors the style sheets hide; media rules for print are left out."""
    hidden: set[str] = set()
    colours: dict[str, str] = {}
    grounds: dict[str, str] = {}
    for sheet in sheets:
        if not _TELLING.search(sheet):
            continue
        for selectors, style in _RULE.findall(_without_media(_COMMENT.sub("", sheet))):
            if not _TELLING.search(style):
                continue
            if "color" not in style and not hides(style) and "background" not in style:
                continue
            for selector in selectors.split(","):
                selector = selector.strip()
                if not selector or not _SIMPLE.fullmatch(selector):
                    continue
                if hides(style):
                    hidden.add(selector)
                elif re.search(r"display\s*:|visibility\s*:\s*visible|opacity\s*:", style):
                    hidden.discard(selector)
                colour, ground = _colour(_COLOUR, style), _colour(_GROUND, style)
                if colour:
                    colours[selector] = colour
                if ground:
                    grounds[selector] = ground
    return HidingRules(frozenset(hidden), tuple(colours.items()), tuple(grounds.items()))


def _without_media(sheet: str) -> str:
    """Drop @media blocks that do not hold for a screen, and the frames of those that do."""
    return re.sub(r"@media[^{]*(?:print|max-width)[^{]*\{(?:[^{}]*\{[^{}]*\})*[^{}]*\}", "", sheet)


def _colour(pattern: re.Pattern[str], style: str) -> str | None:
    match = pattern.search(style)
    return plain_colour(match[1]) if match else None


def plain_colour(text: str) -> str | None:
    """One spelling for a colour: #rrggbb; None for what is not plain.

    >>> plain_colour("#FFF"), plain_colour("rgb(255, 255, 255)"), plain_colour("white")
    ('#ffffff', '#ffffff', '#ffffff')
    """
    text = text.strip().casefold()
    if re.fullmatch(r"#[0-9a-f]{6}", text):
        return text
    if re.fullmatch(r"#[0-9a-f]{3}", text):
        return "#" + "".join(c * 2 for c in text[1:])
    parts = re.fullmatch(r"rgba?\(\s*(\d+)[\s,]+(\d+)[\s,]+(\d+)\s*(?:[,/]\s*[\d.]+%?\s*)?\)", text)
    if parts:
        return "#" + "".join(f"{min(int(p), 255):02x}" for p in parts.groups())
    return _NAMES.get(text.split(" ")[0])


def find_hidden(root: HtmlElement, rules: HidingRules) -> list[HtmlElement]:
    """List the outermost elements whose text is hidden, in page order."""
    found: list[HtmlElement] = []
    for element in _suspects(root, rules):
        if _is_hidden(element, rules):
            found.append(element)
    outer = set(found)
    return [e for e in found if not any(a in outer for a in e.iterancestors())]


def _suspects(root: HtmlElement, rules: HidingRules) -> list[HtmlElement]:
    """Elements that a style of their own, an attribute or a rule of a sheet may hide."""
    found = select(root, ".//*[@style or @hidden] | .//font[@color]")
    selectors = rules.hidden | {s for s, _ in rules.colours if s[0] in ".#"}
    if not selectors:
        return list(found)
    classes = {c for s in selectors for c in re.findall(r"\.([\w-]+)", s)}
    names = {n for s in selectors for n in re.findall(r"#([\w-]+)", s)}
    known: dict[str, bool] = {}
    for element in select(root, ".//*[@class or @id]"):
        text = element.get("class") or ""
        if text not in known:
            known[text] = not classes.isdisjoint(text.split())
        if known[text] or element.get("id") in names:
            found.append(element)
    for tag in (s for s in rules.hidden if s.isalnum()):
        found += root.iter(tag)
    return list(dict.fromkeys(found))


def _is_hidden(element: HtmlElement, rules: HidingRules) -> bool:
    attributes = element.attrib
    if not attributes:
        return element.tag in rules.hidden
    if element.tag in ("img", "source", "input", "body", "html", "meta", "link"):
        return False
    if "hidden" in attributes and attributes["hidden"] != "until-found":
        return True
    style = attributes.get("style", "")
    if hides(style) or (rules.hidden and any(s in rules.hidden for s in selectors_of(element))):
        return not re.search(r"display\s*:\s*(?!none)\w", style) or hides(style)
    colour = _text_colour(element, style, rules)
    return colour is not None and _is_alike(colour, _ground_of(element, rules))


def selectors_of(element: HtmlElement) -> list[str]:
    """The simple selectors that match an element."""
    tag = element.tag
    classes = element.get("class", "").split()
    found = [tag, *(f".{c}" for c in classes), *(f"{tag}.{c}" for c in classes)]
    found += (
        [f".{a}.{b}" for a in classes for b in classes if a != b] if 1 < len(classes) < 5 else []
    )
    name = element.get("id")
    return [*found, f"#{name}", f"{tag}#{name}"] if name else found


def _text_colour(element: HtmlElement, style: str, rules: HidingRules) -> str | None:
    if "color" in style and (match := _COLOUR.search(style)):
        return plain_colour(match[1])
    if element.tag == "font" and element.get("color"):
        return plain_colour(element.get("color", ""))
    for selector, colour in rules.colours:
        if selector[0] in ".#" and selector in selectors_of(element):
            return colour
    return None


def _ground_of(element: HtmlElement, rules: HidingRules) -> str:
    """The colour behind an element: its own, else the nearest above, else white."""
    grounds = (_ground(e, rules) for e in (element, *element.iterancestors()))
    return next((g for g in grounds if g is not None), "#ffffff")


def _ground(element: HtmlElement, rules: HidingRules) -> str | None:
    style = element.get("style", "")
    if "background" in style:
        match = _GROUND.search(style)
        found = plain_colour(match[1]) if match else None
        return found or "unknown"
    if element.get("bgcolor"):
        return plain_colour(element.get("bgcolor", "")) or "unknown"
    for selector, ground in rules.grounds:
        if selector in selectors_of(element):
            return ground
    return None


def _is_alike(colour: str, ground: str) -> bool:
    """Say whether a text of this colour cannot be told from its ground (6 steps of 255)."""
    if not ground.startswith("#"):
        return False
    pairs = ((int(colour[n : n + 2], 16), int(ground[n : n + 2], 16)) for n in (1, 3, 5))
    return all(abs(a - b) <= 6 for a, b in pairs)


def hidden_text(elements: Iterable[HtmlElement]) -> str | None:
    texts = [t for e in elements if (t := flat_text(e))]
    return "\n".join(dict.fromkeys(texts)) or None
