"""One text made ready for the extractors: its lines with their language, its words, its cues.

Extractors take a Reading and return evidence whose spans point into `Reading.text`. Three forms
of the text have the same length: `text` as written, `folded` in lower case with look-alike
letters and hidden marks undone, `plain` also without accents and typographic signs and with
swapped letters of known words put right.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from itertools import accumulate
from typing import Any, NamedTuple

from extractors import folding
from extractors.lexicon import (
    WORD,
    Cue,
    Node,
    Wide,
    all_cues,
    as_keys,
    cut,
    is_on_demand,
    lexicon,
    read_rows,
    swapped_letters,
    vocabulary,
)
from extractors.nlp import make_doc
from extractors.records import Span

MOST = 400  # cues of one class in one text; more is no listing
_ENDS = frozenset("\n!?;|•·….")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the text (without its line break) and the language it is written in."""

    start: int
    end: int
    language: str


class Hit(NamedTuple):
    """A cue found in the text: words [first, last) and characters [start, end)."""

    name: str
    value: str
    first: int
    last: int
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Reading:
    """A text, its forms of equal length, its lines, words and cues.

    `words` are the plain forms; word i is text[starts[i]:ends[i]] and lies in sentence
    `sentence_of[i]`; `sentences` holds the word ranges. `keys` are the words as matched,
    `languages` those of their lines. `hits` are the cues by list and class.
    """

    text: str
    folded: str
    lines: tuple[Line, ...]
    language: str
    plain: str = ""
    words: tuple[str, ...] = ()
    starts: tuple[int, ...] = ()
    ends: tuple[int, ...] = ()
    sentence_of: tuple[int, ...] = ()
    sentences: tuple[tuple[int, int], ...] = ()
    keys: tuple[str, ...] = ()
    languages: tuple[str, ...] = ()
    hits: Mapping[str, tuple[Hit, ...]] = field(default_factory=dict)
    memory: dict[str, Any] = field(default_factory=dict, compare=False, repr=False)

    def span(self, start: int, end: int) -> Span:
        """Point at text[start:end]; a word bent by hidden marks is taken whole."""
        bent = self.memory.get("bent")
        if bent is None:
            bent = self.memory["bent"] = folding.bent_words(self.text)
        for low, high in bent:
            if low < end < high:
                end = high
        return Span("text", None, start, end, self.text[start:end])

    def found(self, name: str) -> tuple[Hit, ...]:
        """Give the cues of a class in the order of the text."""
        if not is_on_demand(name):
            return self.hits.get(name, ())
        key = f"hits of {name}"
        if key not in self.memory:
            self.memory[key] = tuple(
                Hit(name, value, first, last, self.starts[first], self.ends[last - 1])
                for first, (last, value) in self.table(name).items()
            )
        hits: tuple[Hit, ...] = self.memory[key]
        return hits

    def table(self, name: str) -> Mapping[int, tuple[int, str]]:
        """Map the first word of each cue of an on-demand class to the word after it and its value.

        Of cues that begin at one word the longest counts.
        """
        tables: dict[str, dict[int, tuple[int, str]]] | None = self.memory.get("tables")
        if tables is None:
            tables = self.memory["tables"] = _walk(self, lexicon().later)
        return tables.get(name, {})

    def word_at(self, place: int) -> int:
        """Give the number of the word that holds or follows a character."""
        return bisect_right(self.ends, place)

    def sentence_at(self, word: int) -> tuple[int, int]:
        """Give the word range of the sentence that holds a word."""
        return self.sentences[self.sentence_of[word]]

    def slice(self, first: int, last: int) -> str:
        """Give the text from word `first` to before word `last` as written."""
        return self.text[self.starts[first] : self.ends[last - 1]] if last > first else ""


def _walk(reading: Reading, tree: Node) -> dict[str, dict[int, tuple[int, str]]]:
    """Find every phrase of a tree of words."""
    keys, languages = reading.keys, reading.languages
    found: dict[str, dict[int, tuple[int, str]]] = defaultdict(dict)
    count = len(keys)
    begun = [(n, tree[key]) for n, key in enumerate(keys) if key in tree]
    for first, node in begun:
        last = first + 1
        while node is not None:
            if "" in node:
                for cue in node[""]:
                    if not cue.strict or languages[first] in ("", cue.language):
                        found[cue.name][first] = (last, cue.value)
            node = node.get(keys[last]) if last < count else None
            last += 1
    return found


def _by_place(hit: Hit) -> tuple[int, int]:
    return hit.start, -hit.end


@cache
def _votes() -> dict[str, str]:
    """Map each word that belongs to one language only to that language."""
    owners: dict[str, set[str]] = defaultdict(set)
    for row in read_rows("stop_words"):
        for piece in WORD.findall(folding.plain(row["word"])):
            owners[piece].add(row["language"])
    for cue in all_cues():
        for word in cut(re.sub(r"[(|)]", " ", cue.text), cue.language):
            owners[word].add(cue.language if cue.language != "xx" else "")
    return {word: languages.pop() for word, languages in owners.items() if len(languages) == 1}


def fold(text: str) -> str:
    """Lower-case character by character with hidden marks and look-alikes undone; same length.

    >>> fold("Bügel İ")
    'bügel i'
    """
    return folding.lower(folding.unhide(text))


def _most_voted(languages: Iterable[str | None], default: str) -> str:
    """Name the language with the most votes; words that tell nothing vote "" or None."""
    counts: dict[str, int] = {}
    for language in languages:
        if language:
            counts[language] = counts.get(language, 0) + 1
    if not counts:
        return default
    best = max(counts, key=lambda language: counts[language])
    return default if counts.get(default, 0) == counts[best] else best


def guess_language(text: str, default: str = "en") -> str:
    """Name the language that most of the telling words belong to; `default` if there is none."""
    return _most_voted(map(_votes().get, WORD.findall(folding.plain(text))), default)


def _is_swap(word: str, other: str) -> bool:
    """Tell whether two neighbouring letters changed places."""
    wrong = [i for i, (a, b) in enumerate(zip(word, other, strict=True)) if a != b]
    return len(wrong) == 2 and wrong[1] == wrong[0] + 1


@cache
def _real_words() -> frozenset[str]:
    """Words that only look like a slip of a known word ("angel" and "angle")."""
    return frozenset(folding.plain(row["word"]) for row in read_rows("not_slips"))


def _mend(words: list[str]) -> dict[int, str]:
    """Find words that are a known word with two neighbouring letters swapped."""
    known, swapped = vocabulary(), swapped_letters()
    mended: dict[int, str] = {}
    for number in [n for n, w in enumerate(words) if w not in known and 4 < len(w) < 20]:
        word = words[number]
        right = swapped.get("".join(sorted(word)))
        if right and _is_swap(word, right) and word not in _real_words():
            mended[number] = right
    return mended


def _patch(form: str, starts: list[int], mended: Mapping[int, str]) -> str:
    """Write mended words into a form of the text."""
    letters = list(form)
    for number, word in mended.items():
        letters[starts[number] : starts[number] + len(word)] = word
    return "".join(letters)


@cache
def _abbreviations() -> frozenset[str]:
    return frozenset(folding.plain(row["word"]) for row in read_rows("abbreviations"))


def _ends_sentence(words: list[str], number: int, plain: str, ends: list[int]) -> bool:
    """Tell whether the full stop at word `number` closes a sentence."""
    after = plain[ends[number] : ends[number] + 1]
    if after and not after.isspace() and after not in "\"')":
        return False
    before = words[number - 1] if number else ""
    is_dotted = number > 1 and len(before) == 1 and words[number - 2] == "."  # "D.R.G.M."
    if not is_dotted and before not in _abbreviations():
        return True
    following = words[number + 1] if number + 1 < len(words) else "\n"
    return following == "\n"


def _cut_sentences(
    words: list[str], plain: str, ends: list[int]
) -> tuple[tuple[int, ...], tuple[tuple[int, int], ...]]:
    """Number the sentence of each word; give the word range of each sentence."""
    ranges: list[tuple[int, int]] = []
    sentence_of: list[int] = []
    first = 0
    for number in [n for n, word in enumerate(words) if word in _ENDS]:
        if words[number] == "." and not _ends_sentence(words, number, plain, ends):
            continue
        sentence_of.extend([len(ranges)] * (number + 1 - first))
        ranges.append((first, number + 1))
        first = number + 1
    sentence_of.extend([len(ranges)] * (len(words) - first))
    ranges.append((first, len(words)))
    return tuple(sentence_of), tuple(ranges)


def _read_lines(
    text: str, words: list[str], starts: list[int]
) -> tuple[str, tuple[Line, ...], list[str]]:
    """Give the language of the whole, the lines, and the language of each word's line.

    The latter is "" where the line does not tell: there words of any language may be meant.
    """
    votes = list(map(_votes().get, words))
    whole = _most_voted(votes, "en")
    lines: list[Line] = []
    language_of: list[str] = []
    start = number = 0
    for raw in text.split("\n"):
        end = start + len(raw)
        first = number
        number = bisect_left(starts, end, first)
        if raw:
            language = _most_voted(votes[first:number], "")
            lines.append(Line(start, end, language or whole))
        else:
            language = ""
        if number < len(words) and starts[number] == end:
            number += 1  # the line break itself
        language_of.extend([language] * (number - first))
        start = end + 1
    return whole, tuple(lines), language_of


class _Collector:
    """Gathers the cues found in one text."""

    def __init__(self, starts: list[int], ends: list[int], languages: list[str]) -> None:
        self.starts, self.ends, self.languages = starts, ends, languages
        self.hits: dict[str, list[Hit]] = defaultdict(list)

    def add(self, cue: Cue, first: int, last: int) -> None:
        """Note a cue, unless it is strict and the line is in another language."""
        if cue.strict and self.languages[first] not in ("", cue.language):
            return
        start, end = self.starts[first], self.ends[last - 1]
        self.hits[cue.name].append(Hit(cue.name, cue.value, first, last, start, end))

    def finish(self) -> dict[str, tuple[Hit, ...]]:
        """Drop what lies inside a longer cue of the same class, and what no listing would say."""
        return {name: tuple(_outermost(hits)[:MOST]) for name, hits in self.hits.items()}


def _outermost(hits: list[Hit]) -> list[Hit]:
    if len(hits) < 2:
        return hits
    kept: list[Hit] = []
    for hit in sorted(hits, key=_by_place):
        if not kept or hit.end > kept[-1].end:
            kept.append(hit)
    return kept


def _collect(keys: list[str], collector: _Collector) -> None:
    """Match every word list against the words."""
    known = lexicon()
    for key, first, last in known.matcher(make_doc(keys)):
        collector.add(known.cues[key], first, last)
    _collect_wide(keys, known.wide, collector)


def _collect_wide(
    keys: list[str], wide: Mapping[str, tuple[Wide, ...]], collector: _Collector
) -> None:
    """Match the cues of many variants whose telling words are there, at their first words."""
    numbers: dict[str, list[int]] = {}
    for number, key in enumerate(keys):
        numbers.setdefault(key, []).append(number)
    active = {id(cue): cue for word in numbers if word in wide for cue in wide[word]}
    if not active:
        return
    joined = " ".join(keys) + " "
    places = list(accumulate((len(key) + 1 for key in keys), initial=0))
    for cue in active.values():
        for word in sorted(cue.first_words & numbers.keys()):
            for number in numbers[word]:
                match = cue.pattern.match(joined, places[number])
                if match:
                    collector.add(cue.cue, number, bisect_right(places, match.end()) - 1)


def prepare(text: str) -> Reading:
    """Make a text ready: linear in its length."""
    folded = fold(text)
    plain = folding.plain(folded)
    places = [match.span() for match in WORD.finditer(plain)]
    starts = [start for start, _ in places]
    ends = [end for _, end in places]
    words = [plain[start:end] for start, end in places]
    mended = _mend(words)
    if mended:
        plain, folded = _patch(plain, starts, mended), _patch(folded, starts, mended)
        words = [mended.get(number, word) for number, word in enumerate(words)]
    language, lines, language_of = _read_lines(text, words, starts)
    sentence_of, sentences = _cut_sentences(words, plain, ends)
    collector = _Collector(starts, ends, language_of)
    keys = as_keys(words, language_of)
    if words:
        _collect(keys, collector)
    return Reading(
        text,
        folded,
        lines,
        language,
        plain,
        tuple(words),
        tuple(starts),
        tuple(ends),
        sentence_of,
        sentences,
        tuple(keys),
        tuple(language_of),
        collector.finish(),
    )
