"""Whether a seller refuses to show more of the piece than the listing does, in his own words.

The phrases stand in models/data/refusals.toml by language; all languages are tried.
"""

from __future__ import annotations

import re
import tomllib
from functools import cache, lru_cache
from importlib.resources import files

from extractors.folding import plain

READ = 12_000  # characters


@cache
def _patterns() -> tuple[re.Pattern[str], ...]:
    data = files("models").joinpath("data/refusals.toml").read_text("utf-8")
    languages = tomllib.loads(data)["language"].values()
    return tuple(
        re.compile(row.replace("{photos}", words["photos"] + r"\b"))
        for words in languages
        for row in words["refuses"]
    )


@lru_cache(maxsize=4096)
def refuses_photos(text: str) -> str:
    """The words that refuse further photos; empty where none do.

    >>> refuses_photos("Seven barrels. No more photos, please.")
    'No more photos'
    """
    folded = plain(text[:READ]).replace("’", "'")
    found = [match for pattern in _patterns() if (match := pattern.search(folded))]
    first = min(found, key=lambda match: match.start(), default=None)
    return text[first.start() : first.end()].strip() if first else ""
