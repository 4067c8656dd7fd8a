"""JSON as pages really hold it: with comments, trailing commas, entities, control characters.

Values come out as the standard library makes them, but for these: NaN and infinities are None,
two equal keys with different values become a list (so that neither is lost), and what is nested
deeper than `DEPTH` is refused, because everything that walks it later recurses.
"""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from itertools import accumulate
from typing import Any

DEPTH = 64
_TOKEN = re.compile(
    r'("(?:[^"\\]|\\.)*")|(//[^\n]*|/\*.*?\*/|<!--|-->)|(,)(?=(?:\s|//[^\n]*\n|/\*.*?\*/)*[}\]])',
    re.S,
)
_WRAPPER = re.compile(
    r"^\s*(?:<!\[CDATA\[|//\s*<!\[CDATA\[|/\*\s*<!\[CDATA\[\s*\*/)|(?://\s*|/\*\s*)?\]\]>(?:\s*\*/)?\s*;?\s*$"
)
_NO_BRACKETS = bytes(set(range(256)) - set(b'"[]{}'))
_STEPS = {ord("["): 1, ord("{"): 1, ord("]"): -1, ord("}"): -1}


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


def _attempts(text: str) -> Iterator[str]:
    """The text as it is, tidied, and with entities decoded ("&quot;name&quot;: ...")."""
    text = text.lstrip("\ufeff")
    yield text
    tidied = tidy(text)
    if tidied != text:
        yield tidied
    if "&quot;" in text or "&#34;" in text:
        yield tidy(html.unescape(text))


def tidy(text: str) -> str:
    """Take out comments and trailing commas outside of strings, and a CDATA wrapper."""
    bare = _TOKEN.sub(lambda m: m[1] or "", _WRAPPER.sub("", text))
    return bare.strip().rstrip(";")


def _is_too_deep(text: str) -> bool:
    """Say whether brackets outside of strings nest deeper than `DEPTH`.

    All but brackets and quotes is dropped first, so that no step of Python looks at a character.
    """
    if text.count("[") + text.count("{") <= DEPTH:
        return False
    raw = text.encode("utf-8", "replace").replace(rb"\\", b"").replace(rb"\"", b"")
    brackets = b"".join(raw.translate(None, _NO_BRACKETS).split(b'"')[::2])
    return max(accumulate(map(_STEPS.__getitem__, brackets)), default=0) > DEPTH


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
