"""The parts of a listing worth reading for sizes: most of it holds none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from extractors.reading import Reading
from extractors.size_cues import lexicon, words_of
from extractors.size_mentions import Segment, read_segments

_CHUNK = 3000  # characters read at a time, so that one endless line needs little memory
_LINE_HEADING = 45  # characters; a longer line without figures heads nothing
# years, stock numbers and the like have four digits or more and no unit
_FIGURES = re.compile(
    r"(?<!\d)\d{1,3}(?!\d)|[½⅓⅔¼¾⅛⅜⅝⅞⅕⅖⅗⅘⅙⅚]|(?<![a-z])[cm]m\b|inch|zoll|pouce|pollic|pulgad"
    r"|mill?i|centi|zentim|metr|meter"
)
_SENTENCE_END = re.compile(r"[.!?;]\s+|\.\.+\s?|[•●▪►]\s?")


class _Piece(NamedTuple):
    """A stretch of one line that is read in one go."""

    line: int
    start: int
    end: int


def segments_of(reading: Reading, text: str, goods: str) -> Iterator[Segment]:
    """The segments of all pieces, with the line they are of."""
    for piece in _pieces(reading, text):
        line = reading.lines[piece.line]
        before = reading.lines[piece.line - 1].end + 1 if piece.line else line.start
        words = lexicon(line.language, goods)
        whole = piece.start == line.start, piece.end == line.end
        for segment in read_segments(
            text[piece.start : piece.end], piece.start, words, goods, whole
        ):
            segment.line, segment.after_gap = piece.line, line.start > before
            yield segment


def _pieces(reading: Reading, text: str) -> Iterator[_Piece]:
    """The title, the sentences with figures, what stands right before them, headings and notes.

    Most of a listing has no figures; leaving it out is what makes this quick.
    """
    last: _Piece | None = None  # the latest sentence, if it was left out
    for number, line in enumerate(reading.lines):
        open_piece: _Piece | None = None
        for start, end in _sentences(text, line.start, line.end):
            piece = _Piece(number, start, end)
            if _FIGURES.search(text, start, end):
                if last is not None and last.line != number:
                    if last.end - last.start <= _LINE_HEADING:
                        yield last
                elif last is not None and open_piece is None and _opens().match(text, start, end):
                    piece = piece._replace(start=last.start)
            elif number and not _is_note(text, start, end):
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


def _is_note(text: str, start: int, end: int) -> bool:
    """Whether a sentence without figures may say something about sizes elsewhere."""
    return text[end - 1] == ":" or bool(_notes().search(text, start, end))


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


def _sentences(text: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Rough sentences of a line, cut at spaces where one is endless."""
    at = start
    for match in _SENTENCE_END.finditer(text, start, end):
        yield from _chunks(text, at, match.end())
        at = match.end()
    if at < end:
        yield from _chunks(text, at, end)


def _chunks(text: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Cut a long stretch at spaces."""
    while end - start > _CHUNK:
        cut = text.rfind(" ", start + _CHUNK // 2, start + _CHUNK)
        cut = cut if cut > 0 else start + _CHUNK
        yield start, cut
        start = cut
    yield start, end
