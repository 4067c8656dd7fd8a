"""Records to plain JSON values and back: for messages between processes, the cache and the store.

Decimals travel as text, tuples as lists, bytes as base64. Reading back checks every type, so a
damaged or hostile message raises `UnreadableRecord` and nothing else.
"""

from __future__ import annotations

import base64
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Any, TypeVar

import cattrs
from cattrs.preconf.json import JsonConverter, make_converter

T = TypeVar("T")
_WRONG = (
    cattrs.errors.CattrsError,
    TypeError,
    ValueError,
    KeyError,
    AttributeError,
    InvalidOperation,
)


class UnreadableRecord(ValueError):
    """The plain values do not make the record they are said to be."""


@cache
def _converter() -> JsonConverter:
    converter = make_converter(detailed_validation=False, forbid_extra_keys=False)
    converter.register_unstructure_hook(Decimal, str)
    converter.register_structure_hook(Decimal, lambda value, _: Decimal(value))
    # cattrs writes base 85, which takes a hundred times longer to read
    converter.register_unstructure_hook(bytes, lambda value: base64.b64encode(value).decode())
    converter.register_structure_hook(bytes, lambda text, _: base64.b64decode(text, validate=True))
    # cattrs would turn anything into text or numbers; a record must say what it means
    for kind in (str, int, bool):
        converter.register_structure_hook(kind, _exactly(kind))
    converter.register_structure_hook(float, _number)
    return converter


def _exactly(kind: type) -> Any:
    def check(value: Any, _: Any) -> Any:
        if type(value) is not kind:
            raise TypeError(f"{kind.__name__} expected, {type(value).__name__} found")
        return value

    return check


def _number(value: Any, _: Any) -> float:
    if type(value) not in (int, float):
        raise TypeError(f"a number expected, {type(value).__name__} found")
    return float(value)


def to_plain(record: Any) -> Any:
    """Turn a record (or a tuple or dict of records) into plain JSON values."""
    return _converter().unstructure(record)


def from_plain(value: Any, kind: type[T]) -> T:
    """Make a record of the given kind from plain values; raises UnreadableRecord.

    >>> from extractors.records import Problem
    >>> from_plain(to_plain(Problem("a.html", None, "cut off", "save it again")), Problem).what
    'cut off'
    """
    try:
        return _converter().structure(value, kind)
    except _WRONG as error:
        raise UnreadableRecord(f"not a {kind.__name__}: {error}") from error
