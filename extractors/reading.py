"""One text made ready for the extractors: its lines with their language, its words, its cues.

Extractors take a Reading and return evidence whose spans point into `Reading.text`. Three forms
of the text have the same length: `text` as written, `folded` in lower case with look-alike
letters and hidden marks undone, `plain` also without accents and typographic signs and with
swapped letters of known words put right.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache
from itertools import accumulate
from typing import Any, NamedTuple

from extractors import folding
from extractors.lexicon import (
    UNKNOWN,
    WORD,
    End,
    Wide,
    abbreviations,
    all_cues,
    as_key,
    cut,
    figures,
    is_on_demand,
    lexicon,
    read_rows,
    swapped_letters,
    vocabulary,
)
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


Met = tuple[int, int, str]  # a cue as it was met: words [first, last), value


@dataclass(frozen=True, slots=True)
class Reading:
    """A text, its forms of equal length, its lines, words and cues.

    `words` are the plain forms; word i is text[starts[i]:ends[i]] and lies in sentence
    `sentence_of[i]`; `sentences` holds the word ranges. `keys` are the words as matched,
    `languages` those of their lines. `cues` are those of each list and class as they were met:
    words [first, last) and the value.
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
    cues: Mapping[str, list[Met]] = field(default_factory=dict)
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
        hits: tuple[Hit, ...] | None = self.memory.get(name)
        if hits is None:
            met = self.cues.get(name)
            if met is None:
                return ()
            hits = self.memory[name] = self._hits(name, met)
        return hits

    def _hits(self, name: str, met: list[Met]) -> tuple[Hit, ...]:
        """Make hits of cues: the longest at each word, and if not on demand the outermost only."""
        if len(met) > 1:
            met = _longest(met) if is_on_demand(name) else _outermost(met)[:MOST]
        starts, ends = self.starts, self.ends
        return tuple(
            [
                _new(Hit, (name, value, first, last, starts[first], ends[last - 1]))
                for first, last, value in met
            ]
        )

    def table(self, name: str) -> dict[int, tuple[int, str]]:
        """Map the first word of each cue of an on-demand class to the word after it and its value.

        Of cues that begin at one word the longest counts.
        """
        key = f"table of {name}"
        table: dict[int, tuple[int, str]] | None = self.memory.get(key)
        if table is None:
            table = {first: (last, value) for first, last, value in self.cues.get(name, ())}
            self.memory[key] = table
        return table

    def reach(self, name: str) -> dict[int, int]:
        """Map the first word of each cue of an on-demand class to the word after the longest."""
        return {first: last for first, last, _ in self.cues.get(name, ())}

    def figures(self) -> list[int]:
        """Give the numbers of the words that begin with a digit."""
        found: list[int] | None = self.memory.get("figures")
        if found is None:
            is_plain = self.plain.isascii()
            found = [
                number
                for number, word in enumerate(self.words)
                if ("0" <= word < ":" if is_plain else word[0].isdigit())
            ]
            self.memory["figures"] = found
        return found

    def word_at(self, place: int) -> int:
        """Give the number of the word that holds or follows a character."""
        return bisect_right(self.ends, place)

    def sentence_at(self, word: int) -> tuple[int, int]:
        """Give the word range of the sentence that holds a word."""
        return self.sentences[self.sentence_of[word]]

    def slice(self, first: int, last: int) -> str:
        """Give the text from word `first` to before word `last` as written."""
        return self.text[self.starts[first] : self.ends[last - 1]] if last > first else ""


def _longest(met: list[Met]) -> list[Met]:
    """Keep the longest cue at each word, in order: cues that end later were met later."""
    return sorted({cue[0]: cue for cue in met}.values())


def _outermost(met: list[Met]) -> list[Met]:
    """Drop what lies inside a longer cue of the same class; put the rest in order."""
    kept: list[Met] = []
    behind = 0
    for cue in sorted(met, key=_by_place):
        if cue[1] > behind:
            kept.append(cue)
            behind = cue[1]
    return kept


def _by_place(cue: Met) -> tuple[int, int]:
    return cue[0], -cue[1]


# a word form: the language it tells ("" none, None strange), its key or None for itself, its code
Form = tuple[str | None, str | None, str]
_KNOWN: Form = "", None, UNKNOWN  # a word of some list that tells nothing
_STRANGE: Form = None, None, UNKNOWN


@cache
def _forms() -> dict[str, Form]:
    """Give what is known of each word of any list; one look-up a word, for memory is slow."""
    told, codes = _telling_words(), lexicon().codes
    keys = {word: "#" for word, only_in in figures().items() if not only_in}
    words = dict.fromkeys((*codes, *vocabulary(), *told, *figures()))
    forms = (
        (told.get(word, ""), keys.get(word), codes.get(keys.get(word, word), UNKNOWN))
        for word in words
    )
    return {
        word: form if form != _KNOWN else _KNOWN for word, form in zip(words, forms, strict=True)
    }


def _telling_words() -> dict[str, str]:
    """Map each word that belongs to one language only to that language."""
    owners: dict[str, set[str]] = defaultdict(set)
    for row in read_rows("stop_words"):
        for piece in WORD.findall(folding.plain(row["word"])):
            owners[piece].add(row["language"])
    for cue in all_cues():
        for word in cut(re.sub(r"[(|)]", " ", cue.text), cue.language):
            owners[word].add(cue.language if cue.language != "xx" else "")
    return {word: told.pop() for word, told in owners.items() if len(told) == 1}


def fold(text: str) -> str:
    """Lower-case character by character with hidden marks and look-alikes undone; same length.

    >>> fold("Bügel İ")
    'bügel i'
    """
    return folding.lower(folding.unhide(text))


def _most_voted(votes: Sequence[str | None], default: str) -> str:
    """Name the language with the most votes, the first of equals; `default` if none has more."""
    told = {*votes} - _NO_VOTES
    if len(told) < 2:  # as in nearly every line
        return str(told.pop()) if told else default
    counts = Counter(filter(None, votes))
    best = max(counts, key=counts.__getitem__)
    return default if counts[default] == counts[best] else best


_NO_VOTES = frozenset((None, ""))


def guess_language(text: str, default: str = "en") -> str:
    """Name the language that most of the telling words belong to; `default` if there is none."""
    words = WORD.findall(folding.plain(text))
    return _most_voted([_forms().get(word, _STRANGE)[0] for word in words], default)


def _is_swap(word: str, other: str) -> bool:
    """Tell whether two neighbouring letters changed places."""
    wrong = [i for i, (a, b) in enumerate(zip(word, other, strict=True)) if a != b]
    return len(wrong) == 2 and wrong[1] == wrong[0] + 1


@cache
def _real_words() -> frozenset[str]:
    """Words that only look like a slip of a known word ("angel" and "angle")."""
    return frozenset(folding.plain(row["word"]) for row in read_rows("not_slips"))


@lru_cache(maxsize=20_000)
def _slip_of(word: str) -> str | None:
    """Give the known word that a word is with two neighbouring letters swapped."""
    right = swapped_letters().get("".join(sorted(word)))
    is_slip = right and _is_swap(word, right) and word not in _real_words()
    return right if is_slip else None


def _mend(words: list[str], strange: list[int]) -> dict[int, str]:
    """Find, among words of no list, known words with two neighbouring letters swapped."""
    mended: dict[int, str] = {}
    for number in strange:
        word = words[number]
        right = _slip_of(word) if 4 < len(word) < 20 else None
        if right:
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
    before = words[number - 1] if number else "\n"
    is_letter = len(before) == 1 and before != "\n"
    is_dotted = is_letter and number > 1 and words[number - 2] == "."  # "D.R.G.M."
    if not is_dotted and before not in abbreviations():
        return True
    return number + 1 == len(words) or words[number + 1] == "\n"


def _cut_sentences(words: list[str], plain: str, ends: list[int]) -> list[tuple[int, int]]:
    """Give the word range of each sentence; a line break ends the last one of its line."""
    ranges: list[tuple[int, int]] = []
    first = 0
    for number in [n for n, word in enumerate(words) if word in _ENDS]:
        if words[number] != "." or _ends_sentence(words, number, plain, ends):
            ranges.append((first, number + 1))
            first = number + 1
    ranges.append((first, len(words)))
    return ranges


def _cut_words(plain: str) -> tuple[list[str], list[int], list[int]]:
    """Give the words and line breaks of a text, where they start and where they end."""
    pieces = _WORDS.split(plain)  # what lies between, and the words, in turn
    places = [*accumulate(map(len, pieces))]
    return pieces[1::2], places[:-1:2], places[1::2]


_WORDS = re.compile(f"({WORD.pattern})")


def _line_languages(words: list[str], told: list[str | None]) -> list[tuple[int, str]]:
    """Give the word behind each line and its language; "" does not tell, any may be meant."""
    found: list[tuple[int, str]] = []
    begin = 0
    for end in [*[n for n, word in enumerate(words) if word == "\n"], len(words)]:
        found.append((end, _most_voted(told[begin:end], "")))
        begin = end + 1
    return found


def _find_cues(keys: list[str], coded: str, languages: list[str]) -> dict[str, list[Met]]:
    """Find every phrase of every list in one pass; none goes over a line break."""
    known = lexicon()
    found: dict[str, list[Met]] = defaultdict(list)
    wide: list[tuple[int, int, tuple[Wide, ...]]] = []
    for place, (length, meant, wides, is_long) in known.runs.iter(coded):
        last = (place + 1) // 2  # each word has two letters
        first = last - length
        for value, names in meant[languages[first]]:
            cue = first, last, value
            for name in names:
                found[name].append(cue)
        if wides:
            wide.append((first, last, wides))
        if is_long:
            _add_long(found, known.long.find_at(keys, first), first, languages[first])
    _add_wide(found, wide, keys, coded, languages)
    return found


def _add_wide(
    found: dict[str, list[Met]],
    begun: list[tuple[int, int, tuple[Wide, ...]]],
    keys: list[str],
    coded: str,
    languages: list[str],
) -> None:
    """Note the cues of many variants that go on as they began."""
    present = frozenset(keys)
    following = [*keys, ""]
    for first, last, cues in begun:
        for name, value, only_in, pattern, gate, after in cues:
            if (after and following[last] not in after) or gate.isdisjoint(present):
                continue
            match = pattern.match(coded, 2 * first)
            if match and (not only_in or languages[first] in ("", only_in)):
                found[name].append((first, match.end() // 2, value))


def _add_long(
    found: dict[str, list[Met]],
    phrases: Iterable[tuple[int, Iterable[End]]],
    first: int,
    language: str,
) -> None:
    """Note the long phrases that begin at a word."""
    for last, ends in phrases:
        for name, value, only_in in ends:
            if not only_in or language in ("", only_in):
                found[name].append((first, last, value))


def prepare(text: str) -> Reading:
    """Make a text ready: linear in its length."""
    folded = fold(text)
    plain = folding.plain(folded)
    words, starts, ends = _cut_words(plain)
    form_of = _forms().get
    forms = [form_of(word, _STRANGE) for word in words]
    strange = [number for number, form in enumerate(forms) if form is _STRANGE]
    mended = _mend(words, strange)
    if mended:
        plain, folded = _patch(plain, starts, mended), _patch(folded, starts, mended)
        for number, word in mended.items():
            words[number], forms[number] = word, form_of(word, _STRANGE)
    told = [form[0] for form in forms]
    whole = _most_voted(told, "en")
    languages: list[str] = []
    lines: list[Line] = []
    place = 0
    for end, language in _line_languages(words, told):
        languages += [language] * (end + 1 - len(languages))
        behind = starts[end] if end < len(words) else len(text)
        if behind > place:
            lines.append(Line(place, behind, language or whole))
        place = behind + 1
    languages.pop()  # behind the last line stands no line break
    keys, codes = _as_keys(words, forms, languages, strange)
    sentences = _cut_sentences(words, plain, ends)
    sentence_of: list[int] = []
    for number, (first, last) in enumerate(sentences):
        sentence_of += [number] * (last - first)
    return Reading(
        text,
        folded,
        tuple(lines),
        whole,
        plain,
        tuple(words),
        tuple(starts),
        tuple(ends),
        tuple(sentence_of),
        tuple(sentences),
        tuple(keys),
        tuple(languages),
        _find_cues(keys, "".join(codes), languages),
    )


def _as_keys(
    words: list[str], forms: list[Form], languages: list[str], strange: list[int]
) -> tuple[list[str], list[str]]:
    """Give the words as matched and their codes: numbers up to 99 are all alike."""
    keys = [form[1] or word for form, word in zip(forms, words, strict=True)]
    codes = [form[2] for form in forms]
    doubtful = [number for number in strange if len(words[number]) <= 2]  # figures of any script
    if not _numbers_of_one_language().isdisjoint(words):
        doubtful += [n for n, w in enumerate(words) if w in _numbers_of_one_language()]
    for number in doubtful:
        if as_key(words[number], languages[number]) == "#":
            keys[number], codes[number] = "#", lexicon().codes["#"]
    return keys, codes


@cache
def _numbers_of_one_language() -> frozenset[str]:
    return frozenset(word for word, only_in in figures().items() if only_in)
