"""The vocabulary of points: words for parts and values (models/data/point_words.toml).

A point of a sheet is made ready to be looked for: its part, its facets (sets of values that
exclude one another), the sheet's own cue words beside the general ones.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources
from typing import Any

from extractors.folding import plain
from models.sheet_records import Rule

_NUMBER_WORDS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
    "nine": 9, "ten": 10, "single": 1, "double": 2, "twin": 2, "triple": 3, "treble": 3,
    "zweier": 2, "dreier": 3, "vierer": 4, "funfer": 5, "siebener": 7,
    "ein": 1, "eine": 1, "zwei": 2, "drei": 3, "vier": 4, "funf": 5, "sechs": 6, "sieben": 7,
    "acht": 8, "neun": 9, "un": 1, "une": 1, "deux": 2, "trois": 3, "quatre": 4, "cinq": 5,
    "sept": 7, "huit": 8, "neuf": 9, "uno": 1, "una": 1, "due": 2, "tre": 3, "quattro": 4,
    "cinque": 5, "sei": 6, "sette": 7, "otto": 8, "nove": 9, "dos": 2, "tres": 3, "cuatro": 4,
    "cinco": 5, "seis": 6, "siete": 7, "ocho": 8, "nueve": 9,
}  # fmt: skip
_ALTERNATIVES = "|".join(sorted(_NUMBER_WORDS, key=len, reverse=True))
NUMBER = rf"(?:\d+(?:[.,]\d+)?|{_ALTERNATIVES})"


def number_of(text: str) -> float | None:
    """The number a word or figure stands for.

    >>> number_of("seven"), number_of("7"), number_of("lots")
    (7.0, 7.0, None)
    """
    text = plain(text).strip()
    if text in _NUMBER_WORDS:
        return float(_NUMBER_WORDS[text])
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return None


def first_number(text: str) -> float | None:
    """The number a value begins with: "five barrels" is 5; None where it begins otherwise.

    >>> first_number("five barrels"), first_number("lozenge"), first_number("10 degrees")
    (5.0, None, 10.0)
    """
    match = re.match(rf"\s*({NUMBER})(?![a-z])", plain(text))
    return number_of(match.group(1)) if match else None


@dataclass(frozen=True, eq=False)
class Facet:
    """Values that exclude one another, each with its pattern."""

    name: str
    values: Mapping[str, re.Pattern[str]]

    def canonical(self, text: str) -> str | None:
        """The value a text stands for, however it is worded; None where it is none of them."""
        folded = plain(text).strip()
        if folded in self.values:
            return folded
        found = [v for v, pattern in self.values.items() if pattern.fullmatch(folded)]
        if not found:
            found = [v for v, pattern in self.values.items() if pattern.search(folded)]
        return found[0] if len(set(found)) == 1 else None


@dataclass(frozen=True, eq=False)
class PointWords:
    """One point made ready: what names its part, which values it can have, what counts alone."""

    point: str
    topic: str
    topics: re.Pattern[str]
    facets: tuple[Facet, ...]
    alone: re.Pattern[str] | None = None
    own_cues: re.Pattern[str] | None = None  # the sheet's own phrases of two words and more
    count: re.Pattern[str] | None = None
    count_near: re.Pattern[str] | None = None  # counts only where the sentence names the part
    number: re.Pattern[str] | None = None
    sized: bool = False  # the number is a length of the sheet's own
    count_cues: tuple[tuple[str, re.Pattern[str]], ...] = ()  # the sheet's words for a number
    presence: str | None = None
    also: str | None = None
    also_facets: tuple[str, ...] = ()
    bare: bool = False  # a value alone in its clause is said of the part
    named: frozenset[str] = frozenset()  # every value that the sheet itself names


def _units(row: dict[str, Any], rules: tuple[Rule, ...]) -> re.Pattern[str] | None:
    """Unit words of a point that is a plain number: the vocabulary's and the sheet's own."""
    words = list(row.get("number", ()))
    words += [re.escape(plain(r.unit)) for r in rules if r.unit and r.unit not in ("degrees", "")]
    return _pattern(words) if words else None


def _count_cues(rules: tuple[Rule, ...]) -> tuple[tuple[str, re.Pattern[str]], ...]:
    return tuple(
        (f"{number:g}", _pattern(re.escape(plain(w)) for w in said))
        for rule in rules
        for value, said in rule.cues.items()
        if said and (number := first_number(value)) is not None
    )


def _own_cues(rules: tuple[Rule, ...]) -> re.Pattern[str] | None:
    phrases = [w for rule in rules for said in rule.cues.values() for w in said if " " in w]
    return _pattern(re.escape(plain(p)) for p in phrases) if phrases else None


@cache
def _vocabulary() -> dict[str, Any]:
    text = resources.files("models").joinpath("data/point_words.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _pattern(words: Iterable[str]) -> re.Pattern[str]:
    """Whole words, the longest first so that "wire core" is not read as "core"."""
    ordered = sorted(set(words), key=len, reverse=True)
    return re.compile("(?<![a-z0-9])(?:" + "|".join(f"(?:{w})" for w in ordered) + ")(?![a-z])")


@cache
def topics() -> dict[str, re.Pattern[str]]:
    """Every part the vocabulary knows, with the pattern that names it."""
    return {name: _pattern(t["words"]) for name, t in _vocabulary()["topic"].items()}


@lru_cache(maxsize=4096)
def is_plain_word(word: str) -> bool:
    """Whether a folded word names a part or one of the known values.

    >>> is_plain_word("rivets"), is_plain_word("torx"), is_plain_word("tavoy")
    (True, True, False)
    """
    if any(pattern.fullmatch(word) for pattern in topics().values()):
        return True
    return any(
        p.fullmatch(word) for name in _vocabulary()["facet"] for p in facet(name).values.values()
    )


@cache
def facet(name: str) -> Facet:
    """A facet of the general vocabulary."""
    rows = _vocabulary()["facet"][name]
    return Facet(name, {value: _pattern(words) for value, words in rows.items()})


@cache
def kinds_within(name: str) -> Mapping[str, frozenset[str]]:
    """The broad values of a facet, each with the values it may mean ("metal": titanium ...)."""
    rows = _vocabulary().get("broad", {}).get(name, {})
    return {broad: frozenset(values) for broad, values in rows.items()}


@cache
def known_points() -> tuple[str, ...]:
    """The points the vocabulary has words for, each under its first name only."""
    return tuple(name for name, row in _vocabulary()["point"].items() if "like" not in row)


def is_known_point(name: str) -> bool:
    """Whether the vocabulary has words for a point of this name, or for one it stands for."""
    return name in _vocabulary()["point"]


def main_point(name: str) -> str:
    """The point that a name stands for: "barrels" is hinge_barrels.

    >>> main_point("barrels"), main_point("clasp")
    ('hinge_barrels', 'clasp')
    """
    row = _vocabulary()["point"].get(name, {})
    return main_point(row["like"]) if "like" in row else name


@cache
def known_values(point: str) -> tuple[str, ...]:
    """The values the vocabulary knows for a point; empty for counts, numbers and own points.

    >>> known_values("screw_slot")[:2]
    ('slotted', 'phillips')
    """
    row = _row_of(point) if point in _vocabulary()["point"] else {}
    return tuple(dict.fromkeys(value for one in _facets_of(row) for value in one.values))


def _facets_of(row: dict[str, Any]) -> tuple[Facet, ...]:
    names = (*row.get("facets", ()), *row.get("also_facets", ()))
    return tuple(facet(name) for name in names)


def said_of(point: str) -> str:
    """What a point takes, for whoever writes a sheet: its values, a count or a plain number."""
    row = _row_of(point)
    told = list(known_values(point))
    if "count" in row:
        told.append("a count (7, or [5, 7])")
    if "number" in row:
        told.append('a number (always = "10 ± 2")')
    return ", ".join(told) or "words of your own (cues, topic)"


def point_of_phrase(text: str) -> tuple[str, str] | None:
    """The point and the value that a few words stand for; None where it is none, or several.

    >>> point_of_phrase("gold rivets"), point_of_phrase("seven barrels"), point_of_phrase("black")
    (('rivet_colour', 'gold'), ('hinge_barrels', '7'), None)
    """
    folded = plain(text).strip()
    found: dict[str, tuple[str, str]] = {}
    for point in known_points():
        row = _row_of(point)
        if counts := row.get("count"):
            match = re.fullmatch(rf"({NUMBER})[\s-]+{_pattern(counts).pattern}", folded)
            number = number_of(match.group(1)) if match else None
            if number is not None:
                return point, f"{number:g}"
        topic = topics().get(row.get("topic", ""))
        part = topic.search(folded) if topic and row["topic"] != "front" else None
        if part is None:
            continue
        rest = f"{folded[: part.start()]} {folded[part.end() :]}".strip()
        for one in _facets_of(row):
            if rest in one.values or any(p.fullmatch(rest) for p in one.values.values()):
                found.setdefault(row["topic"], (point, one.canonical(rest) or rest))
    return next(iter(found.values())) if len(found) == 1 else None


def is_known_value(rule: Rule, value: str) -> bool:
    """Whether a seller's other words for this value are recognised: general ones or the sheet's."""
    if value in ("any", "none", "present") or first_number(value) is not None:
        return True
    if rule.cues.get(value):
        return True
    return any(_reads_as(one, value) for one in _facets_of(_row_of(rule.point)))


def _reads_as(one: Facet, value: str) -> bool:
    folded = plain(value)
    return folded in one.values or any(p.search(folded) for p in one.values.values())


def point_words(point: str, rules: Iterable[Rule] = ()) -> PointWords:
    """Make a point ready, with the cue words and the values of the sheet's rules about it."""
    rules = tuple(rules)
    row = _row_of(point)
    own_topics = [re.escape(plain(t)) for rule in rules for t in rule.topic]
    topic = _topic_of(point, row, rules)
    general = _vocabulary()["topic"].get(topic, {}).get("words", ())
    fallback = [] if general or own_topics else _name_words(point)
    counts = [*row.get("count", ())] + (own_topics if "count" in row else [])
    counts += [] if counts or row.get("number") else _counted_nouns(point, rules)
    facets = tuple(facet(name) for name in row.get("facets", ()))
    facets = _with_own_values(facets, point, rules, bool(counts))
    said = [v for r in rules for v in (*r.values, *r.usual, *r.never)]
    return PointWords(
        point=point,
        topic=topic or f"own:{point}",
        topics=_pattern([*general, *own_topics, *fallback, *row.get("labels", ())]),
        facets=facets,
        named=frozenset(c for one in facets for v in said if (c := one.canonical(v))),
        alone=_pattern(row["alone"]) if row.get("alone") else None,
        own_cues=_own_cues(rules),
        count=_pattern(counts) if counts else None,
        count_near=_pattern(row["count_near"]) if row.get("count_near") else None,
        number=_units(row, rules),
        sized=any(r.unit in ("mm", "cm", "millimetres") for r in rules),
        count_cues=_count_cues(rules),
        presence=row.get("presence"),
        also=row.get("also"),
        also_facets=tuple(row.get("also_facets", ())),
        bare=row.get("bare", False),
    )


def _row_of(point: str) -> dict[str, Any]:
    """The vocabulary's row; a row may send on to another ("hinges" is read as hinge_barrels)."""
    row = _vocabulary()["point"].get(point)
    if row and "like" in row:
        return _row_of(row["like"])
    return dict(row or _guess_row(point))


def _guess_row(point: str) -> dict[str, Any]:
    """A point of the sheet's own: its part and facet read from its name ("pad_colour")."""
    words = point.split("_")
    suffixes = _vocabulary()["suffix"]
    named = [suffixes[w] for w in words if w in suffixes]
    rest = " ".join(w for w in words if w not in suffixes)
    topic = next((t for t, pattern in topics().items() if pattern.search(rest)), "")
    counted = {"count", "number", "studs", "barrels", "dots", "screws", "pins", "rivets"}
    row: dict[str, Any] = {"topic": topic, "facets": named or ["colour", "shape", "material"]}
    if counted & set(words) and not named:
        row["count"] = [w for w in words if w in counted - {"count", "number"}] or words[:1]
    if {"angle", "tilt", "degrees", "lean"} & set(words):
        row["number"] = _vocabulary()["point"]["front_tilt"]["number"]
    return row


def _counted_nouns(point: str, rules: tuple[Rule, ...]) -> list[str]:
    """What a point of the sheet's own counts, if its name says so ("bars": "double bar")."""
    named = {w.rstrip("s") for w in re.split("[_ ]", " ".join([point, *_topics_of(rules)]))}
    values = (v for rule in rules for v in (*rule.values, *rule.never, *rule.usual))
    found = [re.fullmatch(rf"{NUMBER}[\s-]+([a-z]+)", plain(v).strip()) for v in values]
    nouns = {m.group(1).rstrip("s") for m in found if m} & named
    bare = any(number_of(v) is not None for rule in rules for v in (*rule.values, *rule.never))
    if bare and not _EXTENT.search(point) and not any(rule.unit for rule in rules):
        return [f"{re.escape(t)}(?:s|e?n)?" for t in _topics_of(rules)] or _name_words(point)
    longer = [t for t in _topics_of(rules) if t.split()[-1].rstrip("s") in nouns]
    return [f"{re.escape(noun.rstrip('s'))}s?" for noun in sorted({*nouns, *longer})]


_EXTENT = re.compile(r"width|height|length|thick|diameter|depth|size|angle|lean|distance|gap|year")


def _topic_of(point: str, row: dict[str, Any], rules: tuple[Rule, ...]) -> str:
    """The part the vocabulary knows; not one that a sheet's own words are only a kind of.

    The hinges of "hinge_kind" are hinges; the "fold joints" of a folding frame are no joints of
    front and temple.
    """
    topic: str = row.get("topic", "")
    own = _topics_of(rules)
    if not own or not topic or point in _vocabulary()["point"]:
        return topic
    return topic if any(topics()[topic].fullmatch(t) for t in own) else ""


def _topics_of(rules: tuple[Rule, ...]) -> list[str]:
    return [plain(t) for rule in rules for t in rule.topic]


def _name_words(point: str) -> list[str]:
    """The name itself and its longer words: "case_clasp" is looked for as "clasp" too."""
    plain_name = point.replace("_", "[ _-]?")
    suffixes = _vocabulary()["suffix"]
    last = [w for w in point.split("_") if len(w) > 3 and w not in suffixes]
    return [plain_name, *(f"{w}s?" for w in last[-1:])]


def _with_own_values(
    facets: tuple[Facet, ...], point: str, rules: tuple[Rule, ...], is_counted: bool
) -> tuple[Facet, ...]:
    """The facets with the sheet's words, which stand before the general ones.

    A value that says more than a general one ("long oval" beside "never oval", and whatever is
    more than one word of the vocabulary on a point of the sheet's own) is a value by itself. A
    point of the sheet's own has no facet that none of its values is of.
    """
    is_house = _says_its_facet(point)
    said = {v: w for v, w in _words_by_value(rules).items() if not _is_no_word(v, is_counted)}
    homes = {value: _home(value, facets, is_house, rules) for value in said}
    if not is_house and None in homes.values():
        # one word of the sheet's own, and the values are a set of their own ("screwed", "nylon")
        general = {f.name: f.values for f in facets}
        said = {v: [*w, *_general_words(homes[v], general)] for v, w in said.items()}
        homes = dict.fromkeys(homes)
    used = [f for f in facets if is_house or any(h and h[0] == f.name for h in homes.values())]
    own = used[0].name if used else f"own:{point}"
    added: dict[str, dict[str, list[str]]] = {f.name: {} for f in used}
    for value, words in said.items():
        name, known = homes[value] or (own, value)
        more = words if homes[value] else [_phrase(value), *words]
        added.setdefault(name, {}).setdefault(known, []).extend(more)
    general = {f.name: f.values for f in used}
    return tuple(Facet(n, _before(words, general.get(n, {}))) for n, words in added.items())


def _general_words(
    home: tuple[str, str] | None, general: Mapping[str, Mapping[str, re.Pattern[str]]]
) -> list[str]:
    return [general[home[0]][home[1]].pattern] if home else []


def _says_its_facet(point: str) -> bool:
    """Whether the vocabulary, or the point's own name ("clip_shape"), tells what its values are."""
    suffixes = _vocabulary()["suffix"]
    return point in _vocabulary()["point"] or any(w in suffixes for w in point.split("_"))


def _words_by_value(rules: tuple[Rule, ...]) -> dict[str, list[str]]:
    """Every value that the rules name, with the sheet's own words for it, ready for a pattern."""
    said: dict[str, list[str]] = {}
    for rule in rules:
        for value, words in rule.cues.items():
            said.setdefault(value, []).extend(re.escape(plain(w)) for w in words)
        for value in (*rule.values, *rule.never, *rule.usual):
            said.setdefault(value, [])
    return said


def _is_no_word(value: str, is_counted: bool) -> bool:
    number = first_number(value)
    return value in ("any", "none", "present") or (
        number is not None and (is_counted or number_of(value) is not None)
    )


def _home(
    value: str, facets: tuple[Facet, ...], is_house: bool, rules: tuple[Rule, ...]
) -> tuple[str, str] | None:
    """Facet and value of the vocabulary that a sheet's value is; None for one of its own."""
    for one in facets:
        known = one.canonical(value)
        if known is None:
            continue
        bare = _SHAPED.sub("", plain(value)).strip()
        if bare == known or one.values[known].fullmatch(bare):
            return one.name, known
        if is_house and known not in {one.canonical(v) for v in _contrary(value, rules)}:
            return one.name, known
    return None


_SHAPED = re.compile(r"[ -]*\b(?:shaped?|colou?r(?:ed)?|toned?|type|style)\b")


def _contrary(value: str, rules: tuple[Rule, ...]) -> set[str]:
    """The values on the other side: what can never be, for one that may be."""
    allowed = {v for rule in rules for v in (*rule.values, *rule.usual)}
    never = {v for rule in rules for v in rule.never} - allowed
    return never if value in allowed else allowed if value in never else set()


def _phrase(value: str) -> str:
    """A value of several words as sellers write it: "double bar" is "two bars" too."""
    folded = plain(value).strip()
    match = re.match(rf"({NUMBER})[\s-]+(?=\w)", folded)
    number = number_of(match.group(1)) if match else None
    same = [w for w, n in _NUMBER_WORDS.items() if n == number] if match else []
    head = f"(?:{'|'.join([f'{number:g}', *same])})[ -]" if match else ""
    words = re.split(r"[\s-]+", folded[match.end() if match else 0 :])
    plural = "(?:s|es)?" if words[-1][-1:].isalpha() and len(words[-1]) > 2 else ""
    return head + "[ -]".join(map(re.escape, words)) + plural


def _before(
    words: Mapping[str, list[str]], general: Mapping[str, re.Pattern[str]]
) -> dict[str, re.Pattern[str]]:
    """The sheet's words as patterns, then the general ones; of equals the first is found."""
    own = {value: _pattern(said) for value, said in words.items() if said}
    joined = {
        value: re.compile(f"{pattern.pattern}|{general[value].pattern}")
        if value in general
        else pattern
        for value, pattern in own.items()
    }
    return {**joined, **{v: p for v, p in general.items() if v not in joined}}
