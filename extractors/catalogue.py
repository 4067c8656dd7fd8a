"""The ordered list of extractors; adding one is one line in EXTRACTORS."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from extractors.reading import Reading

Extractor = Callable[[Reading], Any]

# one line per extractor: field of Evidence -> function
EXTRACTORS: dict[str, Extractor] = {}
