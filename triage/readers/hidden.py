"""Text that a page holds but does not show: hidden by style, size, colour or position.

It is flagged, never taken as the seller's claim. Inline styles, presentational attributes and the
rules of style sheets (style_sheets.py) are read, whether they stand in the page or in files saved
beside it; scripts are not run. What a control of the page opens (a tab, a fold) is not hidden, nor
is a closed <details>, which a click on its summary opens, nor what only screen readers pass over
(aria-hidden). White text on a picture counts as shown: nobody knows the picture's colour here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from itertools import islice

from triage.readers.markup import HtmlElement, select
from triage.readers.source import Asset, Resources, Unreadable
from triage.readers.style_sheets import Cascade, Effects, Rule, names_in, read_rules, root_variables
from triage.readers.words import flat_text

OPENED = "data-opened-by-control"  # on elements that a control of the page unfolds
MOST_SHEETS = 40  # files beside a page
MOST_BYTES = 2_000_000  # of one of them

_FAR = r"-\d{3,}.*|-?(?:[2-9]\d{2}|\d{4,})(?:\.\d+)?(?:vw|vmax)|-(?:[5-9]\d|\d{3,})(?:em|rem|vw)"
_BLANK = (  # a mask that lets nothing through
    r"(?:linear|radial)-gradient\((?:\s*(?:[\d.]+(?:deg|turn|rad)|to [a-z ]{1,20})\s*,)?"
    r"(?:\s*transparent(?:\s+[\d.]+(?:%|px))?\s*(?:,|(?=\))))+\)"
)
_BEYOND = r"(?:[1-9]\d{2,})(?:\.\d+)?(?:vh|vw|vmin|vmax|%)"  # below or beside all of a window
# what may keep text out of sight, by property; a value that does not match shows it again
_HIDES = {
    "display": r"none",
    "visibility": r"hidden|collapse",
    "content-visibility": r"hidden",
    "opacity": r"0?\.?0*|0?\.0[0-5]\d*|[0-5](?:\.\d+)?%",
    "text-indent": r"-\d{3,}.*|-?[1-9]\d{2,}%|-?[1-9]\d{2,}vw",
    "left": _FAR,
    "right": _FAR,
    "top": r"-\d{3,}.*|-(?:[5-9]\d|\d{3,})(?:em|rem|vw|vh)",
    "bottom": r"-\d{3,}.*|-(?:[5-9]\d|\d{3,})(?:em|rem|vw|vh)",
    "inset": r"(?:.*\s)?-\d{3,}.*",
    "margin": r"-\d{4,}.*",
    "margin-left": r"-\d{4,}.*",  # with left: 50%, half a page's width centres it
    "margin-top": r"-(?:\d{4,}|9\d{2}).*",
    "clip": r"rect\(\s*[01](?:px)?[\s,]+[01](?:px)?[\s,]+[01](?:px)?[\s,]+[01](?:px)?\s*\)",
    "clip-path": r"inset\(\s*(?:50|100)%.*|circle\(\s*0.*|polygon\((?:[\s,]*0(?:px|%)?)+\s*\)",
    "transform": (
        r".*(?:scale[XY]?\(\s*0?\.?0*\s*[,)]|translate[XY]?\(\s*-(?:\d{4,}|[5-9]\d{2}%)"
        r"|rotate[XY]\(\s*90deg).*"
    ),
    "scale": r"0?\.?0+(?:\s+.*)?",
    "filter": r".*opacity\(\s*0?\.?0*%?\s*\).*",
    "zoom": r"0?\.0\d*|[0-4](?:\.\d+)?%",
    "-webkit-text-fill-color": r"transparent",
    "-webkit-text-security": r"disc|circle|square",
    "mask": rf"{_BLANK}.*",
    "mask-image": _BLANK,
    "-webkit-mask": rf"{_BLANK}.*",
    "-webkit-mask-image": _BLANK,
}
_PATTERNS = {name: re.compile(rf"(?:{text})", re.I | re.S) for name, text in _HIDES.items()}
_FOLDS = frozenset(("display", "visibility", "height", "max-height", "overflow", "opacity"))
_SIZES = frozenset(("height", "width", "max-height", "max-width"))
_KNOWN = frozenset(
    (*_HIDES, *_SIZES, "font-size", "font", "color", "overflow", "overflow-y", "background",
     "background-color", "line-height", "position", "z-index", "animation", "animation-name")
)  # fmt: skip
_TELLING = re.compile(
    r"(?i)none|hidden|opacity|visib|collaps|font|indent|:\s*-\d|clip|scale|color|ground|\b0\b"
    r"|display|transform|zoom|\dv[hw]|\d%|\b0e|\\|mask|security|z-index|var\(|animation"
)
_CLEAR = re.compile(
    r"(?i)transparent|(?:rgb|hsl)a?\([^)]*[,/]\s*0?\.?0*%?\s*\)|#[0-9a-f]{6}00|#[0-9a-f]{3}0"
)
_LENGTH = re.compile(r"(\d*\.?\d+)\s*(px|pt|em|rem|%|vw|vh)?", re.I)
_READABLE = {"em": 0.15, "rem": 0.15, "vw": 0.15, "vh": 0.15, "%": 15.0}  # else 2.5 pixels
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

    >>> hides("display:none"), hides("font-size: .9em"), hides("position:absolute; left:-9999px")
    (True, False, True)
    """
    return bool(_reasons(dict(effects_of(style))))


@lru_cache(maxsize=8192)
def effects_of(style: str) -> Effects:
    """What a style says of being seen: per property whether it hides, or the colour it gives."""
    if not _TELLING.search(style):
        return ()
    found: dict[str, object] = {}
    if "\\" in style:
        style = _ESCAPE.sub(_escaped, style)
    for declaration in style.split(";")[:200]:
        name, colon, value = declaration.partition(":")
        name = name.strip().lower()
        if colon and name in _KNOWN:
            found.update(_meaning(name, value.partition("!")[0].strip()))
    return tuple(found.items())


_VARIABLE = re.compile(r"var\(\s*(--[\w-]+)\s*(?:,([^()]*))?\)")


def _filled(style: str, variables: Mapping[str, str]) -> str:
    """A style with the values of its variables (CSS Custom Properties 1), but for colours.

    Those differ by themes, of which a page tells more than it shows.
    """
    if "var(" not in style:
        return style
    own = dict(_OWN_VARIABLE.findall(style))
    parts = [
        part
        if part.lstrip()[:5].lower() in ("color", "backg")
        else _VARIABLE.sub(lambda m: own.get(m[1]) or variables.get(m[1]) or m[2] or "", part)
        for part in style.split(";")[:200]
    ]
    return ";".join(parts)


_OWN_VARIABLE = re.compile(r"(--[\w-]+)\s*:\s*([^;{}]{1,100})")
_ESCAPE = re.compile(r"\\([0-9a-fA-F]{1,6})\s?")  # CSS Syntax 3, 4.3.7


def _escaped(match: re.Match[str]) -> str:
    code = int(match[1], 16)
    return chr(code) if 0 < code < 0x110000 and not 0xD800 <= code < 0xE000 else ""


def _meaning(name: str, value: str) -> Effects:
    if name in _PATTERNS:
        hides = _PATTERNS[name].fullmatch(value) is not None
        if name in _SIDES:
            return ((name, hides), (f"{name} beyond", _FAR_OFF.fullmatch(value) is not None))
        return ((name, hides),)
    if name == "position":
        return (("lies", value if value in ("fixed", "absolute") else None),)
    if name.startswith("animation"):
        return (("animated", frozenset(re.findall(r"[\w-]+", value)[:20])),)
    if name == "z-index":
        return (("behind", re.fullmatch(r"-\d+", value) is not None),)
    if name == "line-height":
        return ((name, re.fullmatch(r"0(?:px|em|%)?", value) is not None),)
    if name == "font-size":
        return ((name, _is_tiny(value)),)
    if name == "font":
        sizes = [part.partition("/")[0] for part in value.split() if part[:1].isdigit()]
        return (("font-size", any(_is_font_size(part) and _is_tiny(part) for part in sizes)),)
    if name == "color":
        return (("unseen colour", _CLEAR.fullmatch(value) is not None), (name, plain_colour(value)))
    if name.startswith("background"):
        return (("ground", _ground_of_value(value)),)
    if name in _SIZES:
        return ((name, re.fullmatch(r"(?:[01](?:px)?|0(?:em|rem|%|vh|vw))", value) is not None),)
    return (("overflow", re.search(r"hidden|clip", value) is not None),)


_SIDES = ("top", "left", "right", "bottom")
_FAR_OFF = re.compile(_BEYOND, re.I)


def _is_font_size(part: str) -> bool:
    """Say whether a part of a font is its size, no weight: "12px", or "0" for nothing."""
    return part[-1:].isalpha() or part[-1:] == "%" or part == "0"


def _is_tiny(value: str) -> bool:
    match = _LENGTH.fullmatch(value)
    return match is not None and float(match[1]) < _READABLE.get((match[2] or "").lower(), 2.5)


def _ground_of_value(value: str) -> str | None:
    """The plain colour of a background; None for nothing, "unknown" for a picture and the like."""
    if re.fullmatch(r"(?i)transparent|none|inherit|initial|unset|0(?:\s+0)?", value):
        return None
    return plain_colour(value) or "unknown"


_SHUT = (*_SIZES, "line-height")
_ALONE = (*_HIDES, "font-size", "unseen colour")


def _reasons(effects: Mapping[str, object]) -> frozenset[str]:
    """The properties that keep text out of sight; a box shut to nothing counts by its size."""
    found = {name for name in _ALONE if effects.get(name) is True}
    if effects.get("overflow") is True:
        found |= {name for name in _SHUT if effects.get(name) is True}
    if effects.get("lies") == "fixed":
        found |= {name for name in _SIDES if effects.get(f"{name} beyond") is True}
    return frozenset(found)


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
    grey = re.fullmatch(r"hsla?\([\d.]+(?:deg)?[\s,]+[\d.]+%[\s,]+(0|100)%\s*\)", text)
    if grey:
        return "#ffffff" if grey[1] == "100" else "#000000"
    parts = re.fullmatch(r"rgba?\(\s*(\d+)[\s,]+(\d+)[\s,]+(\d+)\s*(?:[,/]\s*[\d.]+%?\s*)?\)", text)
    if parts:
        return "#" + "".join(f"{min(int(p), 255):02x}" for p in parts.groups())
    return _NAMES.get(text.split(" ")[0])


# --- sheets of a page ----------------------------------------------------------------------------


def sheets_of(root: HtmlElement, resources: Resources, within: Asset | None = None) -> list[str]:
    """The style sheets of a document in order: those in it, and linked files saved beside it."""
    sheets: list[str] = []
    for element in root.iter("style", "link"):
        if _NOT_SCREEN.search(element.get("media", "")):
            continue
        if element.tag == "style":
            text = element.text or ""
            sheets += _imported(text, resources, within) if "@import" in text else []
            sheets.append(text)
        elif "stylesheet" in element.get("rel", "").lower().split() and len(sheets) < MOST_SHEETS:
            sheets += _linked(element.get("href", ""), resources, within)
    return sheets


_NOT_SCREEN = re.compile(r"(?i)^\s*(?:print|speech|aural|tty|braille)\b|max-(?:device-)?width")
_IMPORT = re.compile(
    r"@import\s+(?:url\(\s*)?[\"']?([^\"'()\s;]{1,2000})[\"']?\s*\)?([^;]{0,200});", re.I
)


def _linked(
    address: str, resources: Resources, within: Asset | None, is_import: bool = False
) -> Iterator[str]:
    """A saved sheet, after those that it imports itself (one step deep)."""
    asset = resources.find(address, within) if address else None
    if asset is None:
        return
    try:
        text = asset.data[:MOST_BYTES].decode("utf-8", "replace")
    except (Unreadable, OSError):
        return
    if not is_import:
        yield from _imported(text, resources, asset)
    yield text


def _imported(text: str, resources: Resources, within: Asset | None) -> Iterator[str]:
    for match in list(_IMPORT.finditer(text[:20_000]))[:10]:
        if not _NOT_SCREEN.search(match[2]):
            yield from _linked(match[1], resources, within, is_import=True)


# --- elements ------------------------------------------------------------------------------------


def find_hidden(
    root: HtmlElement, sheets: Iterable[str], description: HtmlElement | None = None
) -> list[HtmlElement]:
    """List the outermost elements whose text is hidden, in page order.

    Within the description, which a seller writes, nothing counts as opened by a control.
    """
    telling = [sheet for sheet in sheets if _TELLING.search(sheet)]
    names = names_in(root) if telling else frozenset()
    variables = root_variables(telling)
    fading_in = frozenset(name for sheet in telling for name in _fading_in(sheet))

    def effects(style: str) -> Effects:
        return effects_of(_filled(style, variables))

    looks = _Looks(
        root, description, Cascade(read_rules(telling, names, effects)), effects, fading_in
    )
    found = [e for e in looks.suspects() if looks.is_hidden(e)]
    found += [cell for e in found if e.tag == "col" for cell in _cells_of(e)]
    outer = set(found)
    return [e for e in found if not any(a in outer for a in e.iterancestors())]


_FADED = frozenset(("opacity", "visibility", "transform", "scale"))
_KEYFRAMES = re.compile(r"(?i)@(?:-webkit-)?keyframes\s+([\w-]{1,80})")
_ENDS_ON_SHOW = re.compile(r"(?i)(?:\bto|100%)\s*\{[^{}]{0,300}?opacity\s*:\s*(?:1|0?\.[1-9]|\d\d)")
_END = re.compile(r"\}\s*\}")


def _fading_in(sheet: str) -> Iterator[str]:
    """The names of a sheet's animations that end with a thing on show."""
    for match in islice(_KEYFRAMES.finditer(sheet), 500):
        frames = sheet[match.end() : match.end() + 3000]
        end = _END.search(frames)
        if _ENDS_ON_SHOW.search(frames, 0, end.end() if end is not None else len(frames)):
            yield match[1]


def _cells_of(column: HtmlElement) -> Iterator[HtmlElement]:
    """The cells of a table's column."""
    place = sum(1 for _ in column.itersiblings("col", preceding=True))
    table = next(column.iterancestors("table"), None)
    for row in table.iter("tr") if table is not None else ():
        yield from islice(row, place, place + 1)


_CONTROLLING = ("aria-controls", "data-target", "data-bs-target", "popovertarget", "href")
_CONTROLS = (
    "descendant::*[@aria-controls or @aria-expanded or @data-target or @data-bs-target"
    " or @popovertarget or starts-with(@href, '#')]"
)


def _controlled(root: HtmlElement, description: HtmlElement | None) -> frozenset[HtmlElement]:
    """The parts that a control outside of the description opens: tabs, folds, panels."""
    names: set[str] = set()
    before: list[HtmlElement] = []
    for control in select(root, _CONTROLS):
        for name in _CONTROLLING:
            names.update(control.get(name, "").lstrip("#").split()[:3])
        if control.get("aria-expanded") is not None:
            before.append(control)
    panels = select(root, "descendant::*[@role='tabpanel']")
    panels += (
        [e for e in select(root, "descendant::*[@id]") if e.get("id") in names] if names else []
    )
    panels += [n for c in before for n in _after(c)]
    return frozenset(
        p for p in panels if description is None or description not in p.iterancestors()
    )


def _after(control: HtmlElement) -> Iterator[HtmlElement]:
    """What follows a control, or the heading that holds it."""
    parent = control.getparent()
    for element in (control, parent):
        following = element.getnext() if element is not None else None
        if following is not None:
            yield following


@dataclass
class _Looks:
    """How the elements of a page look, by rules and by styles of their own."""

    root: HtmlElement
    description: HtmlElement | None
    cascade: Cascade
    effects_of: Callable[[str], Effects]
    fading_in: frozenset[str]  # the animations that end with a thing on show
    _effects: dict[HtmlElement, dict[str, object]] = field(default_factory=dict)
    _grounds: dict[HtmlElement, str | None] = field(default_factory=dict)

    def effects(self, element: HtmlElement) -> dict[str, object]:
        if element not in self._effects:
            found = self.cascade.effects(element) if self.cascade.rules else {}
            style = element.get("style")
            if style:
                found = {**found, **dict(self.effects_of(style))}
            self._effects[element] = found
        return self._effects[element]

    def suspects(self) -> list[HtmlElement]:
        """Elements that a style of their own, an attribute or a rule may hide, in page order."""
        found = select(self.root, "descendant::*[@style or @hidden or @popover]"
                       " | descendant::font[@color] | descendant::details[not(@open)]")  # fmt: skip
        if not self.cascade.rules:
            return found
        telling = self._telling()
        tags = {r.subject.tag for r in telling if not r.subject.classes and r.subject.id is None}
        named = select(self.root, "descendant::*[@class or @id]") if telling else []
        named += [e for tag in tags if tag is not None for e in self.root.iter(tag)]
        bare = {r.subject.attributes[0][0] for r in telling if _is_bare(r)}
        named += [e for name in sorted(bare)[:20] for e in _with_attribute(self.root, name)]
        if any(r.subject.is_bare for r in telling):
            named += list(self.root.iterdescendants())
        known: dict[tuple[Rule, ...], bool] = {}
        for element in named:
            rules = self.cascade.candidates(element)
            if rules not in known:
                known[rules] = not telling.isdisjoint(rules)
            if known[rules]:
                found.append(element)
        return list(dict.fromkeys(found))

    def _telling(self) -> frozenset[Rule]:
        """The rules that hide, or give a colour that is also some ground's."""
        styled = (
            dict(effects_of(e.get("style", ""))) for e in select(self.root, "descendant::*[@style]")
        )
        stated = [d.get("ground") for d in styled] + [
            plain_colour(e.get("bgcolor", "")) for e in select(self.root, "descendant::*[@bgcolor]")
        ]
        stated += [dict(r.effects).get("ground") for r in self.cascade.rules]
        grounds = {_WHITE, *(g for g in stated if isinstance(g, str) and g.startswith("#"))}
        alike = {c for c in _colours(self.cascade.rules) if any(_is_alike(c, g) for g in grounds)}
        return frozenset(
            r
            for r in self.cascade.rules
            if any(v is True or (n == "color" and v in alike) for n, v in r.effects)
        )

    @cached_property
    def _controlled(self) -> frozenset[HtmlElement]:
        return _controlled(self.root, self.description)

    def is_hidden(self, element: HtmlElement) -> bool:
        if element.tag in ("img", "source", "input", "body", "html", "meta", "link"):
            return False
        if (
            element.tag == "details"
        ):  # folded text is a click away, unless nothing is there to click
            summary = element.find("summary")
            if summary is not None and "open" not in element.attrib and self.is_hidden(summary):
                return True
        if self._is_covered(element):
            return True
        reasons = _reasons(self.effects(element))
        if "popover" in element.attrib:
            reasons |= {"display"}
        if "hidden" in element.attrib and element.get("hidden") != "until-found":
            reasons |= {"display"}
        if reasons and reasons <= _FADED and self._fades_in(element):
            return False
        if reasons:
            is_fold = element in self._controlled or OPENED in element.attrib
            return not (reasons <= _FOLDS and is_fold)
        return self.by_colour(element)

    def _fades_in(self, element: HtmlElement) -> bool:
        """Say whether an element is out of sight only until an animation has shown it."""
        animated = self.effects(element).get("animated")
        return isinstance(animated, frozenset) and not self.fading_in.isdisjoint(animated)

    def _is_covered(self, element: HtmlElement) -> bool:
        """Say whether an element lies behind what is beside it, under a ground laid over it."""
        if self.effects(element).get("behind") is not True or not self.effects(element).get("lies"):
            return False
        beside = (
            *islice(element.itersiblings(), 20),
            *islice(element.itersiblings(preceding=True), 20),
        )
        return any(self.effects(e).get("lies") and self.effects(e).get("ground") for e in beside)

    def by_colour(self, element: HtmlElement) -> bool:
        """Say whether the text has a colour of its own that cannot be told from its ground."""
        colour = self.effects(element).get("color")
        if element.tag == "font" and element.get("color") and not colour:
            colour = plain_colour(element.get("color", ""))
        return (
            isinstance(colour, str)
            and _is_alike(colour, self._ground(element))
            and not self._is_repainted(element)
        )

    def _is_repainted(self, element: HtmlElement) -> bool:
        """Say whether parts of an element have a colour or a ground of their own."""
        below = (self.effects(e) for e in islice(element.iterdescendants(), 500))
        return any(isinstance(e.get("color"), str) or e.get("ground") for e in below)

    def _ground(self, element: HtmlElement) -> str:
        """The colour behind an element: its own, else the nearest above, else white."""
        passed: list[HtmlElement] = []
        here: HtmlElement | None = element
        ground = None
        while here is not None and ground is None:
            ground = self._grounds.get(here) or self._own_ground(here)
            passed.append(here)
            here = here.getparent()
        self._grounds.update(dict.fromkeys(passed, ground or _WHITE))
        return ground or _WHITE

    def _own_ground(self, element: HtmlElement) -> str | None:
        ground = self.effects(element).get("ground")
        if isinstance(ground, str):
            return ground
        if element.get("bgcolor"):
            return plain_colour(element.get("bgcolor", "")) or "unknown"
        return None


def _with_attribute(root: HtmlElement, name: str) -> list[HtmlElement]:
    return select(root, "descendant::*[@*[name() = $name]]", name=name)


def _is_bare(rule: Rule) -> bool:
    """Say whether a rule's subject is named by an attribute alone."""
    subject = rule.subject
    return bool(subject.attributes) and not (subject.tag or subject.id or subject.classes)


_WHITE = "#ffffff"


def _colours(rules: Iterable[Rule]) -> set[str]:
    stated = (value for r in rules for name, value in r.effects if name == "color")
    return {c for c in stated if isinstance(c, str)}


def _is_alike(colour: str, ground: str) -> bool:
    """Say whether a text of this colour cannot be told from its ground (13 steps of 255).

    That is a contrast of 1.13 to 1 on white; WCAG 2.2, 1.4.3 asks for 4.5 (from memory).
    """
    if not ground.startswith("#"):
        return False
    pairs = ((int(colour[n : n + 2], 16), int(ground[n : n + 2], 16)) for n in (1, 3, 5))
    return all(abs(a - b) <= 13 for a, b in pairs)


def hidden_text(elements: Iterable[HtmlElement]) -> str | None:
    texts = [t for e in elements if (t := flat_text(e))]
    return "\n".join(dict.fromkeys(texts)) or None
