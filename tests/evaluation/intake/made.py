"""What a template gives: a page with its addresses, and what a reader can know from it."""

from __future__ import annotations

import html
import random
import re
from dataclasses import dataclass, field
from typing import Any

from tests.evaluation.intake.goods import Goods, make_goods, money, thumbnail

FIELDS = (
    "title", "description", "specifics", "price", "currency", "price_kind", "buy_now", "shipping",
    "ended", "seller_id", "seller_name", "listing_id", "url", "date_listed",
)  # fmt: skip


@dataclass
class Made:
    """A page as a site serves it: assets by address, gold by field, photos in order."""

    html: str
    gold: dict[str, Any]
    photos: list[tuple[str, ...]]  # addresses of each picture, the best first
    assets: dict[str, bytes] = field(default_factory=dict)
    frames: dict[str, str] = field(default_factory=dict)
    missing: int = 0
    encoding: str = "utf-8"

    def stored_photos(self, saved: set[str]) -> list[bytes]:
        """What a reader is to find: of each picture the best form that was saved."""
        best = (next((a for a in picture if a in saved), None) for picture in self.photos)
        return [self.assets[a] for a in best if a is not None]

    def shown(self, with_srcset: bool) -> set[str]:
        """What a saver stores: what src, url() and maybe srcset name, not what is only linked."""
        text = html.unescape(re.sub(r"(?s)<script.*?</script>", "", self.html))
        names = "(?:src|srcset)" if with_srcset else r"\s(?:data-)?src"
        marks = rf"(?i){names}=(?:\"[^\"]*?|'[^']*?|)%s|url\(['\"]?%s"
        return {a for a in self.assets if re.search(marks % (re.escape(a), re.escape(a)), text)}


def esc(text: object) -> str:
    return html.escape(str(text), quote=True)


def base_gold(goods: Goods, *shown: str) -> dict[str, Any]:
    """The gold of the fields that a page shows; the others are to be absent."""
    known = {
        "title": goods.title,
        "description": "\n".join(goods.lines),
        "specifics": list(goods.specifics),
        "price": goods.price,
        "currency": goods.currency,
        "price_kind": goods.kind,
        "buy_now": goods.buy_now,
        "shipping": goods.shipping,
        "ended": goods.ended,
        "seller_id": goods.seller_id,
        "seller_name": goods.seller_name,
        "listing_id": goods.listing_id,
        "url": goods.url,
        "date_listed": goods.listed.isoformat(),
    }
    return {name: known[name] if name in shown else None for name in FIELDS}


def others(rng: random.Random, goods: Goods, count: int = 4) -> list[Goods]:
    """Other listings that a page links to."""
    return [make_goods(rng, goods.language, photos=False) for _ in range(count)]


def other_photo(rng: random.Random, goods: Goods) -> bytes:
    from tests.evaluation.intake.goods import make_photo

    return make_photo(rng, (220, 165))


def price_of(goods: Goods, style: int = 0) -> str:
    return money(goods.price, goods.currency, goods.language, style)


def thumbs(goods: Goods, side: int = 96) -> list[bytes]:
    return [thumbnail(p, side) for p in goods.photos]


def icon(rng: random.Random) -> bytes:
    from tests.evaluation.intake.goods import make_photo

    return make_photo(rng, (24, 24))
