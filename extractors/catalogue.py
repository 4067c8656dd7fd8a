"""The ordered list of extractors, and `extract`: everything the text of one listing says."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from functools import cache
from operator import attrgetter
from typing import Any

from extractors.authenticity import find_authenticity
from extractors.condition import find_colours, find_conditions, find_editions
from extractors.construction import find_features
from extractors.eras import find_eras
from extractors.folding import plain
from extractors.markings import find_markings
from extractors.measurements import find_measurements
from extractors.phrases import find_key_phrases
from extractors.reading import Reading, prepare
from extractors.records import (
    Authenticity,
    AuthenticityLabel,
    Colour,
    Condition,
    Edition,
    Era,
    Evidence,
    Feature,
    KeyPhrase,
    Listing,
    Marking,
    Measurement,
    Span,
)
from extractors.size_cues import guess_goods

Extractor = Callable[[Reading], Any]

# one line per extractor: field of Evidence -> function
EXTRACTORS: dict[str, Extractor] = {
    "measurements": find_measurements,
    "markings": find_markings,
    "eras": find_eras,
    "features": find_features,
    "authenticity": find_authenticity,
    "key_phrases": find_key_phrases,
    "conditions": find_conditions,
    "colours": find_colours,
    "editions": find_editions,
}
QUOTES = 50  # places that one joined item quotes at most
PIECE = 10_000  # characters read at once; a real listing fits into one piece
_OBJECTS_BEFORE_COLLECTION = 20_000
LIMIT = 400_000  # characters read at all: what is longer is no listing
_ASSAYED = "assayed ", "hallmarked ", "hallmarked for "
_CAUTION: tuple[AuthenticityLabel, ...] = ("none", "asserted", "hedged", "disclaimed")


@dataclass(frozen=True, slots=True)
class _Source:
    """One text of a listing and how its offsets become those of the record."""

    text: str
    part: str
    key: str | None
    shift: int  # taken off each offset

    def move(self, span: Span) -> Span | None:
        """Turn a span of the reading into one of the record; None if it lies in the label."""
        start, end = span.start - self.shift, span.end - self.shift
        if end <= 0:
            return None
        start = max(start, 0)
        text = self.text[start + self.shift : end + self.shift] if self.shift > 0 else span.text
        return Span(self.part, self.key, start, end, text)  # type: ignore[arg-type]


def _pieces(text: str) -> Iterator[tuple[int, str]]:
    """Cut a very long text at line breaks or spaces; give each piece with its place."""
    start = 0
    end_of_all = min(len(text), LIMIT)
    while start < end_of_all:
        end = min(start + PIECE, end_of_all)
        if end < end_of_all:
            cut = max(text.rfind("\n", start, end), text.rfind(" ", start, end))
            end = cut + 1 if cut > start else end
        yield start, text[start:end]
        start = end


def _sources(listing: Listing) -> Iterator[_Source]:
    """Give title and description, each item specific, each answer."""
    for start, piece in _pieces(listing.text):
        yield _Source(piece, "text", None, -start)
    for label, value in listing.specifics:
        yield _Source(f"{label}: {value}"[:PIECE], "specific", label, len(label) + 2)
    for number, answer in enumerate(listing.answers):
        yield _Source(answer[:PIECE], "answer", str(number), 0)


def _moved(item: Any, source: _Source) -> Any | None:
    """Point an item at the record; None if all its words were the label's."""
    quoted = tuple(span for span in map(source.move, item.quoted) if span is not None)
    return replace(item, quoted=quoted) if quoted else None


def _merge(items: list[Any]) -> tuple[Any, ...]:
    """Join items that say the same; the joined one quotes every place, up to QUOTES of them."""
    if len(items) < 2:
        return tuple(items)
    told = [*map(_WHAT_COUNTS[type(items[0])], items)]
    if len({*told}) == len(items):  # as in most listings
        return tuple(items)
    groups: dict[Any, list[Any]] = {}
    for item, same in zip(items, told, strict=True):
        groups.setdefault(same, []).append(item)
    return tuple(_joined(group) if len(group) > 1 else group[0] for group in groups.values())


def _joined(group: list[Any]) -> Any:
    """Make one item of several that say the same; a place is taken from the first that has one."""
    quoted = tuple(dict.fromkeys(span for item in group for span in item.quoted))[:QUOTES]
    kind = type(group[0])
    values = dict(zip(_FIELDS[kind], _VALUES[kind](group[0]), strict=True))
    if "place" in values:
        values["place"] = next((item.place for item in group if item.place), values["place"])
    values["quoted"] = quoted
    return kind(**values)  # in a fifth of the time that `replace` takes


def _same_marking(item: Marking) -> Any:
    plain = "".join(filter(str.isalnum, item.text.casefold())) or item.text
    return plain, item.claimed, item.object


def _same_feature(item: Feature) -> Any:
    return item.kind, item.claimed, item.value or item.text.casefold()


_FIELDS: dict[type, tuple[str, ...]] = {
    kind: tuple(field.name for field in fields(kind))
    for kind in (Measurement, Marking, Era, Feature, KeyPhrase, Condition, Colour, Edition)
}
_VALUES = {kind: attrgetter(*names) for kind, names in _FIELDS.items()}


# what two items must share to be one; wording and place may differ
_WHAT_COUNTS: dict[type, Callable[[Any], Any]] = {
    kind: attrgetter(*(field.name for field in fields(kind) if field.name != "quoted"))
    for kind in (Measurement, Era, KeyPhrase, Condition, Colour, Edition)
}
_WHAT_COUNTS |= {Marking: _same_marking, Feature: _same_feature}


def _strongest(found: list[Authenticity]) -> Authenticity:
    """Keep the most cautious label; it quotes every place that gave it."""
    labels = [item.label for item in found]
    label = max(labels, key=_CAUTION.index, default=_CAUTION[0])
    quoted = tuple(span for item in found if item.label == label for span in item.quoted)
    return Authenticity(label, quoted)


def _outside(
    eras: tuple[Era, ...], markings: tuple[Marking, ...], plain_text: str
) -> tuple[Era, ...]:
    """Drop years that stand inside a mark: they say when the mark was made, not the piece.

    The year of an assay office is that of the piece ("assayed Birmingham 1884").
    """
    marks = [
        span
        for marking in markings
        for span in marking.quoted
        if marking.text != "*" and not plain_text.endswith(_ASSAYED, 0, span.start)
    ]
    return tuple(
        era
        for era in eras
        if not any(m.start <= era.quoted[0].start and era.quoted[0].end <= m.end for m in marks)
    )


def _read_all(reading: Reading, goods: str | None) -> dict[str, Any]:
    """Run every extractor; lengths are named by the goods where those are known."""
    return {
        name: find_measurements(reading, goods)
        if extractor is find_measurements and goods is not None
        else extractor(reading)
        for name, extractor in EXTRACTORS.items()
    }


def _goods_of(reading: Reading, listing: Listing) -> str:
    """Say what is sold: by title and description, its specifics counted once."""
    told = plain(reading.folded)
    title_end = told.find("\n")
    specifics = " ".join(f"{label} {value}" for label, value in listing.specifics)
    title_end = title_end if title_end >= 0 else len(told)
    return guess_goods(f"{told}\n{plain(specifics[:PIECE])}", title_end)


def is_compiled() -> bool:
    """Say whether the compiled twins of the modules run, not the plain sources."""
    return not str(sys.modules[prepare.__module__].__file__).endswith(".py")


@cache
def _settle() -> None:
    """Spare the garbage collector the word lists, which stay, and listings, which hold no cycles.

    A sixth of the time of reading went there.
    """
    gc.freeze()
    gc.set_threshold(_OBJECTS_BEFORE_COLLECTION, *gc.get_threshold()[1:])


def extract(listing: Listing) -> Evidence:
    """Read a listing: title and description, item specifics, answers; repeats joined.

    Text beyond LIMIT characters is not read. Spans point into the part they name.
    """
    found: dict[str, list[Any]] = {name: [] for name in EXTRACTORS}
    goods: str | None = None  # of the title and what follows it, for texts too short to tell
    for source in _sources(listing):
        reading = prepare(source.text)
        results = _read_all(reading, goods)
        if goods is None and (listing.specifics or listing.answers or len(listing.text) > PIECE):
            goods = _goods_of(reading, listing)
        results["eras"] = _outside(results["eras"], results["markings"], reading.plain)
        is_whole = source.part == "text" and source.shift == 0
        for name, result in results.items():
            items = (result,) if isinstance(result, Authenticity) else result
            if is_whole:
                found[name].extend(items)
                continue
            moved = (
                item if isinstance(item, Authenticity) and not item.quoted else _moved(item, source)
                for item in items
            )
            found[name].extend(item for item in moved if item is not None)
    _settle()
    authenticity = _strongest(found.pop("authenticity"))
    merged = {name: _merge(items) for name, items in found.items()}
    return Evidence(listing.id, authenticity=authenticity, **merged)
