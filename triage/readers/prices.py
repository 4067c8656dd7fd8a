"""Amounts of money as sites write them: the number cut out first, the currency read apart.

Which of the amounts on a page is the listing's price is for the callers to say.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from price_parser.parser import parse_number

from triage.readers.tables import rows_of, table_of


@dataclass(frozen=True, slots=True)
class Money:
    """One amount in a text; `currency` is an ISO 4217 code, None where none stands beside it."""

    amount: Decimal
    currency: str | None
    start: int
    end: int


# Separators that only ever group digits; all become a space, which the number reader drops.
_GROUP_MARKS = "'’‘ʼ´`′ \u00a0\u202f\u2009\u2007"
_ALIKE: dict[int, str] = {
    **dict.fromkeys(map(ord, _GROUP_MARKS), " "),
    **{ord(a): b for a, b in zip("．，٫٬＄￥￡－−", ".,.,$¥£--", strict=True)},
}
# grouped thousands, lakh grouping, or plain digits; then decimals, then the "no cents" dash
_DASH = r"(?:[.,:]\s?[-–—]{1,2}(?!\d))?"


def _number(name: str) -> str:
    """The pattern of one number: grouped by threes, by lakhs, or plain; `name` makes it unique."""
    return (
        rf"(?P<{name}>\d{{1,3}}(?P<{name}_mark>[ .,])\d{{3}}(?:(?P={name}_mark)\d{{3}})*(?!\d)"
        rf"(?:(?!(?P={name}_mark))[.,]\d{{1,2}}(?!\d))?"
        r"|\d{1,2}(?:,\d{2})+,\d{3}(?!\d)(?:\.\d{1,2}(?!\d))?"
        r"|\d{1,15}(?:[.,]\d{1,6})?(?![.,]?\d)"
        r"|[.,]\d{2}(?!\d))"
    )


@cache
def _rows() -> tuple[tuple[str, str, frozenset[str]], ...]:
    return tuple(
        (row["written"], row["code"], frozenset(row["languages"].split()))
        for row in rows_of("currencies.csv")
    )


@cache
def _currency_pattern() -> str:
    written = sorted({row[0] for row in _rows()}, key=lambda w: (-len(w), w))
    return "(?:" + "|".join(map(_spelling, written)) + ")"


def _spelling(written: str) -> str:
    """Allow the spaces that sites put between letters and sign ("US $", "C $")."""
    if not any(c.isalpha() for c in written):
        return re.escape(written)
    body = re.sub(r"(\\?\$|¥)", r"\\s?\1\\s?", re.escape(written).replace(r"\ ", r"\s?"))
    body = body.removeprefix(r"\s?").removesuffix(r"\s?")
    before = r"(?<![^\W\d_])" if written[0].isalpha() else ""
    after = r"(?![^\W\d_])" if written[-1].isalpha() else ""
    return f"{before}{body}{after}"


@cache
def _before() -> re.Pattern[str]:
    return re.compile(rf"({_currency_pattern()})\s?:?\s?$")


@cache
def _after() -> re.Pattern[str]:
    return re.compile(rf"\s?({_currency_pattern()})")


@cache
def _cents() -> re.Pattern[str]:
    return re.compile(rf"\s?\d\d(?![\d.,]|\s?(?:{_currency_pattern()}))")


@cache
def _marks() -> tuple[frozenset[str], frozenset[str]]:
    """The signs that currencies are written with, and the words; to pass over texts without."""
    written = [row[0] for row in _rows()]
    signs = frozenset(c for w in written for c in w if not c.isalpha() and c not in ". -")
    foreign = frozenset(c for w in written for c in w if c.isalpha() and not c.isascii())
    words = frozenset(p for w in written for p in re.findall(r"[A-Za-z]+", w))
    return signs | foreign, words


_WORD = re.compile(r"[A-Za-z]+")


def has_currency(text: str) -> bool:
    """Say quickly whether a currency may stand in a text."""
    signs, words = _marks()
    if not signs.isdisjoint(text):
        return True
    return not words.isdisjoint(_WORD.findall(text)) or ends_in_dash(text)


_ENDS_IN_DASH = re.compile(r"\d\s?[:,.]\s?[-–—]{1,2}(?!\s?\d)")


def ends_in_dash(text: str) -> bool:
    """Say whether an amount may be there that writes its lacking cents as a dash: "450:-"."""
    return ("-" in text or "–" in text) and _ENDS_IN_DASH.search(text) is not None


@cache
def _bare_number() -> re.Pattern[str]:
    return re.compile(rf"(?P<minus>-\s?)?(?<![\d.,]){_number('n')}{_DASH}")


def level(text: str) -> str:
    """Write digits of any script as 0-9 and look-alike marks as one; length is kept.

    >>> level("１’２００．５０")
    '1 200.50'
    """
    if text.isascii() and "'" not in text and "`" not in text:
        return text
    if _OTHER_DIGIT.search(text) is not None:
        text = "".join(map(_digit, text))
    return text.translate(_ALIKE)


_OTHER_DIGIT = re.compile(r"[^\D0-9]")


def _digit(char: str) -> str:
    value = unicodedata.decimal(char, None) if not char.isascii() else None
    return char if value is None else str(value)


def currency_code(text: str | None, language: str = "") -> str | None:
    """Read a currency standing by itself: a code, a sign or a name.

    >>> currency_code("US $"), currency_code("kr", "da"), currency_code("points")
    ('USD', 'DKK', None)
    """
    if not text:
        return None
    squeezed = re.sub(r"\s+", "", level(text.strip()))
    known = _codes(language.casefold())
    return known.get(squeezed) or known.get(squeezed.upper()) or known.get(squeezed.casefold())


# digits behind the point, where there are not two (ISO 4217:2015, table A.1)
_NO_DIGITS = re.compile("BIF|CLP|DJF|GNF|ISK|JPY|KMF|KRW|PYG|RWF|UGX|UYI|VND|VUV|XAF|XOF|XPF")
_THREE_DIGITS = re.compile("BHD|IQD|JOD|KWD|LYD|OMR|TND")


def in_whole_coins(amount: Decimal, currency: str | None) -> Decimal:
    """An amount given in a currency's smallest coins in its whole ones.

    >>> in_whole_coins(Decimal(4550), "EUR"), in_whole_coins(Decimal(4800), "JPY")
    (Decimal('45.5'), Decimal('4800'))
    """
    if currency and _NO_DIGITS.fullmatch(currency):
        return amount
    return amount / (1000 if currency and _THREE_DIGITS.fullmatch(currency) else 100)


@cache
def _codes(language: str) -> dict[str, str]:
    """What each spelling means on a page in a language; the first row that fits holds."""
    speaks = {language, language.split("-")[0]} - {""}
    codes: dict[str, str] = {}
    for written, code, languages in _rows():
        if not languages or languages & speaks:
            codes.setdefault(re.sub(r"\s+", "", written), code)
    return codes


def find_money(text: str, language: str = "") -> tuple[Money, ...]:
    """Find every amount that stands beside a currency, in order; negative ones are left out.

    >>> [(str(m.amount), m.currency) for m in find_money("925 silver, CHF 1’200.–, was 12,50 €")]
    [('1200', 'CHF'), ('12.50', 'EUR')]
    """
    text = level(text)
    return tuple(_each_money(text, language)) if has_currency(text) else ()


def has_money(text: str) -> bool:
    """Say whether any amount stands beside a currency in a text."""
    text = level(text)
    return has_currency(text) and any(True for _ in _each_money(text, ""))


def _each_money(text: str, language: str) -> Iterator[Money]:
    """Go from number to number; a currency belongs to one number only, the earlier first."""
    taken = 0
    for match in _bare_number().finditer(text):
        start = match.start("n")
        head = match.start()
        before = _written_before(text, max(taken, head - 12), head)
        after = _after().match(text, match.end())
        if after is not None and before is not None and re.match(r"\s?\d", text[after.end() :]):
            after = None
        if after is not None and before is None and _leads_the_next(text, after):
            after = None
        dash = text[match.end("n") : match.end()].replace(" ", "")
        meant = _dash_currency(dash, language) if before is None and after is None else None
        if before is None and after is None and meant is None:
            continue
        number, stop = match["n"], after.end() if after else match.end()
        if before is None and after is not None and not re.search(r"[.,]", number):
            cents = _cents().match(text, stop)
            if cents is not None:
                number, stop = f"{number}.{cents[0].strip()}", cents.end()
        taken = stop
        amount = None if match["minus"] else read_number(number)
        if amount is not None:
            first = before.start() if before else start
            yield Money(amount, meant or _code(before, after, language), first, stop)


def _dash_currency(dash: str, language: str) -> str | None:
    """The currency of an amount that shows no other sign than the dash for its cents."""
    if not dash or not language:
        return None
    mark = f"{dash[0]}-"
    codes: dict[str, str] = _dashes().get(mark, {})
    return codes.get(language) or codes.get(language.split("-")[0])


@cache
def _dashes() -> dict[str, dict[str, str]]:
    return table_of("dashes.toml")


def _written_before(text: str, start: int, end: int) -> re.Match[str] | None:
    """The currency right before `end`; the pattern is tried only where one may end there."""
    last = text[start:end].rstrip().rstrip(":").rstrip()[-1:]
    return _before().search(text, start, end) if last in _last_letters() else None


@cache
def _last_letters() -> frozenset[str]:
    return frozenset(row[0].rstrip()[-1] for row in _rows())


def _leads_the_next(text: str, after: re.Match[str]) -> bool:
    """Say whether a sign belongs to the number right after it: "Tracked 48 $4.50"."""
    is_sign = "$" in after[1] or "£" in after[1]
    return is_sign and after[0][:1].isspace() and text[after.end() : after.end() + 1].isdigit()


def _code(before: re.Match[str] | None, after: re.Match[str] | None, language: str) -> str | None:
    """Of a sign before and a code after ("$45.00 CAD") the one that is no bare sign holds."""
    if after is not None and (before is None or not _is_plain_sign(after[1])):
        return currency_code(after[1], language)
    return currency_code(before[1], language) if before is not None else None


def _is_plain_sign(written: str | None) -> bool:
    return written is not None and not any(c.isalpha() for c in written)


def read_number(text: str) -> Decimal | None:
    """Read one number with any grouping; None if it is none, negative or out of all reason.

    A single separator before exactly three digits groups; before one or two it is decimal.

    >>> [str(read_number(t)) for t in ("1.200", "1.200,50", "1,200.50", "12,5", "0.500")]
    ['1200', '1200.50', '1200.50', '12.5', '0.500']
    """
    text = level(text).strip()
    match = _bare_number().search(text)
    if match is None or match["minus"]:
        return None
    digits = match["n"].replace(" ", "")
    if re.fullmatch(r"0[.,]\d+", digits):
        return Decimal(digits.replace(",", "."))
    if re.fullmatch(r"\d+[.,]\d{4,6}", digits):
        return Decimal(digits.replace(",", "."))
    amount = parse_number(digits)
    return amount if isinstance(amount, Decimal) and amount < 10**12 else None


def read_price(text: str, language: str = "") -> Money | None:
    """Read the first price of a short text: an amount beside a currency, else its only number.

    >>> read_price("Price: 1 234,50 EUR").amount, read_price("-5 €"), read_price("a1 b2")
    (Decimal('1234.50'), None, None)
    """
    found = find_money(text, language)
    if found:
        return found[0]
    text = level(text)
    numbers = list(_bare_number().finditer(text))
    if len(numbers) != 1 or numbers[0]["minus"] or re.search(_currency_pattern(), text):
        return None
    amount = read_number(numbers[0]["n"])
    return None if amount is None else Money(amount, None, *numbers[0].span())
