"""What of a listing is not said of the frame for sale, taken out before any check reads it.

Other goods ("also selling a ...", "the case is stamped ..."), post and parcel, the wearer, the
camera; and eras that date something else ("lenses fitted in ...", "receipt of ..."). The words are
blanked, so every offset stays; the word lists are rows of models/data/wording.csv.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cache, lru_cache
from typing import TypeVar

from extractors.catalogue import extract
from extractors.records import Evidence, Listing, Part, Span
from models.passages import CONTRAST, READ, Passage, clauses, sentences
from models.point_words import point_words, topics
from models.wording import alternatives, words_of

Stretch = tuple[int, int]
T = TypeVar("T")


def focused(found: Sequence[Passage], own: tuple[int, ...] = ()) -> tuple[Passage, ...]:
    """The passages with what is said of other things blanked; offsets stay as they are.

    `own`: where the text names the model for sale, which ends what is said of another thing.
    """
    return tuple(_blanked(passage, own) for passage in found)


def _blanked(passage: Passage, own: tuple[int, ...]) -> Passage:
    text, folded = passage.text, passage.folded
    for start, end in stretches(passage, own):
        kept = "".join(c if c == "\n" else " " for c in text[start:end])
        # the blank ends as a sentence does, so that its neighbours stay apart
        fill = f"{kept[:-1]}\n" if kept.endswith(" ") and end - start > 1 else kept
        text, folded = (f"{whole[:start]}{fill}{whole[end:]}" for whole in (text, folded))
    return replace(passage, text=text, folded=folded)


@lru_cache(maxsize=512)
def stretches(passage: Passage, own: tuple[int, ...] = ()) -> tuple[Stretch, ...]:
    """Where a passage speaks of something other than the frame, merged and in order."""
    if passage.part == "specific":
        return ()
    found = sorted(_stretches(passage, own if passage.part == "text" else ()))
    merged: list[Stretch] = []
    for start, end in found:
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return tuple(merged)


def _stretches(passage: Passage, own: tuple[int, ...]) -> Iterator[Stretch]:
    folded = passage.folded
    begin = passage.title_end if passage.part == "text" else 0
    open_item = several = False
    for start, end in sentences(folded, passage.text):
        if start < begin:
            continue
        carried = open_item and _refers_to(folded[start:end].lstrip(), several)
        item = _other_item(folded, start, end, own)
        if carried and item is None:
            item = (start, _until_named(folded, start, end, own))
        open_item = item is not None and item[1] == end
        several = item is not None and words_of("other_goods").search(folded, *item) is not None
        if item:
            yield item
        yield from _asides(folded, (start, end))


def _refers_to(sentence: str, several: bool) -> bool:
    """Whether a sentence goes on about the other item; of many goods no single "it" does."""
    if words_of("refers_back").match(sentence) is None:
        return False
    return not several or words_of("refers_to_one").match(sentence) is None


_RIGHT_BEHIND = 12  # characters


def _other_item(folded: str, start: int, end: int, own: tuple[int, ...]) -> Stretch | None:
    """From the words that open another item to where the frame is named again."""
    opener = words_of("opens_other").search(folded, start, end)
    if opener:
        # "Wanted: a Merrin with ...": the name right behind is of what is spoken of
        later = tuple(at for at in own if at > opener.end() + _RIGHT_BEHIND)
        return opener.start(), _until_named(folded, opener.end(), end, later)
    denied = words_of("opens_other_turned").search(folded, start, end)
    if denied:
        turned = CONTRAST.search(folded, denied.end(), end)
        until = _until_named(folded, denied.end(), end, own)
        return denied.start(), min(until, turned.start() if turned else end)
    thing = (
        words_of("marked_case").search(folded, start, end)
        or _thing().search(folded, start, end)
        or _listed_case().match(folded, start, end)
    )
    if thing:
        return thing.start(), _until_part(folded, thing.end(), end, own)
    return None


@cache
def _listed_case() -> re.Pattern[str]:
    """ "Leather pouch, stitched badge": a case opens the sentence, and a list goes on about it."""
    return re.compile(
        r"\W*(?:(?:comes?|sold|supplied|complete|kommt|vendue?s?|vendut\w|se venden?)\W+)?"
        r"(?:(?:with|in|mit|im|avec|dans|con|nel|en|incl\w*|inkl\w*)\W+)?"
        r"(?:(?:the|its|an?|der|dem|das|ein\w*|une?|son|l'|la|le|il|suo|el|su|un|una)\W+)?"
        rf"(?:{alternatives('listed_case')})(?=\s?[,(:])"
    )


# what a case may have too
_OF_CASES = frozenset({"badge", "logo", "case", "damage"})


@cache
def _thing() -> re.Pattern[str]:
    """ "the brooch beside it has", "there is a pen in the lot": spoken of, not only listed."""
    between = r"(?:,? (?!(?:and|und|et|e|y)\b)[\w']+){0,5}? ?,? ?"
    return re.compile(
        rf"(?<!\w)(?<!like a )(?<!as a )(?:{alternatives('other_thing')})"
        rf"{between}(?:{alternatives('thing_says')})(?!\w)"
    )


def _until_named(folded: str, start: int, end: int, own: tuple[int, ...] = ()) -> int:
    again = words_of("named_again").search(folded, start, end)
    named = [at for at in own if start <= at < end]
    return min([again.start() if again else end, *named])


def _until_part(folded: str, start: int, end: int, own: tuple[int, ...]) -> int:
    """To the next clause that names the frame or a part of it."""
    stop = _until_named(folded, start, end, own)
    for clause in clauses(folded, (start, stop)):
        text = folded[clause.start : clause.end]
        named = [p for n, p in topics().items() if n not in _OF_CASES]
        if clause.start > start and any(p.search(text) for p in (*named, *_counted())):
            return clause.start
    return stop


@cache
def _counted() -> tuple[re.Pattern[str], ...]:
    """What is counted on a frame: "three barrels", "deux rivets"."""
    counts = (point_words(p).count for p in ("hinge_barrels", "rivet_count", "hinge_studs"))
    return tuple(count for count in counts if count is not None)


def _asides(folded: str, sentence: Stretch) -> Iterator[Stretch]:
    for match in words_of("aside_words").finditer(folded, *sentence):
        yield match.start(), match.end()
    for clause in clauses(folded, sentence):
        if words_of("aside").search(folded, clause.start, clause.end):
            yield clause.start, clause.end


# --- evidence --------------------------------------------------------------------------------


def focused_evidence(
    evidence: Evidence, listing: Listing, found: Sequence[Passage], own: tuple[int, ...] = ()
) -> Evidence:
    """The evidence without what is quoted from blanked words only, and without asides' years.

    Where something is blanked the listing is read again, as a camera named at the end may have
    changed how the sizes before it were read.
    """
    if any(stretches(p, own) for p in found if p.part == "text") and len(listing.text) <= READ:
        text = focused(found[:1], own)[0].text
        at = len(listing.title)
        evidence = extract(replace(listing, title=text[:at], description=text[at + 1 :]))
    out = {
        (p.part, p.key): [(s + p.shift, e + p.shift) for s, e in stretches(p, own)] for p in found
    }
    return replace(
        evidence,
        measurements=_kept(evidence.measurements, out),
        markings=_kept(evidence.markings, out),
        features=_kept(evidence.features, out),
        colours=_kept(evidence.colours, out),
        eras=tuple(
            era
            for era in _kept(evidence.eras, out)
            if not era.quoted or any(not dates_another(s, found) for s in era.quoted)
        ),
    )


def _kept(items: Iterable[T], out: dict[tuple[Part, str | None], list[Stretch]]) -> tuple[T, ...]:
    return tuple(item for item in items if not _is_out(getattr(item, "quoted", ()), out))


def _is_out(quoted: Sequence[Span], out: dict[tuple[Part, str | None], list[Stretch]]) -> bool:
    return bool(quoted) and all(
        any(s <= span.start < e for s, e in out.get((span.part, span.key), ())) for span in quoted
    )


@cache
def _year_after() -> re.Pattern[str]:
    return re.compile(rf"{words_of('until').pattern}\W*$")


def dates_another(span: Span, found: Sequence[Passage]) -> bool:
    """Whether the era at `span` dates lenses, a sale, a photo, a shop, not the making."""
    for passage in found:
        if (passage.part, passage.key) != (span.part, span.key):
            continue
        at = span.start - passage.shift
        for sentence in sentences(passage.folded, passage.text):
            for clause in clauses(passage.folded, sentence):
                if clause.start <= at < clause.end:
                    # "acquired at auction, 2011": the year alone belongs to the words before
                    bare = not re.search(r"[^\W\d]", passage.folded[clause.start : clause.end])
                    start = sentence[0] if bare else clause.start
                    return _is_aside_year(passage.folded, start, clause.end, at)
    return False


@cache
def _dated_thing() -> re.Pattern[str]:
    return re.compile(
        rf"\W*(?:(?:and|with|und|mit|et|avec|e|con|y)\W+)?{words_of('dated_thing').pattern}"
    )


def _is_aside_year(folded: str, start: int, end: int, at: int) -> bool:
    """The clause dates another event, unless it speaks of the making right before the year."""
    before = folded[start:at]
    if _year_after().search(before):
        return True
    if _dated_thing().match(folded, start, at) and not topics()["front"].search(before):
        return True
    made = list(words_of("production").finditer(before))
    other = list(words_of("year_aside").finditer(folded, start, end))
    if not other:
        return False
    nearest = max((m.start() for m in other if m.start() < at), default=start) - start
    return not made or made[-1].start() < nearest
