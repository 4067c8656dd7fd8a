"""Several references named in one listing: which words are said of which piece.

A piece is named by its model, its maker, its number ("the second one") or as the other of two; what
follows in the paragraph stays with it. Words of "both" are said of all. Words that stand with no
piece are said of none: better nothing than a size held against the wrong sheet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from extractors.records import Listing
from models.passages import Passage, passages, sentences
from models.resolve import mentions
from models.sheets import Sheets
from models.wording import words_of

_ALL = "*"
_MOST_NUMBERED = 3  # "the first", "the second", "the third"


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of a passage and whose it is: a sheet's id, `_ALL`, or None."""

    start: int
    end: int
    owner: str | None


@dataclass(frozen=True, slots=True)
class _Named:
    """Where a piece is named; `by_name`: by model or maker, not by a number."""

    start: int
    end: int
    owner: str
    by_name: bool


def listing_of_piece(listing: Listing, lot: Sequence[str], owner: str, sheets: Sheets) -> Listing:
    """The listing with only what is said of one piece; offsets stay as they are."""
    text, *others = passages(listing)
    kept = _only(text, lot, owner, sheets)
    at = len(listing.title)
    answers = [p for p in others if p.part == "answer"]
    labels = [p for p in others if p.part == "specific"]
    return replace(
        listing,
        title=kept[:at],
        description=kept[at + 1 :],
        specifics=tuple(
            (p.key or "", p.text[-p.shift :])
            for p in labels
            if {m.sheet for m in mentions(p, lot, sheets)} == {owner}
        ),
        answers=tuple(_only(p, lot, owner, sheets) for p in answers),
        quantity=None,
    )


def _blank(text: str, start: int, end: int) -> str:
    blank = "".join(c if c == "\n" else " " for c in text[start:end])
    return text[:start] + blank + text[end:]


def _only(passage: Passage, lot: Sequence[str], owner: str, sheets: Sheets) -> str:
    text = passage.text
    for piece in _pieces(passage, lot, sheets):
        if piece.owner not in (owner, _ALL):
            text = _blank(text, piece.start, piece.end)
    return text


def _pieces(passage: Passage, lot: Sequence[str], sheets: Sheets) -> Iterator[_Piece]:
    """The passage cut by whose its words are, in reading order."""
    found = mentions(passage, lot, sheets)
    carried: str | None = None
    before = 0
    for start, end in sentences(passage.folded, passage.text):
        if re.search(r"\n\s*\n", passage.text[max(0, before - 1) : start + 1]):
            carried = None
        before = end
        named = [_Named(m.start, m.end, m.sheet, True) for m in found if start <= m.start < end]
        named += _numbered(passage.folded, (start, end), lot, carried)
        named.sort(key=lambda n: n.start)
        if named:
            yield from _shared_out(passage, (start, end), named)
            # "the other one" would be read as a piece that is not for sale
            yield from (_Piece(n.start, n.end, None) for n in named if not n.by_name)
            owners = {n.owner for n in named}
            carried = named[0].owner if len(owners) == 1 else None
        elif words_of("all_items").search(passage.folded, start, end):
            yield _Piece(start, end, _ALL)
            carried = None
        else:
            in_title = passage.part == "text" and start < passage.title_end
            yield _Piece(start, end, _ALL if in_title else carried)


def _numbered(
    folded: str, sentence: tuple[int, int], lot: Sequence[str], carried: str | None
) -> Iterator[_Named]:
    """ "the second one", "no. 2:", "2)" at the start of a line, "the other" of two."""
    for number, owner in enumerate(lot[:_MOST_NUMBERED], 1):
        for match in words_of(f"item_{number}").finditer(folded, *sentence):
            yield _Named(match.start(), match.end(), owner, False)
        listed = re.compile(rf"\W*{number}[.):](?:\s|$)").match(folded, *sentence)
        if listed and folded[: sentence[0]].rstrip(" ")[-1:] in ("", "\n"):
            yield _Named(sentence[0], listed.end(), owner, False)
    if carried is not None and len(lot) == 2:
        other = next(owner for owner in lot if owner != carried)
        for match in words_of("the_other").finditer(folded, *sentence):
            yield _Named(match.start(), match.end(), other, False)


_SEPARATOR = re.compile(
    r"[,;:+&/()]|\s[-–—]\s|\b(?:and|but|while|whereas|und|aber|et|mais|e|ed|ma|y|pero)\b"
)


def _shared_out(
    passage: Passage, sentence: tuple[int, int], named: Sequence[_Named]
) -> Iterator[_Piece]:
    """One sentence cut between the pieces it names, at the last comma or "and" before each."""
    folded, start = passage.folded, sentence[0]
    if passage.part == "text" and start < passage.title_end:
        head = _last_separator(folded, start, named[0].start)
        if head is not None:  # "Two 1950s frames: ..." is said of both
            yield _Piece(start, head, _ALL)
            start = head
    for this, following in pairwise(named):
        end = _boundary(folded, this, following)
        yield _Piece(start, end, this.owner)
        start = end
    yield _Piece(start, sentence[1], named[-1].owner)


def _boundary(folded: str, this: _Named, following: _Named) -> int:
    if _is_bracketed(folded, this):
        return this.end + 1  # "46-22 (Merrin), 51-20 (Tavoy)": the name closes its words
    if this.owner == following.owner:
        return following.start
    between = _last_separator(folded, this.end, following.start)
    if _is_bracketed(folded, following) and between is not None:
        between = _last_separator(folded, this.end, following.start - 1) or between
    return following.start if between is None else between


def _is_bracketed(folded: str, named: _Named) -> bool:
    return folded[named.start - 1 : named.start] == "(" and folded[named.end : named.end + 1] == ")"


def _last_separator(folded: str, start: int, end: int) -> int | None:
    found = list(_SEPARATOR.finditer(folded, start, end))
    return found[-1].start() if found else None
