"""The word lists in extractors/data, made ready for matching.

A list is a CSV file with the columns class, language, value, cue: one cue a row. A cue is a
phrase; `(a|b c|)` stands for any one of its alternatives, `#` for a number up to 99 in digits or
words, and ` ... ` for up to GAP further words of the same sentence. Accents, case, hyphens and
apostrophes do not count. Adding a language is adding rows.
"""

from __future__ import annotations

import csv
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import NamedTuple

from spacy.matcher import PhraseMatcher

from extractors.folding import plain
from extractors.nlp import known_words, make_matcher

GAP = 5
WIDE = 200  # variants above which a cue is matched as an expression
LISTS = (
    "authenticity",
    "colours",
    "condition",
    "construction",
    "eras",
    "key_phrases",
    "markings",
    "words",
)
# Small words and neighbours: needed only beside other cues, so looked for when asked
ON_DEMAND = {
    "authenticity": ("other", "topic", "look", "famous"),
    "eras": (
        *("blocks_before", "blocks_near", "blocks_after", "makes", "approx", "before", "after"),
        *("early", "mid", "late", "link", "copied"),
    ),
    "markings": (
        *("lead", "stop", "article", "prep", "adj", "place", "more", "except", "sign"),
        *("object", "manner"),
    ),
    "colours": ("part",),
    "words": ("illegible", "watch", "instead"),
}
WORD = re.compile(r"[^\W_]+|[.,;:!?()|/&+=\n•·]")
_GROUP = re.compile(r"\(([^()]*)\)")


@dataclass(frozen=True, slots=True)
class Cue:
    """One row of a word list: what finding the phrase means."""

    name: str  # the list and the class, as in "key_phrases.urgency"
    language: str
    value: str
    strict: bool  # counts only in lines of its own language
    text: str


@dataclass(frozen=True, slots=True)
class Wide:
    """A cue of many variants: an expression, tried only at its first words."""

    cue: Cue
    pattern: re.Pattern[str]
    first_words: frozenset[str]


class Node(NamedTuple):
    """A word of the phrases: what ends with it (class, value, "" or its language), what follows."""

    ends: list[tuple[str, str, str]]
    more: dict[str, Node]


@dataclass(frozen=True, slots=True)
class Lexicon:
    """All word lists: spaCy's matcher for plain phrases, expressions for cues of many variants.

    `cues` goes from the matcher's key to the meaning. `wide` goes from a telling word to the
    cues that cannot match without it or one of its like; so most are never tried on a text.
    `later` holds the lists of ON_DEMAND as one tree of words.
    """

    matcher: PhraseMatcher
    cues: Mapping[int, Cue]
    wide: Mapping[str, tuple[Wide, ...]]
    later: dict[str, Node]
    words: frozenset[str]  # of the plain phrases
    wide_firsts: frozenset[str]  # the words that cues of many variants may begin with


def read_rows(name: str) -> list[dict[str, str]]:
    """Read one list of extractors/data as rows; lines starting with # are remarks."""
    raw = resources.files("extractors").joinpath(f"data/{name}.csv").read_text("utf-8")
    lines = [line for line in raw.splitlines() if line.strip() and not line.startswith("#")]
    return list(csv.DictReader(lines))


@cache
def small_words(name: str) -> frozenset[str]:
    """Give the words of one class of the list of single words, in plain letters."""
    return frozenset(plain(row["word"]) for row in read_rows("small_words") if row["class"] == name)


@cache
def abbreviations() -> frozenset[str]:
    """Give the words whose full stop does not close a sentence."""
    return frozenset(plain(row["word"]) for row in read_rows("abbreviations"))


@cache
def numbers() -> dict[str, tuple[int, str]]:
    """Give the number words: value, and the language where it must be one ("" for any)."""
    return {
        plain(row["word"]): (int(row["value"]), row["language"] if row["strict"] == "yes" else "")
        for row in read_rows("numbers")
    }


def numeral(word: str, language: str = "") -> int | None:
    """Read a word or one or two digits as a number; None if it is neither.

    `language` is that of the line, "" if any will do.

    >>> numeral("seven"), numeral("7"), numeral("1950"), numeral("lens")
    (7, 7, None, None)
    >>> numeral("dos", "es"), numeral("dos", "fr")
    (2, None)
    """
    if word in numbers():
        value, only_in = numbers()[word]
        return value if not (only_in and language) or only_in == language else None
    return int(word) if len(word) <= 2 and word.isdecimal() else None


def as_key(word: str, language: str) -> str:
    """Give the form in which a word is matched: numbers up to 99 are all alike."""
    if word in numbers() or (len(word) <= 2 and word.isdecimal()):
        return "#" if numeral(word, language) is not None else word
    return word


@cache
def _figures_and_numbers() -> frozenset[str]:
    return frozenset((*numbers(), *map(str, range(100)), *(f"0{n}" for n in range(10))))


def as_keys(words: list[str], language: str) -> list[str]:
    """Give the forms in which the words of a line in a language are matched."""
    known = _figures_and_numbers()
    return [
        as_key(word, language) if word in known or not word.isascii() else word for word in words
    ]


def expand(cue: str) -> Iterator[str]:
    """Write out the alternatives of a cue.

    >>> sorted(expand("no (returns|refunds|)"))
    ['no ', 'no refunds', 'no returns']
    """
    group = _GROUP.search(cue)
    if group is None:
        yield cue
        return
    for choice in group.group(1).split("|"):
        yield from expand(f"{cue[: group.start()]}{choice}{cue[group.end() :]}")


def cut(phrase: str, language: str) -> tuple[str, ...]:
    """Cut a phrase into the words it is matched by."""
    marked = plain(phrase).replace("#", " 00 ")
    return tuple(as_key(word, language) for word in WORD.findall(marked))


@cache
def all_cues() -> tuple[Cue, ...]:
    """Read every list."""
    return tuple(
        Cue(
            f"{name}.{row['class']}",
            row["language"].rstrip("!"),
            row["value"] or "",
            row["language"].endswith("!"),
            row["cue"].strip(),
        )
        for name in LISTS
        for row in read_rows(name)
    )


def _pieces(cue: str) -> Iterator[tuple[str, ...]]:
    """Take a cue apart: its groups of alternatives in order, "..." being a gap."""
    for part in re.findall(r"\([^()]*\)|[^()]+", cue):
        if part.startswith("("):
            yield tuple(part[1:-1].split("|"))
        else:
            yield from ((piece,) for piece in re.split(r"(\.\.\.)", part) if piece.strip())


def _expression(cue: str, language: str) -> re.Pattern[str]:
    """Turn a cue into an expression over words that are each followed by one space."""
    built = []
    for choices in _pieces(cue):
        if choices == ("...",):
            built.append(rf"(?:[^ .!?;\n]+ ){{0,{GAP}}}?")
            continue
        words = ["".join(f"{word} " for word in cut(choice, language)) for choice in choices]
        built.append(f"(?:{'|'.join(re.escape(text) for text in sorted(words, key=len)[::-1])})")
    return re.compile("".join(built))


def _first_words(cue: str, language: str) -> set[str]:
    """Give the words a cue may begin with."""
    found: set[str] = set()
    for choices in _pieces(cue):
        starts = [cut(choice, language) for choice in choices]
        found.update(words[0] for words in starts if words)
        if all(starts):
            break
    return found


def _variants(cue: str) -> int:
    count = 1
    for choices in _pieces(cue):
        count *= len(choices) if choices != ("...",) else WIDE + 1
    return count


@cache
def common_words() -> frozenset[str]:
    """Give the small words that tell a language, in plain letters."""
    return frozenset(plain(row["word"]) for row in read_rows("stop_words"))


def _gate(cue: str, language: str) -> frozenset[str]:
    """Give words of which one must be in the text for a cue to match: those seen least."""
    gates = []
    for choices in _pieces(cue):
        cuts = [cut(choice, language) for choice in choices]
        if choices != ("...",) and all(cuts):
            gates.append(frozenset(max(words, key=_rarity) for words in cuts))
    return max(gates, key=lambda words: min(map(_rarity, words)))


def _rarity(word: str) -> tuple[bool, int]:
    return word not in common_words() and word.isalpha(), len(word)


@cache
def is_on_demand(name: str) -> bool:
    """Tell whether a class of a list is matched only when asked for."""
    listed, _, kind = name.partition(".")
    return kind in ON_DEMAND.get(listed, ())


def _phrases(cue: Cue) -> Iterator[tuple[tuple[str, ...], Cue]]:
    """Give each phrase of a cue; very short ones count only in lines of their own language."""
    for phrase in expand(cue.text):
        words = cut(phrase, cue.language)
        is_short = len(phrase.strip()) <= 3 and cue.language != "xx"
        is_strict = cue.strict or is_short  # "or" is gold in French only
        if words:
            yield words, replace(cue, strict=is_strict) if is_strict != cue.strict else cue


@cache
def lexicon() -> Lexicon:
    """Build the matchers over every list; once per process."""
    phrases: dict[str, set[tuple[str, ...]]] = defaultdict(set)
    meaning: dict[str, Cue] = {}
    wide: dict[str, list[Wide]] = defaultdict(list)
    later: dict[str, Node] = {}
    for number, cue in enumerate(all_cues()):
        if is_on_demand(cue.name):
            _plant(later, cue)
        elif _variants(cue.text) > WIDE:
            pattern = _expression(cue.text, cue.language)
            first_words = frozenset(_first_words(cue.text, cue.language))
            for word in _gate(cue.text, cue.language):
                wide[word].append(Wide(cue, pattern, first_words))
        else:
            for words, meant in _phrases(cue):
                key = f"{number}{'!' * meant.strict}"
                meaning[key] = meant
                phrases[key].add(words)
    matcher = make_matcher(phrases)
    return Lexicon(
        matcher,
        {known_words().strings[key]: cue for key, cue in meaning.items()},
        {word: tuple(cues) for word, cues in wide.items()},
        later,
        frozenset(word for variants in phrases.values() for words in variants for word in words),
        frozenset(word for cues in wide.values() for cue in cues for word in cue.first_words),
    )


def _plant(tree: dict[str, Node], cue: Cue) -> None:
    """Add the phrases of a cue to a tree of words."""
    for words, meant in _phrases(cue):
        more = tree
        for word in words:
            node = more.setdefault(word, Node([], {}))
            more = node.more
        end = meant.name, meant.value, meant.language if meant.strict else ""
        if end not in node.ends:
            node.ends.append(end)


@cache
def vocabulary() -> frozenset[str]:
    """Give every word that any list knows, in plain letters."""
    words: set[str] = set()
    for entry in resources.files("extractors").joinpath("data").iterdir():
        if entry.name.endswith((".csv", ".toml")):
            lines = entry.read_text("utf-8").splitlines()
            told = "\n".join(line for line in lines if not line.startswith("#"))
            words.update(re.findall(r"[^\W\d_]{4,}", plain(told)))
    return frozenset(words)


@cache
def swapped_letters() -> dict[str, str]:
    """Map the sorted letters of each known word of five letters or more to it, if only one fits."""
    by_letters: dict[str, set[str]] = defaultdict(set)
    for word in vocabulary():
        if len(word) >= 5:
            by_letters["".join(sorted(word))].add(word)
    return {letters: words.pop() for letters, words in by_letters.items() if len(words) == 1}
