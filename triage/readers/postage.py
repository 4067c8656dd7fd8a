"""What sending costs, where a sentence says it without a label of its own (data/postage.toml)."""

from __future__ import annotations

import re
from functools import cache

from triage.readers.facts import Amount
from triage.readers.prices import find_money
from triage.readers.tables import table_of

LONGEST = 90


@cache
def _data() -> dict[str, dict[str, list[str]]]:
    return table_of("postage.toml")


@cache
def _words(kind: str) -> re.Pattern[str]:
    rows = [f"(?:{row})" for rows in _data()[kind].values() for row in rows]
    return re.compile(rf"(?<![^\W\d_])(?:{'|'.join(rows)})|[\u3000-\uffdc]*(?:{_unspaced(kind)})")


def _unspaced(kind: str) -> str:
    """The words of languages that are written without spaces: they may stand anywhere."""
    return "|".join(row for lang in ("ja", "zh", "ko") for row in _data()[kind].get(lang, ["(?!)"]))


def sent_for(text: str, language: str = "") -> Amount | None:
    """The amount that a short line names as the cost of sending; None if it names another.

    >>> sent_for("Ophalen of verzenden voor € 6,95", "nl"), sent_for("Delivery free over £50")
    (Amount(value=Decimal('6.95'), currency='EUR'), None)
    """
    if len(text) > LONGEST:
        return None
    found = find_money(text, language)
    if not found:
        return None
    start = 0
    for money in found[:3]:
        before = text[start : money.start].replace("’", "'").casefold()
        after = text[money.end :].replace("’", "'").casefold()
        start = money.end
        if _words("not_ours").search(before):
            continue
        says = _words("sends").search(before) or _words("after").match(after.lstrip(" (（"))
        if says and not _ENDED.search(before[says.end() :] if says.re is _words("sends") else ""):
            return Amount(money.amount, money.currency)
    return None


# what parts a statement from the next one
_ENDED = re.compile(r"[.!?;]\s|\s[|·•]\s")


def names_sending(label: str) -> bool:
    """Say whether a row's label is about sending to a buyer at home, and nothing else.

    >>> names_sending("Envoi en colis suivi"), names_sending("Delivery abroad")
    (True, False)
    """
    plain = label.replace("’", "'").casefold()
    return _words("sends").match(plain) is not None and not _words("not_ours").search(plain)
