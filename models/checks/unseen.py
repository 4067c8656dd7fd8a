"""What a reader of the page does not see: claims in text that the page hides, and words written so
that a search does not find them. Neither is taken as a claim; both stay open, for there are
honest causes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from extractors.catalogue import extract
from extractors.folding import SCRIPTS, unhide
from extractors.records import Evidence, Listing, Span
from models.checks.case import Case
from models.records import Finding

CHECK = "unseen"
CODES = ((CHECK, "undecided", "clue"),)

MOST_READ = 20_000  # characters of hidden text
_MOST_NAMED = 3
# inside a word; joiners, variation selectors and soft hyphens are left out: honest text needs them
_INSIDE = (
    "\u034f\u061c\u180e\u200b\u200e\u200f\u2060-\u2064\u206a-\u206f\ufeff\u202a-\u202e\u2066-\u2069"
)
_BROKEN = re.compile(f"(?<![^\\W_])[^\\W_]+(?:[{_INSIDE}]+[^\\W_]+)+")
_BACKWARDS = re.compile("[\u202d\u202e][^\u202c\n]{0,200}")
_WORD = re.compile(r"[^\W\d_]+")
_LATIN = re.compile("[A-Za-z]")
_ODD = re.compile(f"[{_INSIDE}{SCRIPTS}]")


def check_unseen(case: Case) -> tuple[Finding, ...]:
    """At most one finding on the hidden text and one on the words of the description."""
    return (*_hidden_claims(case.listing), *_disguised_words(case.listing))


def _hidden_claims(listing: Listing) -> Iterator[Finding]:
    hidden = (listing.hidden_text or "")[:MOST_READ]
    if not hidden:
        return
    read = extract(Listing(listing.id, listing.source, "", hidden))
    claims = list(dict.fromkeys(span.text.strip() for span in _claims(read)))[:_MOST_NAMED]
    if claims:
        named = ", ".join(f'"{claim}"' for claim in claims)
        yield Finding(
            CHECK, "hidden_text", "undecided", "clue",
            f"the page holds text that a reader does not see, and it says {named}; "
            "it was not taken as a claim",
            stated=named,
            explanations=("a part of the page that was folded away when it was saved",
                          "words that the market itself keeps for its search"),
        )  # fmt: skip


def _claims(read: Evidence) -> Iterator[Span]:
    """The words of whatever a listing would claim by them."""
    spans: list[tuple[Span, ...]] = [read.authenticity.quoted]
    spans += [one.quoted for one in read.measurements]
    spans += [one.quoted for one in read.markings]
    spans += [one.quoted for one in read.eras]
    spans += [one.quoted for one in read.features]
    spans += [one.quoted for one in read.key_phrases]
    yield from (span for quoted in spans for span in quoted)


def _disguised_words(listing: Listing) -> Iterator[Finding]:
    text = listing.text
    if text.isascii() or not _ODD.search(text):
        return
    places = sorted({*_backwards(text), *_broken(text), *_of_two_scripts(text)})
    spans = tuple(Span("text", None, a, b, text[a:b]) for a, b in places[:_MOST_NAMED])
    if spans:
        shown = ", ".join(f'"{_as_seen(span.text)}"' for span in spans)
        yield Finding(
            CHECK, "disguised_words", "undecided", "clue",
            f"words are written so that a search does not find them: {shown}",
            stated=shown, quoted=spans,
            explanations=("text copied from a page or a program that leaves such marks",
                          "a foreign keyboard"),
        )  # fmt: skip


def _as_seen(word: str) -> str:
    """What the page shows of it: text under a direction override runs backwards."""
    if _BACKWARDS.match(word):
        return word[:0:-1].strip()
    return " ".join(unhide(word).split())


def _backwards(text: str) -> Iterator[tuple[int, int]]:
    """Letters or figures that are shown from right to left against their script."""
    for match in _BACKWARDS.finditer(text):
        if re.search(r"[A-Za-z0-9]", match.group()):
            yield match.span()


def _broken(text: str) -> Iterator[tuple[int, int]]:
    """Words with a mark inside that no reader sees."""
    return (match.span() for match in _BROKEN.finditer(text))


def _of_two_scripts(text: str) -> Iterator[tuple[int, int]]:
    """Latin words in which letters of another script stand for Latin ones."""
    for match in _WORD.finditer(text):
        word = match.group()
        if not word.isascii() and _LATIN.search(word) and unhide(word) != word:
            yield match.span()
