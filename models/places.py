"""Where a mark sits, read from words: side, surface, part, height, spot (data/places.toml)."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib import resources

from extractors.folding import plain

Place = frozenset[tuple[str, str]]
_FIRM = ("side", "surface", "part", "height")


@cache
def _groups() -> dict[str, dict[str, re.Pattern[str]]]:
    text = resources.files("models").joinpath("data/places.toml").read_text(encoding="utf-8")
    return {
        group: {
            value: re.compile("(?<![a-z])(?:" + "|".join(words) + ")(?![a-z])")
            for value, words in values.items()
        }
        for group, values in tomllib.loads(text).items()
    }


# "on the right temple instead of the left": the place after these words is denied
_INSTEAD = re.compile(
    r"\b(?:instead of|rather than|and not|not|(?:an)?statt|und nicht|nicht|au lieu d[eu]s?|et non|"
    r"pas|invece (?:che|di|del\w*)|anziche|e non|en (?:vez|lugar) de|y no)\b"
    r"(?: (?:on|in|inside|at|auf|im|in|an|sur|dans|su\w*|nel\w*|en))?"
    r"(?: (?:the|der|dem|die|des|auf|la|le|l|el|il|lo|los|las|du))? ?'?\w+"
    r"(?: (?:temple|arm|lens|side|bugel))?"
)


def read_place(text: str) -> Place:
    """The place features a text names.

    >>> sorted(read_place("inside of the left temple"))
    [('part', 'temple'), ('side', 'left'), ('surface', 'inside')]
    """
    folded = _INSTEAD.sub(" ", plain(text))
    return frozenset(
        (group, value)
        for group, values in _groups().items()
        if group != "alignment"
        for value, pattern in values.items()
        if pattern.search(folded)
    )


_LITTLE = re.compile(
    r"[a-z]{1,3}|inside|outside|from|with|near|along|auf|innen|aussen|dans|sull[ae]?|dell[aeo]?|nell[ae]?"
)


def is_only_place(text: str) -> bool:
    """Whether a text names a place and nothing else.

    >>> is_only_place("on the inside of the left temple"), is_only_place("clear pads")
    (True, False)
    """
    folded = plain(text)
    rest = folded
    for values in _groups().values():
        for pattern in values.values():
            rest = pattern.sub(" ", rest)
    return rest != folded and all(_LITTLE.fullmatch(w) for w in re.findall(r"\w+", rest))


def read_alignment(text: str) -> frozenset[str]:
    """How a thing lies to another: level, above, below, before, behind, centred."""
    folded = plain(text)
    return frozenset(v for v, pattern in _groups()["alignment"].items() if pattern.search(folded))


def clash(one: Place, other: Place) -> str | None:
    """The group in which two places exclude one another, or None.

    >>> clash(read_place("left temple"), read_place("right temple"))
    'side'
    """
    for group in _FIRM:
        mine = {v for g, v in one if g == group}
        theirs = {v for g, v in other if g == group}
        if (
            mine
            and theirs
            and not mine & theirs
            and not ("both" in mine | theirs and group == "side")
        ):
            return group
    return None


def shared(one: Place, other: Place) -> int:
    """In how many features two places agree."""
    return len(one & other)
