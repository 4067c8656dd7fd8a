"""JSON as pages really hold it: with comments, trailing commas, entities, control characters.

Values come out as the standard library makes them, but for these: NaN and infinities are None,
two equal keys with different values become a list (so that neither is lost), and what is nested
deeper than `DEPTH` is refused, because everything that walks it later recurses.
"""

from __future__ import annotations

import html
import json
import re
from decimal import Decimal, InvalidOperation
from typing import Any

DEPTH = 64
_TOKEN = re.compile(
    r'("(?:[^"\\]|\\.)*")|(//[^\n]*|/\*.*?\*/|<!--|-->)|(,)(?=(?:\s|//[^\n]*\n|/\*.*?\*/)*[}\]])',
    re.S,
)
_WRAPPER = re.compile(
    r"^\s*(?:<!\[CDATA\[|//\s*<!\[CDATA\[|/\*\s*<!\[CDATA\[\s*\*/)|(?://\s*|/\*\s*)?\]\]>(?:\s*\*/)?\s*;?\s*$"
)
_NESTING = re.compile(r'"(?:[^"\\]|\\.)*"|([\[{])|([\]}])', re.S)


def load_json(text: str) -> Any:
    """Parse JSON leniently; None if it cannot be read even so.

    >>> load_json('{"a": [1, 2,], /* note */ "b": "x\\ty",}')
    {'a': [1, 2], 'b': 'x\\ty'}
    >>> load_json('{"price": NaN}'), load_json('{"a": 1, "a": 2}'), load_json("{nonsense")
    ({'price': None}, {'a': [1, 2]}, None)
    """
    for attempt in _attempts(text):
        if _is_too_deep(attempt):
            return None
        try:
            return _DECODER.decode(attempt.strip())
        except (ValueError, RecursionError):
            continue
    return None


def _attempts(text: str) -> tuple[str, ...]:
    """The text as it is, tidied, and with entities decoded ("&quot;name&quot;: ...")."""
    text = text.lstrip("\ufeff")
    tidied = tidy(text)
    attempts = [text, tidied]
    if "&quot;" in text or "&#34;" in text:
        attempts.append(tidy(html.unescape(text)))
    return tuple(dict.fromkeys(attempts))


def tidy(text: str) -> str:
    """Take out comments and trailing commas outside of strings, and a CDATA wrapper."""
    bare = _TOKEN.sub(lambda m: m[1] or "", _WRAPPER.sub("", text))
    return bare.strip().rstrip(";")


def _is_too_deep(text: str) -> bool:
    if text.count("[") + text.count("{") <= DEPTH:
        return False
    depth = 0
    for match in _NESTING.finditer(text):
        depth += bool(match[1]) - bool(match[2])
        if depth > DEPTH:
            return True
    return False


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result: dict[str, Any] = dict(pairs)
    if len(result) == len(pairs):
        return result
    result = {}
    for key, value in pairs:
        if key in result and result[key] != value:
            first = result[key] if isinstance(result[key], list) else [result[key]]
            value = first + list(value if isinstance(value, list) else [value])
        result[key] = value
    return result


def _number(text: str) -> Decimal | None:
    """Numbers stay exact; one out of all reason (1e999) is no number."""
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if abs(number.adjusted()) < 30 else None


def _integer(text: str) -> int | None:
    return int(text) if len(text) < 30 else None


_DECODER = json.JSONDecoder(
    object_pairs_hook=_pairs,
    parse_constant=lambda _: None,
    parse_float=_number,
    parse_int=_integer,
    strict=False,
)


def load_prefix(text: str, start: int) -> Any:
    """Parse the one JSON value that begins at `start` of a script; None if there is none."""
    piece = text[start:]
    if _is_too_deep(piece[:200_000]):
        return None
    try:
        return _DECODER.raw_decode(text, start)[0]
    except (ValueError, RecursionError):
        return None
