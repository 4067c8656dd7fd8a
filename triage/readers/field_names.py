"""What the names of values in exports and notes mean: "Preis", "vendeur.pseudo", "price_cents".

The names lie in data/field_names.csv, words with a meaning in data/field_values.csv. A dotted name
is that of a value inside an object; its field is told by both.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import cache, lru_cache

from triage.readers.labels import field_of_label
from triage.readers.prices import currency_code
from triage.readers.tables import rows_of


def key_of(name: str) -> str:
    """Bring a field name to the form in which names are compared.

    >>> key_of("Date_Listed"), key_of("Währung"), key_of("offers.priceCurrency")
    ('datelisted', 'wahrung', 'offers.pricecurrency')
    """
    return _short_key(name) if len(name) <= 80 else _key(name)


@lru_cache(maxsize=30_000)
def _short_key(name: str) -> str:
    return _key(name)


def _key(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name.casefold().replace("ł", "l").replace("ø", "o"))
    return "".join(c for c in plain if c.isalnum() or c in ".#@°&")


def spellings(name: str) -> frozenset[str]:
    """A name as it is compared, with umlauts as letters and as programs write them.

    >>> sorted(spellings("Währung"))
    ['waehrung', 'wahrung']
    """
    plain = name.casefold().translate(_UMLAUTS)
    return frozenset((key_of(name), key_of(plain)))


_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "æ": "ae", "ø": "oe", "å": "aa"})


@cache
def _names() -> dict[str, tuple[str, bool]]:
    """Compared name -> field, and whether the name is a weak sign of a listing."""
    table: dict[str, tuple[str, bool]] = {}
    for row in rows_of("field_names.csv"):
        if row["field"] in _WORD_CLASSES:
            continue
        written = row["written"].removeprefix("weak:")
        for key in spellings(written):
            table.setdefault(key, (row["field"], written != row["written"]))
    return table


_SIGNS = (
    "sign_shipping", "sign_ended", "sign_buy_now", "sign_specifics", "sign_date", "sign_since",
    "sign_end", "sign_other_date",
)  # fmt: skip
_OF_DATES = frozenset(("sign_since", "sign_end", "sign_other_date"))  # common words: only of dates
_EVERYDAY = ("title", "description", "price", "seller_name", "photos")
_INSIDE = (
    "in_amount", "in_currency", "in_person_name", "in_person_id", "in_file", "in_text", "in_label",
    "in_value", "in_auction", "wrapper", "open_flag", "minor", "first_bid", "handle", "of_dates",
    "by_whom",
)  # fmt: skip
_WORD_CLASSES = (
    "thing", "person", "number", "filler", "asked", "question", "answer",
    *_SIGNS, *_INSIDE, *(f"everyday_{f}" for f in _EVERYDAY),
)  # fmt: skip


@cache
def meanings(field: str) -> dict[str, str]:
    return {
        key_of(row["written"]): row["value"]
        for row in rows_of("field_values.csv")
        if row["field"] == field
    }


def is_unstated(value: str) -> bool:
    """Say whether a value only tells that there is none.

    >>> is_unstated("NaN"), is_unstated("n/a"), is_unstated("-"), is_unstated("auf Anfrage")
    (True, True, True, True)
    """
    key = key_of(value)
    return not key or key in meanings("unstated")


def field_of(name: str) -> str | None:
    """Name the field that a written name means, or None.

    >>> field_of("Preis"), field_of("listing.seller.name"), field_of("Lens width")
    ('price', 'seller_name', None)
    """
    return _find(name)[0]


def everyday_field(name: str) -> str | None:
    """Name the field that an everyday word over a column means, or None.

    >>> everyday_field("Who"), everyday_field("Bemerkungen"), everyday_field("Bridge")
    ('seller_name', 'description', None)
    """
    key = key_of(name)
    return next((f for f in _EVERYDAY if key in words(f"everyday_{f}")), None)


def is_weak(name: str) -> bool:
    """Say whether a name for a field also stands in many files that are no listings."""
    return _find(name)[1]


@cache
def _find(name: str) -> tuple[str | None, bool]:
    key = key_of(name)[:200]
    bare = unwrapped(key)
    known: tuple[str | None, bool] | None = _names().get(key) or _names().get(bare)
    if known is None and bare[-1:].isdigit():  # photo_1, Foto 2 ...
        numbered = _names().get(bare.rstrip("0123456789"))
        known = numbered if numbered in (("photos", False), ("answers", False)) else None
    label = _AS_LABEL.get(field_of_label(name))
    if known is None and label is None:
        known = _nested(bare) if "." in bare else _without_fillers(name)
    if known is not None and known[0] == "none":
        return None, False
    return known or (label, False)


def unwrapped(name: str) -> str:
    """A dotted name without the objects about the listing's own values.

    >>> unwrapped("annonce.prix"), unwrapped("prix.montant")
    ('prix', 'prix.montant')
    """
    while (step := name.partition("."))[2] and key_of(step[0]) in words("wrapper"):
        name = step[2]
    return name


def _nested(key: str) -> tuple[str | None, bool] | None:
    """Tell the field of a value inside an object by what the object is and what the value is.

    >>> field_of("prix.montant"), field_of("vendeur.pseudo"), field_of("annonce.prix.devise")
    ('price', 'seller_name', 'currency')
    >>> field_of("bidding.currentBid.amount"), field_of("pics.local_path"), field_of("pics.order")
    ('bid', 'photos', 'ignored')
    """
    outer, _, leaf = key.rpartition(".")
    step = outer.rpartition(".")[2]
    field = _find(step)[0] or _find(unwrapped(outer))[0]
    if field is None and is_of_shipping(step):
        field = "shipping"
    if field in _MONEY:
        return _inside_money(field, leaf)
    if field in ("seller_name", "seller_id") or step in words("person"):
        is_name, is_id = leaf in words("in_person_name"), leaf in words("in_person_id")
        return ("seller_name", False) if is_name else ("seller_id", False) if is_id else None
    if field == "photos":
        return ("photos" if leaf in words("in_file") else "ignored", False)
    if field in ("title", "description", "url", "location", "listing_id"):
        return (field, False) if leaf in words("in_text") else None
    return ("currency", False) if _names().get(leaf) == ("currency", False) else None


_MONEY = ("price", "bid", "sold", "buy_now", "shipping")


def _inside_money(field: str, leaf: str) -> tuple[str, bool] | None:
    if leaf in words("in_currency"):
        return ("ignored" if field == "shipping" else "currency", False)
    if leaf in words("in_amount"):
        return field, False
    found = _find(leaf)[0]
    return (found, False) if found in _MONEY and field in ("price", "bid") else None


def is_of_shipping(name: str) -> bool:
    """Say whether a name holds a word for shipping ("frais_de_port")."""
    return "sign_shipping" in signs_of(name)


def _without_fillers(name: str) -> tuple[str | None, bool] | None:
    """Find a longer name by what is left of it without the words that say nothing here.

    >>> _without_fillers("Titre de l'annonce"), _without_fillers("priceEUR")
    (('title', False), ('price', False))
    """
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name[:80])
    spaced = re.sub(
        rf"(?i)^({'|'.join(sorted(words('thing'), key=len)[::-1])})(?=\w{{4}})", r"\1 ", spaced
    )
    told = [key_of(w) for w in re.findall(r"[^\W_]+°?|[€$£]", spaced)]
    left = [w for w in told if w not in words("filler", "thing") and not _is_currency(w)]
    if all(w in words("number", "person") for w in left) and len(left) > 1:
        return "seller_id", False
    if not left or len(left) == len(told):
        return None
    if all(w in words("number") for w in left) and any(w in words("thing") for w in told):
        return "listing_id", False
    return _names().get("".join(left))


def _is_currency(word: str) -> bool:
    return word in ("euro", "euros") or (
        word not in ("all", "try") and currency_code(word) is not None
    )


@cache
def words(*classes: str) -> frozenset[str]:
    """The names of some classes of words, as they are compared."""
    found = (spellings(r["written"]) for r in rows_of("field_names.csv") if r["field"] in classes)
    return frozenset().union(*found)


# labels of pages that name a field here as well
_AS_LABEL: dict[str | None, str] = {
    "price": "price",
    "buy_now": "buy_now",
    "bid": "bid",
    "start_bid": "bid",
    "sold": "sold",
    "shipping": "shipping",
    "listing_id": "listing_id",
    "seller": "seller_name",
    "seller_id": "seller_id",
    "location": "location",
    "date_listed": "date_listed",
    "ends_at": "ends_at",
    "returns": "returns",
}


# what makes named values a listing rather than some other table
_TELLING = ("price", "bid", "sold", "photos", "seller_name", "seller_id", "listing_id", "id")
_ALSO = (*_TELLING, "description", "url", "date_listed")


def is_listing(names: Iterable[str]) -> bool:
    """Say whether these field names are those of a listing: a title and something beside it."""
    found = [(field_of(name), is_weak(name)) for name in names]
    fields = {field for field, _ in found}
    if "title" in {field for field, weak in found if not weak}:
        return bool(fields.intersection(_ALSO))
    strong = fields.intersection(_TELLING) - {"id", "listing_id"}
    return ("title" in fields and bool(strong)) or ("description" in fields and len(strong) > 1)


def parts_of(name: str) -> list[str]:
    """The words of a name as programs write them, as they are compared.

    >>> parts_of("offers.startBid_amount")
    ['offers', 'start', 'bid', 'amount']
    """
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
    return [key_of(word) for word in re.findall(r"[^\W_]+", spaced)]


@cache
def signs_of(name: str) -> frozenset[str]:
    """The signs in a name's words, which German writes together."""
    parts = [key_of(w) for w in re.findall(r"[^\W_]+|&", re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name))]
    whole = key_of(name)
    return frozenset(
        sign
        for sign in _SIGNS
        for told in words(sign)
        if told in parts or told == whole or any(_is_compound(w, told) for w in parts)
    )


def is_signed(name: str) -> bool:
    """Say whether a name holds a word that can tell a field ("Coût de la livraison")."""
    return bool(signs_of(name) - _OF_DATES)


def _is_compound(word: str, part: str) -> bool:
    return len(part) > 4 and (word.startswith(part) or word.endswith(part))
