"""The parts of a listing worth reading for sizes: most of it holds none."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from enum import Enum
from functools import cache
from itertools import accumulate, chain
from typing import NamedTuple

from extractors.quantities import PIECE_END
from extractors.reading import Reading
from extractors.size_context import noted_unit
from extractors.size_cues import KIND, lexicon, words_of
from extractors.size_labels import Entry, Label, read_gaps, share_words
from extractors.size_mentions import Segment, read_segments

_new = tuple.__new__  # makes a named tuple in half the time
_CHUNK = 3000  # characters read at a time, so that one endless line needs little memory
_LINE_HEADING = 45  # characters; a longer line without figures heads nothing
# years, stock numbers and the like have four digits or more and no unit
_FRACTIONS = "½⅓⅔¼¾⅛⅜⅝⅞⅕⅖⅗⅘⅙⅚"
# one to three digits and no more, a fraction, or the beginning of a unit's name; a set of first
# signs stands before all, so that these are looked for at full speed
_FIGURES = re.compile(
    rf"[\d{_FRACTIONS}izpcm](?:(?<=\d)\d{{0,2}}(?!\d)(?<!\d{{4}})|(?<=[{_FRACTIONS}])"
    r"|(?<=i)nch|(?<=z)(?:oll|entim)|(?<=p)(?:ouce|ollic|ulgad)"
    r"|(?<=c)enti|(?<=m)(?:ill?i|etr|eter)|(?<=[cm])m\b(?<![a-z][cm]m))"
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
        _new(_Key, (text[start:end], language, goods, (start == first, end == last)))
        for number, start, end in pieces
        for first, last, language in (reading.lines[number],)
    ]
    read = _read_all(keys)
    placed = []
    for (number, start, _), key in zip(pieces, keys, strict=True):
        after_gap = number > 0 and reading.lines[number].start > reading.lines[number - 1].end + 1
        offset, worded = read[key]
        for one in worded:
            placed.append(_new(Placed, (number, after_gap, start - offset, one)))
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


_PIECES_KEPT = 2000
_LONGEST_KEPT = 400  # characters


def _read_all(keys: list[_Key]) -> dict[_Key, _Read]:
    """The readings of pieces; those in one language not met before are read at once."""
    seen = _pieces_seen()
    if len(seen) > _PIECES_KEPT:
        seen.clear()
    read = {key: seen[key] for key in keys if key in seen}
    blocks: dict[str, list[_Key]] = {}
    for key in dict.fromkeys([key for key in keys if key not in read]):
        blocks.setdefault(key[1], []).append(key)
    for block in blocks.values():
        for few in _chunked(block):
            read.update(_read_block(few))
    seen.update((key, one) for key, one in read.items() if len(key[0]) <= _LONGEST_KEPT)
    return read


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
    return _new(Worded, worded)


_UNIT = KIND["unit"]


def _pieces(reading: Reading, text: str) -> list[_Piece]:
    """The title, the sentences with figures, what stands right before them, headings and notes.

    Most of a listing has no figures; leaving it out is what makes this quick.
    """
    ends = [match.end() for match in _SENTENCE_END.finditer(text)]
    pieces: list[_Piece] = []
    last: _Piece | None = None  # the latest sentence, if it was left out
    for number, (start, end, _) in enumerate(reading.lines):
        before = bisect_left(ends, end)  # how many sentences end before the line does
        is_one = end - start <= _CHUNK and (not before or ends[before - 1] <= start)
        kind = _kind_of(text, start, end)
        if is_one:
            sentences = [(start, end, kind)]
        elif number and kind is _Kind.NOTHING and end - start <= _CHUNK:
            sentences = [(ends[before - 1], end, kind)]  # the last; the others are left out too
        else:
            sentences = _sentences(text, start, end, ends)
        last = _read_line(number, text, sentences, last, pieces)
    return pieces


def _read_line(
    number: int,
    text: str,
    sentences: list[_Sentence],
    last: _Piece | None,
    pieces: list[_Piece],
) -> _Piece | None:
    """Add the pieces of one line; what comes out is the sentence left out right at its end.

    `last` is the one left out right before the line.
    """
    begin = stop = -1  # of the piece that is being put together
    for start, end, kind in sentences:
        if number and kind is _Kind.NOTHING:
            last = _new(_Piece, (number, start, end))
            if begin >= 0:
                pieces.append(_new(_Piece, (number, begin, stop)))
                begin = -1
            continue
        first = start
        if kind is _Kind.FIGURES and last is not None:
            if last.line != number:
                if last.end - last.start <= _LINE_HEADING:
                    pieces.append(last)
            elif begin < 0 and _opens().match(text, start, end):
                first = last.start
        last = None
        if begin >= 0 and end - begin > _CHUNK:
            pieces.append(_new(_Piece, (number, begin, stop)))
            begin = -1
        begin, stop = first if begin < 0 else begin, end
    if begin >= 0:
        pieces.append(_new(_Piece, (number, begin, stop)))
    return last


class _Kind(Enum):
    """What a sentence holds for sizes."""

    FIGURES = "figures"
    NOTE = "may say something about sizes elsewhere"
    NOTHING = "nothing"


_Sentence = tuple[int, int, _Kind]


def _kind_of(text: str, start: int, end: int) -> _Kind:
    if _FIGURES.search(text, start, end):
        return _Kind.FIGURES
    is_note = text[end - 1] == ":" or _notes().search(text, start, end)
    return _Kind.NOTE if is_note else _Kind.NOTHING


@cache
def _opens() -> re.Pattern[str]:
    """A sentence that goes on from the one before: with a figure or a word such as "it"."""
    words = "|".join(map(re.escape, sorted(words_of("pronoun"), key=len, reverse=True)))
    return re.compile(rf"\W*(?:(?:{words})\b|(?:[^\W\d]{{1,20}}\W{{1,3}})?[\d½¼¾⅛⅜⅝⅞~])")


@cache
def _notes() -> re.Pattern[str]:
    """The words for size of the five languages; it looks for first letters, then for words."""
    words = sorted(words_of("size"), key=len, reverse=True)
    firsts = sorted({word[0] for word in words})
    rests = {first: [re.escape(w[1:]) for w in words if w[0] == first] for first in firsts}
    choices = "|".join(f"(?<={first})(?:{'|'.join(rests[first])})" for first in firsts)
    return re.compile(rf"[{''.join(firsts)}](?<!\w.)(?:{choices})\b")


def _sentences(text: str, start: int, stop: int, ends: list[int]) -> list[_Sentence]:
    """Rough sentences of a line, cut at spaces where one is endless; `ends` are those of a text."""
    inner = ends[bisect_right(ends, start) : bisect_left(ends, stop)]
    sentences = []
    for end in (*inner, stop):
        for first, last in _chunks(text, start, end) if end - start > _CHUNK else ((start, end),):
            sentences.append((first, last, _kind_of(text, first, last)))
        start = end
    return sentences


def _chunks(text: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Cut a long stretch at spaces."""
    while end - start > _CHUNK:
        cut = text.rfind(" ", start + _CHUNK // 2, start + _CHUNK)
        cut = cut if cut > 0 else start + _CHUNK
        yield start, cut
        start = cut
    yield start, end
