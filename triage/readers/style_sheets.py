"""The rules of style sheets, as far as they tell something of elements that stand in a page.

A small part of CSS 2.2 and Selectors 3, enough for that: compounds of tag, class, id, attribute
and `:not()`, joined as descendants or children; the cascade by specificity and order. Rules that
a screen does not use are left out. All work is bounded; nothing is fetched, no script is run.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from triage.readers.markup import HtmlElement, classes_and_ids

MOST_TEXT = 8_000_000  # characters of all sheets of a page
MOST_RULES = 20_000  # that tell anything of names that stand in the page
MOST_OF_ONE_NAME = 100  # rules, the last ones
LONGEST_SELECTOR = 400
MOST_STEPS = 500_000  # comparisons of rules with elements, in one page

ANY = "*"  # what a rule without tag, class and id goes by
Effects = tuple[tuple[str, object], ...]  # what a style says: (property, meaning)

_COMMENT = re.compile(r"/\*.*?\*/", re.S)
_NOT_SEEN = re.compile(
    r"(?i)@media.*(?:\b(?:print|speech|aural|tty|braille)\b|max-(?:device-)?width\s*:\s*\d{1,3}(?:\D|$)|width\s*<"
    r"|prefers-color-scheme\s*:\s*dark|prefers-contrast|forced-colors)|@(?:-\w+-)?keyframes",
    re.S,
)
_NAME = re.compile(r"(?:[\w-]|\\.)+")
_PART = re.compile(
    r"(?P<tag>\*|[a-z][\w-]*)|\.(?P<klass>(?:[\w-]|\\.)+)|\#(?P<id>(?:[\w-]|\\.)+)"
    r"|\[\s*(?P<name>[\w-]+)\s*(?:(?P<how>[~^$*|]?=)\s*[\"']?(?P<value>[^\"'\]]*)[\"']?\s*)?\]"
    r"|:not\((?P<inner>[^()]*)\)",
    re.I,
)
_JOIN = re.compile(r"\s*>\s*|\s+")


# --- selectors -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Compound:
    """Conditions on one element, all of which must hold; none of `refused` may."""

    tag: str | None = None
    id: str | None = None
    classes: tuple[str, ...] = ()
    attributes: tuple[tuple[str, str, str], ...] = ()
    refused: tuple[Compound, ...] = ()

    @property
    def weight(self) -> tuple[int, int, int]:
        """The specificity (Selectors 3, clause 9)."""
        counts = [
            (self.id is not None, len(self.classes) + len(self.attributes), self.tag is not None),
            *(c.weight for c in self.refused),
        ]
        ids, names, tags = (sum(column) for column in zip(*counts, strict=True))
        return ids, names, tags

    def fits(self, element: HtmlElement) -> bool:
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
        return not any(c.fits(element) for c in self.refused)


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
    attributes, refused = [], []
    position = 0
    while position < len(text):
        match = _PART.match(text, position)
        if match is None or (match["tag"] and position):
            return None
        position = match.end()
        if match["name"]:
            attributes.append((match["name"].lower(), match["how"] or "", match["value"] or ""))
        elif match["inner"] is not None:
            inner = read_compound(match["inner"].strip())
            if inner is None:
                return None
            refused.append(inner)
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
    )


def _unescaped(name: str) -> str:
    return re.sub(r"\\(.)", r"\1", name) if "\\" in name else name


def _read_selector(
    text: str,
) -> tuple[Compound, tuple[tuple[str, Compound], ...]] | None:
    """Read a selector as its subject and what must stand around it, the nearest first."""
    compounds = [read_compound(part) for part in _JOIN.split(text)]
    if len(compounds) > 8 or None in compounds:
        return None
    known = [c for c in compounds if c is not None]
    joins = [">" if ">" in join else " " for join in _JOIN.findall(text)]
    return known[-1], tuple(zip(joins[::-1], known[-2::-1], strict=True))


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
            for selector in selectors.split(",", 1000)[:1000]:
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
    needed = {n for n in (subject.tag, subject.id, *subject.classes) if n is not None}
    if not needed <= names or not (needed or subject.attributes):
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


@lru_cache(maxsize=4)  # it is asked for several times a page, and a site's pages share sheets
def _cut(sheet: str) -> _Cut:
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
    """Selectors and style of each rule that a screen uses; those within at-rules are included."""
    if "/*" in sheet:
        sheet = _COMMENT.sub("", sheet)
    outer: list[bool] = []  # of each at-rule that is open: whether it is not for a screen
    for piece in sheet.split("}"):
        head, brace, style = piece.rpartition("{")
        if not brace:
            if outer:
                outer.pop()
            continue
        if "{" in head:
            *openers, head = head.split("{")
            outer += map(_is_not_seen, openers)
        if "@" not in head and (not outer or not any(outer)):
            yield head, style


def _may_be_about(selectors: str, names: frozenset[str]) -> bool:
    """Say quickly whether any of the names stands in a selector."""
    return "[" in selectors or not names.isdisjoint(_NAME.findall(selectors))


@lru_cache(maxsize=512)
def _is_not_seen(opener: str) -> bool:
    return _NOT_SEEN.search(opener) is not None


def names_in(root: HtmlElement) -> frozenset[str]:
    """The classes, ids and tags that stand in a page."""
    names = {element.tag for element in root.iter() if isinstance(element.tag, str)}
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
        if (subject.attributes or subject.refused) and not subject.fits(element):
            return False
        here: HtmlElement | None = element
        for join, compound in rule.around:
            here = here.getparent() if here is not None else None
            while here is not None and join == " " and not self._fits(compound, here):
                here = here.getparent()
            if here is None or (join == ">" and not self._fits(compound, here)):
                return False
        return True

    def _fits(self, compound: Compound, element: HtmlElement) -> bool:
        """Past the bound nothing fits any more, so that the rest is taken for shown."""
        self._steps += 1
        return self._steps <= MOST_STEPS and compound.fits(element)


def _is_named_like(subject: Compound, key: tuple[str, str | None, str | None]) -> bool:
    tag, classes, name = key
    if subject.tag not in (None, tag) or subject.id not in (None, name):
        return False
    return set(subject.classes) <= set((classes or "").split())
