"""Pairing those who hold one picture, bounded: thousands may show a market's placeholder."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")
U = TypeVar("U")
MOST_HOLDERS = 40  # of one picture, that are paired each with each
MOST_COPIES = 80  # of one photo among the earlier ones, that are laid over it


def each_with_each(some: Sequence[T], others: Sequence[U]) -> list[tuple[T, U]]:
    """All pairs of one of some and one of the others; where they are very many, only those with
    the first of either.

    >>> each_with_each("ab", "xy")
    [('a', 'x'), ('a', 'y'), ('b', 'x'), ('b', 'y')]
    """
    if len(some) * len(others) <= MOST_HOLDERS**2:
        return [(x, y) for x in some for y in others]
    return [*((some[0], y) for y in others), *((x, others[0]) for x in some[1:])]


def each_with_the_rest(keys: Sequence[T]) -> list[tuple[T, T]]:
    """All pairs; where they are very many, the first with each.

    >>> each_with_the_rest("abc")
    [('a', 'b'), ('a', 'c'), ('b', 'c')]
    """
    hubs = keys if len(keys) <= MOST_HOLDERS else keys[:1]
    return [(a, b) for number, a in enumerate(hubs) for b in keys[number + 1 :]]
