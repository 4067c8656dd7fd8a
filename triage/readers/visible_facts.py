"""Facts of a listing from what a reader of the page sees: labelled values, prices, sentences."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import islice

from triage.readers.addresses import canonical_url
from triage.readers.dates import is_recent, read_date
from triage.readers.facts import VISIBLE, Amount, Fact
from triage.readers.labels import field_of_label, may_begin_with_label, normal_label
from triage.readers.markup import HtmlElement, select, with_attributes
from triage.readers.pairs import Pair, find_pairs
from triage.readers.phrases import count_in, kinds_that_may_say, may_say, mentions, says, without
from triage.readers.postage import names_sending, sent_for
from triage.readers.prices import Money, currency_code, find_money, has_currency, level, read_price
from triage.readers.sellers import find_seller, labelled_seller, seller_after_day
from triage.readers.words import BLOCKS, SILENT, flat_text, text_lines
from triage.readers.zones import HEADINGS, heading_zone, is_named

ORIGIN = VISIBLE
BARE_DATE = "a date without more"
_MONEY_FIELDS = ("price", "buy_now", "bid", "start_bid", "sold")
_DATE_FIELDS = ("date_listed", "ends_at", "ended_at", "date_saved")
_ZERO = Decimal(0)


def visible_facts(
    body: HtmlElement, anchor: HtmlElement | None, description: HtmlElement | None, language: str
) -> list[Fact]:
    """Every fact that the visible page states outside of its description."""
    outside = {description} if description is not None else set()
    pairs = find_pairs(body, outside)
    facts: list[Fact] = []
    for pair in pairs:
        facts += pair_facts(pair, language)
    used = {pair.element for pair in pairs if pair.field not in (None, "none")}
    is_dated = bool(with_attributes(body, "datetime", "title"))
    priced = []
    for element, text in short_lines(body, outside):
        has_amount = _DIGIT.search(text) is not None and has_currency(level(text))
        if has_amount and element not in used:
            priced.append((element, text))
        if element not in used:
            if is_dated and (stated := element.get("datetime") or _dated_title(element)):
                text = _with_datetime(text, stated)
            found = line_facts(text, language, has_amount)
            if any(f.field == "seller_name" for f in found) and element.find("br") is not None:
                found = _named_by_lines(found, text, element, language)
            facts += found if not _is_link(element) else [f for f in found if not _says_gone(f)]
        elif _DOT.search(text) is not None and len(parts := _DOTS.split(text)) > 1:
            facts += [f for part in parts[1:8] for f in _labelled_part(part, language)]
    facts += price_facts(priced, anchor, language)
    facts += button_facts(body, outside)
    if not facts_of_money(facts):
        facts += stated_prices(body, outside, language)
        if description is not None and not facts_of_money(facts):
            facts += asked_in(description, language)
    facts += labelled_inline(body, outside, language)
    facts += find_seller(body, outside, facts)
    if not any(f.field == "date_listed" for f in facts):
        facts += dated_times(body, outside, language)
    rows = _without_talk(choose_specifics(pairs), facts)
    return [*facts, *(Fact("specifics", (p.label, p.value), ORIGIN) for p in rows)]


def facts_of_money(facts: Iterable[Fact]) -> bool:
    return any(f.field in _MONEY_FIELDS for f in facts)


_PRICE_ATTRIBUTES = ("data-price", "data-amount", "data-currency", "amount", "price", "currency")


def stated_prices(body: HtmlElement, outside: set[HtmlElement], language: str) -> list[Fact]:
    """The one amount in attributes of parts named so, or beside a currency in an attribute."""
    found: dict[Amount, Fact] = {}
    for element in with_attributes(body, *_PRICE_ATTRIBUTES):
        above = [element, *islice(element.iterancestors(), 3)]
        if any(e in outside or is_named(e, "other_amount", "old") for e in above):
            continue
        told = (element.get(n) for n in ("data-price", "data-amount", "amount", "price"))
        text = next((t for t in told if t), None) or flat_text(element)
        money = read_price(text, language) if len(text) <= 24 else None
        code = element.get("data-currency") or element.get("currency") or ""
        currency = (money.currency if money is not None else None) or currency_code(code, language)
        if money is not None and currency is not None:
            amount = Amount(money.amount, currency)
            found.setdefault(amount, Fact("price", amount, "visible price", "attribute"))
    return list(found.values()) if len(found) == 1 else _price_in_pieces(body, outside, language)


def _price_in_pieces(body: HtmlElement, outside: set[HtmlElement], language: str) -> list[Fact]:
    """The amount of a part named so whose whole, fraction and sign stand in blocks of their own."""
    for element in body.iter("div", "p", "section", "span"):
        if len(element) < 2 or not is_named(element, "price"):
            continue
        pieces = flat_text(element).split()
        if any(a in outside for a in element.iterancestors()) or not 1 < len(pieces) < 6:
            continue
        found = find_money("".join(pieces), language)
        if len(found) == 1 and len("".join(pieces)) <= 16:
            amount = Amount(found[0].amount, found[0].currency)
            return [Fact("price", amount, "visible price", "in pieces")]
    return []


def asked_in(description: HtmlElement, language: str) -> list[Fact]:
    """The price that the seller's own text asks, where nothing else on the page states one."""
    for line in text_lines(description).split("\n")[:60]:
        found = split_label(line) if len(line) <= 80 and has_currency(line) else None
        if found is not None and found[0] in ("price", "buy_now"):
            facts = list(value_facts("price", found[2], found[1], language))
            if facts:
                return facts
    return []


def button_facts(body: HtmlElement, outside: set[HtmlElement]) -> list[Fact]:
    """What buttons say: one to buy or bid, that the thing is to be had; "Sold out", that not."""
    facts: list[Fact] = []
    asked: list[Fact] = []
    for button in body.iter("button", "input"):
        text = _button_text(button)
        if not text or len(text) > 40 or any(a in outside for a in button.iterancestors()):
            continue
        money = find_money(text) if _DIGIT.search(text) else ()
        if len(money) == 1 and mentions("buy", text) and not mentions("not_the_price", text):
            amount = Amount(money[0].amount, money[0].currency)
            asked.append(Fact("price", amount, "visible price", f"button “{text}”"))
        kinds = ("sold", "ended") if "disabled" in button.attrib else ("sold", "ended", "open")
        kind = next((k for k in kinds if says(k, text)), None)
        if kind is not None:
            facts.append(Fact("status", kind, ORIGIN, f"button “{text}”"))
        if kind == "open" and says("auction", text):
            facts.append(Fact("auction", True, ORIGIN, f"button “{text}”"))
    return [*facts, *asked[:1]]


def _button_text(button: HtmlElement) -> str:
    if button.tag == "button":
        return flat_text(button)
    kind = button.get("type", "").lower()
    return button.get("value", "").strip() if kind in ("submit", "button") else ""


def _dated_title(element: HtmlElement) -> str:
    """The whole date that an element, or the one in it, shows when pointed at."""
    for part in (element, *islice(element, 3)):
        told = part.get("title") or part.get("datetime") or ""
        if _DIGIT.search(told) and len(told) <= 60 and read_date(told, "") is not None:
            return told
    return ""


def _with_datetime(text: str, stated: str) -> str:
    """ "Posted 3 Nov" with the whole date that the element states."""
    found = split_label(text)
    return f"{found[1]}: {stated}" if found is not None and found[0] in _DATE_FIELDS else text


def _is_link(element: HtmlElement) -> bool:
    """Say whether an element is a link or all of one: "Sold" may lead to what was sold before."""
    parent = element.getparent()
    return element.tag == "a" or (parent is not None and parent.tag == "a" and len(parent) == 1)


def _named_by_lines(
    facts: list[Fact], text: str, element: HtmlElement, language: str
) -> list[Fact]:
    """The facts of a line with the seller as the element's own lines set the name apart."""
    told = split_label(text)
    if told is None or told[0] != "seller":
        return facts
    others = [f for f in facts if f.field not in ("seller_name", "seller_id")]
    return [*labelled_seller(told[2], f"“{told[1]}”", element, language), *others]


def _says_gone(fact: Fact) -> bool:
    return fact.field == "status" and fact.value != "open"


# --- labelled values -------------------------------------------------------------------------


def pair_facts(pair: Pair, language: str) -> list[Fact]:
    field = pair.field
    if field is None and _is_amount(pair) and names_sending(pair.label):
        return list(value_facts("shipping", pair.value, pair.label, language, pair.element))
    if field is None or field == "none":
        return list(_count_facts(pair))
    if field == "price" and (asked := _after_struck(pair.element, language)) is not None:
        return list(value_facts(field, flat_text(asked), pair.label, language, asked))
    return list(value_facts(field, pair.value, pair.label, language, pair.element))


def _after_struck(element: HtmlElement | None, language: str) -> HtmlElement | None:
    """The amount right after a struck one: a label of the price stands before both."""
    if element is None or not is_struck(element):
        return None
    asked = element.getnext()
    if asked is None or not isinstance(asked.tag, str) or is_struck(asked):
        return None
    return asked if read_price(flat_text(asked), language) else None


def _count_facts(pair: Pair) -> Iterator[Fact]:
    """A row that counts bids says that this is an auction; time left, that it is open."""
    if not may_say(pair.value) and not may_say(pair.label):
        return
    if says("auction", f"{pair.value} {pair.label}") or says("auction", pair.value):
        yield Fact("auction", True, ORIGIN, pair.label)
    if says("open", f"{pair.label} {pair.value}") and re.search(r"\d", pair.value):
        yield Fact("status", "open", ORIGIN, pair.label)
    for kind in ("sold", "ended"):
        if pair.field == "none" and says(kind, pair.value):
            yield Fact("status", kind, ORIGIN, pair.label)
            return
    if pair.field == "none" and says("open", pair.value):
        yield Fact("status", "open", ORIGIN, pair.label)


def value_facts(
    field: str, value: str, label: str, language: str, element: HtmlElement | None = None
) -> Iterator[Fact]:
    """The facts in the value after a label that announces a field."""
    note = f"“{label}”"
    if field in _MONEY_FIELDS:
        yield from _money_facts(field, value, note, language, element)
    elif field == "shipping":
        shown = _without_struck(element, value) if element is not None else value
        yield from _shipping_facts(shown, note, language)
    elif field in _DATE_FIELDS:
        if element is not None and read_date(value, language) is None:
            whole = next((t.get("datetime") for t in element.iter("time")), None)
            value = whole or value
        yield from _date_facts(field, value, note, language)
        if field == "date_listed":
            yield from seller_after_day(value, note, element)
    elif field == "date" and is_recent(value):
        for fact in _date_facts("date_listed", value, note, language):
            yield replace(fact, origin=BARE_DATE)
    elif field == "seller":
        yield from labelled_seller(value, note, element, language)
    elif field == "listing_id":
        match = re.match(
            r"(?:n[°ºo.]+\s*|#\s*|№\s*|id\s*)?([\w./-]*\d[\w./-]*)$", value.strip(), re.I
        )
        if match and len(match[1]) <= 40:
            yield Fact("listing_id", match[1], ORIGIN, note)
    elif field == "seller_id":
        if len(value) <= 60 and " " not in value.strip():
            yield Fact("seller_id", value.strip().lstrip("@"), ORIGIN, note)
    elif field == "quantity":
        match = re.match(r"\D{0,12}(\d{1,5})(?![\d.,]*\d)", value)
        if match:
            yield Fact("quantity", int(match[1]), ORIGIN, note)
    elif field == "offers":
        yield from _offers_facts(value, note)
    elif field == "url":
        if canonical_url(value):
            yield Fact("url", value, ORIGIN, note)
    elif field == "location" and has_currency(level(value)) and find_money(value, language):
        yield from _shipping_facts(value, note, language)  # "Envío desde 4 €"
    elif field in ("location", "returns", "seller_feedback", "title") and value:
        yield Fact(field, value, ORIGIN, note)


def _money_facts(
    field: str, value: str, note: str, language: str, element: HtmlElement | None
) -> Iterator[Fact]:
    money = None
    if element is not None:
        money = read_price(_without_struck(element, value), language)
    money = money or read_price(value, language)
    if money is None:
        if field == "sold" and not any(c.isdigit() for c in value) and _names_a_person(note):
            yield from labelled_seller(value, note, element, language)
        if field == "sold" and (stated := read_date(value, language)):
            yield Fact("ended_at", stated.iso, ORIGIN, note)
        return
    if money.currency is None and re.search(r"[A-Za-z]{4}", value):
        return
    yield Fact(field, Amount(money.amount, money.currency), ORIGIN, note)
    rest = value[money.end :].strip(" ,;·|-–()[]/")
    if rest and says("offers", rest):
        yield Fact("offers_accepted", True, ORIGIN, note)
    if field in ("price", "sold") and rest and says_free_shipping(rest):
        yield Fact("shipping", Amount(_ZERO), ORIGIN, note)
    if rest and (extra := shipping_in(value, language)) is not None and extra.value != money.amount:
        yield Fact("shipping", extra, ORIGIN, note)
    if field in ("bid", "sold") and says("auction", rest):
        yield Fact("auction", True, ORIGIN, note)
    if field == "price" and rest and says("auction", rest):
        yield Fact("auction", True, ORIGIN, note)
    if "verhandlungsbasis" in note.casefold():
        yield Fact("offers_accepted", True, ORIGIN, note)


def _names_a_person(note: str) -> bool:
    """ "Vendido por" comes before a price or before who sells."""
    return note.strip("“”:： ").casefold().endswith((" por", " par", " da", " von", " by", " door"))


def _without_struck(element: HtmlElement, value: str) -> str:
    """A value, which stands in an element, without what is struck out in that."""
    for struck in (flat_text(s) for s in element.iterdescendants() if is_struck(s)):
        value = value.replace(struck, " ", 1) if struck else value
    for raised in element.iter("sup", "small", "span"):
        if raised.tag == "span" and not is_named(raised, "cents"):
            continue
        if _CENTS.fullmatch(raised.text or "") and _BEFORE_CENTS.search(before := _before(raised)):
            whole = before.split()[-1]
            value = value.replace(f"{whole}{raised.text}", f"{whole}.{raised.text}", 1)
    return value


_CENTS = re.compile(r"\d\d")
_BEFORE_CENTS = re.compile(r"\d$")


def _before(element: HtmlElement) -> str:
    """The text right before an element in its parent."""
    previous, parent = element.getprevious(), element.getparent()
    if previous is None:
        return (parent.text or "") if parent is not None else ""
    return previous.tail or flat_text(previous)


def is_struck(element: HtmlElement) -> bool:
    """Say whether an element shows an older price, by tag, style or class."""
    if element.tag in ("s", "del", "strike"):
        return True
    if "line-through" in element.get("style", ""):
        return True
    return is_named(element, "old")


def says_free_shipping(text: str) -> bool:
    """Say whether a line says that shipping is free, without naming an amount from which it is.

    >>> says_free_shipping("Free shipping"), says_free_shipping("Free shipping over £300")
    (True, False)
    """
    return says("free_shipping", text) and not (_DIGIT.search(text) and find_money(text))


def _shipping_facts(value: str, note: str, language: str) -> Iterator[Fact]:
    money = find_money(value, language)
    if money and says("free_shipping", value[: money[0].start]):
        return  # "Free over £300"
    if money:
        yield Fact("shipping", Amount(money[0].amount, money[0].currency), ORIGIN, note)
    elif any(says_free_shipping(part) for part in (value, *re.split(r"[,;|–(]| - ", value))):
        yield Fact("shipping", Amount(_ZERO), ORIGIN, note)
    else:
        number = read_price(value, language)
        if number is not None and re.fullmatch(r"[\d.,\s]+", value):
            yield Fact("shipping", Amount(number.amount), ORIGIN, note)


def _date_facts(field: str, value: str, note: str, language: str) -> Iterator[Fact]:
    stated = read_date(value, language)
    if stated is None:
        return
    note = f"{note} ({stated.doubt})" if stated.doubt else note
    yield Fact("ends_at" if field == "ended_at" else field, stated.iso, ORIGIN, note)
    if field == "ended_at":
        yield Fact("status", "ended", ORIGIN, note)


def _offers_facts(value: str, note: str) -> Iterator[Fact]:
    if says("no_offers", value):
        yield Fact("offers_accepted", False, ORIGIN, note)
    elif says("offers", value) or re.match(
        r"(?i)(yes|ja|oui|s[iì]|sí|accepted|welcome|possible|möglich|true|1)\b", value
    ):
        yield Fact("offers_accepted", True, ORIGIN, note)


# --- item specifics --------------------------------------------------------------------------


def choose_specifics(pairs: list[Pair]) -> list[Pair]:
    """Choose the rows that are item specifics: of the groups so named or headed, else of lists.

    A row whose label is a field of its own (price, seller ...) or known to be neither is none.
    """
    pairs = _regrouped(pairs)
    groups: dict[HtmlElement, list[Pair]] = {}
    for pair in pairs:
        groups.setdefault(pair.group, []).append(pair)
    named = [g for g in groups if _is_specifics(g)]
    chosen = set(named) if named else {g for g, rows in groups.items() if _is_list(g, rows)}
    chosen |= {g for g in groups if g.tag in _COLUMNS and _stands_beside(g, chosen)}
    seen: set[tuple[str, str]] = set()
    rows = []
    for pair in pairs:
        key = (normal_label(pair.label), pair.value)
        is_open = pair.group in chosen and pair.field is None and key not in seen
        is_told = len(pair.label) > 25 and split_label(pair.label) is not None
        if is_open and not (_is_amount(pair) or _is_talk(pair) or _is_part(pair) or is_told):
            seen.add(key)
            rows.append(pair)
    return rows


_COLUMNS = ("ul", "ol", "dl", "table")  # that may be set in two columns


def _stands_beside(group: HtmlElement, chosen: set[HtmlElement]) -> bool:
    near = (group.getprevious(), group.getnext())
    return any(e in chosen and e.tag == group.tag for e in near if e is not None)


_ASKING = re.compile(
    r"(?i)(?:q|a|question|answer|reply|f|frage|antwort|r|réponse|domanda|risposta|d|pregunta|respuesta"
    r"|vraag|antwoord|質問|回答)\s*\d*[.:]?"
)


def _is_talk(pair: Pair) -> bool:
    """Say whether a row is a question or an answer, no property of the thing."""
    return pair.value.rstrip().endswith(("?", "？")) or _ASKING.fullmatch(pair.label) is not None


def _without_talk(rows: list[Pair], facts: Iterable[Fact]) -> list[Pair]:
    """Leave out groups with a row that the seller's name opens: there people talk to each other."""
    told = (f.value for f in facts if f.field in ("seller_name", "seller_id"))
    names = {str(name).casefold() for name in told}
    talks = {p.group for p in rows if p.label.casefold() in names}
    return [p for p in rows if p.group not in talks]


def _is_part(pair: Pair) -> bool:
    """Say whether a "row" is a heading with what stands under it ("Recently sold")."""
    first = pair.element.getprevious()
    if first is None or first.tag not in HEADINGS or heading_zone(pair.label) is None:
        return False
    return flat_text(first).rstrip(" :：") == pair.label


def _is_amount(pair: Pair) -> bool:
    """A row of nothing but money is a bid or a fee, no property of the thing."""
    money = find_money(pair.value) if has_currency(pair.value) else ()
    return len(money) == 1 and money[0].end - money[0].start >= len(pair.value.strip()) - 1


def _regrouped(pairs: list[Pair]) -> list[Pair]:
    """Put rows that are each alone in a wrapper together, in their nearest common holder."""
    sizes = Counter(p.group for p in pairs)
    alone = [p for p in pairs if sizes[p.group] == 1]
    held = Counter(a for p in alone for a in islice(p.group.iterancestors(), 5))
    result = []
    for pair in pairs:
        above = list(islice(pair.group.iterancestors(), 5)) if sizes[pair.group] == 1 else []
        holders = [a for a in above if held[a] > 1 and a.tag not in ("body", "main")]
        headed = (a for a in holders if is_named(a, "specifics") or _opens_specifics(a))
        holder = next(headed, holders[0] if holders else None)
        result.append(pair if holder is None else replace(pair, group=holder))
    return result


def _opens_specifics(element: HtmlElement) -> bool:
    """Say whether the first heading in an element announces item specifics."""
    first = next(iter(element.iter(*HEADINGS)), None)
    return first is not None and heading_zone(flat_text(first)) == "specifics"


def _is_list(group: HtmlElement, rows: list[Pair]) -> bool:
    unknown = {(p.label, p.value) for p in rows if p.field is None}  # a row may be seen twice
    if len(rows) == 1:
        heads = group.tag == "dl" or (group.tag == "table" and group.find(".//th") is not None)
        return heads and bool(unknown)
    labels = {label for label, _ in unknown}
    return len(rows) >= 2 and len(unknown) >= 1 and len(unknown) == len(labels)


def _is_specifics(group: HtmlElement) -> bool:
    """By the class of the group or of what holds it, or the heading over it."""
    if _opens_specifics(group):
        return True
    element: HtmlElement | None = group
    for _ in range(4):
        if element is None or element.tag in ("body", "main", "html"):
            return False
        if _caption_zone(element) == "specifics" or (is_named(element, "specifics")):
            return True
        heading = heading_before(element)
        if heading is not None:
            return heading_zone(flat_text(heading)) == "specifics"
        element = element.getparent()
    return False


def _caption_zone(element: HtmlElement) -> str | None:
    caption = element.find("caption")
    if caption is None:
        caption = element.find("legend")
    return heading_zone(flat_text(caption)) if caption is not None else None


def heading_before(element: HtmlElement) -> HtmlElement | None:
    """The heading among the elements before this one in its parent, the nearest first."""
    for sibling in element.itersiblings(preceding=True):
        if sibling.tag in HEADINGS or sibling.get("role") == "heading":
            return sibling
        if (
            isinstance(sibling.tag, str)
            and len(sibling) <= 2
            and heading_zone(flat_text(sibling)[:100])
        ):
            return sibling
    return None


# --- lines without a label -------------------------------------------------------------------


def short_lines(body: HtmlElement, outside: set[HtmlElement]) -> Iterator[tuple[HtmlElement, str]]:
    """Every innermost block (or lone inline element) with a short text, in page order."""
    pending = [body]
    while pending:
        element = pending.pop()
        if element in outside or not isinstance(element.tag, str) or element.tag in SILENT:
            continue
        count, own = len(element), element.text
        if count == 0:
            if own and (text := " ".join(own[:400].split())) and len(text) <= 160:
                yield element, text
            continue
        pending.extend(reversed(element))
        if count > 8 or (count == 1 and not own and not element[0].tail):
            continue  # its one child says the same
        if any(c.tag in BLOCKS for c in element.iterdescendants()):
            continue
        text = flat_text(element)
        if 0 < len(text) <= 160:
            yield element, text


_DIGIT = re.compile(r"\d")
_SENTENCES = re.compile(r"(?<=\w{3}[.!])\s+(?=[A-ZÄÖÜÀ-Þ])|(?<=\d{4}[.!])\s+(?=[A-ZÄÖÜÀ-Þ])")


def line_facts(text: str, language: str, has_amount: bool = True) -> list[Fact]:
    """Facts in a short line: a phrase, or a label without colon before its value."""
    facts: list[Fact] = []
    sentences = _SENTENCES.split(text) if ". " in text or "! " in text else [text]
    whole = [text] if len(sentences) == 2 else []
    for sentence in (*sentences, *whole):
        if may_say(sentence):
            facts += _phrase_facts(sentence, language)
    parts = _DOTS.split(text)[:6] if _DOT.search(text) and _DIGIT.search(text) else ()
    if any(may_say(part) and says("auction", part) for part in parts):
        facts.append(Fact("auction", True, ORIGIN, f"“{text[:60]}”"))
    if has_amount:
        about = list(_amount_then_label(text, language))
        if not about and (sent := sent_for(text, language)) is not None:
            about.append(Fact("shipping", sent, ORIGIN, f"“{text[:60]}”"))
        facts += about
    for part in split_parts(text) if _may_hold_label(text) else ():
        facts += _labelled_part(part, language)
    if "日" in text and (day := _DAY_FIRST.fullmatch(text)) is not None:
        facts += _date_facts("date_listed", day[1], f"“{day[2]}”", language)
    return facts


_DAY_FIRST = re.compile(
    r"(\d{4}年\d{1,2}月\d{1,2}日)\s*(?:に|より|から)?\s*(掲載|出品|公開|登録|投稿)\S{0,6}"
)


_SEPARATORS = re.compile(r"\s+[|·•–—]\s+|\s+//?\s+(?=[^\W\d])|[,;]\s+(?=[^\W\d])")


def _may_hold_label(text: str) -> bool:
    if may_begin_with_label(text):
        return True
    parts = _SEPARATORS.split(text)[1:7] if _MARK.search(text) else ()
    return any(map(may_begin_with_label, parts))


_DOT = re.compile("[|·•] ")
_DOTS = re.compile(r"\s+[|·•]\s+")
_MARK = re.compile(r"[|·•–—,;] ")


# more than the bare word "free": a second word, a compound, or three signs without spaces
_FREE = re.compile(r"\s|frei|[\u2e80-\uffdc]{3}")


def _phrase_facts(text: str, language: str) -> Iterator[Fact]:
    kinds = kinds_that_may_say(text)
    for kind in ("sold", "ended", "open"):
        if kind in kinds and says(kind, text):
            yield Fact("status", kind, ORIGIN, f"“{text[:60]}”")
            if kind == "sold" and (money := find_money(text, language)):
                amount = Amount(money[-1].amount, money[-1].currency)
                yield Fact("sold", amount, ORIGIN, f"“{text[:60]}”")
            if kind != "open" and (stated := read_date(text, language)):
                yield Fact("ends_at", stated.iso, ORIGIN, f"“{text[:60]}”")
    if "auction" in kinds and says("auction", text):
        yield Fact("auction", True, ORIGIN, f"“{text[:60]}”")
    if "offers" in kinds and says("offers", text):
        yield Fact("offers_accepted", True, ORIGIN, f"“{text[:60]}”")
    if "free_shipping" in kinds and says_free_shipping(text) and _FREE.search(text):
        yield Fact("shipping", Amount(_ZERO), ORIGIN, f"“{text[:60]}”")
    if (count := count_in("quantity", text)) is not None:
        yield Fact("quantity", count, ORIGIN, f"“{text[:60]}”")


def _labelled_part(text: str, language: str) -> Iterator[Fact]:
    found = split_label(text)
    if found is not None:
        field, label, value = found
        yield from value_facts(field, value, label, language)


def split_parts(text: str) -> list[str]:
    """Cut a line at bars, dots and commas, where more than one part begins with a known label.

    >>> split_parts("Sold by Attic, Added on 3 May 2026")
    ['Sold by Attic', 'Added on 3 May 2026']
    """
    parts = _SEPARATORS.split(text)
    starts = [n for n, part in enumerate(parts) if n == 0 or split_label(part) is not None]
    if len(starts) < 2:
        return [text]
    ends = [*starts[1:], len(parts)]
    return [", ".join(parts[a:b]) for a, b in zip(starts, ends, strict=True)]


# labels that say enough without a colon; a bare "from" or "item" does not
_OPEN_LABELS = frozenset(
    {*_MONEY_FIELDS, "shipping", *_DATE_FIELDS, "listing_id", "seller", "seller_id", "location"}
)


def split_label(text: str) -> tuple[str, str, str] | None:
    """Cut a line into field, label and value, if it begins with a known label.

    >>> split_label("Eingestellt am 3. März 2026")
    ('date_listed', 'Eingestellt am', '3. März 2026')
    """
    words = text.lstrip("+•·-–|✓✔ ").split(" ")
    for count in range(min(6, len(words) - 1), 0, -1):
        label = " ".join(words[:count])
        field = field_of_label(label)
        if field is None or field not in _OPEN_LABELS:
            continue
        value = " ".join(words[count:]).strip(" :：")
        has_mark = label.rstrip().endswith((":", "：")) or words[count] in (":", "：")
        if has_mark or _fits(field, count, value):
            return field, label.rstrip(" :："), value
    return None


_FROM = re.compile(
    r"(?i)(?:ab|from|à partir de|dès|da|a partire da|desde|a partir de|nur|only|\+)\s+"
)


def _fits(field: str, words: int, value: str) -> bool:
    """Without a colon, the value has to look the part."""
    if field in _MONEY_FIELDS or field == "shipping":
        money = find_money(value)
        start = _FROM.match(value)
        if field == "sold" and words == 2 and not any(c.isdigit() for c in value):
            return 0 < len(value) <= 40 and " " not in value
        return bool(money) and money[0].start <= (start.end() if start else 1)
    if field in _DATE_FIELDS:
        return re.search(r"\d", value[:24]) is not None
    if field == "listing_id":
        return re.fullmatch(r"[#№]?\s?(?=[\w.-]*\d{2})[\w.-]{3,30}", value) is not None
    return words >= 2 and len(value) <= 60


_JOIN = re.compile(
    r"(?i)^[\s(（+]*(?:for|pour|für|per|di|de|of|to|til|till|av)\s+|^[\s(]*(?:d'|l'|der|die|das)\s*"
)
_CUT = re.compile(r"[,;|(（·]|\s\+\s|\s(?:plus|zzgl\.?|più|más)\s")


def _amount_then_label(text: str, language: str) -> Iterator[Fact]:
    """ "€5.00 shipping", "+ 4,90 € Versand", "45 € + 5 € frais de port", "$90 plus $8 shipping"."""
    found = find_money(text, language)
    for number, money in enumerate(found, 1):
        stop = found[number].start if number < len(found) else len(text)
        between = text[money.end : stop]
        rest = _CUT.split(between.lstrip(" ,;:(（"))[0].strip()
        words = _JOIN.sub("", rest).strip(" ).").split(" ")[:6]
        if _has_shipping_word(words) and number < len(found):
            label = _BEFORE_LABEL.split(between)[-1].strip(" :")
            if field_of_label(label) == "shipping":  # "45 €, shipping 5 €"
                is_open = _opens(text[: money.start], between)
                following = found[number]
                money = min(money, following, key=_amount_of) if is_open else following
        if _has_shipping_word(words):
            amount = Amount(money.amount, money.currency)
            yield Fact("shipping", amount, ORIGIN, f"“{text[:60]}”")
            return


_BEFORE_LABEL = re.compile(r"(?i)[,;.|·+(（]|\s(?:plus|zzgl\.?|più|más|and|und|et|e|y)\s")


def _opens(before: str, between: str) -> bool:
    """Say whether an amount begins a line and words follow it without a mark between.

    Only then they may be about it: "€5 shipping €45", but "€45 shipping €5".
    """
    return not before.strip(" +") and _BEFORE_LABEL.search(between) is None


def _amount_of(money: Money) -> Decimal:
    return money.amount


def shipping_in(text: str, language: str) -> Amount | None:
    """The amount that a line names as shipping: "+ £3.50 postage"."""
    return next((f.value for f in _amount_then_label(text, language)), None)


def _has_shipping_word(words: list[str]) -> bool:
    return any(
        field_of_label(" ".join(words[start:end])) == "shipping"
        for start in range(min(3, len(words)))
        for end in range(len(words), start, -1)
    )


# --- prices without a label ------------------------------------------------------------------


_LONGEST_BARE = 24
_BESIDE = re.compile(r"\s*[(（\[].*[)）\]]\s*$")  # "£60 (postage: £4.95)"


def price_facts(
    lines: Iterable[tuple[HtmlElement, str]], anchor: HtmlElement | None, language: str
) -> list[Fact]:
    """The amount shown as the price: in something named so, else the first that stands alone."""
    named: list[Fact] = []
    bare: list[Fact] = []
    above = set(anchor.iterancestors()) if anchor is not None else set()
    for element, text in lines:
        if len(text) > 60:
            continue
        shown = _without_struck(element, text)
        amounts = find_money(shown, language)
        money = _without_old(shown, amounts)
        passed = amounts[0].end if len(money) < len(amounts) else 0
        if not money or _is_other_amount(
            element, _words_about(shown[passed:], passed, money), above
        ):
            continue
        amount = Amount(money[0].amount, money[0].currency)
        note = f"“{text}”"
        if _names_a_price(element):
            named.append(Fact("price", amount, "visible price", note))
        elif (len(_alone(text, money)) <= _LONGEST_BARE or passed) and sent_for(shown) != amount:
            bare.append(Fact("price", amount, "visible price", note))
        rest = shown[money[0].end :].strip(" ,;|·-–()")
        if says("offers", rest):
            named.append(Fact("offers_accepted", True, ORIGIN, note))
        if rest and says_free_shipping(rest):
            named.append(Fact("shipping", Amount(_ZERO), ORIGIN, note))
    prices = [f for f in named if f.field == "price"]
    return (named if prices else named + bare[:1]) if named or bare else []


def _alone(text: str, money: Sequence[Money]) -> str:
    """A line without what stands in brackets after its amount, or what the thing cost before."""
    if len(money) > 1 and mentions("old_price", text[money[0].end : money[1].start]):
        return text[: money[0].end]
    return _BESIDE.sub("", text)


def _names_a_price(element: HtmlElement) -> bool:
    around = [element, *list(element.iterancestors())[:2]]
    return any(is_named(e, "price") for e in around)


def _without_old(text: str, money: Sequence[Money]) -> Sequence[Money]:
    """Leave out the first amount where words before it say that it is an older price."""
    if len(money) > 1 and mentions("old_price", text[: money[0].start]):
        return money[1:]
    if len(money) == 2 and _REDUCED.search(text) and money[1].amount < money[0].amount:
        return money[1:]
    return money


_REDUCED = re.compile(r"[-–−]\s?\d{1,2}\s?%")


def _follows_other_words(element: HtmlElement) -> bool:
    """Say whether the words in the element right before say that an amount is no price."""
    before = element.getprevious()
    if before is None or before.tag == "br" or (before.tail or "").strip() or len(before) > 2:
        return False
    words = flat_text(before)
    if not 2 < len(words) <= 40 or any(c.isdigit() for c in words) or ":" in words[:-1]:
        return False
    return mentions("not_the_price", words) and field_of_label(words) not in _MONEY_FIELDS


def _words_about(text: str, start: int, money: Sequence[Money]) -> str:
    """The words of a line, which begins at `start`, about its first amount, but for tax in it."""
    first, *others = money
    after = text[first.end - start : others[0].start - start if others else len(text)]
    own = _CUT.split(after, maxsplit=1)[0]
    own = "" if others and mentions("old_price", own) else own
    inside = re.match(r"\s*[(（]([^()（）\d]*)[)）]", after)
    before = text[: first.start - start]
    return without("tax_included", f"{before} {own} {inside[1] if inside else ''}")


def _is_other_amount(element: HtmlElement, text: str, above: set[HtmlElement]) -> bool:
    """Struck out, or said or named to be shipping, instalments, a total, a comparison.

    What is `above` the page's heading holds the whole listing, and its name says nothing of one
    amount in it.
    """
    if mentions("not_the_price", text) or _follows_other_words(element):
        return True
    around = [element, *islice(element.iterancestors(), 3)]
    if any(is_struck(e) for e in around[:2]):
        return True
    return any(is_named(e, "other_amount", "old") for e in around if e not in above)


def labelled_inline(body: HtmlElement, outside: set[HtmlElement], language: str) -> list[Fact]:
    """Values in marks of their own after a label in running text: "Listed on <time>...</time>"."""
    facts: list[Fact] = []
    for element in body.iter("time", "a", "b", "strong", "em", "span", "data"):
        before = _text_before(element)
        if not before or any(a in outside for a in element.iterancestors()):
            continue
        words = re.split(r"[.,;|·•–(]\s+|\s+[|·•–]\s+", before)[-1].strip().split(" ")
        for count in range(min(6, len(words)), 0, -1):
            label = " ".join(words[-count:])
            field = field_of_label(label)
            if field in _OPEN_LABELS and (count > 1 or label.endswith(":") or len(words) == count):
                value = element.get("datetime") or flat_text(element)
                facts += value_facts(field, value, label.rstrip(" :"), language, element)
                break
    return facts


def _text_before(element: HtmlElement) -> str:
    previous = element.getprevious()
    parent = element.getparent()
    if previous is not None:
        text = previous.tail or ""
    else:
        text = (parent.text or "") if parent is not None else ""
    return re.sub(r"\s+", " ", text).strip()[-80:]


_LISTING_TIME = re.compile(
    r"(?i)(?:^|[-_\s.])(?:date[-_]?)?(?:posted|listed|published|publish|publication|created|added|"
    r"inserted|upload(?:ed)?|listing|eingestellt|publie|publié|pubblicato|publicado|geplaatst)"
    r"(?:[-_\s]?(?:on|at|date|time|since|ago))?(?:$|[-_\s])|date[-_]?(?:Posted|Published|Listed|Created)"
)
_DATED_PARTS = "descendant::time | " + " | ".join(
    f"descendant::*[contains(@class, '{word}')]"
    for word in ("posted", "listed", "publi", "created", "added", "upload", "listing-date")
)
_TIME_PROPERTIES = frozenset(
    ("datePublished", "dateCreated", "datePosted", "uploadDate", "availabilityStarts", "validFrom")
)


def dated_times(body: HtmlElement, outside: set[HtmlElement], language: str) -> list[Fact]:
    """The day in a time that its class or property says to be that of listing, if there is one."""
    days: dict[str, Fact] = {}
    for time in select(body, _DATED_PARTS):
        if time.tag != "time" and (len(flat_text(time)) > 60 or len(time) > 2):
            continue
        named = f"{time.get('class') or ''} {time.get('id') or ''} {time.get('data-testid') or ''}"
        properties = set((time.get("itemprop") or time.get("property") or "").split())
        if properties.isdisjoint(_TIME_PROPERTIES) and _LISTING_TIME.search(named) is None:
            continue
        if any(
            a in outside or _OF_OTHERS.search(a.get("itemtype") or "") for a in time.iterancestors()
        ):
            continue
        told = time.get("datetime") or time.get("content") or time.get("data-date-listed")
        told = told or (time.get("title") if is_recent(time.get("title") or "") else None)
        stated = read_date(told or flat_text(time), language)
        if stated is not None and stated.day > "2000":
            days.setdefault(stated.day, Fact("date_listed", stated.iso, ORIGIN, "time so named"))
    return list(days.values()) if len(days) == 1 else []


_OF_OTHERS = re.compile(r"/(?:Review|Comment|Answer|Question|Person|Organization)\s*$")
