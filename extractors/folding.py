"""Plain letters for matching: lower case, no accents, look-alikes and hidden marks undone.

Everything keeps its length, so that an offset means the same in every form of a text.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from importlib import resources


def _look_alikes() -> dict[int, str]:
    """Read data/look_alikes.csv."""
    text = resources.files("extractors").joinpath("data/look_alikes.csv").read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return {ord(row["letter"]): row["looks_like"] for row in csv.DictReader(lines)}


_HOMOGLYPHS = _look_alikes()
_SIGNS = str.maketrans(
    {
        **dict.fromkeys("‘’‛ʼʹ´`′＇", "'"),
        **dict.fromkeys("“”„‟«»″＂❝❞", '"'),
        **dict.fromkeys("‐‑‒–—―−﹣－", "-"),
        **dict.fromkeys("\u00a0\u2007\u2009\u202f\u3000\t\r\v\f\u2028\u2029", " "),
        "ß": "s",
        "æ": "a",
        "ø": "o",
        "ł": "l",
        "ı": "i",
    }
)
# what a reader does not see: zero-width, soft hyphen, direction marks, variation selectors
_UNSEEN = "\u00ad\u034f\u061c\u180e\u200b-\u200f\u2060-\u2064\u206a-\u206f\ufe00-\ufe0e\ufeff"
HIDDEN = re.compile(f"[{_UNSEEN}]")
_BIDI = re.compile("[\u202a-\u202e\u2066-\u2069]")
_OVERRIDE = re.compile("[\u202d\u202e][^\u202c\n]{0,2000}\u202c?")
_DROPPED = re.compile(f"[{_UNSEEN}\u0300-\u036f]")
# a word is looked at from its beginning only: else a very long one takes quadratic time
_BENT = re.compile(f"(?<![^\\W_])[^\\W_]+(?:[{_UNSEEN}\u0300-\u036f]+[^\\W_]*)+")
_WIDE = {code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)}  # full-width forms of ASCII
_WIDE_FORM = re.compile("[\uff01-\uff5e]")
# phonetic letters and small capitals, Greek, Cyrillic, Armenian, Cherokee
SCRIPTS = "\u0250-\u02af\u1d00-\u1d2b\u0370-\u052f\u0531-\u0587\u13a0-\u13ff"
_OTHER_SCRIPT = re.compile(f"[{SCRIPTS}]")
_MIXED = re.compile(f"(?<![^\\W\\d_])[^\\W\\d_]*[{SCRIPTS}][^\\W\\d_]*")
# whatever `unhide` undoes; most texts with accents and typographic signs have none of it
_ODD = re.compile(f"[\uff01-\uff5e\u202a-\u202e\u2066-\u2069{_UNSEEN}\u0300-\u036f{SCRIPTS}]")


def _straighten(match: re.Match[str]) -> str:
    """Move hidden marks of a word behind it, as spaces."""
    word = match.group()
    return _DROPPED.sub("", word).ljust(len(word))


def _unmask(match: re.Match[str]) -> str:
    """Turn look-alikes of other scripts to Latin if that makes the whole word Latin."""
    word = match.group()
    turned = word.translate(_HOMOGLYPHS)
    return word if _OTHER_SCRIPT.search(turned) else turned


def _one_to_one(character: str) -> str:
    """Fold one character by compatibility, if the result is one character."""
    folded = unicodedata.normalize("NFKC", character)
    return folded if len(folded) == 1 else character


def unhide(text: str) -> str:
    """Undo what hides words from a search: same length, letters kept in case.

    Text inside a direction override is shown backwards to the reader and becomes spaces.
    """
    if text.isascii() or not _ODD.search(text):
        return text
    if _WIDE_FORM.search(text):
        text = text.translate(_WIDE)
    if _BIDI.search(text):
        text = _BIDI.sub(" ", _OVERRIDE.sub(lambda match: " " * len(match.group()), text))
    if _DROPPED.search(text):
        text = HIDDEN.sub(" ", _BENT.sub(_straighten, text))
    return _MIXED.sub(_unmask, text) if _OTHER_SCRIPT.search(text) else text


def bent_words(text: str) -> list[tuple[int, int]]:
    """Give the places of words that hold hidden or combining marks."""
    if text.isascii() or not _DROPPED.search(text):
        return []
    return [match.span() for match in _BENT.finditer(text)]


def lower(text: str) -> str:
    """Lower-case character by character, so that offsets stay those of the original.

    >>> lower("Bügel İ")
    'bügel i'
    """
    lowered = text.lower()
    if len(lowered) == len(text):
        return lowered
    return "".join(character.lower()[:1] or character for character in text)


class _Plain(dict[int, str]):
    """Plain form of each character, worked out the first time it is met."""

    def __missing__(self, code: int) -> str:
        character = chr(code)
        if code < 128:
            plain_form = character
        else:
            signed = character.translate(_SIGNS)
            base = unicodedata.normalize("NFKD", signed)[:1] if signed.isalpha() else signed
            plain_form = base if len(base) == 1 else character
            if not plain_form.isalpha() and signed == character:
                plain_form = _one_to_one(character)
        self[code] = plain_form
        return plain_form


_PLAIN = _Plain()
_SIGN = re.compile("[^\\x00-\\x08\\x0e-\\x7f]")


def plain(text: str) -> str:
    """Give lower case without accents, typographic quotes and dashes; same length.

    >>> plain("Bügel – „weiß“")
    'bugel - "weis"'
    """
    lowered = lower(text)
    if lowered.isascii():
        return lowered
    signs = set(_SIGN.findall(lowered))
    if len(signs) > _FEW:
        return _SIGN.sub(_plain_sign, lowered)
    for sign in signs:
        lowered = lowered.replace(sign, _PLAIN[ord(sign)])
    return lowered


_FEW = 20  # signs in a text that are faster replaced one by one


def _plain_sign(match: re.Match[str]) -> str:
    return _PLAIN[ord(match.group())]
