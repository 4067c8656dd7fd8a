"""Amounts in text, in the spellings of many countries; the rows above KEPT were written with."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.readers.prices import currency_code, find_money, read_number, read_price

ROWS = [
    ("CHF 1’200.–", "1200", "CHF"),  # curly apostrophe groups, the dash stands for no cents
    ("SFr. 1'200.50", "1200.50", "CHF"),
    ("US $12.00", "12.00", "USD"),
    ("C $ 45", "45", "CAD"),
    ("$45.00 CAD", "45.00", "CAD"),
    ("AU $1,234.50", "1234.50", "AUD"),
    ("925 silver 12 €", "12", "EUR"),  # the number beside the sign, not the first
    ("１２３．４５ €", "123.45", "EUR"),  # full-width digits keep their decimals
    ("1.234,56 €", "1234.56", "EUR"),
    ("EUR 1.234", "1234", "EUR"),
    ("1\u202f234,50\u00a0€", "1234.50", "EUR"),
    ("12€50", "12.50", "EUR"),
    ("12,- €", "12", "EUR"),
    ("1.000.000 €", "1000000", "EUR"),
    ("Rs. 1,20,000", "120000", "INR"),
    ("12000円", "12000", "JPY"),
    ("99,99 zł", "99.99", "PLN"),
    ("٤٥ €", "45", "EUR"),
    # kept back
    ("£ 7", "7", "GBP"),
    ("2 450,00 EUR", "2450.00", "EUR"),
    ("NZ$18.90", "18.90", "NZD"),
    ("1.250,00 kr", "1250.00", "SEK"),
]


@pytest.mark.parametrize(("text", "amount", "currency"), ROWS)
def test_amount_and_currency_are_read_apart(text: str, amount: str, currency: str) -> None:
    money = read_price(text)
    assert money is not None
    assert (str(money.amount), money.currency) == (amount, currency)


@pytest.mark.parametrize("text", ["-5 €", "€ -5", "free", "", "12.5.2020", "a1 b2"])
def test_no_price_is_read_where_none_stands(text: str) -> None:
    assert read_price(text) is None


def test_each_currency_belongs_to_one_number() -> None:
    after = [(str(m.amount), m.currency) for m in find_money("12 € 15 £")]
    before = [(str(m.amount), m.currency) for m in find_money("€ 12 £ 15")]
    assert after == before == [("12", "EUR"), ("15", "GBP")]


@pytest.mark.parametrize(
    ("sign", "language", "code"),
    [
        ("$", "en-ca", "CAD"),
        ("$", "de", "USD"),
        ("kr", "da", "DKK"),
        ("kr", "nb", "NOK"),
        ("¥", "zh", "CNY"),
    ],
)
def test_shared_signs_follow_the_language(sign: str, language: str, code: str) -> None:
    assert currency_code(sign, language) == code


amounts = st.decimals(min_value=1, max_value=999_999, places=2)
FORMS = ["{whole:,}.{cents:02}", "{whole}.{cents:02}", "{whole}", "{whole:,}"]


@given(amounts, st.sampled_from("€$£"), st.booleans())
def test_english_and_german_spellings_read_alike(value: Decimal, sign: str, before: bool) -> None:
    english = f"{value:,.2f}"
    german = english.translate(str.maketrans(",.", ".,"))
    swiss = english.replace(",", "’")
    for text in (english, german, swiss):
        money = read_price(f"{sign} {text}" if before else f"{text} {sign}")
        assert money is not None
        assert money.amount == value


@given(amounts)
def test_a_sentence_around_does_not_change_the_amount(value: Decimal) -> None:
    assert [m.amount for m in find_money(f"frame no. 7, now {value:.2f} EUR, size 48")] == [value]


@given(st.text(max_size=60))
def test_any_text_is_survived_and_spans_are_inside(text: str) -> None:
    for money in find_money(text):
        assert 0 <= money.start < money.end <= len(text)
        assert money.amount >= 0
    read_number(text)
