"""The words that tell what a JSON value is: data/json_shapes.toml, compared as field names are."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import Any

from triage.readers.field_names import key_of, spellings
from triage.readers.tables import table_of

Object = dict[str, Any]


@cache
def shape_words() -> dict[str, dict[str, list[str]]]:
    return table_of("json_shapes.toml")


@cache
def named(kind: str, names: str = "names") -> dict[str, int]:
    """Names of a kind as they are compared, each with its place in the list."""
    rows = shape_words()[kind][names]
    return {key: at for at, row in reversed(list(enumerate(rows))) for key in spellings(row)}


@lru_cache(maxsize=20_000)
def _is_named(key: str, kind: str, names: str) -> bool:
    return key_of(key[:200]) in named(kind, names)


def is_kind(key: object, kind: str, names: str = "names") -> bool:
    return _is_named(str(key), kind, names)


@lru_cache(maxsize=20_000)
def words_of(key: str) -> tuple[str, ...]:
    """The words of a name, as they are compared.

    >>> words_of("priceInCents"), words_of("seller_user-name")
    (('price', 'in', 'cents'), ('seller', 'user', 'name'))
    """
    spaced = re.sub(r"(?<=[a-zà-þ0-9])(?=[A-ZÀ-Þ])", " ", key[:120])
    return tuple(key_of(word) for word in re.findall(r"[^\W_]+", spaced))


def is_elsewhere(key: str) -> bool:
    """Say whether a name is that of other things than the listings ("similarItems")."""
    plain, told = key_of(key), words_of(key)
    names = named("envelope", "elsewhere")
    long = (n for n in names if len(n) > 5)
    return any(w in names for w in told) or any(plain.startswith(n) for n in long)
