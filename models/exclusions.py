"""Pairs of statements that do not go together, as read from models/data/exclusions.toml.

Adding a pair, a language or a wording is adding a row; all languages are tried.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any


@dataclass(frozen=True, slots=True)
class Pair:
    """What is said on the one hand and on the other, as patterns over folded clauses."""

    point: str
    why: str
    one: re.Pattern[str]
    other: re.Pattern[str]
    unless: re.Pattern[str]
    conditions: frozenset[str]
    conditions_not_of: frozenset[str]


@dataclass(frozen=True, slots=True)
class Modern:
    """Wording of later decades on lenses, and the last year of what is older than it."""

    words: re.Pattern[str]
    unless: re.Pattern[str]
    last_year: int


@cache
def pairs() -> tuple[Pair, ...]:
    """All pairs, in the order of the file."""
    return tuple(_pair(row) for row in _table()["pair"])


@cache
def lens_pair() -> Pair:
    """The pair of statements on whether the lenses are the original ones."""
    return next(pair for pair in pairs() if pair.point == "original_lenses")


@cache
def modern() -> Modern:
    """The wording that lenses of old pieces did not leave the factory with."""
    row = _table()["modern"]
    return Modern(_joined(row["words"]), _joined(row["unless"]), int(row["last_year"]))


@cache
def _table() -> Mapping[str, Any]:
    text = files("models").joinpath("data/exclusions.toml").read_text("utf-8")
    return tomllib.loads(text)


def _pair(row: Mapping[str, Any]) -> Pair:
    return Pair(
        point=row["point"],
        why=row["why"],
        one=_side(row["one"]),
        other=_side(row["other"]),
        unless=_side(row["unless"]),
        conditions=frozenset(row["conditions"]),
        conditions_not_of=frozenset(row["conditions_not_of"]),
    )


def _side(by_language: Mapping[str, list[str]]) -> re.Pattern[str]:
    return _joined(pattern for rows in by_language.values() for pattern in rows)


def _joined(patterns: Iterable[str]) -> re.Pattern[str]:
    return re.compile("|".join(f"(?:{pattern})" for pattern in patterns))
