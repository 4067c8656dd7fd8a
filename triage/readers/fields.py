"""A listing from named values, as exports and notes give them.

The names that each field goes by lie in data/field_names.csv, words with a meaning in
data/field_values.csv; a name that is not there becomes an item specific.
"""

from __future__ import annotations

import html
import json
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from typing import Any, Literal

from extractors.records import Listing, Photo, Problem
from triage.readers.addresses import canonical_url, item_in, owner_in
from triage.readers.dates import read_date
from triage.readers.field_names import (
    field_of,
    is_unstated,
    key_of,
    meanings,
    parts_of,
    signs_of,
    unwrapped,
    words,
)
from triage.readers.labels import is_lot
from triage.readers.phrases import says
from triage.readers.prices import currency_code, find_money, in_whole_coins, read_price
from triage.readers.source import Asset, Resources, Source, Unreadable
from triage.readers.tables import rows_of
from triage.readers.words import plain_text

MAX_PHOTOS = 200
MAX_SPECIFICS = 300


@dataclass(frozen=True, slots=True)
class Named:
    """One value with the name that the file gives it ("offers.price", "Preis")."""

    name: str
    value: str
    written: str = ""  # the file's own name, where `name` is the field it was taken for


# --- building -------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Values:
    """All values by field, each with the name it was given; specifics in order."""

    by_field: dict[str, list[Named]]
    specifics: tuple[tuple[str, str], ...]

    def first(self, field: str) -> str:
        return self.raw(field).strip()

    def raw(self, field: str) -> str:
        """The first value that is not blank, exactly as given."""
        return next((n.value for n in self.by_field.get(field, ()) if n.value.strip()), "")


def build_listing(
    source: Source,
    values: Sequence[Named],
    form: str,
    photos: tuple[Photo, ...] = (),
    missing: tuple[str, ...] = (),
    line: int | None = None,
    language: str = "",
) -> tuple[Listing, tuple[Problem, ...]]:
    """Make a listing of named values; `form` ("csv", "json", "text") begins each origin.

    The problems name values that are there but cannot be read; the listing is there all the same.
    """
    values = by_shape(_with_state(values))
    sorted_values = _with_price(_sort(values))
    reader = _FieldReader(source, sorted_values, language or _language_of(values), line)
    url, number = _address(sorted_values.first("url") or source.url)
    price, currency, kind = reader.price()
    plain_id = _number_in(sorted_values.first("id"))
    own_id = _listing_id(sorted_values.by_field.get("listing_id", ()), number, plain_id)
    seller, feedback = _without_feedback(sorted_values.first("seller_name"))
    ends_at, saved = reader.date("ends_at"), reader.date("date_saved") or source.saved_at
    listing = Listing(
        id=sorted_values.first("id"),
        source=source.path,
        member=source.member,
        line=line,
        title=sorted_values.raw("title"),  # as given: offsets of other programs count in it
        description=plain_text(_in_lines(sorted_values.raw("description"))),
        listing_id=own_id,
        url=url,
        specifics=tuple(p for p in sorted_values.specifics if not own_id or p[1] != own_id),
        price=price,
        currency=currency,
        price_kind=kind,
        buy_now=reader.amount("buy_now"),
        shipping=reader.amount("shipping"),
        offers_accepted=reader.offers(),
        returns=sorted_values.first("returns") or None,
        quantity=reader.whole("quantity"),
        ended=_ended(reader.yes_no("ended"), ends_at, saved),
        ends_at=ends_at,
        seller_id=_seller_id(sorted_values.by_field.get("seller_id", ())),
        seller_name=seller or _handle_in(sorted_values),
        seller_feedback=sorted_values.first("seller_feedback") or feedback,
        location=_location(sorted_values.by_field.get("location", ())),
        date_listed=reader.date("date_listed"),
        date_saved=saved,
        photos=photos,
        missing_photos=missing,
        hidden_text=sorted_values.first("hidden_text") or None,
        answers=tuple(n.value.strip() for n in sorted_values.by_field.get("answers", ())),
        origins=_origins(sorted_values.by_field, form),
    )
    return listing, tuple(reader.problems)


_FEEDBACK = re.compile(r"([^()]{1,60}?)\s*(\(\s*\d[\d.,' ]*%?[^()]{0,40}\)(?:\s.{0,60})?)")


def _without_feedback(name: str) -> tuple[str, str | None]:
    """A seller's name, and what is copied with it of how others judge him.

    >>> _without_feedback("anna (1,204) 99.1% positive"), _without_feedback("Anna (Vienna)")
    (('anna', '(1,204) 99.1% positive'), ('Anna (Vienna)', None))
    """
    found = _FEEDBACK.fullmatch(name)
    return (found[1].strip(), found[2].strip()) if found else (name, None)


def _in_lines(text: str) -> str:
    """A text whose line ends or markup a program escaped once more, without that; else as given."""
    if re.search(r"(?i)&lt;(?:br|p|div|li)\b.*&gt;", text, re.DOTALL) and "<" not in text:
        text = html.unescape(text)
    if "\n" not in text and re.search(r"\w[.!?,:;)]?(?:\\r)?\\n\w[\w ,]{8}", text):
        text = text.replace("\\r", "").replace("\\n", "\n")
    return text


def _ended(stated: bool | None, ends_at: str | None, saved: str | None) -> bool | None:
    """Whether it is over: as stated, else an end that lies before or after the day of saving."""
    if stated is not None or not ends_at:
        return stated
    if saved and ends_at[:10] != saved[:10]:
        return ends_at[:10] < saved[:10]
    return False if not saved and ends_at[:10] > date.today().isoformat() else None


def by_shape(values: Sequence[Named]) -> tuple[Named, ...]:
    """Give values under unknown names the field that their shape tells, where it is still open."""
    fields = [field_of(n.name) for n in values if n.value.strip()]
    known, made = set(fields), []
    if "description" not in known:
        values = _with_text(values)
    for named in values:
        field = _field_by_shape(named) if _is_open(named, fields) else None
        if field == "url" and field in known:
            continue  # another address of it says nothing of the piece
        taken = field in known or (field == "price_kind" and known & {"bid", "sold"})
        if field is None or (taken and field not in ("photos", "specifics")):
            made.append(named)
        elif field == "specifics":
            last = named.name.partition(".")[2]
            made.append(replace(named, name=f"specifics.{last}" if last else "specifics"))
        else:
            made.append(replace(named, name=field, written=named.written or named.name))
    return tuple(made)


def _with_text(values: Sequence[Named]) -> Sequence[Named]:
    """Take the longest text under an unknown name for the description, if it is prose."""
    texts = [n for n in values if field_of(n.name) is None and _is_prose(n)]
    longest = max(texts, key=lambda n: len(n.value), default=None)
    told = (replace(n, name="description", written=n.written or n.name) for n in values)
    return [d if n is longest else n for n, d in zip(values, told, strict=True)]


def _is_prose(named: Named) -> bool:
    """Say whether a value is sentences: many words, a stop, and not all of it labels."""
    text = named.value
    is_long = len(text) >= 40 and len(text.split()) >= 6 and re.search(r"[.!?。]", text) is not None
    is_own = "." not in unwrapped(named.name) and not named.name.startswith("_")
    return is_long and is_own and "://" not in text and not _is_packed(text)


def _is_open(named: Named, fields: Sequence[str | None]) -> bool:
    """Say whether a value's name tells no field, or one that the value cannot be of.

    "Online: 3.11.2026" is no state, "VB: 45 EUR" no yes or no, "vendido por: Ada" no amount.
    """
    field = field_of(named.name)
    if field == "description":
        return fields.count("description") > 1
    if field in ("ended", "offers_accepted", "sold"):
        return _meaning(field, named.value) is None
    if field in ("date_listed", "ends_at"):
        return _is_by_whom(named.name) and not any(c.isdigit() for c in named.value)
    return field is None


def _field_by_shape(named: Named) -> str | None:
    """Tell a field from a value and the words of its name, or None.

    >>> _field_by_shape(Named("Seite", "https://x.example/1")), _field_by_shape(Named("C", "EUR"))
    ('url', 'currency')
    """
    name = unwrapped(named.name)
    first = name.partition(".")[0]
    text, nested = named.value.strip(), first != name
    signs = signs_of(first)
    if nested and key_of(first) in words("of_dates"):
        return _date_field(signs_of(name.rpartition(".")[2]) | {"sign_date"}, text)
    if "sign_specifics" in signs and (nested or len(list(_packed(text))) > 1):
        return "specifics"
    if not nested and len(text) < 5_000 and _is_packed(text):
        return "specifics"
    if nested or not text or len(text) > 5_000:
        return None
    if "sign_ended" in signs and key_of(text) in meanings("yes_no"):
        return "ended"
    if re.fullmatch(r"https?://\S+", text):
        return None if _PICTURES.search(text) else "url"
    if _PICTURES.search(text) and all(map(_PICTURES.search, split_names(text))):
        return "photos"
    if (dated := _date_field(signs, text)) is not None:
        return dated
    if (told := _field_of_other(name, text)) is not None:
        return told
    if re.fullmatch(r"[A-Z]{3}|[€£$]", text) and currency_code(text) is not None:
        return "currency"
    return _money_field(signs, text) or _id_field(name, text) or _kind_field(text)


def _is_packed(text: str) -> bool:
    """Say whether a text under any name holds specifics: three short pairs, two if in lines."""
    if not re.search(r"[:=\t].*[\n;|•·].*[:=\t]|^\s*\{.*\}\s*$|<(?:li|td|dt)\b", text, re.DOTALL):
        return False
    pairs = list(_packed(text))
    return len(pairs) > 1 and all(
        len(label) <= 30 and len(value) <= 60 and "//" not in value for label, value in pairs
    )


def _date_field(signs: frozenset[str], text: str) -> str | None:
    """The date that a name with words of dates gives: of listing ("Inserat vom") or of the end."""
    if "sign_other_date" in signs or not signs & {"sign_date", "sign_since", "sign_end"}:
        return None
    stated = read_date(text) if len(text) <= 40 else None
    if stated is None or stated.day <= "2000":
        return None
    return "ends_at" if "sign_end" in signs else "date_listed"


def _field_of_other(name: str, text: str) -> str | None:
    """The field of an amount under a currency's name or "VB", and of a name under "sold by".

    >>> _field_of_other("EUR", "45,00"), _field_of_other("vendido por", "ada.b")
    ('price', 'seller_name')
    """
    money = read_price(text) if len(text) < 30 else None
    if money is not None and (
        currency_code(name.strip()) or (money.currency and field_of(name) == "offers_accepted")
    ):
        return "price"
    is_name = len(text) <= 60 and read_date(text) is None and money is None
    return "seller_name" if is_name and _is_by_whom(name) else None


def _is_by_whom(name: str) -> bool:
    """Say whether a name ends in a word for who did it ("inserito da", "posted_by")."""
    told = parts_of(name)
    return len(told) > 1 and told[-1] in words("by_whom")


def _id_field(name: str, text: str) -> str | None:
    """A long number under a name for numbers or references, which makers number too."""
    told = parts_of(name)
    is_number = bool(told) and all(w in words("number", "none", "thing", "filler") for w in told)
    return "listing_id" if is_number and re.fullmatch(r"\d{6,15}", text) else None


_PICTURES = re.compile(r"\.(?:jpe?g|png|webp|gif|tiff?|bmp|avif|hei[cf])$", re.IGNORECASE)


def _money_field(signs: frozenset[str], text: str) -> str | None:
    is_amount = len(text) < 30 and read_price(text) is not None
    is_free = key_of(text) in meanings("free")
    if "sign_shipping" in signs and (is_amount or is_free):
        return "shipping"
    return "buy_now" if "sign_buy_now" in signs and is_amount else None


def _kind_field(text: str) -> str | None:
    """Words for a kind of sale that mean nothing else ("auction", but not "offer")."""
    key = key_of(text)
    sure = key in ("fixed", "bid") or len(key) > 4
    return "price_kind" if sure and key in meanings("price_kind") else None


def _sort(values: Sequence[Named]) -> _Values:
    by_field: dict[str, list[Named]] = {}
    specifics: dict[str, str] = {}
    for named in values:
        field = field_of(named.name)
        if field == "ended" and _meaning("ended", named.value) is None:
            field = None  # "Stato: usato" is a condition
        if field is not None and field != "specifics":
            by_field.setdefault(field, []).append(named)
        elif len(specifics) < MAX_SPECIFICS:
            pairs = _packed(named.value) if field else _specific(named)
            for label, value in pairs:
                if value.strip():
                    specifics.setdefault(label, value)
    return _Values(by_field, tuple(specifics.items()))


def _with_price(values: _Values) -> _Values:
    """What can be bought at once, and has no price or bids, costs what that costs."""
    kinds = meanings("price_kind")
    is_bid = kinds.get(key_of(values.first("price_kind"))) == "bid"
    if is_bid or any(values.first(f) for f in ("price", "bid", "sold")):
        return values
    given = {f: v for f, v in values.by_field.items() if f != "buy_now"}
    return replace(values, by_field={**given, "price": values.by_field.get("buy_now", [])})


def _with_state(values: Sequence[Named]) -> Sequence[Named]:
    """Where a state of the sale stands for the price ("verkauft"), take it for the state."""
    states = meanings("ended")
    return [
        replace(n, name="ended", written=n.written or n.name)
        if field_of(n.name) == "price" and key_of(n.value) in states
        else n
        for n in values
    ]


def _specific(named: Named) -> Iterable[tuple[str, str]]:
    """Make a specific of a name that is no field; deep inside a JSON value only known ones are."""
    first, dot, rest = named.name.partition(".")
    if first.startswith("_"):  # a program's own
        return []
    if not dot or " " in rest or field_of(first) == "specifics":
        return [(rest if dot and field_of(first) == "specifics" else named.name, named.value)]
    key, last = key_of(first), named.name.rpartition(".")[2]
    if key in ("brand", "manufacturer", "model", "color", "material") and key_of(last) == "name":
        return [(first, named.value)]
    if key in _GROUPS and not last.startswith("@"):
        return [(last, named.value)]
    return []


_GROUPS = frozenset(
    ("dimensions", "measurements", "sizes", "size", "specs", "specifications", "features", "masse")
)


def _packed(value: str) -> Iterable[tuple[str, str]]:
    """Read specifics that stand in one cell: "Bridge: 21 mm; Lens: 48 mm", or as a JSON object."""
    if value.lstrip().startswith(("{", "[")):
        try:
            return [
                (n.name.removeprefix("specifics."), n.value) for n in scalars(json.loads(value))
            ]
        except (ValueError, RecursionError):
            pass
    for between in _BETWEEN_PAIRS:
        parts = [p for p in re.split(between, _without_tags(value).strip(" \n;|•·")) if p.strip()]
        pairs = [m for p in parts if (m := _PACKED.fullmatch(p.strip()))]
        if len(pairs) > 1 and len(pairs) * 5 >= len(parts) * 4:
            return [(m["label"], m["value"]) for m in pairs]
    alone = _PACKED.fullmatch(value.strip())
    return [(alone["label"], alone["value"])] if alone else []


_BETWEEN_PAIRS = (r"\s*\n\s*", r"\s*[;|]\s*", r"\s*[•·]\s*", r"\s+/\s+", r"&(?=\w+=)", r",\s+")
_PACKED = re.compile(
    r"(?:[-*•]\s+)?(?P<label>[^:=\t;|]{1,60}?)(?:\s*[:=：\t]\s*|\s+[-–]\s+)(?P<value>\S.*)",
    re.DOTALL,
)


def _without_tags(text: str) -> str:
    """A list or table of a page as lines, labels and values with a colon between."""
    if not re.search(r"<(?:li|t[rd]|d[td]|br|p)\b", text, re.IGNORECASE):
        return text
    text = re.sub(r"(?i)</(?:td|th|dt)>\s*<(?:td|dd)[^>]*>", ": ", text)
    return html.unescape(
        re.sub(r"<[^>]*>", "", re.sub(r"(?i)</?(?:li|tr|dd|br|p)\b", r"\n\g<0>", text))
    )


def _language_of(values: Iterable[Named]) -> str:
    """Tell the language from the names: that of the most names that stand in one only."""
    names = {n.written or n.name for n in values}
    steps = (key_of(step) for name in names for step in {name, *name.split(".")})
    spoken = Counter(language for step in steps if (language := _languages().get(step)))
    spoken.pop("any", None)
    return spoken.most_common(1)[0][0] if spoken else ""


@cache
def _languages() -> dict[str, str]:
    table: dict[str, str] = {}
    for row in rows_of("field_names.csv"):
        key, language = key_of(row["written"].removeprefix("weak:")), row["language"]
        table[key] = language if table.get(key, language) == language else "any"
    return {key: "any" if language == "schema" else language for key, language in table.items()}


def _listing_id(given: Iterable[Named], in_url: str | None, own: str | None) -> str | None:
    """The listing's number: as stated, else in its address, else its plain id.

    A lot's number repeats in every sale, a maker's or shop's number in every listing of the same
    ware, so that these give way; so does a code in parts to a number.
    """
    stated = [n for n in given if n.value.strip()]
    sure = [n.value.strip() for n in stated if not _is_lot(n) and not _is_ware(n)]
    plain = sorted(sure, key=lambda n: "|" in n)
    others = [n.value.strip() for n in (*filter(_is_ware, stated), *stated)]
    return next((n for n in (*plain, in_url, own, *others) if n), None)


_WARE = re.compile(
    r"(?i)sku|mpn|ean|gtin|isbn|product|produkt|produit|prodotto|catalog|katalog|model|ref(?:er|$)"
)


def _is_ware(named: Named) -> bool:
    return _WARE.search((named.written or named.name).rpartition(".")[2]) is not None


def _number_in(name: str) -> str | None:
    """An id that is a site's number: figures, with some letters at most; our own are hexadecimal.

    >>> _number_in("88123"), _number_in("m-88123"), _number_in("L7"), _number_in("a59034ac3d628aef")
    ('88123', 'm-88123', None, None)
    """
    return name if re.fullmatch(r"[A-Za-z]{0,4}[-_]?\d{4,15}", name) else None


def _is_lot(named: Named) -> bool:
    name = (named.written or named.name).rpartition(".")[2]
    return is_lot(re.sub(r"_|(?<=[a-z])(?=[A-Z])", " ", name))


def _address(url: str | None) -> tuple[str | None, str | None]:
    """Write a listing's address in its canonical form, and read the listing's id from it."""
    if not url:
        return None, None
    canonical = canonical_url(url)
    return canonical or url, item_in(canonical) if canonical else None


def _seller_id(given: Iterable[Named]) -> str | None:
    """Take the id, or what stands for it in the address of the seller's page."""
    stated = [n.value.strip() for n in given if n.value.strip()]
    plain = sorted((s for s in stated if "/" not in s), key=lambda s: not s.isdigit())
    pages = (i for s in stated if "/" in s and (i := owner_in(s)))
    return next(iter(plain), None) or next(pages, None)


def _handle_in(values: _Values) -> str | None:
    """The name under which an account is shown, where that is all that is told of who sells."""
    given = [n for n in values.by_field.get("seller_id", ()) if n.value.strip()]
    numbers = [n for n in given if n.value.strip().isdigit()]
    named = [n for n in given if n not in numbers and "/" not in n.value]
    handles = [n.value.strip() for n in named if numbers or _is_handle(n)]
    return next(iter(handles), None)


def _is_handle(named: Named) -> bool:
    return not words("handle").isdisjoint(parts_of(named.written or named.name))


def _origins(by_field: dict[str, list[Named]], form: str) -> dict[str, tuple[str, ...]]:
    names = {"bid": "price", "sold": "price"}
    origins: dict[str, tuple[str, ...]] = {}
    for field, given in by_field.items():
        if field in ("ignored", "id", "missing_photos"):
            continue
        stated = tuple(
            dict.fromkeys(f"{form}:{n.written or n.name}" for n in given if n.value.strip())
        )
        if stated:
            name = names.get(field, field)
            origins[name] = (*origins.get(name, ()), *stated)
    return origins


def _location(given: Iterable[Named]) -> str | None:
    return ", ".join(dict.fromkeys(n.value.strip() for n in given if n.value.strip())) or None


def _is_first_bid(named: Named) -> bool:
    return not words("first_bid").isdisjoint(parts_of(named.written or named.name))


def _last(named: Named) -> str:
    """The last step of a value's own name."""
    return key_of((named.written or named.name).rpartition(".")[2])


PriceKind = Literal["fixed", "bid", "sold"]


class _FieldReader:
    """Reads the values that are more than text, collecting what could not be read."""

    def __init__(self, source: Source, values: _Values, language: str, line: int | None) -> None:
        self.source = source
        self.values = values
        self.language = language
        self.line = line
        self.problems: list[Problem] = []

    def _refuse(self, field: str, value: str) -> None:
        where = f"line {self.line}: " if self.line else ""
        what = f"{where}{field.replace('_', ' ')} cannot be read: {value[:60]!r}"
        self.problems.append(self.source.problem(what, "correct the value; the rest was read"))

    def price(self) -> tuple[Decimal | None, str | None, PriceKind | None]:
        """Read price, currency and kind; the name of the field tells a bid from a price."""
        for field, kind in _KINDS:
            text = self._current(field)
            is_yes_no = field != "price" and key_of(text) in meanings("yes_no")
            if text and not is_yes_no:
                amount, currency = self._money(field, text)
                stated = self._kind()
                return (
                    amount,
                    self.currency() or currency,
                    stated or kind if amount is not None else stated,
                )
        return None, self.currency(), self._kind()

    def _current(self, field: str) -> str:
        """The first amount of a field; a starting bid only where there is no other."""
        given = [n for n in self.values.by_field.get(field, ()) if not is_unstated(n.value)]
        later = [n for n in given if field != "bid" or not _is_first_bid(n)]
        return next((n.value.strip() for n in later or given), "")

    def _money(self, field: str, text: str) -> tuple[Decimal | None, str | None]:
        if key_of(text) in meanings("free"):
            return Decimal(0), None
        plain = _plain_number(text)
        if plain is not None:
            return self._whole_units(field, plain), None
        money = read_price(_in_full(text), self.language)
        if money is None:
            self._refuse(field, text)
            return None, None
        return money.amount, money.currency

    def _whole_units(self, field: str, number: Decimal) -> Decimal:
        """An amount in cents, as its name says, in whole units of its currency (ISO 4217)."""
        given = next((n for n in self.values.by_field.get(field, ()) if n.value.strip()), None)
        name = (given.written or given.name) if given is not None else ""
        is_minor = not words("minor").isdisjoint(parts_of(name))
        return in_whole_coins(number, self.currency()) if is_minor and not number % 1 else number

    def currency(self) -> str | None:
        """The stated currency, else the one in the price's own name ("Preis (EUR)")."""
        text = self.values.first("currency")
        if text:
            return currency_code(text, self.language)
        names = (
            n.written or n.name
            for f, _ in _KINDS
            for n in self.values.by_field.get(f, ())
            if n.value.strip()
        )
        words = (w for name in names for w in re.findall(r"[A-Za-z]{3,5}|[€£]", name.upper()))
        return next((c for w in words if len(w) in (1, 3) and (c := currency_code(w))), None)

    def _kind(self) -> PriceKind | None:
        """The stated kind; what is said to be sold is so, however it was offered."""
        kinds = meanings("price_kind")
        if kinds.get(key_of(self.values.first("ended"))) == "sold":
            return "sold"
        if _meaning("sold", self.values.first("sold")) == "yes":
            return "sold"
        return _PRICE_KINDS.get(kinds.get(key_of(self.values.first("price_kind"))))

    def amount(self, field: str) -> Decimal | None:
        text = self.values.first(field)
        if not text:
            return None
        if key_of(text) in meanings("free"):
            return Decimal(0)
        plain = _plain_number(text)
        if plain is not None:
            return self._whole_units(field, plain)
        found = find_money(text, self.language) or filter(None, [read_price(text, self.language)])
        return next((m.amount for m in found), None)

    def yes_no(self, field: str) -> bool | None:
        text = self.values.first(field)
        meaning = _meaning(field, text)
        if meaning is None:
            sold = _meaning("sold", self.values.first("sold")) if field == "ended" else None
            return None if sold is None else sold == "yes"
        is_reversed = any(
            _last(n) in words("open_flag") for n in self.values.by_field.get(field, ())
        )
        return (meaning == "yes") is not (is_reversed and key_of(text) in meanings("yes_no"))

    def offers(self) -> bool | None:
        """Whether offers are welcome: as stated, else as the asked price says ("120 VB")."""
        stated = self.yes_no("offers_accepted")
        if stated is not None:
            return stated
        told = re.sub(r"\d[\d.,']*|[€£$]", " ", self.values.first("price")).split()
        rest = " ".join(word for word in told if len(word) != 3 or not currency_code(word))
        return says("offers", rest.strip(" ,;·|-–()[]/")) or None

    def whole(self, field: str) -> int | None:
        match = re.fullmatch(r"(\d{1,6})(?:\.0+)?", self.values.first(field))
        return int(match[1]) if match else None

    def date(self, field: str) -> str | None:
        text = self.values.first(field)
        if not text:
            return None
        given = next(n for n in self.values.by_field[field] if n.value.strip())
        stated = read_date(_plain_date(text), _language_of([given]) or self.language)
        if stated is None:
            self._refuse(field, text)
            return None
        if stated.doubt:
            what = f"{field.replace('_', ' ')} {text[:40]!r}: {stated.doubt}"
            self.problems.append(self.source.problem(what, "write the date as year-month-day"))
        return stated.iso


_IN_THOUSANDS = re.compile(r"(\D{0,5})(\d{1,3}(?:[.,]\d{1,2})?)\s?[kK](?![^\W\d_])(\D{0,5})")


def _in_full(text: str) -> str:
    """An amount in thousands written out; any other text as it is.

    >>> _in_full("1.1k"), _in_full("2,5 K EUR"), _in_full("45 EUR")
    ('1100', '2500 EUR', '45 EUR')
    """
    found = _IN_THOUSANDS.fullmatch(text.strip())
    if found is None:
        return text
    return f"{found[1]}{int(Decimal(found[2].replace(',', '.')) * 1000)}{found[3]}"


_KINDS: tuple[tuple[str, PriceKind], ...] = (
    ("sold", "sold"),
    ("bid", "bid"),
    ("price", "fixed"),
)
_PRICE_KINDS: dict[str | None, PriceKind] = {"fixed": "fixed", "bid": "bid", "sold": "sold"}


def _meaning(field: str, text: str) -> str | None:
    """Tell "yes" or "no" from a word, which may be a term of schema.org."""
    key = key_of(re.sub(r"^https?://schema\.org/", "", text.strip()))
    known = meanings(field)
    return known.get(key) or meanings("yes_no").get(key)


def _plain_date(text: str) -> str:
    """A date as some services write it ("/Date(1793700000000+0100)/"), as milliseconds alone."""
    written = re.fullmatch(r"\\?/Date\((\d{10,13})(?:[+-]\d{4})?\)\\?/", text)
    if re.fullmatch(r"(?:3[6-9]|4\d|5[0-4])\d{3}(?:\.\d+)?", text):  # a spreadsheet's days
        return (date(1899, 12, 30) + timedelta(days=int(text.split(".")[0]))).isoformat()
    return written[1] if written else text


def _plain_number(text: str) -> Decimal | None:
    """Read what a program wrote: digits with a decimal point and no more than cents.

    >>> _plain_number("85.00"), _plain_number("1e3"), _plain_number("1.250")
    (Decimal('85.00'), None, None)
    """
    return Decimal(text) if re.fullmatch(r"\d{1,12}(?:\.\d{1,2})?", text, re.ASCII) else None


# --- photos ---------------------------------------------------------------------------------

_BETWEEN = re.compile(r"\s*[|;\n\r\t]+\s*|\s*,\s+|(?<=[a-z0-9]),(?=[^,]*\.[A-Za-z]{3,4}(?:,|$))")


def split_names(cell: str) -> tuple[str, ...]:
    """Split a cell of photo names, one or many, at whatever stands between them.

    >>> split_names("a 1.jpg|b.png"), split_names("a.jpg, b.jpg,c.jpg"), split_names("my photo.jpg")
    (('a 1.jpg', 'b.png'), ('a.jpg', 'b.jpg', 'c.jpg'), ('my photo.jpg',))
    """
    cell = cell.strip()
    if cell.startswith("data:"):
        return (cell,)
    if cell.startswith("[") and cell.endswith("]"):
        cell = cell[1:-1]
    parts = [p.strip().strip("\"'") for p in _BETWEEN.split(cell)]
    if len(parts) == 1 and len(re.findall(r"\.\w{3,4}(?=\s|$)", cell)) > 1 and " " in cell:
        parts = cell.split()
    return tuple(p for p in parts if p)


def find_photos(
    names: Iterable[str], resources: Resources, is_picture: Callable[[bytes], bool]
) -> tuple[tuple[Photo, ...], tuple[str, ...], frozenset[tuple[str, str | None]]]:
    """Look up photo names: the photos found, the names without a file, and all places used."""
    photos: dict[str, Photo] = {}
    missing: dict[str, None] = {}
    for name in list(names)[:MAX_PHOTOS]:
        try:
            asset = resources.find(name) or _in_photo_folder(name, resources)
            if asset is not None and is_picture(asset.data[:64]):
                photos.setdefault(asset.sha256, asset.photo())
                continue
        except (Unreadable, OSError):
            pass
        missing.setdefault(name[:300])
    found = tuple(photos.values())
    return found, tuple(missing), frozenset((p.path, p.member) for p in found)


_PHOTO_FOLDERS = (
    "photos", "images", "pictures", "pics", "img", "media", "files", "Fotos", "Bilder", "foto",
    "immagini", "imágenes",
)  # fmt: skip


def _in_photo_folder(name: str, resources: Resources) -> Asset | None:
    """Find a bare file name in a folder of photos beside the file that names it."""
    last = name.replace("\\", "/").rpartition("/")[2].split("?")[0]
    if not last or ":" in name[:5]:
        return None
    tries = (f"{folder}/{last}" for folder in _PHOTO_FOLDERS)
    return next((a for t in tries if (a := resources.find(t)) is not None), None)


def scalars(value: Any, path: str = "", depth: int = 0) -> Iterator[Named]:
    """Walk a JSON value to its scalars, each under its dotted name; list positions do not count."""
    if isinstance(value, dict):
        if pair := _label_and_value(value):
            yield Named(f"specifics.{pair[0]}", pair[1])
            return
        for key, inner in value.items():
            if depth < 6:
                yield from scalars(inner, f"{path}.{key}" if path else str(key), depth + 1)
    elif isinstance(value, list):
        for inner in value[:1000]:
            yield from scalars(inner, path, depth + 1)
    elif value is not None:
        yield Named(path, _text(value))


def answers_of(value: Mapping[str, Any]) -> tuple[Named, ...]:
    """What a seller answered, where questions and answers stand in objects.

    A bare number is told with its question, unless that holds a number of its own, which the
    seller did not state.

    >>> answers_of({"qa": [{"question": "How wide is the bridge?", "answer": "21 mm"}]})[0].value
    'How wide is the bridge? 21 mm'
    """
    told = []
    for key, given in value.items():
        pairs = given if isinstance(given, list) else [given]
        is_plain = not any(isinstance(p, dict) for p in pairs)
        if is_plain or key_of(str(key)) not in words("asked"):
            continue
        texts = (p if isinstance(p, str) else _answer(p) for p in pairs[:1000])
        told += [Named("answers", text, str(key)) for text in texts if text]
    return tuple(told)


def _answer(pair: object) -> str:
    """The answer in one object, "" if there is none."""
    if not isinstance(pair, dict):
        return ""
    answer, question = _first_of(pair, "answer"), _first_of(pair, "question")
    is_bare = re.match(r"\W*\d", answer) and len(answer.split()) <= 4
    return f"{question} {answer}" if is_bare and not re.search(r"\d", question) else answer


def _first_of(pair: Mapping[str, Any], kind: str) -> str:
    """The text under a key of a kind, or under such a key of the object there (acceptedAnswer)."""
    for key, value in pair.items():
        if key_of(str(key)) in words(kind):
            inner = value[0] if isinstance(value, list) and value else value
            if isinstance(inner, dict):
                return _first_of(inner, "answer")
            if isinstance(inner, str | int | float) and not isinstance(inner, bool):
                return _text(inner).strip()
    return ""


def _text(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return format(Decimal(repr(value)), "f")
    return str(value)


def _label_and_value(value: dict[str, Any]) -> tuple[str, str] | None:
    """Read {"name": "Bridge", "value": "21 mm"} (schema.org PropertyValue and its kin)."""
    keys = {key_of(str(k)): k for k in value}
    label = next((k for key, k in keys.items() if key in words("in_label")), None)
    stated = next((k for key, k in keys.items() if key in words("in_value") and k != label), None)
    if label is None or stated is None or len(value) > 5 or not isinstance(value[label], str):
        return None
    given = value[stated]
    items = given if isinstance(given, list) else [given]
    if not all(isinstance(i, str | int | float) for i in items):
        return None
    unit = value.get("unitText") or ""
    return value[label], " ".join([", ".join(map(_text, items)), str(unit)]).strip()
