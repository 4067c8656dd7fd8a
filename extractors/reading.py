"""One text made ready for the extractors: its lines with their language, its words, its cues.

Extractors take a Reading and return evidence whose spans point into `Reading.text`. Three forms
of the text have the same length: `text` as written, `folded` in lower case with look-alike
letters and hidden marks undone, `plain` also without accents and typographic signs and with
swapped letters of known words put right.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import accumulate
from typing import Any, NamedTuple

from extractors import folding
from extractors.lexicon import (
    WORD,
    Cue,
    Lexicon,
    Node,
    abbreviations,
    all_cues,
    as_keys,
    cut,
    lexicon,
    read_rows,
    swapped_letters,
    vocabulary,
)
from extractors.nlp import make_doc
from extractors.records import Span

MOST = 400  # cues of one class in one text; more is no listing
_new = tuple.__new__  # makes a named tuple in half the time
_ENDS = frozenset("\n!?;|•·….")


class Line(NamedTuple):
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
        hits = self.hits.get(name)
        if hits is None:
            hits = self.memory.get(name)
        if hits is None:
            hits = self.memory[name] = tuple(
                [
                    _new(Hit, (name, value, first, last, self.starts[first], self.ends[last - 1]))
                    for first, (last, value) in self.table(name).items()
                ]
            )
        return hits

    def table(self, name: str) -> Mapping[int, tuple[int, str]]:
        """Map the first word of each cue of an on-demand class to the word after it and its value.

        Of cues that begin at one word the longest counts.
        """
        tables: dict[str, dict[int, tuple[int, str]]] | None = self.memory.get("tables")
        if tables is None:
            tables = _walk(self.keys, self.languages, lexicon().later)
            self.memory["tables"] = tables
        return tables.get(name, _NO_TABLE)

    def word_at(self, place: int) -> int:
        """Give the number of the word that holds or follows a character."""
        return bisect_right(self.ends, place)

    def sentence_at(self, word: int) -> tuple[int, int]:
        """Give the word range of the sentence that holds a word."""
        return self.sentences[self.sentence_of[word]]

    def slice(self, first: int, last: int) -> str:
        """Give the text from word `first` to before word `last` as written."""
        return self.text[self.starts[first] : self.ends[last - 1]] if last > first else ""


_NO_TABLE: Mapping[int, tuple[int, str]] = {}


def _walk(
    keys: Sequence[str], languages: Sequence[str], tree: Mapping[str, Node]
) -> dict[str, dict[int, tuple[int, str]]]:
    """Find every phrase of a tree of words; none goes over a line break."""
    found: dict[str, dict[int, tuple[int, str]]] = defaultdict(dict)
    count = len(keys)
    for first, (ends, more) in [(n, tree[key]) for n, key in enumerate(keys) if key in tree]:
        last = first + 1
        while True:
            for name, value, only_in in ends:
                if not only_in or languages[first] in ("", only_in):
                    found[name][first] = last, value
            if not more or last >= count:
                break
            node = more.get(keys[last])
            if node is None:
                break
            ends, more = node
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
    votes = {word: languages.pop() for word, languages in owners.items() if len(languages) == 1}
    return {word: language for word, language in votes.items() if language}


def fold(text: str) -> str:
    """Lower-case character by character with hidden marks and look-alikes undone; same length.

    >>> fold("Bügel İ")
    'bügel i'
    """
    return folding.lower(folding.unhide(text))


def _count_votes(words: Iterable[str]) -> dict[str, int]:
    """Count the words that tell a language, in the order of the text."""
    counts: dict[str, int] = {}
    votes = _votes()
    for language in [votes[word] for word in words if word in votes]:
        counts[language] = counts.get(language, 0) + 1
    return counts


def _most_voted(counts: Mapping[str, int], default: str) -> str:
    """Name the language with the most votes; `default` if none has more than it."""
    if not counts:
        return default
    best = max(counts, key=counts.__getitem__)
    return default if counts.get(default, 0) == counts[best] else best


def _language_of(lines: Iterable[LineReading]) -> str:
    """Name the language of several lines."""
    counts: dict[str, int] = {}
    for line in lines:
        for language, votes in line.counts.items():
            counts[language] = counts.get(language, 0) + votes
    return _most_voted(counts, "en")


def guess_language(text: str, default: str = "en") -> str:
    """Name the language that most of the telling words belong to; `default` if there is none."""
    return _most_voted(_count_votes(WORD.findall(folding.plain(text))), default)


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


def _ends_sentence(words: list[str], number: int, plain: str, ends: list[int]) -> bool:
    """Tell whether the full stop at word `number` closes a sentence."""
    after = plain[ends[number] : ends[number] + 1]
    if after and not after.isspace() and after not in "\"')":
        return False
    before = words[number - 1] if number else ""
    is_dotted = number > 1 and len(before) == 1 and words[number - 2] == "."  # "D.R.G.M."
    if not is_dotted and before not in abbreviations():
        return True
    following = words[number + 1] if number + 1 < len(words) else "\n"
    return following == "\n"


def _cut_sentences(
    words: list[str], plain: str, ends: list[int]
) -> tuple[list[int], list[tuple[int, int]]]:
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
    return sentence_of, ranges


class LineReading:
    """One line made ready, its line break as the last word; places count from its beginning.

    It depends on nothing but the line, so that a line met before need not be read again.
    """

    __slots__ = (
        "counts",
        "ends",
        "folded",
        "hits",
        "keys",
        "language",
        "plain",
        "sentence_of",
        "sentences",
        "starts",
        "words",
    )

    def __init__(
        self, folded: str, plain: str, words: list[str], starts: list[int], ends: list[int]
    ) -> None:
        mended = _mend(words)
        if mended:
            plain, folded = _patch(plain, starts, mended), _patch(folded, starts, mended)
            words = [mended.get(number, word) for number, word in enumerate(words)]
        self.folded, self.plain = folded, plain
        self.counts = _count_votes(words)
        self.language = _most_voted(self.counts, "")  # "": does not tell, any may be meant
        self.keys = as_keys(words, self.language)
        self.keys.append("\n")
        words.append("\n")
        self.sentence_of, self.sentences = _cut_sentences(words, plain, ends)
        if self.sentences[-1][0] == self.sentences[-1][1]:
            self.sentences.pop()  # nothing stands behind the line break
        self.words, self.starts, self.ends = words, starts, ends
        starts.append(len(plain))
        ends.append(len(plain) + 1)
        self.hits: dict[str, list[Hit]] = {}

    def add(self, cue: Cue, first: int, last: int) -> None:
        """Note a cue, unless it is strict and the line is in another language."""
        if cue.strict and self.language not in ("", cue.language):
            return
        place = self.starts[first], self.ends[last - 1]
        hit = _new(Hit, (cue.name, cue.value, first, last, *place))
        self.hits.setdefault(cue.name, []).append(hit)


def _outermost(hits: list[Hit]) -> list[Hit]:
    """Drop what lies inside a longer cue of the same class."""
    if len(hits) < 2:
        return hits
    kept: list[Hit] = []
    for hit in sorted(hits, key=_by_place):
        if not kept or hit.end > kept[-1].end:
            kept.append(hit)
    return kept


def _collect(fresh: list[LineReading]) -> None:
    """Match every word list against lines; all at once, for each call costs."""
    firsts = list(accumulate((len(line.keys) for line in fresh), initial=0))
    keys = [key for line in fresh for key in line.keys]
    known = lexicon()
    for cue, first, last in (*_plain_cues(keys, known), *_wide_cues(keys, known)):
        number = bisect_right(firsts, first) - 1
        fresh[number].add(cue, first - firsts[number], last - firsts[number])
    for line in fresh:
        line.hits = {name: _outermost(hits) for name, hits in line.hits.items()}


def _plain_cues(keys: list[str], known: Lexicon) -> Iterator[tuple[Cue, int, int]]:
    """Give the plain phrases; words of no phrase are left out of the document."""
    places = [number for number, key in enumerate(keys) if key in known.words]
    for key, first, last in known.matcher(make_doc([keys[number] for number in places])):
        if places[last - 1] - places[first] == last - 1 - first:  # nothing stands between
            yield known.cues[key], places[first], places[last - 1] + 1


def _wide_cues(keys: list[str], known: Lexicon) -> Iterator[tuple[Cue, int, int]]:
    """Give the cues of many variants whose telling words are there, at their first words."""
    words = dict.fromkeys(keys)  # in the order of the text, so that results never vary
    present = frozenset(words)
    active = {id(c): c for word in words if word in known.wide for c in known.wide[word]}
    active = {n: c for n, c in active.items() if not c.first_words.isdisjoint(present)}
    if not active:
        return
    numbers: dict[str, list[int]] = {}
    for number, key in enumerate(keys):
        if key in known.wide_firsts:
            numbers.setdefault(key, []).append(number)
    joined = " ".join(keys) + " "
    places = list(accumulate([len(key) + 1 for key in keys], initial=0))
    firsts = frozenset(numbers)
    for cue in active.values():
        match_at = cue.pattern.match
        for word in cue.first_words & firsts:
            for number in numbers[word]:
                match = match_at(joined, places[number])
                if match:
                    yield cue.cue, number, bisect_right(places, match.end()) - 1


@cache
def _lines_seen() -> dict[str, LineReading]:
    """Give the lines read lately by this process: sellers repeat whole lines all the time."""
    return {}


def _cut_lines(raws: Iterable[str]) -> Iterator[LineReading]:
    """Make lines ready that were not met before: folded and cut into words all at once."""
    folded = fold("\n".join(raws))
    plain = folding.plain(folded)
    places = [match.span() for match in WORD.finditer(plain)]
    words = [plain[start:end] for start, end in places]
    breaks = [number for number, word in enumerate(words) if word == "\n"]
    first = begin = 0
    for number in (*breaks, len(words)):
        end = places[number][0] if number < len(words) else len(plain)
        yield LineReading(
            folded[begin:end],
            plain[begin:end],
            words[first:number],
            [start - begin for start, _ in places[first:number]],
            [end - begin for _, end in places[first:number]],
        )
        first, begin = number + 1, end + 1


def _read_lines(text: str) -> list[LineReading]:
    """Make the lines of a text ready."""
    seen = _lines_seen()
    if len(seen) > _LINES_KEPT:
        seen.clear()
    raws = text.split("\n")
    new = dict.fromkeys([raw for raw in raws if raw not in seen])
    if not new:
        return [seen[raw] for raw in raws]
    fresh = dict(zip(new, _cut_lines(new), strict=True))
    _collect(list(fresh.values()))
    lines = [seen.get(raw) or fresh[raw] for raw in raws]
    seen.update((raw, line) for raw, line in fresh.items() if len(raw) <= _LONGEST_KEPT)
    return lines


_LINES_KEPT = 4000
_LONGEST_KEPT = 400  # characters


def prepare(text: str) -> Reading:
    """Make a text ready: linear in its length."""
    read = _read_lines(text)
    whole = _language_of(read)
    lines: list[Line] = []
    words: list[str] = []
    keys: list[str] = []
    starts: list[int] = []
    ends: list[int] = []
    sentence_of: list[int] = []
    sentences: list[tuple[int, int]] = []
    languages: list[str] = []
    hits: dict[str, list[Hit]] = defaultdict(list)
    place = 0
    for line in read:
        number, sentence = len(words), len(sentences)
        words += line.words
        keys += line.keys
        starts += [start + place for start in line.starts]
        ends += [end + place for end in line.ends]
        sentence_of += [n + sentence for n in line.sentence_of]
        sentences += [(first + number, last + number) for first, last in line.sentences]
        languages += [line.language] * len(line.words)
        for name, found in line.hits.items():
            hits[name] += [
                _new(Hit, (name, value, first + number, last + number, start + place, end + place))
                for _, value, first, last, start, end in found
            ]
        if line.folded:
            lines.append(Line(place, place + len(line.folded), line.language or whole))
        place += len(line.folded) + 1
    for listed in (words, keys, starts, ends, sentence_of, languages):
        listed.pop()  # behind the last line stands no line break
    sentences[-1] = sentences[-1][0], len(words)
    return Reading(
        text,
        "\n".join([line.folded for line in read]),
        tuple(lines),
        whole,
        "\n".join([line.plain for line in read]),
        tuple(words),
        tuple(starts),
        tuple(ends),
        tuple(sentence_of),
        tuple(sentences),
        tuple(keys),
        tuple(languages),
        {name: tuple(found[:MOST]) for name, found in hits.items()},
    )
