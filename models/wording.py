"""The word lists of models/data/wording.csv as one pattern per class.

A row is class, language, pattern, note; the pattern is a regular expression over folded text.
Adding a word or a language is adding a row.
"""

from __future__ import annotations

import csv
import re
from functools import cache
from importlib import resources


@cache
def alternatives(word_class: str) -> str:
    """All patterns of a class, joined; raises KeyError for a class that has no row."""
    with resources.files("models").joinpath("data/wording.csv").open(encoding="utf-8") as file:
        rows = [row["pattern"] for row in csv.DictReader(file) if row["class"] == word_class]
    if not rows:
        raise KeyError(word_class)
    return "|".join(f"(?:{row})" for row in rows)


@cache
def words_of(word_class: str) -> re.Pattern[str]:
    """Finds any word of the class, standing as whole words."""
    return re.compile(rf"(?<!\w)(?:{alternatives(word_class)})(?!\w)")


@cache
def ends_with(word_class: str) -> re.Pattern[str]:
    """Finds a phrase of the class at the very end of a text, a few filling words aside."""
    filling = (
        r"[\s\"'(:]*(?:(?:an?|the|genuine|real|original|vintage|famous|well-known|classic|true|"
        r"rare|later|earlier|newer|older|other|smaller|larger|bigger|small|large|new|old|modern|echte[nrsm]?|originale[nrsm]?|veritables?|original[ei]s?)\s+)*"
    )
    return re.compile(rf"(?<!\w)(?:{alternatives(word_class)}){filling}$")


@cache
def begins_with(word_class: str) -> re.Pattern[str]:
    """Finds a phrase of the class at the very start of a text."""
    return re.compile(rf"[\"')]*(?:{alternatives(word_class)})")
