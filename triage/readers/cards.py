"""The cards of a mail that shows many listings: which parts of it belong to one listing.

A card has a link, a title and a price. It is found from its price: the smallest part of the mail
around the price that has the other two as well. Where that part holds several listings, because a
mail sets their pieces side by side or one after the other without a box about each, it is cut at
what comes back. What the words of links and lines mean lies in data/cards.toml.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from urllib.parse import parse_qsl, unquote, urlsplit

from triage.readers.addresses import canonical_url, item_in
from triage.readers.labels import field_of_label
from triage.readers.markup import HtmlElement
from triage.readers.prices import find_money
from triage.readers.tables import table_of
from triage.readers.visible_facts import is_struck
from triage.readers.words import BLOCKS, flat_text, text_lines

MAX_CARDS = 500
MAX_PRICES = 2_000
SHORTEST_TITLE = 6
LONGEST_TITLE = 220
_STEPS = 14  # boxes between a price and the part that is its card


@dataclass(frozen=True, eq=False)
class Card:
    """One listing in a mail: its parts in order, its title, and the address it links to."""

    parts: tuple[HtmlElement, ...]
    title: str
    address: str

    @property
    def lines(self) -> list[str]:
        return [line for part in self.parts for line in text_lines(part).split("\n")]


def find_cards(root: HtmlElement) -> list[Card]:
    """Find the cards of a mail, in order; each listing once."""
    words = _Words(root)
    cores = _innermost(_core(price, words) for price in _prices(root))
    groups = [group for core in cores for group in _groups_in(core, words)]
    made = [card for group in groups if (card := _card(group, words)) is not None]
    return _of_a_kind(_once(_grown(made)))[:MAX_CARDS]


# --- words -----------------------------------------------------------------------------------


@cache
def _data() -> dict[str, dict[str, list[str]]]:
    return table_of("cards.toml")


@cache
def _pattern(kind: str) -> re.Pattern[str]:
    rows = (row for rows in _data()[kind].values() for row in rows)
    return re.compile(rf"(?<!\w)(?:{'|'.join(f'(?:{row})' for row in rows)})", re.I)


def _plain(text: str) -> str:
    return _EDGES.sub("", " ".join(text.replace("’", "'").split()))


_EDGES = re.compile(r"^[\W_]+|[\W_]+$")


def is_call(text: str) -> bool:
    """Say whether a text only asks the reader to go on.

    >>> is_call("Voir l’annonce →"), is_call("Shop now"), is_call("Jetzt ansehen"), is_call("Oval")
    (True, True, True, False)
    """
    return len(text) < 60 and _pattern("call").fullmatch(_plain(text)) is not None


def _is_badge(text: str) -> bool:
    return len(text) < 60 and _pattern("badge").fullmatch(_plain(text)) is not None


def speaks_of_bids(line: str) -> bool:
    return _pattern("bids").search(line) is not None


def is_offhand(line: str) -> bool:
    """Say whether a line's amount is no piece's price: a shelf's lowest, a voucher, a limit.

    >>> is_offhand("Sunglasses from £20"), is_offhand("10 € Gutschein"), is_offhand("£35.00")
    (True, True, False)
    """
    money = find_money(line)
    before = line[: money[0].start] if money else line
    return bool(_pattern("from").search(before) or _pattern("promise").search(line))


class _Words:
    """What the texts of one mail are: those that come back on many cards are no titles."""

    def __init__(self, root: HtmlElement) -> None:
        self.links = {a: to for a in root.iter("a") if (to := _target(a)) is not None}
        texts = (t for e in root.iter() if isinstance(e.tag, str) and (t := _own_line(e)))
        self.often = {t for t, n in Counter(map(str.casefold, texts)).items() if n > 2}

    def may_be_title(self, text: str) -> bool:
        """Say whether a text could name a piece: letters enough, no price, no call, seldom."""
        if not SHORTEST_TITLE <= len(text) <= LONGEST_TITLE or text.casefold() in self.often:
            return False
        letters = sum(c.isalpha() for c in text)
        if letters < 4 or re.match(r"https?://", text) or is_call(text) or _is_badge(text):
            return False
        if text.endswith(":") or _opens_with_a_seller(text):
            return False
        money = find_money(text)
        return not money or len(text) - sum(m.end - m.start for m in money) > 20

    def target_of(self, part: HtmlElement) -> list[str]:
        """The addresses that a part links to, or that it stands in a link to."""
        inside = [self.links[a] for a in part.iter("a") if a in self.links]
        if inside:
            return inside
        return [self.links[a] for a in part.iterancestors("a") if a in self.links][:1]


def _opens_with_a_seller(text: str) -> bool:
    """ "Venduto da bottega_rosa", "sold by rosa77": three words at most before one name."""
    words = text.split()
    return any(
        field_of_label(" ".join(words[:count])) in ("seller_name", "seller_id")
        for count in range(1, 4)
        if len(words) == count + 1
    )


def _own_line(element: HtmlElement) -> str:
    """The text of an element that holds little but text, "" for a box of others."""
    if len(element) > 2 or not (element.text or len(element)):
        return ""
    text = " ".join((element.text or "").split())
    return text if len(text) < 80 else ""


def _target(link: HtmlElement) -> str | None:
    """Where a link leads, if that may be a listing."""
    alt = " ".join(i.get("alt", "") for i in link.iter("img"))
    return target_of(link.get("href", ""), flat_text(link), alt[:60])


def target_of(address: str, *said: str) -> str | None:
    """Where a link leads, if that and the words on it may be those of a listing.

    >>> target_of("https://s.example/item/77001", "Round frame")
    'https://s.example/item/77001'
    >>> target_of("https://s.example/u/1", "Unsubscribe"), target_of("https://s.example/privacy")
    (None, None)
    """
    leads_to = landing(address)
    if leads_to is None or any(_pattern("tail").search(t) for t in said if len(t) < 80):
        return None
    last_step = urlsplit(leads_to).path.rpartition("/")[2]
    return None if _pattern("tail").search(last_step) else leads_to


def landing(address: str) -> str | None:
    """The web address that a link leads to in the end, where a counter stands between.

    >>> landing("https://click.m.example/r?u=https%3A%2F%2Fs.example%2Fitem%2F77001%3Futm_source%3Da")
    'https://s.example/item/77001'
    """
    outer = canonical_url(address)
    if outer is None:
        return None
    parts = urlsplit(address.strip())
    in_path = [m[0] for m in _IN_PATH.finditer(parts.path)]
    stated = in_path or [v for _, v in parse_qsl(parts.query)]
    inner = (canonical_url(unquote(v) if "%2F" in v.upper() else v) for v in stated)
    found = [i for i in inner if i is not None and urlsplit(i).path.strip("/")]
    best = next((i for i in found if item_in(i)), next(iter(found), None))
    own = item_in(urlsplit(outer)._replace(query="").geturl())
    return best if best is not None and (in_path or own is None) else outer


_IN_PATH = re.compile(r"https?%3A(?:%2F){2}[^/]*|https?://.*", re.I)


# --- prices ----------------------------------------------------------------------------------


def _prices(root: HtmlElement) -> Iterator[HtmlElement]:
    """The smallest elements that show an amount which may be a piece's price."""
    seen: set[HtmlElement] = set()
    count = 0
    for element in root.iter():
        if not isinstance(element.tag, str) or count >= MAX_PRICES:
            continue
        if not any(c.isdigit() for t in _direct_texts(element) for c in t):
            continue
        shown = _priced(element)
        if shown is None or shown in seen or _is_struck_in(shown):
            continue
        seen.add(shown)
        count += 1
        yield shown


def _direct_texts(element: HtmlElement) -> list[str]:
    """What stands in an element itself, cut where another element stands between."""
    texts = [element.text, *(child.tail for child in element)]
    return [" ".join(t.split()) for t in texts if t and t.strip()]


def _priced(element: HtmlElement) -> HtmlElement | None:
    """The element, or one of the two about it, whose short text holds an amount."""
    for _ in range(3):
        text = flat_text(element)
        lines = text_lines(element).split("\n") if len(text) <= 60 else _direct_texts(element)[:20]
        if priced := [line for line in lines if find_money(line[:400])]:
            return element if not all(map(is_offhand, priced)) else None
        parent = element.getparent()
        if parent is None or len(text) > 40:
            return None
        element = parent
    return None


def _is_struck_in(element: HtmlElement) -> bool:
    above = list(element.iterancestors())[:3]
    crossed = any(
        e.tag in ("s", "del", "strike") or "line-through" in e.get("style", "") for e in above
    )
    return crossed or is_struck(element)


# --- parts -----------------------------------------------------------------------------------


def _core(price: HtmlElement, words: _Words) -> HtmlElement | None:
    """The smallest part about a price that has a link and may have a title."""
    for step, part in enumerate([price, *price.iterancestors()]):
        if step > _STEPS or part.tag in ("html", "head"):
            return None
        if words.target_of(part) and _titles(part, words):
            return part
    return None


def _innermost(cores: Iterable[HtmlElement | None]) -> list[HtmlElement]:
    """The parts that hold none of the others."""
    found = list(dict.fromkeys(c for c in cores if c is not None))
    outer = {a for core in found for a in core.iterancestors()}
    return [core for core in found if core not in outer]


def _groups_in(core: HtmlElement, words: _Words) -> list[tuple[HtmlElement, ...]]:
    """Cut a part that holds several listings into what belongs to each; else the part itself."""
    targets = set(words.target_of(core))
    if len(targets) < 2:
        return [(core,)]
    box = core
    while len(kids := [c for c in box if isinstance(c.tag, str)]) == 1:
        box = kids[0]
    for groups in (_columns(box), *_runs(kids)):
        whole = [g for g in groups if _is_whole(g, words)]
        if len(whole) > 1:
            return whole
    return [(core,)]


def _is_whole(group: Sequence[HtmlElement], words: _Words) -> bool:
    return (
        any(words.target_of(e) for e in group)
        and any(_titles(e, words) for e in group)
        and any(_has_price(e) for e in group)
    )


def _has_price(part: HtmlElement) -> bool:
    lines = (line for line in text_lines(part).split("\n"))
    return any(find_money(line) and not is_offhand(line) for line in lines)


def _runs(kids: Sequence[HtmlElement]) -> Iterator[list[tuple[HtmlElement, ...]]]:
    """Cut a sequence before each element that comes back, trying what may open a listing."""
    signs = [_sign(kid) for kid in kids]
    many = [s for s, n in Counter(signs).items() if n > 1]
    tried = sorted(many, key=signs.index)
    if "hr" in signs:
        tried.insert(0, "hr")
    for sign in tried[:6]:
        starts = [at for at, s in enumerate(signs) if s == sign]
        if sign == "hr":
            starts.insert(0, 0)
        ends = [*starts[1:], len(kids)]
        yield [tuple(kids[a:b]) for a, b in zip(starts, ends, strict=True)]


def _sign(element: HtmlElement) -> str:
    """What an element is like: its tag, class, and whether it shows a picture or an amount."""
    if element.tag == "hr":
        return "hr"
    picture = element.tag == "img" or next(element.iter("img"), None) is not None
    money = bool(find_money(flat_text(element)[:400]))
    return f"{element.tag}.{element.get('class', '')}.{picture}.{money}.{len(element) > 0}"


def _columns(box: HtmlElement) -> list[tuple[HtmlElement, ...]]:
    """The columns of a table that sets pictures, titles and prices of its listings in rows.

    Rows that begin again with what the first showed begin further listings.
    """
    rows = [cells for row in box.iter("tr") if len(cells := _cells(row)) > 1]
    if len(rows) < 2:
        return []
    width = len(rows[0])
    rows = [r for r in rows if len(r) == width]
    kinds = [_sign(row[0]) for row in rows]
    starts = [at for at, kind in enumerate(kinds) if kind == kinds[0]]
    ends = [*starts[1:], len(rows)]
    if any(b - a < 2 for a, b in zip(starts, ends, strict=True)):
        starts, ends = [0], [len(rows)]
    return [
        tuple(row[column] for row in rows[a:b])
        for a, b in zip(starts, ends, strict=True)
        for column in range(width)
    ]


def _cells(row: HtmlElement) -> list[HtmlElement]:
    return [c for c in row if c.tag in ("td", "th")]


# --- one card --------------------------------------------------------------------------------


def _card(group: tuple[HtmlElement, ...], words: _Words) -> Card | None:
    targets = [to for part in group for to in words.target_of(part)]
    titles = [t for part in group for t in _titles(part, words)]
    if not targets or not titles:
        return None
    _, title = max(titles, key=lambda t: t[0])
    return Card(group, _without_price(_in_full(title, group)), _listing_address(targets))


def _listing_address(targets: Sequence[str]) -> str:
    """Of the addresses on a card the one that most links lead to, one with an id before others."""
    counts = Counter(targets)
    return max(counts, key=lambda to: (item_in(to) is not None, counts[to]))


_BOLD = re.compile(r"font-weight\s*:\s*(?:bold|[6-9]00)|font\s*:[^;]*\bbold", re.I)


def _titles(part: HtmlElement, words: _Words) -> list[tuple[float, str]]:
    """Texts that may be the title, each with how much speaks for it."""
    found: list[tuple[float, str]] = []
    alts = {_plain(i.get("alt", "")).casefold() for i in part.iter("img")} - {""}
    for at, element in enumerate(part.iter()):
        if not isinstance(element.tag, str) or is_struck(element):
            continue
        for text in _short_texts(element):
            if words.may_be_title(text) and not _is_labelled(text):
                found.append((_weight(element, text, alts, words) - at / 10_000, text))
    for text in (i.get("alt", "").strip() for i in part.iter("img")):
        if not found and words.may_be_title(text) and " " in text:
            found.append((0.0, text))
    return found


def _weight(element: HtmlElement, text: str, alts: set[str], words: _Words) -> float:
    above = [element, *list(element.iterancestors())[:4]]
    linked = any(a in words.links for a in above)
    heading = any(e.tag in ("h1", "h2", "h3", "h4", "h5", "h6") for e in above[:3])
    bold = any(e.tag in _STRONG or _BOLD.search(e.get("style", "")) for e in above[:3])
    named = any("title" in e.get("class", "").casefold() for e in above[:2])
    same = any(a.startswith(_plain(text).rstrip("….").casefold()) for a in alts if len(a) > 5)
    return 3.0 * same + 2.5 * named + 2.0 * heading + 1.8 * linked + 1.5 * bold + (len(text) < 90)


def _short_texts(element: HtmlElement) -> list[str]:
    """The text of an element if it is one line, else the pieces that stand in it by themselves."""
    if any(c.tag in _APART for c in element.iterdescendants()):
        texts = _direct_texts(element)
    else:
        texts = [flat_text(element)]
    return [t for t in texts if t and len(t) <= LONGEST_TITLE]


_APART = BLOCKS | {"br", "td", "th", "a", "s", "del", "strike"}
_STRONG = ("b", "strong", "th")


def _is_labelled(text: str) -> bool:
    """ "Seller: anna" and "Versand 4,90 €" are facts."""
    return re.match(r"[^\W\d][^:：]{1,24}[:：]\s", text) is not None and len(text) < 60


def _in_full(title: str, group: Sequence[HtmlElement]) -> str:
    """A title that is cut short ("Vintage Vennerby sungl…") as a picture or link gives it whole."""
    start = re.sub(r"\s*(?:…|\.\.\.)$", "", title)
    if start == title or len(start) < 8:
        return title
    given = [
        e.get(name, "").strip()
        for part in group
        for e in part.iter("img", "a")
        for name in ("alt", "title")
    ]
    return next((g for g in given if g.startswith(start) and len(g) < 300), title)


def _without_price(title: str) -> str:
    """A title without the amount that stands behind it on the same line.

    >>> _without_price("Round frame – 35,50 €"), _without_price("Frame for 20 € coins, 1960s")
    ('Round frame', 'Frame for 20 € coins, 1960s')
    """
    money = find_money(title)
    if not money or money[-1].end < len(title.rstrip(" .)]")):
        return title
    before = re.fullmatch(r"(.{6,}?)\s*[-–—|·:,(\[]\s*", title[: money[-1].start])
    return before[1] if before else title


def _grown(cards: list[Card]) -> list[Card]:
    """Give each card the boxes about it that hold no other card: its picture stands there."""
    above: Counter[HtmlElement] = Counter()
    for card in cards:
        above.update({a for part in card.parts for a in (part, *part.iterancestors())})
    return [_grow(card, above) for card in cards]


def _grow(card: Card, above: Counter[HtmlElement]) -> Card:
    if len(card.parts) > 1:
        return card
    own, is_alone = card.parts[0], max(above.values()) == 1
    for ancestor in own.iterancestors():
        is_shared = above[ancestor] > 1 or ancestor.tag in ("body", "html")
        if is_shared or (is_alone and _has_picture(own)):
            break
        own = ancestor
    return Card((own,), card.title, card.address)


def _has_picture(part: HtmlElement) -> bool:
    return next(part.iter("img"), None) is not None


def _once(cards: Iterable[Card]) -> list[Card]:
    """Each listing once: the same address and title twice is one listing shown twice."""
    seen: dict[tuple[str, str], Card] = {}
    for card in cards:
        number = item_in(card.address)
        seen.setdefault((number or card.address, "" if number else card.title), card)
    return list(seen.values())


def _of_a_kind(cards: list[Card]) -> list[Card]:
    """Leave out what is unlike the others: a block without an id where most links hold one."""
    with_id = [card for card in cards if item_in(card.address)]
    return with_id if len(with_id) * 2 > len(cards) and len(with_id) > 1 else cards


def speaks_of_price(words: str) -> bool:
    """Say whether words before an amount only lead to it ("relisted at", "jetzt nur")."""
    return _pattern("asked").fullmatch(words.strip()) is not None


def tells_old(before: str) -> bool:
    """Say whether the words before an amount tell a shelf's lowest price ("from £40")."""
    return _pattern("from").search(before) is not None
