"""What leads to a word of a text: the cues of the list eras that end right before it.

Small words and "ca." or "year:" may stand between. All classes are looked up together, once a
word: most words have none, and every question about years asks for several.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from operator import itemgetter
from typing import Any

from extractors.reading import Hit, Met, Reading

LEADING = (
    *("blocks_before", "makes", "at", "approx", "before", "after", "onward", "upto", "original"),
    *("early", "mid", "late", "first", "second", "share", "ordinal"),
)
_CLASSES = tuple((name, f"eras.{name}") for name in LEADING)
_ASIDES = frozenset(".:(-")
_MOST_LINKS = 5
_NONE: Mapping[str, Hit] = {}

Ending = tuple[str, Met, Any]  # a cue with its class, and what else ends at the same word
Ends = dict[int, Ending]


def leads_to(reading: Reading, number: int) -> Mapping[str, Hit]:
    """Give the cue of each class that leads to a word, by the class without the list's name."""
    known: dict[int, Mapping[str, Hit]] | None = reading.memory.get("leads of eras")
    if known is None:
        known = reading.memory["leads of eras"] = {}
    found = known.get(number)
    if found is None:
        found = known[number] = _leads_to(reading, number)
    return found


def cue_before(reading: Reading, name: str, number: int) -> Hit | None:
    """Find a cue of a class of the list that ends right before a word, linking words skipped."""
    return leads_to(reading, number).get(name)


def ends_at(reading: Reading, name: str, number: int) -> Hit | None:
    """Find a cue of a class that ends right before a word, nothing between."""
    ending = _ends(reading).get(number)
    while ending:
        kind, cue, ending = ending
        if kind == name:
            return _hit(reading, name, cue)
    return None


def is_link(reading: Reading, number: int) -> bool:
    """Tell whether a word is a small one between a cue and its years ("the" of "early in the")."""
    return bool(reading.end_at("eras.link", number))


def _leads_to(reading: Reading, number: int) -> Mapping[str, Hit]:
    ends, words = _ends(reading), reading.words
    low = reading.sentence_at(number)[0] if number < len(words) else 0
    place, links = number, 0
    found: dict[str, Hit] = {}
    while True:
        _add(reading, found, ends.get(place), low, place == number)
        links += 1
        if place <= low or links == _MOST_LINKS or not is_link(reading, place - 1):
            break
        place -= 1
    if place > low and words[place - 1] in _ASIDES:
        _add(reading, found, ends.get(place - 1), -1, place == number)
    return found or _NONE


def _add(
    reading: Reading, found: dict[str, Hit], ending: Ending | None, low: int, is_right_at: bool
) -> None:
    """Note the cues that end at one place, but for classes that were met nearer.

    They begin at word `low` or behind; "c" alone has to stand right at the figures. Of a class
    the shortest counts.
    """
    here: dict[str, Met] = {}
    while ending:
        name, cue, ending = ending
        if name not in here and name not in found:
            here[name] = cue
    for name, cue in here.items():
        hit = _hit(reading, name, cue)
        if cue[0] >= low and (is_right_at or hit.end - hit.start > 1):
            found[name] = hit


def _hit(reading: Reading, name: str, cue: Met) -> Hit:
    first, last, value = cue
    return Hit(f"eras.{name}", value, first, last, reading.starts[first], reading.ends[last - 1])


def _ends(reading: Reading) -> Ends:
    """Map the word after each leading cue to it, the shortest of a class first."""
    ends: Ends | None = reading.memory.get("ends of eras")
    return ends if ends is not None else look_beside(reading, range(len(reading.words)))


def look_beside(reading: Reading, years: Iterable[int]) -> Ends:
    """Note the leading cues in the sentences of some words: the others never lead to these.

    Of those that begin at one word only the longest counts: it was met last.
    """
    sentence_of = reading.sentence_of
    near = {sentence_of[number] for number in years}
    ends: Ends = {}
    for name, full in _CLASSES:
        met = reading.cues.get(full)
        if not met:
            continue
        if len(met) > 1:
            met = [*dict(zip(map(_FIRST_WORD, met), met, strict=True)).values()]
        for cue in met:
            if sentence_of[cue[0]] in near:
                ends[cue[1]] = name, cue, ends.get(cue[1])
    reading.memory["ends of eras"] = ends
    return ends


_FIRST_WORD = itemgetter(0)
