"""The parts of a listing worth reading for sizes: most of it holds none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from enum import Enum
from functools import cache, lru_cache
from itertools import chain
from typing import NamedTuple

from extractors.reading import Reading
from extractors.size_cues import lexicon, words_of
from extractors.size_labels import Entry, Label, read_gaps, share_words
from extractors.size_mentions import Segment, read_segments

_CHUNK = 3000  # characters read at a time, so that one endless line needs little memory
_LINE_HEADING = 45  # characters; a longer line without figures heads nothing
# years, stock numbers and the like have four digits or more and no unit
_NAMES = r"inch|zoll|pouce|pollic|pulgad|mill?i|centi|zentim|metr|meter|[cm]m\b(?<![a-z][cm]m)"
_DIGIT = re.compile(r"[\d½⅓⅔¼¾⅛⅜⅝⅞⅕⅖⅗⅘⅙⅚]")  # looked for first: it is much the quicker
_UNITS = re.compile(_NAMES)
_FIGURES = re.compile(rf"(?<!\d)\d{{1,3}}(?!\d)|[½⅓⅔¼¾⅛⅜⅝⅞⅕⅖⅗⅘⅙⅚]|{_NAMES}")
# a bullet between figures joins them: "56□16 ▪ 140"
_SENTENCE_END = re.compile(r"[.!?;]\s+|\.\.+\s?|[•●▪►](?!\s?\d)\s?|(?<!\d)(?<!\d\s)[•●▪►]\s?")


class _Piece(NamedTuple):
    """A stretch of one line that is read in one go."""

    line: int
    start: int
    end: int


class Worded(NamedTuple):
    """A segment, the words of it that are cues, and what these say of each of its figures."""

    segment: Segment
    entries: tuple[Entry, ...]
    labels: tuple[Label, ...]


class Placed(NamedTuple):
    """A segment in its text: the line, whether a blank line stands before, where places count."""

    line: int
    after_gap: bool
    offset: int
    worded: Worded


def segments_of(reading: Reading, text: str, goods: str) -> Iterator[Placed]:
    """The segments of all pieces, with the line they are of."""
    for piece in _pieces(reading, text):
        line = reading.lines[piece.line]
        before = reading.lines[piece.line - 1].end + 1 if piece.line else line.start
        whole = piece.start == line.start, piece.end == line.end
        read = _read_known if piece.end - piece.start <= _LONGEST_KEPT else _read_piece
        for worded in read(text[piece.start : piece.end], line.language, goods, whole):
            yield Placed(piece.line, line.start > before, piece.start, worded)


def _read_piece(
    text: str, language: str, goods: str, whole: tuple[bool, bool]
) -> tuple[Worded, ...]:
    """The segments of one piece, whatever stands around it."""
    return tuple(
        _with_words(segment, goods)
        for segment in read_segments(text, lexicon(language, goods), goods, whole)
    )


# sellers say the same things over and over, and listings repeat their titles
_read_known = lru_cache(maxsize=4096)(_read_piece)
_LONGEST_KEPT = 400  # characters


def _with_words(segment: Segment, goods: str) -> Worded:
    gaps = read_gaps(segment)
    entries = tuple(chain.from_iterable(gaps))
    units = {entry.value for entry in entries if entry.kind == "unit"}
    segment.unit = units.pop() if len(units) == 1 else None
    return Worded(segment, entries, tuple(share_words(segment, gaps, goods)))


def _pieces(reading: Reading, text: str) -> Iterator[_Piece]:
    """The title, the sentences with figures, what stands right before them, headings and notes.

    Most of a listing has no figures; leaving it out is what makes this quick.
    """
    last: _Piece | None = None  # the latest sentence, if it was left out
    for number, line in enumerate(reading.lines):
        open_piece: _Piece | None = None
        look = _sentences_known if line.end - line.start <= _LONGEST_KEPT else _sentences
        for first, stop, kind in look(text[line.start : line.end]):
            start, end = first + line.start, stop + line.start
            piece = _Piece(number, start, end)
            if kind is _Kind.FIGURES:
                if last is not None and last.line != number:
                    if last.end - last.start <= _LINE_HEADING:
                        yield last
                elif last is not None and open_piece is None and _opens().match(text, start, end):
                    piece = piece._replace(start=last.start)
            elif number and kind is _Kind.NOTHING:
                last = piece
                if open_piece is not None:
                    yield open_piece
                    open_piece = None
                continue
            last = None
            if open_piece is not None and end - open_piece.start > _CHUNK:
                yield open_piece
                open_piece = None
            open_piece = piece if open_piece is None else open_piece._replace(end=end)
        if open_piece is not None:
            yield open_piece


class _Kind(Enum):
    """What a sentence holds for sizes."""

    FIGURES = "figures"
    NOTE = "may say something about sizes elsewhere"
    NOTHING = "nothing"


def _kind_of(text: str, start: int, end: int) -> _Kind:
    if _DIGIT.search(text, start, end):
        has_figures = _FIGURES.search(text, start, end)
    else:
        has_figures = _UNITS.search(text, start, end)
    if has_figures:
        return _Kind.FIGURES
    is_note = text[end - 1] == ":" or bool(_notes().search(text, start, end))
    return _Kind.NOTE if is_note else _Kind.NOTHING


@cache
def _opens() -> re.Pattern[str]:
    """A sentence that goes on from the one before: with a figure or a word such as "it"."""
    words = "|".join(map(re.escape, sorted(words_of("pronoun"), key=len, reverse=True)))
    return re.compile(rf"\W*(?:(?:{words})\b|(?:[^\W\d]{{1,20}}\W{{1,3}})?[\d½¼¾⅛⅜⅝⅞~])")


@cache
def _notes() -> re.Pattern[str]:
    """The words for size of the five languages."""
    words = sorted(words_of("size"), key=len, reverse=True)
    return re.compile(r"\b(?:" + "|".join(map(re.escape, words)) + r")\b")


def _sentences(line: str) -> list[tuple[int, int, _Kind]]:
    """Rough sentences of a line, cut at spaces where one is endless."""
    ends = [match.end() for match in _SENTENCE_END.finditer(line)]
    if not ends or ends[-1] < len(line):
        ends.append(len(line))
    return [
        (first, last, _kind_of(line, first, last))
        for start, end in zip([0, *ends], ends, strict=False)
        for first, last in _chunks(line, start, end)
    ]


_sentences_known = lru_cache(maxsize=4096)(_sentences)


def _chunks(text: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Cut a long stretch at spaces."""
    while end - start > _CHUNK:
        cut = text.rfind(" ", start + _CHUNK // 2, start + _CHUNK)
        cut = cut if cut > 0 else start + _CHUNK
        yield start, cut
        start = cut
    yield start, end
