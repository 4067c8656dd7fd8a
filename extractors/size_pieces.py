"""The parts of a listing worth reading for sizes: most of it holds none."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from enum import Enum
from functools import cache, lru_cache
from itertools import accumulate, chain
from typing import NamedTuple

from extractors import folding
from extractors.quantities import PIECE_END
from extractors.reading import Reading
from extractors.records import new_named
from extractors.size_context import noted_unit
from extractors.size_cues import KIND, lexicon, words_of
from extractors.size_labels import Entry, Label, read_gaps, share_words
from extractors.size_mentions import Segment, read_segments

_LONGEST_KEPT = 400  # characters of a line or piece that is remembered
_LINES_KEPT = _PIECES_KEPT = 4000
_CHUNK = 3000  # characters read at a time, so that one endless line needs little memory
_LINE_HEADING = 45  # characters; a longer line without figures heads nothing
# years, stock numbers and the like have four digits or more and no unit
_FRACTIONS = "½⅓⅔¼¾⅛⅜⅝⅞⅕⅖⅗⅘⅙⅚"
# one to three digits and no more, or a fraction; a set of first signs stands before all, so that
# these are looked for at full speed
_FIGURES = re.compile(
    rf"[\d{_FRACTIONS}](?:(?<=\d)\d{{0,2}}(?!\d)(?<!\d{{4}})|(?<=[{_FRACTIONS}]))"
)
# beginnings of the names of units, which may stand behind a number in words
_UNITS = (
    *("inch", "zoll", "zentim", "pouce", "pollic", "pulgad", "centi", "mili", "milli"),
    *("metr", "meter", "mm", "cm"),
)
# a bullet between figures joins them: "56□16 ▪ 140"; never looks beyond the line
_BLANK = r"[^\S\n]"
_SENTENCE_END = re.compile(
    rf"[.!?;•●▪►](?:(?<=[.!?;]){_BLANK}+|(?<=\.)\.+{_BLANK}?"
    rf"|(?<=[•●▪►])(?:(?!{_BLANK}?\d)|(?<!\d.)(?<!\d{_BLANK}.)){_BLANK}?)"
)


class _Piece(NamedTuple):
    """A stretch of one line that is read in one go."""

    line: int
    start: int
    end: int


class Worded(NamedTuple):
    """A segment, the words of it that are cues, and what these say of each of its figures.

    `kinds` are the kinds of all the words; `noted` is the unit of a note such as "all in mm".
    """

    segment: Segment
    entries: tuple[Entry, ...]
    labels: tuple[Label, ...]
    kinds: int
    noted: str | None


class Placed(NamedTuple):
    """A segment in its text: the line, whether a blank line stands before, where places count."""

    line: int
    after_gap: bool
    offset: int
    worded: Worded


def segments_of(reading: Reading, text: str, goods: str) -> list[Placed]:
    """The segments of all pieces, with the line they are of."""
    text = text.replace(PIECE_END, "\1")  # another mark of no meaning
    pieces = _pieces(reading, text)
    keys = [
        new_named(_Key, (text[start:end], language, goods, (start == first, end == last)))
        for number, start, end in pieces
        for first, last, language in (reading.lines[number],)
    ]
    placed = []
    for (number, start, _), (offset, worded) in zip(pieces, _read_all(keys), strict=True):
        after_gap = number > 0 and reading.lines[number].start > reading.lines[number - 1].end + 1
        for one in worded:
            placed.append(new_named(Placed, (number, after_gap, start - offset, one)))
    return placed


class _Key(NamedTuple):
    """All that the reading of a piece depends on."""

    text: str
    language: str
    goods: str
    whole: tuple[bool, bool]  # whether it starts and ends with its line


class _Read(NamedTuple):
    """The segments of a piece, and where in the text they were read from it begins."""

    offset: int
    segments: list[Worded]


@cache
def _pieces_seen() -> dict[_Key, _Read]:
    """The pieces read lately: sellers say the same over and over, and titles are repeated."""
    return {}


def _read_all(keys: list[_Key]) -> list[_Read]:
    """The reading of each piece; those in one language not met before are read at once."""
    seen = _pieces_seen()
    read = {key: seen[key] for key in keys if key in seen}
    if len(read) < len(keys):
        fresh = dict(_read_new([key for key in dict.fromkeys(keys) if key not in read]))
        if len(seen) + len(fresh) > _PIECES_KEPT:
            seen.clear()
        seen.update((key, one) for key, one in fresh.items() if len(key[0]) <= _LONGEST_KEPT)
        read |= fresh
    return [read[key] for key in keys]


def _read_new(keys: list[_Key]) -> Iterator[tuple[_Key, _Read]]:
    """The readings of different pieces, a language at a time."""
    blocks: dict[str, list[_Key]] = {}
    for key in keys:
        blocks.setdefault(key[1], []).append(key)
    for block in blocks.values():
        for few in _chunked(block):
            yield from _read_block(few)


def _chunked(block: list[_Key]) -> Iterator[list[_Key]]:
    """The pieces, as many at a time as have the length of a chunk together."""
    few: list[_Key] = []
    length = 0
    for key in block:
        few.append(key)
        length += len(key[0])
        if length > _CHUNK:
            yield few
            few, length = [], 0
    if few:
        yield few


def _read_block(block: list[_Key]) -> Iterator[tuple[_Key, _Read]]:
    """The readings of pieces of one language."""
    _, language, goods, _ = block[0]
    pieces, whole = [key.text for key in block], [key.whole for key in block]
    segments: list[list[Worded]] = [[] for _ in block]
    for segment in read_segments(pieces, whole, lexicon(language, goods), goods):
        segments[segment.piece].append(_with_words(segment, goods))
    offsets = accumulate((len(piece) + 1 for piece in pieces), initial=0)
    return zip(block, map(_Read, offsets, segments), strict=False)


def _with_words(segment: Segment, goods: str) -> Worded:
    gaps = read_gaps(segment)
    entries = tuple(chain.from_iterable(gaps)) if len(gaps) > 1 else tuple(gaps[0])
    kinds = 0
    for entry in entries:
        kinds |= KIND[entry[2]]
    if kinds & _UNIT:
        units = {entry.value for entry in entries if entry.kind == "unit"}
        segment.unit = units.pop() if len(units) == 1 else None
    noted = noted_unit(segment, entries) if kinds & _UNIT and not segment.mentions else None
    worded = segment, entries, tuple(share_words(segment, gaps, goods)), kinds, noted
    return new_named(Worded, worded)


_UNIT = KIND["unit"]


def _pieces(reading: Reading, text: str) -> list[_Piece]:
    """The title, the sentences with figures, what stands right before them, headings and notes.

    Most of a listing has no figures; leaving it out is what makes this quick.
    """
    pieces: list[_Piece] = []
    last: _Piece | None = None  # the latest sentence, if it was left out
    hints = _hints(reading, text)
    for number, (start, end, _) in enumerate(reading.lines):
        line = text[start:end]
        if number == 0 and len(line) <= _CHUNK:
            pieces.append(new_named(_Piece, (0, start, end)))
            continue
        cut = _known_sentences if len(line) <= _LONGEST_KEPT else _sentences
        sentences = cut(line, tuple([hint for hint in hints if hint in line]))
        last = _read_line(number, start, line, sentences, last, pieces)
    return pieces


def _hints(reading: Reading, text: str) -> list[str]:
    """What of the names of units and the words for size is in a text at all."""
    words = _size_words()
    sizes = [words[word] for word in words.keys() & reading.words]
    return [name for name in _UNITS if name in text] + sizes


@cache
def _size_words() -> dict[str, str]:
    """The words for size in the five languages, by the form they have in a Reading."""
    return {folding.plain(word): word for word in words_of("size")}


@cache
def _hinted(hint: str) -> tuple[re.Pattern[str], _Kind]:
    """How a hint is found where it says something, and what a sentence with it holds."""
    if hint not in _UNITS:
        return re.compile(rf"(?<!\w){re.escape(hint)}\b"), _Kind.NOTE
    return re.compile(rf"{hint}\b(?<![a-z]{hint})" if len(hint) == 2 else hint), _Kind.FIGURES


def _read_line(
    number: int,
    place: int,
    line: str,
    sentences: _Sentences,
    last: _Piece | None,
    pieces: list[_Piece],
) -> _Piece | None:
    """Add the pieces of one line; what comes out is the sentence left out right at its end.

    `place` is where the line starts; `last` is the sentence left out right before it.
    """
    begin = stop = -1  # in the line, of the piece that is being put together
    for start, end, kind in sentences:
        if number and kind is _Kind.NOTHING:
            last = new_named(_Piece, (number, place + start, place + end))
            if begin >= 0:
                pieces.append(new_named(_Piece, (number, place + begin, place + stop)))
                begin = -1
            continue
        first = start
        if kind is _Kind.FIGURES and last is not None:
            if last.line != number:
                if last.end - last.start <= _LINE_HEADING:
                    pieces.append(last)
            elif begin < 0 and _opens(line, start, end):
                first = last.start - place
        last = None
        if begin >= 0 and end - begin > _CHUNK:
            pieces.append(new_named(_Piece, (number, place + begin, place + stop)))
            begin = -1
        begin, stop = first if begin < 0 else begin, end
    if begin >= 0:
        pieces.append(new_named(_Piece, (number, place + begin, place + stop)))
    return last


class _Kind(Enum):
    """What a sentence holds for sizes."""

    FIGURES = "figures"
    NOTE = "may say something about sizes elsewhere"
    NOTHING = "nothing"


_Sentences = Sequence[tuple[int, int, _Kind]]


def _sentences(line: str, hints: tuple[str, ...]) -> _Sentences:
    """Rough sentences of a line, cut at spaces where one is endless; of several with nothing one.

    The last one it is; it may head what follows. `hints` are those in the line, of units first.
    """
    ends = [match.end() for match in _SENTENCE_END.finditer(line)]
    if not ends or ends[-1] < len(line):
        ends.append(len(line))
    has_several = len(ends) > 1 and len(line) <= _CHUNK
    if has_several and _kind_of(line, 0, len(line), hints) is _Kind.NOTHING:
        return ((ends[-2], len(line), _Kind.NOTHING),)
    sentences = []
    start = 0
    for end in ends:
        for first, last in _chunks(line, start, end) if end - start > _CHUNK else ((start, end),):
            sentences.append((first, last, _kind_of(line, first, last, hints)))
        start = end
    return tuple(sentences)


@lru_cache(maxsize=_LINES_KEPT)
def _known_sentences(line: str, hints: tuple[str, ...]) -> _Sentences:
    """The sentences of a line that is likely to come again."""
    return _sentences(line, hints)


def _kind_of(line: str, start: int, end: int, hints: tuple[str, ...]) -> _Kind:
    if _FIGURES.search(line, start, end):
        return _Kind.FIGURES
    for hint in hints:
        pattern, kind = _hinted(hint)
        if pattern.search(line, start, end):
            return kind
    return _Kind.NOTE if line[end - 1 : end] == ":" else _Kind.NOTHING


def _opens(line: str, start: int, end: int) -> bool:
    """Whether a sentence goes on from the one before: with a figure or a word such as "it"."""
    if _FIGURE_FIRST.match(line, start, end):
        return True
    first = _FIRST_WORD.match(line, start, end)
    return first is not None and first.group(1) in _pronouns()


_FIGURE_FIRST = re.compile(r"\W*(?:[^\W\d]{1,20}\W{1,3})?[\d½¼¾⅛⅜⅝⅞~]")
_FIRST_WORD = re.compile(r"\W*(\w+)")


@cache
def _pronouns() -> frozenset[str]:
    return words_of("pronoun")


def _chunks(line: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Cut a long stretch at spaces."""
    while end - start > _CHUNK:
        cut = line.rfind(" ", start + _CHUNK // 2, start + _CHUNK)
        cut = cut if cut > 0 else start + _CHUNK
        yield start, cut
        start = cut
    yield start, end
