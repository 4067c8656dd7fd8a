"""Price against other listings of the same reference: a weak sign, capped, and it says why.

Same currency and price kind, similar condition, at least five from three other sellers; compared
on a logarithmic scale with median and median absolute deviation. Copies may set the median.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from statistics import median

from extractors.records import Evidence, Listing
from models.checks.corpus import Corpus, Examined
from models.records import Finding, Result

CHECK = "price"
CODES = ((CHECK, "conflicts", "clue"), (CHECK, "agrees", "clue"), (CHECK, "undecided", "clue"))
FEWEST, FEWEST_SELLERS = 5, 3
FAR = 2.5  # robust standard deviations
# not far, but low: told as open, and only where enough sellers ask a price for the same thing
LOW, ENOUGH, ENOUGH_SELLERS = 1.5, 8, 6
LEAST_SPREAD = math.log(1.25)  # prices of one model differ by a quarter for no reason at all
_POOR = frozenset({"crack", "repair", "part_missing", "warp", "bloom", "part_replaced"})


def check_prices(corpus: Corpus) -> dict[str, tuple[Finding, ...]]:
    """A finding for each listing whose price lies far below those of its reference."""
    found: dict[str, tuple[Finding, ...]] = {}
    for one in corpus.examined:
        others = [o for o in corpus.examined if _is_comparable(one, o)]
        finding = _compare(one, others)
        if finding is not None:
            found[one.listing.id] = (finding,)
    return found


def _is_comparable(one: Examined, other: Examined) -> bool:
    a, b = one.listing, other.listing
    return (
        other is not one
        and one.resolution.reference is not None
        and one.resolution.reference == other.resolution.reference
        and one.resolution.edition == other.resolution.edition
        and one.resolution.lot == other.resolution.lot
        and a.currency == b.currency
        and a.price_kind == b.price_kind
        and (a.quantity or 1) == (b.quantity or 1)
        and bool(b.price and b.price > 0)
        and _seller(a) != _seller(b)
        and is_poor(one.evidence) == is_poor(other.evidence)
    )


def _seller(listing: Listing) -> str:
    return listing.seller_id or listing.seller_name or listing.id


def is_poor(evidence: Evidence) -> bool:
    """Whether the piece is said to have a fault that moves its price."""
    return any(c.kind in _POOR and c.claimed == "present" for c in evidence.conditions)


def robust_distance(price: float, others: Sequence[float]) -> float:
    """How many robust standard deviations of the logarithm a price lies from the median.

    >>> round(robust_distance(100, [100, 110, 90, 120, 80]), 2)
    0.0
    """
    logs = [math.log(p) for p in others]
    middle = median(logs)
    spread = 1.4826 * median(abs(value - middle) for value in logs)
    return (math.log(price) - middle) / max(spread, LEAST_SPREAD)


def _amount(price: Decimal | float) -> str:
    """An amount as prices are shown, without cents where there are none.

    >>> _amount(89.0), _amount(136.25), _amount(132.5)
    ('89', '136.25', '132.50')
    """
    return f"{price:.2f}".removesuffix(".00")


def _compare(one: Examined, others: Sequence[Examined]) -> Finding | None:
    price = one.listing.price
    if not price or price <= 0 or len(others) < FEWEST:
        return None
    if len({_seller(o.listing) for o in others}) < FEWEST_SELLERS:
        return None
    prices = [float(o.listing.price) for o in others if o.listing.price]
    distance = robust_distance(float(price), prices)
    middle = median(prices)
    currency = one.listing.currency or ""
    told = (
        f"{_amount(price)} {currency} against a median of {_amount(middle)} {currency} "
        f"over {len(prices)} listings of the reference"
    )
    sellers = {_seller(o.listing) for o in others}
    enough = len(others) >= ENOUGH and len(sellers) >= ENOUGH_SELLERS
    if distance > (-LOW if enough else -FAR):
        return None
    result: Result = "conflicts" if distance <= -FAR else "undecided"
    low = "low" if result == "conflicts" else "somewhat low"
    why = f"the price is {low}: {told}; copies among them may set the median"
    return Finding(
        CHECK, "price", result, "clue", why, stated=f"{_amount(price)} {currency}".strip(),
        expected=f"about {_amount(middle)} {currency}".strip(),
        source="the listings of this folder",
        explanations=("a quick sale", "a fault not named", "copies may set the median"),
        about=tuple(o.listing.id for o in others[:8]),
    )  # fmt: skip
