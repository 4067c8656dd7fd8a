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
from itertools import accumulate, chain, compress, count, repeat
from operator import getitem, is_, itemgetter
from typing import Any, NamedTuple

from extractors import folding
from extractors.lexicon import (
    REACHED,
    REACHING,
    SELDOM,
    SIGN,
    UNKNOWN,
    WORD,
    End,
    Meant,
    Node,
    Wide,
    abbreviations,
    all_cues,
    as_key,
    cut,
    figures,
    is_on_demand,
    lexicon,
    nothing,
    read_rows,
    seldom_asked,
    small_words,
    swapped_letters,
    uncollected,
    vocabulary,
)
from extractors.recent import Recent
from extractors.records import Span, new_named

MOST = 400  # cues of one class in one text; more is no listing
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


# sentences [first, last) of a line that comes often, and what else was found of the line alone
KnownLine = tuple[int, int, dict[str, Any]]
Met = tuple[int, int, Any]  # a cue as it was met: words [first, last), value


@dataclass(frozen=True, slots=True)
class Reading:
    """A text, its forms of equal length, its lines, words and cues.

    `words` are the plain forms; word i is text[starts[i]:ends[i]] and lies in sentence
    `sentence_of[i]`; `sentences` holds the word ranges. `keys` are the words as matched,
    `languages` those of their lines, `coded` has a letter for each, UNKNOWN for a word of no
    list. `cues` are those of each list and class as they were met: words [first, last) and the
    value. `known` are the lines that come often.
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
    coded: str = ""
    cues: Mapping[str, list[Met]] = field(default_factory=dict)
    known: tuple[KnownLine, ...] = field(default=(), compare=False, repr=False)
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
            met = self._met(name)
            hits = self.memory[name] = self._hits(name, met) if met else ()
        return hits

    def _met(self, name: str) -> Sequence[Met]:
        """Give the cues of a class as they were met; those of a class seldom asked for are now."""
        met = self.cues.get(name)
        if met is not None:
            return met
        if name in REACHING:
            return [(first, last, "") for first, last in self.reach(name).items()]
        phrases = seldom_asked().get(name, {}) if name in SELDOM else {}
        begun = [n for n, key in enumerate(self.keys) if key in phrases] if phrases else ()
        return [(first, last, "") for first in begun if (last := self.end_at(name, first))]

    def end_at(self, name: str, first: int) -> int:
        """Give the word after the longest cue of a class seldom asked for; 0 if none begins."""
        key = self.keys[first]
        for words, only_in in seldom_asked()[name].get(key, ()):
            last = first + len(words)
            if only_in and self.languages[first] not in ("", only_in):
                continue
            if last == first + 1 or self.keys[first:last] == words:
                return last
        return 0

    def _hits(self, name: str, met: Sequence[Met]) -> tuple[Hit, ...]:
        """Make hits of cues: the longest at each word, and if not on demand the outermost only."""
        if len(met) > 1:
            met = _longest(met) if is_on_demand(name) else _outermost(met)[:MOST]
        starts, ends = self.starts, self.ends
        return tuple(
            [
                new_named(Hit, (name, value, first, last, starts[first], ends[last - 1]))
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
            table = {first: (last, value) for first, last, value in self._met(name)}
            self.memory[key] = table
        return table

    def reach(self, name: str) -> dict[int, int]:
        """Map the first word of each cue of a REACHING class to the word after the longest."""
        tables: dict[str, dict[int, int]] | None = self.memory.get(REACHED)
        if tables is None:
            tables = self.memory[REACHED] = {kind: {} for kind in REACHING}
            for first, last, kinds in self.cues.get(REACHED, ()):
                for kind in kinds:
                    tables[kind][first] = last
        return tables[name]

    def figures(self) -> list[int]:
        """Give the numbers of the words that begin with a digit."""
        found: list[int] | None = self.memory.get("figures")
        if found is None:
            words = self.words
            low = compress(count(), map(":".__gt__, words))  # signs and figures
            found = [number for number in low if words[number] >= "0"]
            if not self.plain.isascii():
                high = compress(count(), map("\x7f".__lt__, words))
                found = sorted([*found, *[n for n in high if words[n][0].isdigit()]])
            self.memory["figures"] = found
        return found

    def strange(self) -> list[int]:
        """Give the numbers of the words of no list."""
        found: list[int] | None = self.memory.get("strange")
        if found is None:
            found = self.memory["strange"] = [*compress(count(), map(UNKNOWN.__eq__, self.coded))]
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


def _longest(met: Sequence[Met]) -> list[Met]:
    """Keep the longest cue at each word, in order: cues that end later were met later."""
    return sorted({cue[0]: cue for cue in met}.values())


def _outermost(met: Sequence[Met]) -> list[Met]:
    """Drop what lies inside a longer cue of the same class; put the rest in order."""
    kept: list[Met] = []
    behind = 0
    for cue in sorted(met, key=_place_of):
        if cue[1] > behind:
            if kept and kept[-1][0] == cue[0]:
                kept.pop()
            kept.append(cue)
            behind = cue[1]
    return kept


_place_of = itemgetter(0, 1)


class Form(NamedTuple):
    """What is known of a word.

    That are the language it tells or "", its key or None if its line decides, its code, what it
    means alone by language, and what cues of many variants and what phrases go on behind it, by
    the word that follows.
    """

    told: str
    key: str | None
    code: str
    alone: dict[str, Meant]
    wide: dict[str, tuple[Wide, ...]]
    longer: dict[str, Node]


@cache
def _strange() -> Form:
    """Give what is known of a word of no list."""
    return _form_of("", None, UNKNOWN, nothing())


def _form_of(told: str, key: str | None, code: str, node: Node) -> Form:
    return Form(told, key, code, node.meant, node.wide, node.following)


@cache
@uncollected()
def _forms() -> dict[str, Form]:
    """Give what is known of each word of any list; one look-up a word, for memory is slow."""
    swapped_letters()  # read with the other lists, not while the first text is
    told, known, numbers = _telling_words(), lexicon(), figures()
    forms: dict[str, Form] = {}
    seldom = (word for phrases in seldom_asked().values() for word in phrases)
    for word in dict.fromkeys(("\n", *known.words, *seldom, *vocabulary(), *told, *numbers)):
        only_in = numbers.get(word)
        key = word if only_in is None else None if only_in else "#"
        shown = key or word
        node = known.tree.get(shown) or nothing()
        forms[word] = _form_of(told.get(word, ""), key, known.codes[shown], node)
    return forms


@cache
def listed_words() -> Mapping[int, str]:
    """Give the words of all lists, as matched, by the numbers of their letters in `coded`."""
    return {ord(form.code): form.key or word for word, form in _forms().items()}


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


def _most_voted(votes: Sequence[str], default: str) -> str:
    """Name the language with the most votes, the first of equals; `default` if none has more."""
    told = {*votes}
    told.discard("")
    if len(told) < 2:  # as in nearly every line
        return told.pop() if told else default
    counts = Counter(filter(None, votes))
    best = max(counts, key=counts.__getitem__)
    return default if counts[default] == counts[best] else best


def guess_language(text: str, default: str = "en") -> str:
    """Name the language that most of the telling words belong to; `default` if there is none."""
    words = WORD.findall(folding.plain(text))
    return _most_voted([_forms().get(word, _strange()).told for word in words], default)


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
        right = _slip_of(word) if 4 < len(word) < 20 and word.isalpha() else None
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
    # "D.R.G.M.", "made by J. Vennerby"
    is_dotted = is_letter and number > 1 and words[number - 2] in _BEFORE_LETTER
    if not is_dotted and before not in abbreviations():
        return True
    return number + 1 == len(words) or words[number + 1] == "\n"


_BEFORE_LETTER = small_words("before_initial") | {"."}


def _cut_sentences(
    words: list[str], stops: list[int], plain: str, ends: list[int]
) -> list[tuple[int, int]]:
    """Give the word range of each sentence; a line break ends the last one of its line."""
    ranges: list[tuple[int, int]] = []
    first = 0
    for number in stops:
        if words[number] != "." or _ends_sentence(words, number, plain, ends):
            ranges.append((first, number + 1))
            first = number + 1
    ranges.append((first, len(words)))
    return ranges


def _cut_words(plain: str) -> tuple[list[str], list[int], list[int]]:
    """Give the words and line breaks of a text, where they start and where they end."""
    pieces = (_WORDS_OF_ASCII if plain.isascii() else _WORDS).split(plain)
    places = [*accumulate(map(len, pieces))]  # what lies between, and the words, in turn
    return pieces[1::2], places[:-1:2], places[1::2]


_WORDS = re.compile(f"({WORD.pattern})")
_WORDS_OF_ASCII = re.compile(f"([0-9A-Za-z]+|{SIGN})")  # in less time


def _find_cues(known: _Known, coded: str, languages: list[str]) -> dict[str, list[Met]]:
    """Find every phrase of every list in one pass; none goes over a line break."""
    found: dict[str, list[Met]] = defaultdict(list)
    keys, following = known.keys, [*known.keys[1:], ""]
    begun: list[tuple[int, Sequence[Wide]]] = [
        (first, wides.get(following[first]) or wides[""])
        for first, wides in compress(enumerate(known.wides), known.wides)
    ]
    alone = map(getitem, known.alone, languages)
    longer = map(dict.get, known.longer, following)
    for first, meant, node in zip(count(), alone, longer):
        for name, value in meant:
            found[name].append((first, first + 1, value))
        if node:
            _go_on(found, begun, keys, first, languages[first], node)
    _add_wide(found, begun, keys, coded, languages)
    return found


def _go_on(
    found: dict[str, list[Met]],
    begun: list[tuple[int, Sequence[Wide]]],
    keys: list[str],
    first: int,
    language: str,
    node: Node | None,
) -> None:
    """Note the phrases of two and more words that begin at a word."""
    last = first + 1
    while node:  # as long as the words go on as some phrase does
        last += 1
        meant, wides, is_long, longer = node
        for name, value in meant[language]:
            found[name].append((first, last, value))
        following = keys[last] if last < len(keys) else ""
        if wides:
            begun.append((first, wides.get(following) or wides[""]))
        if is_long:
            _add_long(found, lexicon().long.find_at(keys, first), first, language)
        node = longer.get(following)


def _add_wide(
    found: dict[str, list[Met]],
    begun: list[tuple[int, Sequence[Wide]]],
    keys: list[str],
    coded: str,
    languages: list[str],
) -> None:
    """Note the cues of many variants that go on as they began."""
    for first, cues in begun:
        for name, value, only_in, pattern, gate, _, reach in cues:
            if gate.isdisjoint(keys[first : first + reach]):
                continue
            match = pattern.match(coded, first)
            if match and (not only_in or languages[first] in ("", only_in)):
                found[name].append((first, match.end(), value))


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


class _Block(NamedTuple):
    """Whole lines, read without those around them; places count from their beginning.

    Fields are those of a Reading, but that `told` holds the language that each word tells, `lines`
    are without empty ones and may have no language, and `languages` end with that of a line break
    behind the block.
    """

    folded: str
    plain: str
    words: list[str]
    starts: list[int]
    ends: list[int]
    told: list[str]
    lines: list[Line]
    languages: list[str]
    keys: list[str]
    coded: str
    sentences: list[tuple[int, int]]
    cues: Mapping[str, list[Met]]
    known: list[KnownLine]


_Row = tuple[str, int, int, Any]  # a cue: class, words [first, last), value
# a block of several, all its cues, and what else was found of it; None if it is not kept
_Part = tuple[_Block, list[_Row], dict[str, Any] | None]


def prepare(text: str) -> Reading:
    """Make a text ready: linear in its length."""
    block = _read_lines(text)
    whole = _most_voted(block.told, "en")
    lengths = [last - first for first, last in block.sentences]
    return Reading(
        text,
        block.folded,
        tuple([line if line[2] else new_named(Line, (*line[:2], whole)) for line in block.lines]),
        whole,
        block.plain,
        tuple(block.words),
        tuple(block.starts),
        tuple(block.ends),
        tuple(chain.from_iterable(map(repeat, count(), lengths))),
        tuple(block.sentences),
        tuple(block.keys),
        tuple(block.languages[:-1]),  # behind the last line stands no line break
        block.coded,
        block.cues,
        tuple(block.known),
    )


def _read_lines(text: str) -> _Block:
    """Read a text; lines that come often are not read again, the others are in one go."""
    parts: list[_Part] = []
    fresh: list[str] = []
    for line in text.split("\n"):
        known = _known_lines.recall(line, _read_known) if _SHORT < len(line) < _LONG else None
        if known is None:
            fresh.append(line)
            continue
        if fresh:
            parts.append(_read_part("\n".join(fresh)))
            fresh = []
        parts.append(known)
    if not parts:
        return _read_block(text)
    if fresh:
        parts.append(_read_part("\n".join(fresh)))
    return _joined(parts)


def forget_lines() -> None:
    """Read every line anew from now on."""
    _known_lines.clear()


def _read_part(text: str) -> _Part:
    block = _read_block(text)
    return block, [(name, *cue) for name, met in block.cues.items() for cue in met], None


def _read_known(line: str) -> _Part:
    return *_read_part(line)[:2], {}


_SHORT, _LONG = 12, 1_000  # characters of a line that is worth keeping
_known_lines: Recent[_Part] = Recent(most=3_000, characters=300_000)


def _joined(parts: list[_Part]) -> _Block:
    """Put blocks behind one another with a line break between, as if they had been read at once."""
    folded = "\n".join([part[0].folded for part in parts])
    plain = "\n".join([part[0].plain for part in parts])
    coded = _forms()["\n"].code.join([part[0].coded for part in parts])
    whole = _Block(folded, plain, [], [], [], [], [], [], [], coded, [], defaultdict(list), [])
    place = 0
    for part in parts:
        if place:
            _break_line(whole, place - 1)
        _append(whole, part, place)
        place += len(part[0].plain) + 1
    return whole


def _break_line(whole: _Block, place: int) -> None:
    """Add a line break, which belongs to the sentence before it."""
    whole.words.append("\n")
    whole.keys.append("\n")
    whole.told.append("")
    whole.starts.append(place)
    whole.ends.append(place + 1)
    whole.sentences[-1] = whole.sentences[-1][0], len(whole.words)


def _append(whole: _Block, part: _Part, place: int) -> None:
    """Add what was read of a block that stands at a place."""
    block, cues, memory = part
    at = len(whole.words)
    whole.words.extend(block.words)
    whole.keys.extend(block.keys)
    whole.told.extend(block.told)
    whole.languages.extend(block.languages)
    whole.starts.extend([start + place for start in block.starts])
    whole.ends.extend([end + place for end in block.ends])
    for start, end, language in block.lines:
        whole.lines.append(new_named(Line, (start + place, end + place, language)))
    if memory is not None:
        begun = len(whole.sentences)
        whole.known.append((begun, begun + len(block.sentences), memory))
    for first, last in block.sentences:
        whole.sentences.append((first + at, last + at))
    found = whole.cues
    for name, first, last, value in cues:
        found[name].append((first + at, last + at, value))


def _read_block(text: str) -> _Block:
    """Read whole lines."""
    folded = fold(text)
    plain = folding.plain(folded)
    words, starts, ends = _cut_words(plain)
    known = _look_up(words)
    open_ones = [*compress(count(), map(is_, known.keys, repeat(None)))]
    mended = _mend(words, [number for number in open_ones if known.codes[number] == UNKNOWN])
    if mended:
        plain, folded = _patch(plain, starts, mended), _patch(folded, starts, mended)
    for number, word in mended.items():
        words[number] = word
        known.put(number, _forms().get(word, _strange()))
    stops = [*compress(count(), map(_ENDS.__contains__, words))]
    lines, languages = _cut_lines(words, starts, known.told, len(text))
    _decide(words, languages, known, open_ones)
    sentences = _cut_sentences(words, stops, plain, ends)
    told, keys, coded = known.told, known.keys, "".join(known.codes)
    cues = _find_cues(known, coded, languages)
    return _Block(
        *(folded, plain, words, starts, ends, told, lines, languages, keys, coded, sentences),
        *(cues, []),
    )


class _Known(NamedTuple):
    """What is known of each word of a block: the parts of its form, each in a list."""

    told: list[str]
    keys: list[Any]  # text; None while the line is to decide
    codes: list[str]
    alone: list[dict[str, Meant]]
    wides: list[dict[str, tuple[Wide, ...]]]
    longer: list[dict[str, Node]]

    def put(self, number: int, form: Form) -> None:
        """Note the form of a word."""
        columns: tuple[list[Any], ...] = self
        for column, part in zip(columns, form, strict=True):
            column[number] = part


def _look_up(words: list[str]) -> _Known:
    """Look words up."""
    forms = map(_forms().get, words, repeat(_strange()))
    return _Known(*(map(list, zip(*forms, strict=True)) if words else ([] for _ in Form._fields)))


def _decide(words: list[str], languages: list[str], known: _Known, open_ones: list[int]) -> None:
    """Settle the keys of words that may be numbers: those up to 99 are all alike."""
    keys, codes = known.keys, known.codes
    for number in open_ones:
        word = words[number]
        is_listed = codes[number] != UNKNOWN
        may_count = is_listed or len(word) <= 2  # figures of any script are not listed
        if may_count and as_key(word, languages[number]) == "#":
            known.put(number, _forms()["00"]._replace(told=known.told[number]))
        elif keys[number] is None:
            keys[number] = word


def _cut_lines(
    words: list[str], starts: list[int], told: list[str], length: int
) -> tuple[list[Line], list[str]]:
    """Give the lines that are not empty, and the language of each word's and a further break's.

    "" does not tell a language: any may be meant.
    """
    lines: list[Line] = []
    languages: list[str] = []
    begin = place = 0
    for end in [*compress(count(), map("\n".__eq__, words)), len(words)]:
        language = _most_voted(told[begin:end], "")
        languages += [language] * (end + 1 - begin)
        behind = starts[end] if end < len(words) else length
        if behind > place:
            lines.append(new_named(Line, (place, behind, language)))
        begin, place = end + 1, behind + 1
    return lines, languages
