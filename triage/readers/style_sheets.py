"""The rules of style sheets, as far as they tell something of elements that stand in a page.

A part of CSS 2.2 and Selectors 4, enough for that: compounds of tag, class, id, attribute, `:is()`,
`:not()` and places among siblings, joined in all four ways; rules within rules (CSS Nesting 1); the
cascade by specificity and order. Rules that a screen does not use are left out. All work is
bounded; nothing is fetched, no script is run.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from triage.readers.markup import HtmlElement, classes_and_ids

MOST_TEXT = 8_000_000  # characters of all sheets of a page
MOST_RULES = 20_000  # that tell anything of names that stand in the page
MOST_OF_ONE_NAME = 100  # rules, the last ones
LONGEST_SELECTOR = 400
LONGEST_KEPT = 1_000_000  # characters of a sheet that is remembered
DEEPEST = 32  # rules within at-rules and within each other
MOST_NESTED = 5_000  # rules within rules, in one sheet
MOST_STEPS = 500_000  # comparisons of rules with elements, in one page

ANY = "*"  # what a rule without tag, class and id goes by
Effects = tuple[tuple[str, object], ...]  # what a style says: (property, meaning)

_COMMENT = re.compile(r"/\*.*?\*/", re.S)
_NOT_SEEN = re.compile(
    r"(?i)@media.*(?:\b(?:print|speech|aural|tty|braille)\b|max-(?:device-)?width\s*:\s*\d{1,3}(?:\D|$)"
    r"|width\s*<=?\s*\d{1,3}(?:\D|$)"
    r"|min-(?:device-)?width\s*:\s*(?:[3-9]\d{3}|\d{5,})px"
    r"|prefers-color-scheme\s*:\s*dark|prefers-contrast|forced-colors)|@(?:-\w+-)?keyframes"
    r"|@starting-style|@supports\s+not\b|@media\s+not\s+(?:all|screen)\s*$",
    re.S,
)
_NAME = re.compile(r"(?:[\w-]|\\.)+")
_PART = re.compile(
    r"(?P<tag>\*|[a-z][\w-]*)|\.(?P<klass>(?:[\w-]|\\.)+)|\#(?P<id>(?:[\w-]|\\.)+)"
    r"|\[\s*(?P<name>[\w-]+)\s*(?:(?P<how>[~^$*|]?=)\s*[\"']?(?P<value>[^\"'\]]*)[\"']?\s*)?\]"
    r"|:(?P<pseudo>[a-z-]+)(?:\((?P<inner>[^()]*)\))?",
    re.I,
)
_STEP = re.compile(r"((?:\\.|\([^()]*\)|\[[^\]]*\]|[^\s>+~(\[\\])+)(\s*[>+~]\s*|\s+|$)")
_COMMA = re.compile(r"(?<!\\),(?![^()]*\))")  # none within parentheses
_NTH = re.compile(r"(?:(?P<step>[+-]?\d*)n)?(?P<first>[+-]?\d+)?")


# --- selectors -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Place:
    """Where among its siblings an element stands: every `step`th, counted from `first`."""

    step: int
    first: int
    of_type: bool  # counted among those of its tag
    from_end: bool

    def holds(self, number: int) -> bool:
        past = number - self.first
        return past == 0 if self.step == 0 else past % self.step == 0 and past // self.step >= 0


@dataclass(frozen=True, slots=True)
class Compound:
    """Conditions on one element, all of which must hold; none of `refused` may.

    Of each group of `any_of` one must hold.
    """

    tag: str | None = None
    id: str | None = None
    classes: tuple[str, ...] = ()
    attributes: tuple[tuple[str, str, str], ...] = ()
    refused: tuple[Compound, ...] = ()
    any_of: tuple[tuple[Compound, ...], ...] = ()
    places: tuple[Place, ...] = ()

    @property
    def weight(self) -> tuple[int, int, int]:
        """The specificity (Selectors 4, clause 17; `:where()` counts as `:is()` does)."""
        named = len(self.classes) + len(self.attributes) + len(self.places)
        counts = [
            (self.id is not None, named, self.tag is not None),
            *(c.weight for c in self.refused),
            *(max(c.weight for c in group) for group in self.any_of),
        ]
        ids, names, tags = (sum(column) for column in zip(*counts, strict=True))
        return ids, names, tags

    @property
    def is_plain(self) -> bool:
        """Whether tag, class and id are all that it asks for."""
        return not (self.attributes or self.refused or self.any_of or self.places)

    @property
    def is_bare(self) -> bool:
        """Whether it asks for no tag, class, id or attribute."""
        return not (self.tag or self.id or self.classes or self.attributes)

    def may_be_in(self, names: frozenset[str]) -> bool:
        """Say quickly whether a page with these tags, classes and ids may hold such an element."""
        needed = (n for n in (self.tag, self.id, *self.classes) if n is not None)
        return all(n in names for n in needed) and all(
            any(c.may_be_in(names) for c in group) for group in self.any_of
        )

    def fits(self, element: HtmlElement, siblings: Siblings) -> bool:
        if self.tag is not None and element.tag != self.tag:
            return False
        if self.id is not None and element.get("id") != self.id:
            return False
        if self.classes:
            own = (element.get("class") or "").split()
            if not all(c in own for c in self.classes):
                return False
        if not all(_has(element, *a) for a in self.attributes):
            return False
        if not all(p.holds(siblings.number_of(element, p)) for p in self.places):
            return False
        if not all(any(c.fits(element, siblings) for c in group) for group in self.any_of):
            return False
        return not any(c.fits(element, siblings) for c in self.refused)


@dataclass
class Siblings:
    """The numbers of elements among their siblings, counted once for each parent."""

    _known: dict[tuple[HtmlElement, bool, bool], dict[HtmlElement, int]] = field(
        default_factory=dict
    )

    def number_of(self, element: HtmlElement, place: Place) -> int:
        parent = element.getparent()
        if parent is None:
            return 1
        key = (parent, place.of_type, place.from_end)
        if key not in self._known:
            self._known[key] = self._numbered(parent, place)
        return self._known[key].get(element, 0)

    def _numbered(self, parent: HtmlElement, place: Place) -> dict[HtmlElement, int]:
        counted: Counter[str] = Counter()
        numbers: dict[HtmlElement, int] = {}
        for child in reversed(parent) if place.from_end else parent:
            kind = child.tag if place.of_type else ""
            counted[kind] += 1
            numbers[child] = counted[kind]
        return numbers


def _has(element: HtmlElement, name: str, how: str, value: str) -> bool:
    own = element.get(name)
    if own is None:
        return False
    return {
        "": True, "=": own == value, "~=": value in own.split(), "^=": own.startswith(value),
        "$=": own.endswith(value), "*=": value in own, "|=": own.split("-")[0] == value,
    }.get(how, False)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Rule:
    """One selector with what it says; `around` leads outward, each step " " or ">"."""

    subject: Compound
    around: tuple[tuple[str, Compound], ...]
    rank: tuple[int, int, int, int]  # specificity, then order
    effects: Effects


@lru_cache(maxsize=4096)
def read_compound(text: str) -> Compound | None:
    """Read one compound selector; None for what is beyond the part of the standard read here.

    >>> read_compound("div.a#b").classes, read_compound("a:hover")
    (('a',), None)
    """
    found: dict[str, list[str]] = defaultdict(list)
    attributes: list[tuple[str, str, str]] = []
    refused: list[Compound] = []
    any_of: list[tuple[Compound, ...]] = []
    places: list[Place] = []
    position = 0
    while position < len(text):
        match = _PART.match(text, position)
        if match is None or (match["tag"] and position):
            return None
        position = match.end()
        if match["name"]:
            attributes.append((match["name"].lower(), match["how"] or "", match["value"] or ""))
        elif match["pseudo"]:
            read = _read_pseudo(match["pseudo"].lower(), match["inner"])
            if read is None:
                return None
            refused += read.refused
            any_of += read.any_of
            places += read.places
        else:
            kind = str(match.lastgroup)
            found[kind].append(_unescaped(match[kind]))
    tags = [t.lower() for t in found["tag"] if t != "*"]
    return Compound(
        tag=tags[0] if tags else None,
        id=found["id"][0] if found["id"] else None,
        classes=tuple(found["klass"]),
        attributes=tuple(attributes),
        refused=tuple(refused),
        any_of=tuple(any_of),
        places=tuple(places),
    )


_NTH_OF = {
    "first-child": (False, False), "last-child": (False, True), "nth-child": (False, False),
    "nth-last-child": (False, True), "first-of-type": (True, False), "last-of-type": (True, True),
    "nth-of-type": (True, False), "nth-last-of-type": (True, True),
}  # fmt: skip


def _read_pseudo(name: str, inner: str | None) -> Compound | None:
    """What a pseudo-class asks for, as the parts of a compound; None for one that is not read."""
    if name == "root" and inner is None:
        return Compound(any_of=((Compound(tag="html"),),))
    if name in ("only-child", "only-of-type") and inner is None:
        of_type = name == "only-of-type"
        return Compound(places=(Place(0, 1, of_type, False), Place(0, 1, of_type, True)))
    if name in _NTH_OF and (name.startswith("nth-") == (inner is not None)):
        steps = _read_nth("1" if inner is None else inner)
        return None if steps is None else Compound(places=(Place(*steps, *_NTH_OF[name]),))
    if name not in ("is", "where", "not", "matches", "-webkit-any", "-moz-any") or not inner:
        return None
    parts = [read_compound(part.strip()) for part in inner.split(",")[:50]]
    known = tuple(p for p in parts if p is not None)
    if name == "not":
        return Compound(refused=known) if len(known) == len(parts) else None
    return Compound(any_of=(known,)) if known else None  # what is not read is forgiven


def _read_nth(text: str) -> tuple[int, int] | None:
    """Step and first of "2n+1", "odd", "3" (CSS Syntax 3, 6).

    >>> _read_nth("2n + 1"), _read_nth("-n+3"), _read_nth("even"), _read_nth("4")
    ((2, 1), (-1, 3), (2, 0), (0, 4))
    """
    text = {"odd": "2n+1", "even": "2n"}.get(text.strip().lower(), text)
    match = _NTH.fullmatch(re.sub(r"\s", "", text.lower()))
    if match is None or len(text) > 20 or not match[0]:
        return None
    step = match["step"]
    signed = f"{step}1" if step in ("", "+", "-") else step
    return (0 if step is None else int(signed)), int(match["first"] or 0)


def _unescaped(name: str) -> str:
    return re.sub(r"\\(.)", r"\1", name) if "\\" in name else name


@lru_cache(maxsize=4096)
def _read_selector(text: str) -> tuple[Compound, tuple[tuple[str, Compound], ...]] | None:
    """Read a selector as its subject and what must stand around it, the nearest first."""
    compounds: list[Compound] = []
    joins: list[str] = []
    position = 0
    while position < len(text):
        match = _STEP.match(text, position)
        compound = read_compound(match[1]) if match is not None else None
        if match is None or compound is None or len(compounds) > 7:
            return None
        compounds.append(compound)
        joins.append(match[2].strip() or " ")
        position = match.end()
    if not compounds:
        return None
    return compounds[-1], tuple(zip(joins[-2::-1], compounds[-2::-1], strict=True))


# --- sheets --------------------------------------------------------------------------------------


def read_rules(
    sheets: Iterable[str], names: frozenset[str], effects_of: Callable[[str], Effects]
) -> tuple[Rule, ...]:
    """Read the rules that say anything by `effects_of`, of elements named in the page.

    `names` are the classes, ids and tags that stand in the page.
    """
    rules: list[Rule] = []
    left = MOST_TEXT
    for sheet in sheets:
        for selectors, style in _blocks(sheet[:left], names):
            if not (effects := effects_of(style)):
                continue
            for selector in _COMMA.split(selectors, 1000)[:1000]:
                rule = _rule(selector.strip(), effects, names, len(rules))
                if rule is not None:
                    rules.append(rule)
            if len(rules) >= MOST_RULES:
                return tuple(rules)
        left -= min(left, len(sheet))
    return tuple(rules)


def _rule(text: str, effects: Effects, names: frozenset[str], order: int) -> Rule | None:
    read = _read_selector(text) if 0 < len(text) <= LONGEST_SELECTOR else None
    if read is None:
        return None
    subject, around = read
    if not all(c.may_be_in(names) for c in (subject, *(c for _, c in around))):
        return None
    if subject.is_bare and not (around or subject.any_of):
        return None
    weights = [subject.weight, *(c.weight for _, c in around)]
    ids, classes, tags = (sum(column) for column in zip(*weights, strict=True))
    return Rule(subject, around, (ids, classes, tags, order), effects)


def _blocks(sheet: str, names: frozenset[str]) -> Iterator[tuple[str, str]]:
    """Selectors and style of each rule about one of the names, as far as a screen uses them."""
    cut = _cut(sheet)
    found = [n for name in cut.of_class.keys() & names for n in cut.of_class[name]]
    found += [n for n in cut.others if _may_be_about(cut.rules[n][0], names)]
    return (cut.rules[n] for n in sorted(found))


@dataclass(frozen=True, slots=True)
class _Cut:
    """A sheet's rules, selectors and style; the numbers of those about one class, by its name."""

    rules: tuple[tuple[str, str], ...]
    of_class: Mapping[str, Sequence[int]]
    others: Sequence[int]


def _cut(sheet: str) -> _Cut:
    """Cut a sheet, or take the known cut: a page asks three times, and pages share sheets."""
    return _known_cut(sheet) if len(sheet) <= LONGEST_KEPT else _cut_new(sheet)


@lru_cache(maxsize=4)
def _known_cut(sheet: str) -> _Cut:
    return _cut_new(sheet)


def _cut_new(sheet: str) -> _Cut:
    of_class: dict[str, list[int]] = {}
    others: list[int] = []
    rules = tuple(_rules_for_screens(sheet))
    for number, (selectors, _) in enumerate(rules):
        if selectors[:1] == "." and selectors[1:].replace("-", "_").isidentifier():
            of_class.setdefault(selectors[1:], []).append(number)
        else:
            others.append(number)
    return _Cut(rules, of_class, others)


def _rules_for_screens(sheet: str) -> Iterator[tuple[str, str]]:
    """Selectors and style of each rule that a screen uses; those within others are included."""
    if "/*" in sheet:
        sheet = _COMMENT.sub("", sheet)
    outer: list[tuple[bool, str]] = []  # of what is open: is it for a screen, its selectors
    is_seen, selectors = True, ""
    deeper = nested = 0
    for piece in sheet.split("}"):
        *openers, style = piece.split("{")
        for opener in openers:
            before, _, head = opener.rpartition(";")
            if before and selectors and is_seen:
                yield selectors, before
            if len(outer) >= DEEPEST:
                deeper += 1
                continue
            outer.append((is_seen, selectors))
            if "@" in head:
                is_seen = is_seen and not _is_not_seen(head)
            elif selectors:
                nested += 1
                selectors = _nested(selectors, head) if nested <= MOST_NESTED else ""
            else:
                selectors = head
        if is_seen and selectors and not deeper and style and not style.isspace():
            yield selectors, style
        if deeper:
            deeper -= 1
        else:
            is_seen, selectors = outer.pop() if outer else (True, "")


def _nested(outer: str, inner: str) -> str:
    """The selectors of a rule within another (CSS Nesting 1, 3)."""
    around = [part.strip() for part in _COMMA.split(outer[:LONGEST_SELECTOR])[:8]]
    within = [part.strip() for part in _COMMA.split(inner[:LONGEST_SELECTOR])[:8]]
    pairs = [(a, i) for a in around for i in within]
    return ",".join(i.replace("&", a, 2) if "&" in i else f"{a} {i}" for a, i in pairs)


_ROOTS = frozenset((":root", "html", "body"))
_VARIABLE = re.compile(r"(--[\w-]+)\s*:\s*([^;{}]{1,100})")


def root_variables(sheets: Iterable[str]) -> dict[str, str]:
    """The variables that sheets set for all of a page, without those of single themes and parts."""
    styles = (
        style
        for sheet in sheets
        if "--" in sheet
        for number in _cut(sheet).others
        for selectors, style in (_cut(sheet).rules[number],)
        if "--" in style and not _ROOTS.isdisjoint(p.strip() for p in selectors.split(","))
    )
    return dict(pair for style in styles for pair in _VARIABLE.findall(style))


def _may_be_about(selectors: str, names: frozenset[str]) -> bool:
    """Say quickly whether any of the names stands in a selector."""
    found = _NAME.findall(selectors)
    if "\\" in selectors:  # "md\:block", as style libraries name what holds for some widths
        found = [_unescaped(name) for name in found]
    return "[" in selectors or not names.isdisjoint(found)


@lru_cache(maxsize=512)
def _is_not_seen(opener: str) -> bool:
    return _NOT_SEEN.search(opener) is not None


def names_in(root: HtmlElement) -> frozenset[str]:
    """The classes, ids and tags that stand in the page of an element."""
    page = root.getroottree().iter()
    names = {element.tag for element in page if isinstance(element.tag, str)}
    for text in classes_and_ids(root):
        names.update(text.split())
    return frozenset(names)


# --- what holds for an element -------------------------------------------------------------------


@dataclass
class Cascade:
    """The rules of a page by what their subjects are named, and what was found out so far."""

    rules: Sequence[Rule]
    _steps: int = 0
    _known: dict[tuple[str, str | None, str | None], tuple[Rule, ...]] = field(default_factory=dict)
    _by_name: dict[str, list[Rule]] = field(default_factory=dict)
    _siblings: Siblings = field(default_factory=Siblings)

    def __post_init__(self) -> None:
        for rule in self.rules:
            subject = rule.subject
            if subject.id:
                key = f"#{subject.id}"
            elif subject.classes:
                key = f".{subject.classes[0]}"
            else:
                key = subject.tag or ANY
            self._by_name.setdefault(key, []).append(rule)
        self._by_name = {n: rules[-MOST_OF_ONE_NAME:] for n, rules in self._by_name.items()}

    def effects(self, element: HtmlElement) -> dict[str, object]:
        """What the rules say of an element, by property; the heavier and later rule holds."""
        found: dict[str, object] = {}
        for rule in self.candidates(element):
            if not self._is_in_place(rule, element):
                continue
            found.update(rule.effects)
        return found

    def candidates(self, element: HtmlElement) -> tuple[Rule, ...]:
        """The rules whose subjects are named like an element, the lightest first."""
        key = (str(element.tag), element.get("class"), element.get("id"))
        if key not in self._known:
            names = [ANY, key[0], *(f".{c}" for c in (key[1] or "").split()[:40]), f"#{key[2]}"]
            rules = [r for n in dict.fromkeys(names) for r in self._by_name.get(n, ())]
            self._steps += len(rules)
            is_open = self._steps <= MOST_STEPS
            fitting = (r for r in rules if is_open and _is_named_like(r.subject, key))
            self._known[key] = tuple(sorted(fitting, key=lambda r: r.rank))
        return self._known[key]

    def _is_in_place(self, rule: Rule, element: HtmlElement) -> bool:
        """Check what the name alone does not tell: attributes, and the elements around."""
        subject = rule.subject
        if not subject.is_plain and not self._fits(subject, element):
            return False
        here: HtmlElement | None = element
        for join, compound in rule.around:
            step = HtmlElement.getparent if join in " >" else HtmlElement.getprevious
            here = step(here) if here is not None else None
            while here is not None and join in " ~" and not self._fits(compound, here):
                here = step(here)
            if here is None or (join in ">+" and not self._fits(compound, here)):
                return False
        return True

    def _fits(self, compound: Compound, element: HtmlElement) -> bool:
        """Past the bound nothing fits any more, so that the rest is taken for shown."""
        self._steps += 1
        return self._steps <= MOST_STEPS and compound.fits(element, self._siblings)


def _is_named_like(subject: Compound, key: tuple[str, str | None, str | None]) -> bool:
    tag, classes, name = key
    if subject.tag not in (None, tag) or subject.id not in (None, name):
        return False
    return set(subject.classes) <= set((classes or "").split())
