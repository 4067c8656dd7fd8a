"""The word lists and tables of the readers, in data/: TOML files, and CSV files with # comments."""

from __future__ import annotations

import csv
import tomllib
from importlib.resources import files
from typing import Any


def table_of(file: str) -> dict[str, Any]:
    """What a TOML file in data/ holds; a reader keeps what it makes of it."""
    return tomllib.loads(_text_of(file))


def rows_of(file: str) -> list[dict[str, str]]:
    """The rows of a CSV file in data/, by the names in its first line that is no comment."""
    lines = (line for line in _text_of(file).splitlines() if not line.startswith("#"))
    return list(csv.DictReader(lines))


def _text_of(file: str) -> str:
    return files("triage.readers").joinpath("data", file).read_text("utf-8")
