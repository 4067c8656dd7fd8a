"""The listings that an alert mail announces in plain text: one under another, each with a link.

Each is a paragraph, an entry of a numbered or bulleted list, or what stands above its address. It
has an address that may be a listing's and an amount, and its first line that could name a piece is
its title. An entry of a list that tells no amount stands beside those that do: it is given away.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from triage.readers.cards import (
    is_call,
    is_offhand,
    speaks_of_bids,
    speaks_of_price,
    target_of,
)
from triage.readers.field_names import field_of, is_of_shipping
from triage.readers.labels import field_of_label
from triage.readers.phrases import mentions
from triage.readers.prices import Money, find_money

MAX_ANNOUNCED = 500
MOST_LINES = 12  # of one listing; a longer paragraph is a letter's
_LONGEST_TITLE = 220

_ADDRESS = re.compile(r"https?://[^\s<>\"]+")
_APART = re.compile(r"\n[ \t]*\n|\n[-=*_~]{4,}[ \t]*(?=\n)")
_MARK = re.compile(
    r"\s*(?:[(\[#]?\d{1,3}[.)\]:]|[-*•–·▪‣]|(?:lot|los|lotto|lote|kavel|no\.?|nr\.?|n°)\s?\d{1,5}\s?[:.–-])"
    r"\s+(?=\S)",
    re.IGNORECASE,
)
_EDGE = " \t*-–—•·▪‣,;:|(["


@dataclass(frozen=True, slots=True)
class Announced:
    """One listing of an alert: as it stands, its title, its address, and its other lines."""

    block: str
    title: str
    address: str
    lines: tuple[str, ...]


def find_announced(text: str) -> list[Announced]:
    """Find the listings that a mail's text announces, in order; each address once."""
    found: dict[str, Announced] = {}
    for blocks in _grown([p for p in _APART.split(text) if p.strip("-=*_~ \t\n")]):
        entries = [one for block in blocks if (one := _entry(block)) is not None]
        if any(_tells_amount(one.block) for one in entries):
            for one in entries:
                found.setdefault(one.address, one)
    return list(found.values())[:MAX_ANNOUNCED]


# --- cutting ---------------------------------------------------------------------------------


def _grown(paragraphs: Sequence[str]) -> Iterator[list[str]]:
    """Give the paragraphs that link to a listing, cut where they list several.

    One that lacks a title or an amount takes in those above it which link to nothing.
    """
    above: list[str] = []
    for paragraph in paragraphs:
        if _target_in(paragraph) is None:
            above = [] if _ADDRESS.search(paragraph) else [*above[-2:], paragraph]
            continue
        blocks = _cut(paragraph)
        if len(blocks) == 1:
            blocks = [_completed(paragraph, above)]
        yield blocks
        above = []


def _completed(paragraph: str, above: Sequence[str]) -> str:
    block = paragraph
    for other in reversed(above):
        if (_title_line(block.split("\n")) is not None and _tells_amount(block)) or (
            len(other.split("\n")) > MOST_LINES // 2
        ):
            break
        block = f"{other}\n{block}"
    return block if _title_line(block.split("\n")) is not None else paragraph


def _cut(paragraph: str) -> list[str]:
    """Cut a paragraph before each mark of a list, else after each address, if several link on."""
    lines = paragraph.strip("\n").split("\n")
    linked = [at for at, line in enumerate(lines) if _target_in(line) is not None]
    marked = [at for at, line in enumerate(lines) if _MARK.match(line)]
    if len(linked) < 2:
        return ["\n".join(lines[at:]) for at in _head_of(marked, linked)]
    starts = marked if len(marked) > 1 else [0, *(at + 1 for at in linked[:-1])]
    ends = [*starts[1:], len(lines)]
    return ["\n".join(lines[a:b]) for a, b in zip(starts, ends, strict=True)]


def _head_of(marked: Sequence[int], linked: Sequence[int]) -> list[int]:
    """Where a paragraph with one listing begins: at the list's mark above its address, if any."""
    return [max((at for at in marked if at <= linked[0]), default=0)]


def _target_in(text: str) -> str | None:
    """The first address of a text that may be a listing's, by it and the words on its line."""
    for line in text.split("\n"):
        for found in _ADDRESS.finditer(line[:4_000]):
            address = found[0].rstrip(".,;:)]}'")
            before = line[: found.start()].strip(_EDGE + "<")
            if (target := target_of(address, before)) is not None:
                return target
    return None


def _tells_amount(block: str) -> bool:
    lines = (_ADDRESS.sub(" ", line[:2_000]) for line in block.split("\n"))
    return any(find_money(line) and not is_offhand(line) for line in lines)


# --- one entry -------------------------------------------------------------------------------


def _entry(block: str) -> Announced | None:
    lines = [bare for line in block.split("\n") if (bare := _unmarked(line))]
    address = _target_in(block)
    at = _title_line(lines)
    if address is None or at is None or len(lines) > MOST_LINES:
        return None
    title, rest = _titled(_wordy(lines[at]))
    told = (rest, *(_wordy(line) for line in lines[at + 1 :]))
    return Announced(block, title, address, tuple(line for line in told if line.strip(_EDGE)))


def _unmarked(line: str) -> str:
    """A line without the mark of a list before it, and without "Title:".

    >>> _unmarked("2) Round frame"), _unmarked("Lot 11: Round frame"), _unmarked("Titel: Frame")
    ('Round frame', 'Round frame', 'Frame')
    """
    mark = _MARK.match(line)
    bare = (line[mark.end() :] if mark else line).strip()
    label, _, value = bare.partition(":")
    return value.strip() if value.strip() and field_of(label.strip()) == "title" else bare


def _wordy(line: str) -> str:
    return _ADDRESS.sub(" ", line).strip(" \t<>")


def _title_line(lines: Sequence[str]) -> int | None:
    """The first line that could name a piece: letters beside its amount, no label, no call.

    A line that begins with an amount does so only if no other can.
    """
    late = None
    for at, line in enumerate(lines):
        wordy = _wordy(_unmarked(line))
        title, _ = _titled(wordy)
        letters = sum(c.isalpha() for c in title)
        if letters > 3 and len(title) <= _LONGEST_TITLE and not _is_said_of_it(title):
            if not _priced_first(wordy):
                return at
            late = at if late is None and not _is_only_of_amount(title) else late
    return late


def _priced_first(line: str) -> Money | None:
    """The amount that a line begins with, more words standing behind it."""
    money = find_money(line[:2_000])
    return money[0] if money and not line[: money[0].start].strip(_EDGE + "[") else None


def _is_said_of_it(title: str) -> bool:
    label = re.match(r"([^\W\d][^:：]{1,24})[:：]", f"{title}:")
    known = label is not None and field_of_label(label[1].strip()) not in (None, "title")
    return known or is_call(title) or title.endswith(("!", "?"))


def _titled(line: str) -> tuple[str, str]:
    """Split a line at its amount, and the words that belong to it, into title and rest.

    >>> _titled("Oval frame 46-20, 45 EUR VB:")
    ('Oval frame 46-20', '45 EUR VB')
    >>> _titled("Ostelino 811 - current bid £22.00"), _titled("Round frame, gold filled")
    (('Ostelino 811', 'current bid £22.00'), ('Round frame, gold filled', ''))
    >>> _titled("£45.00  Brackwyn frame")
    ('Brackwyn frame', '£45.00')
    """
    if (first := _priced_first(line)) is not None:
        return line[first.end :].strip(_EDGE + ")]"), line[: first.end].strip()
    money = find_money(line[:2_000])
    if not money:
        return line.strip(_EDGE), ""
    cut = _start_of_amount(line, money[0])
    return line[:cut].strip(_EDGE), line[cut:].strip(" ,;:|–—-(")


def _start_of_amount(line: str, money: Money) -> int:
    before = line[: money.start]
    words = re.search(r"[,;:|–—(-]\s*([^\W\d](?:[^\W\d]|[ '’-]){0,30})[:(]?\s*$", before)
    label = words[1].strip() if words else ""
    return words.start(1) if words and label and _is_of_amount(label) else money.start


def _is_of_amount(words: str) -> bool:
    """Say whether words before an amount tell what it is, and name no piece."""
    known = field_of_label(words) is not None or speaks_of_bids(words) or speaks_of_price(words)
    return known or mentions("not_the_price", words) or mentions("offer", words)


def _is_only_of_amount(words: str) -> bool:
    """The same of words behind it, which may be a piece's name."""
    known = field_of_label(words) is not None or speaks_of_bids(words) or speaks_of_price(words)
    return known or is_of_shipping(words)
