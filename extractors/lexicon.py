"""The word lists in extractors/data, made ready for matching.

A list is a CSV file with the columns class, language, value, cue: one cue a row. A cue is a
phrase; `(a|b c|)` stands for any one of its alternatives, `#` for a number up to 99 in digits or
words, and ` ... ` for up to GAP further words of the same sentence. Accents, case, hyphens and
apostrophes do not count. Adding a language is adding rows.
"""

from __future__ import annotations

import csv
import gc
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources
from itertools import chain, product
from typing import Any, NamedTuple

from extractors.folding import plain
from extractors.nlp import PhraseTable

GAP = 5
WIDE = 200  # variants above which a cue is matched as an expression
LONG = 5  # words from which a phrase is looked for only where its first BEGINNING words stand
BEGINNING = 4
_BEGINNINGS = 100  # ways to begin that are written out for a cue of many variants
LISTS = (
    "authenticity",
    "colours",
    "condition",
    "construction",
    "eras",
    "key_phrases",
    "markings",
    "parts",
    "words",
)
# Small words and neighbours: needed only beside other cues, so looked for when asked
ON_DEMAND = {
    "authenticity": ("other", "topic", "look", "famous"),
    "eras": (
        *("blocks_before", "blocks_near", "blocks_after", "makes", "approx", "before", "after"),
        *("early", "mid", "late", "first", "second", "link", "copied", "original", "at"),
        *("onward", "upto", "onward_behind", "upto_behind", "decade_more", "share", "ordinal"),
        *("case", "name_label"),
    ),
    "markings": (
        *("lead", "stop", "article", "prep", "adj", "place", "more", "except", "sign"),
        *("object", "manner"),
    ),
    "colours": ("part",),
    "parts": ("part", "trait", "link"),
    "words": ("illegible", "watch", "instead"),
}
# Small words of marks, asked for by word and all together: found as one class
REACHED = "markings.reached"
REACHING = frozenset(
    f"markings.{kind}"
    for kind in ("lead", "except", "more", "manner", "place", "adj", "article", "prep")
)
# Common words without a value that few texts are asked for: not looked for with the rest
SELDOM = frozenset(
    f"{listed}.{kind}"
    for listed, kinds in {
        "authenticity": ("other", "topic", "famous", "part", "whole"),
        "eras": ("link", "copied"),
        "markings": ("stop",),
    }.items()
    for kind in kinds
)
SIGN = r"[.,;:!?()|/&+=\n•·]"  # what counts as a word of its own
WORD = re.compile(rf"[^\W_]+|{SIGN}")
_GROUP = re.compile(r"\(([^()]*)\)")


@dataclass(frozen=True, slots=True)
class Cue:
    """One row of a word list: what finding the phrase means."""

    name: str  # the list and the class, as in "key_phrases.urgency"
    language: str
    value: str
    strict: bool  # counts only in lines of its own language
    text: str


class Wide(NamedTuple):
    """A cue of many variants: an expression over coded words, and what rules it out cheaply.

    `gate` holds words of which one is among the `reach` words of each match, `after` those that
    may follow the beginning that was written out; empty if any may.
    """

    name: str
    value: str
    only_in: str  # the one language of lines it counts in, or ""
    pattern: re.Pattern[str]
    gate: frozenset[str]
    after: frozenset[str]
    reach: int


Phrase = tuple[tuple[str, ...], str]  # words, the one language it counts in or ""
End = tuple[str, str, str]  # of a phrase: class, value, the one language it counts in or ""
# classes, each with its value; a value is text, that of REACHED names classes
Meant = tuple[tuple[str, Any], ...]


class Node(NamedTuple):
    """What so many words in a row mean: the phrases by language of the line, and what may go on.

    That are the cues of many variants, by the word that follows (those of "" are for any other;
    empty if there are none), the long phrases, which may begin with these words, and the phrases
    with one word more, by that word.
    """

    meant: dict[str, Meant]
    wide: dict[str, tuple[Wide, ...]]
    is_long: bool
    following: dict[str, Node]


class Codes(dict[str, str]):
    """One letter for each word, so that an expression reads a text as a short one."""

    def __missing__(self, word: str) -> str:
        number = _FIRST_CODE + len(self)
        self[word] = code = chr(number if number < _SURROGATES[0] else number + len(_SURROGATES))
        return code


_FIRST_CODE = 0x100
_SURROGATES = range(0xD800, 0xE000)  # are no letters
_STOPS = ".!?;\n"  # what ends a sentence: no gap goes over it
UNKNOWN = "-"  # the code of a word of no list


@dataclass(frozen=True, slots=True)
class Lexicon:
    """All word lists as one tree of phrases, word by word: `tree` gives the first words.

    `codes` gives every word its own, `words` are those of any phrase. Phrases of many words are
    left to spaCy's matcher.
    """

    codes: Codes
    tree: dict[str, Node]
    words: frozenset[str]
    long: PhraseTable[End]


def read_rows(name: str) -> list[dict[str, str]]:
    """Read one list of extractors/data as rows; lines starting with # are remarks."""
    raw = resources.files("extractors").joinpath(f"data/{name}.csv").read_text("utf-8")
    lines = [line for line in raw.splitlines() if line.strip() and not line.startswith("#")]
    return list(csv.DictReader(lines))


@contextmanager
def uncollected() -> Iterator[None]:
    """Keep the garbage collector off growing tables; a quarter of their time went there."""
    is_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if is_on:
            gc.enable()


@cache
def small_words(name: str) -> frozenset[str]:
    """Give the words of one class of the list of single words, in plain letters."""
    return frozenset(_small_words()[name])


@cache
def _small_words() -> Mapping[str, list[str]]:
    """Read the list of single words by class."""
    words: dict[str, list[str]] = defaultdict(list)
    for row in read_rows("small_words"):
        words[row["class"]].append(plain(row["word"]))
    return words


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


@cache
def figures() -> dict[str, str]:
    """Map the numbers up to 99 in figures and words to the language they are one in; "" is any."""
    written = (*map(str, range(100)), *(f"0{n}" for n in range(10)))
    return {**dict.fromkeys(written, ""), **{word: only for word, (_, only) in numbers().items()}}


def as_key(word: str, language: str) -> str:
    """Give the form in which a word is matched: numbers up to 99 are all alike."""
    only_in = figures().get(word)
    if only_in is None:
        return "#" if len(word) <= 2 and word.isdecimal() else word
    return "#" if not only_in or language in ("", only_in) else word


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


@lru_cache(maxsize=50_000)
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


def _expression(cue: str, language: str, codes: Mapping[str, str]) -> re.Pattern[str]:
    """Turn a cue into an expression over coded words."""
    built = []
    for choices in _pieces(cue):
        if choices == ("...",):
            built.append(f"[^{_coded(_STOPS, codes)}]{{0,{GAP}}}?")
            continue
        cuts = sorted((cut(choice, language) for choice in choices), key=_length)[::-1]
        built.append(f"(?:{'|'.join(_alternatives(cuts, codes))})")
    return re.compile("".join(built))


def _alternatives(cuts: Iterable[tuple[str, ...]], codes: Mapping[str, str]) -> Iterator[str]:
    """Write alternatives, the longest first; single words as one set, which is read in less time.

    Those that begin with the same word stay in order: only they can stand at one place.
    """
    coded = dict.fromkeys(_coded(words, codes) for words in cuts)
    yield from (letters for letters in coded if len(letters) > 1)
    alone = "".join(letters for letters in coded if len(letters) == 1)
    yield from (f"[{alone}]",) if alone else ()
    yield from ("",) if "" in coded else ()


def _length(words: tuple[str, ...]) -> int:
    return sum(len(word) + 1 for word in words)


def _coded(words: Iterable[str], codes: Mapping[str, str]) -> str:
    return "".join([codes[word] for word in words])


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
    """Tell whether a class of a list is needed only beside other cues."""
    listed, _, kind = name.partition(".")
    return kind in ON_DEMAND.get(listed, ())


@cache
def seldom_asked() -> Mapping[str, Mapping[str, tuple[Phrase, ...]]]:
    """Give the phrases of each class seldom asked for by their first word, the longest first."""
    found: dict[str, dict[str, dict[Phrase, None]]] = defaultdict(lambda: defaultdict(dict))
    for cue in all_cues():
        if cue.name in SELDOM:
            for words, (_, _, only_in) in _phrases(cue):
                found[cue.name][words[0]][words, only_in] = None
    return {
        name: {word: tuple(sorted(phrases, key=_shortage)) for word, phrases in by_first.items()}
        for name, by_first in found.items()
    }


def _shortage(phrase: Phrase) -> int:
    return -len(phrase[0])


def _phrases(cue: Cue) -> Iterator[tuple[tuple[str, ...], End]]:
    """Give each phrase of a cue; very short ones count only in lines of their own language."""
    for pieces in _written_out(cue.text):
        words = tuple(chain.from_iterable([cut(piece, cue.language) for piece in pieces]))
        is_short = sum(map(len, words)) <= 3 and len("".join(pieces).strip()) <= 3
        is_strict = cue.strict or (is_short and cue.language != "xx")  # "or" is gold in French only
        if words:
            yield words, (cue.name, cue.value, cue.language if is_strict else "")


def _written_out(cue: str) -> Iterable[tuple[str, ...]]:
    """Write out the alternatives of a cue in pieces, if it is not parts of words that they are."""
    if _IN_WORDS.search(cue):
        return ((phrase,) for phrase in expand(cue))
    groups = _GROUP.split(cue)  # what lies between, and the groups, in turn
    return product(*(part.split("|") if n % 2 else (part,) for n, part in enumerate(groups)))


_IN_WORDS = re.compile(r"[^\s(|]\(|\)[^\s)|]|\([^()]*\(")  # also of groups in groups


@cache
def lexicon() -> Lexicon:
    """Build the matchers over every list; once per process."""
    codes = Codes()
    ends: dict[tuple[str, ...], list[End]] = defaultdict(list)
    wide: dict[tuple[str, ...], list[Wide]] = defaultdict(list)
    long: dict[tuple[str, ...], list[End]] = defaultdict(list)
    for cue in all_cues():
        if cue.name in SELDOM:
            continue
        if not is_on_demand(cue.name) and _variants(cue.text) > WIDE:
            for words, begun_here in _beginnings(cue, codes):
                wide[words].append(begun_here)
            continue
        for words, end in _phrases(cue):
            phrases = ends if len(words) < LONG or is_on_demand(cue.name) else long
            if end not in phrases[words]:
                phrases[words].append(end)
    begun = {words[:BEGINNING] for words in long}
    runs = {
        words: Node(
            _by_language(tuple(ends.get(words, ()))),
            _by_following(tuple(wide.get(words, ()))),
            words in begun,
            {},
        )
        for words in {**ends, **wide, **dict.fromkeys(begun)}
    }
    known = frozenset(word for words in (*runs, *long) for word in words).union(codes)
    return Lexicon(codes, _tree(runs), known, PhraseTable(long))


def _tree(runs: Mapping[tuple[str, ...], Node]) -> dict[str, Node]:
    """Build the tree of phrases; what is alike is kept once: it then is more often near."""
    root = _Grown()
    for words, node in runs.items():
        place = root
        for word in words:
            longer = place.longer.get(word)
            if longer is None:
                longer = place.longer[word] = _Grown()
            place = longer
        place.node = node
    alike: dict[tuple[int, int, bool], Node] = {}
    return root.as_node(alike).following


class _Grown:
    """So many words in a row while the tree is built."""

    __slots__ = ("longer", "node")

    def __init__(self) -> None:
        self.node: Node | None = None
        self.longer: dict[str, _Grown] = {}

    def as_node(self, alike: dict[tuple[int, int, bool], Node]) -> Node:
        """Give what the words mean and what goes on behind them."""
        node = self.node or nothing()
        if not self.longer:
            return alike.setdefault((id(node.meant), id(node.wide), node.is_long), node)
        longer = {word: place.as_node(alike) for word, place in self.longer.items()}
        return Node(node.meant, node.wide, node.is_long, longer)


@cache
def nothing() -> Node:
    """Give the end of words that mean nothing and begin nothing."""
    return Node(_by_language(()), _by_following(()), False, {})


@cache
def languages() -> tuple[str, ...]:
    """Give the languages that a line may be in; "" does not tell."""
    rows = [row["language"] for row in read_rows("stop_words")]
    return "", *dict.fromkeys((*rows, *(cue.language for cue in all_cues())))


@cache
def _by_language(ends: tuple[End, ...]) -> dict[str, Meant]:
    """Group what ends with a phrase by the language of the line."""
    return {
        language: _gathered(
            tuple([end[:2] for end in ends if not (end[2] and language) or end[2] == language])
        )
        for language in languages()
    }


@cache  # what is alike is kept once: it then is more often near
def _gathered(ends: tuple[tuple[str, str], ...]) -> Meant:
    """Give classes with their values; the REACHING ones are the value of one class."""
    reaching = tuple(dict.fromkeys(name for name, _ in ends if name in REACHING))
    others = [end for end in ends if end[0] not in REACHING]
    return *others, *([(REACHED, reaching)] if reaching else [])


@cache
def _by_following(cues: tuple[Wide, ...]) -> dict[str, tuple[Wide, ...]]:
    """Group cues of many variants by the word that follows; "" is for any other word."""
    words = ("", *dict.fromkeys(word for cue in cues for word in cue.after)) if cues else ()
    return {
        word: tuple(cue for cue in cues if not cue.after or word in cue.after) for word in words
    }


def _beginnings(cue: Cue, codes: Mapping[str, str]) -> Iterator[tuple[tuple[str, ...], Wide]]:
    """Write out how a cue of many variants may begin, as far as _BEGINNINGS allows."""
    begun: set[tuple[str, ...]] = {()}
    pieces = [[cut(choice, cue.language) for choice in choices] for choices in _pieces(cue.text)]
    while pieces and pieces[0] != _GAPS:
        longer = {words + following for words in begun for following in pieces[0]}
        if () not in begun and len(longer) > _BEGINNINGS:
            break
        begun = longer
        pieces.pop(0)
    wide = Wide(
        cue.name,
        cue.value,
        cue.language if cue.strict else "",
        _expression(cue.text, cue.language, codes),
        _gate(cue.text, cue.language),
        _first_words(pieces),
        _reach(cue),
    )
    yield from ((words, wide) for words in sorted(begun))


def _reach(cue: Cue) -> int:
    """Give how many words a cue has at most."""
    return sum(
        GAP if choices == ("...",) else max(len(cut(choice, cue.language)) for choice in choices)
        for choices in _pieces(cue.text)
    )


_GAPS = [(".", ".", ".")]


def _first_words(pieces: list[list[tuple[str, ...]]]) -> frozenset[str]:
    """Give the words that pieces of a cue may begin with; none if any may."""
    found: set[str] = set()
    for choices in pieces:
        if choices == _GAPS:
            return frozenset()
        found.update(words[0] for words in choices if words)
        if all(choices):
            return frozenset(found)
    return frozenset()


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
