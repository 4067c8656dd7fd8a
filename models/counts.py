"""A number of things in words."""

from __future__ import annotations


def count_text(number: int, thing: str, things: str = "") -> str:
    """A number of things; `things` where the plural is no "s" put behind.

    >>> count_text(1, "listing"), count_text(2, "listing"), count_text(3, "entry", "entries")
    ('1 listing', '2 listings', '3 entries')
    """
    return f"{number} {thing if number == 1 else things or f'{thing}s'}"
