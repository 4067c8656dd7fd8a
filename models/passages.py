"""The seller's words cut into passages and clauses, each able to point back at its own characters.

Title and description, each item specific ("label: value") and each answer is a passage. Folding
keeps lengths, so an offset in the folded text is an offset in the original.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from extractors.folding import plain
from extractors.records import Listing, Part, Span
from models.wording import alternatives

# What the checks read of a listing: far beyond any honest one, so that none takes long.
READ = 12_000  # characters of title and description
MOST_PARTS = 200  # specifics, and answers
LONGEST = 500  # characters of one sentence; longer ones are cut at a space


@dataclass(frozen=True, slots=True)
class Passage:
    """One stretch of the listing; `shift` turns an offset in `text` into one of the span's own."""

    part: Part
    key: str | None
    text: str
    folded: str
    shift: int = 0
    title_end: int = 0

    def span(self, start: int, end: int) -> Span:
        """Point at text[start:end]; for a specific, the piece of it that lies in the value."""
        if self.part == "specific":
            start, end = max(start, -self.shift), max(end, -self.shift)
            if start >= end:
                start, end = -self.shift, len(self.text)
        return Span(self.part, self.key, start + self.shift, end + self.shift, self.text[start:end])


@dataclass(frozen=True, slots=True)
class Clause:
    """A piece of a sentence: folded offsets within its passage, and the sentence it stands in."""

    start: int
    end: int
    sentence: tuple[int, int]


def passages(listing: Listing) -> tuple[Passage, ...]:
    """Everything the seller wrote, in reading order: text, specifics, answers."""
    text = listing.text[:READ]
    found = [Passage("text", None, text, plain(text), 0, min(len(listing.title), len(text)))]
    for label, value in listing.specifics[:MOST_PARTS]:
        whole = f"{label[:200]}: {value[:2000]}"
        found.append(Passage("specific", label, whole, plain(whole), -(len(label[:200]) + 2)))
    for number, answer in enumerate(listing.answers[:MOST_PARTS]):
        found.append(Passage("answer", str(number), answer[:2000], plain(answer[:2000])))
    return tuple(found)


# an abbreviation's or a number's point ends no sentence
_SENTENCE_END = re.compile(
    r"(?<!\b[a-z]\.[a-z])(?<!\bc)(?<!\bw)(?<!\bca)(?!(?<=\bno)\.\s*\d)(?!(?<=\best)\.\s*\d)(?<!\bapprox)(?<!\bincl)(?<!\binkl)(?<!\bmod)(?<!\bnr)(?<!\bvs)[.](?=\s|$)"
    r"|[!?](?=\s|$|[^\w])|\n|[•·|]|;|(?<=\s)[-–—](?=\s)|\s/\s"
)
_CLAUSE_END = re.compile(
    r",(?!\d)|\(|\)|(?<=\s)[-–—](?=\s)"
    r"|\b(?:but|while|whereas|although|though|however|aber|jedoch|mais|ma|pero|sondern|sino|bensi)\b"
    r"|\b(?:except(?: for| that)?|bis auf|ausser dass|sauf que|tranne|excepto|salvo que)\b"
)
# where a sentence turns from one piece to the other; "die aber ..." goes on about the first
CONTRAST = re.compile(
    r"(?<!\bdie )(?<!\bder )(?<!\bdas )(?<!\bqui )(?<!\bche )(?<!\bque )(?<!\bwhich )"
    r"\b(?:but|whereas|while|aber|jedoch|mais|tandis|ma|mentre|pero|mientras|sondern|sino)\b"
)


def sentences(folded: str, text: str = "") -> Iterator[tuple[int, int]]:
    """Start and end of each sentence or line; the closing mark is part of it.

    With the `text` as written, a capitalised "Also" or "Postage" begins one without a full stop.
    """
    start = 0
    for at, end in sorted([*_ends(folded), *_unmarked(text)]):
        if at < start:
            continue
        if folded[start:at].strip():
            yield from _cut(folded, start, end)
        start = end
    if folded[start:].strip():
        yield from _cut(folded, start, len(folded))


def _ends(folded: str) -> Iterator[tuple[int, int]]:
    for match in _SENTENCE_END.finditer(folded):
        yield match.start(), match.end()


@cache
def _beginning() -> re.Pattern[str]:
    starts = alternatives("sentence_start")
    return re.compile(rf"(?<=[\w)\]\"%’”']) (?=(?:{starts}) [a-zà-ÿ])")


def _unmarked(text: str) -> Iterator[tuple[int, int]]:
    """Where a sentence begins though the one before has no full stop."""
    for match in _beginning().finditer(text):
        yield match.start(), match.end()


def _cut(folded: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    while end - start > LONGEST:
        at = folded.rfind(" ", start + LONGEST // 2, start + LONGEST)
        at = at if at > start else start + LONGEST
        yield start, at
        start = at
    yield start, end


def clauses(folded: str, sentence: tuple[int, int]) -> Iterator[Clause]:
    """The clauses of one sentence, cut at commas, brackets and words of contrast."""
    start = sentence[0]
    for match in _CLAUSE_END.finditer(folded, sentence[0], sentence[1]):
        if match.start() > start:
            yield Clause(start, match.start(), sentence)
        start = match.start() if match.group()[0].isalpha() else match.end()
    if start < sentence[1]:
        yield Clause(start, sentence[1], sentence)


def clause_at(folded: str, sentence: tuple[int, int], at: int) -> tuple[int, int] | None:
    """Start and end of the clause of a sentence in which an offset lies; None between clauses."""
    found = (c for c in clauses(folded, sentence) if c.start <= at < c.end)
    return next(((c.start, c.end) for c in found), None)
