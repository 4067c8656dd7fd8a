"""Checks over all listings: price, and points at which the sheet may be wrong."""

from __future__ import annotations

from decimal import Decimal

import pytest

from extractors.records import Condition, Evidence, Listing
from models.checks.catalogue import run_corpus_checks
from models.checks.corpus import Corpus, Examined
from models.checks.price import robust_distance
from models.checks.sheet_doubt import find_sheet_doubts
from models.records import Finding
from models.resolve import Resolution


def examined(
    number: int, price: int | None = 100, seller: str | None = None, currency: str = "EUR",
    reference: str | None = "r", findings: tuple[Finding, ...] = (), fault: bool = False,
) -> Examined:  # fmt: skip
    listing = Listing(
        f"l{number}", "x", price=Decimal(price) if price else None, currency=currency,
        price_kind="fixed", seller_id=seller or f"s{number}",
    )  # fmt: skip
    conditions = (Condition("crack", "present", None, ()),) if fault else ()
    return Examined(
        listing, Evidence(listing.id, conditions=conditions), Resolution(reference), findings
    )


def low(cheap: Examined, others: list[Examined]) -> bool:
    return cheap.listing.id in run_corpus_checks(Corpus((cheap, *others)))


def test_far_lower_price_is_a_clue_that_names_its_peers() -> None:
    others = [examined(n, price) for n, price in enumerate((100, 110, 95, 120, 105), 1)]
    found = run_corpus_checks(Corpus((examined(0, 20), *others)))
    (finding,) = found["l0"]
    assert (finding.result, finding.strength) == ("conflicts", "clue")
    assert len(finding.about) == 5
    assert "copies" in finding.why
    assert set(found) == {"l0"}


@pytest.mark.parametrize(
    ("cheap", "others"),
    [
        (examined(0, 20), [examined(n) for n in range(1, 5)]),  # four only
        (examined(0, 20), [examined(n, seller=f"s{n % 2}") for n in range(1, 7)]),  # two sellers
        (examined(0, 20, currency="GBP"), [examined(n) for n in range(1, 7)]),
        (examined(0, 20, reference=None), [examined(n) for n in range(1, 7)]),
        (examined(0, 20, fault=True), [examined(n) for n in range(1, 7)]),  # other condition
        (examined(0, 80), [examined(n) for n in range(1, 7)]),  # a quarter less is nothing
        (examined(0, None), [examined(n) for n in range(1, 7)]),
    ],
)
def test_price_is_left_alone(cheap: Examined, others: list[Examined]) -> None:
    assert not low(cheap, others)


def test_price_distance_ignores_one_wild_price() -> None:
    calm = robust_distance(50, [100, 100, 100, 100, 100])
    wild = robust_distance(50, [100, 100, 100, 100, 100_000])
    assert wild == pytest.approx(calm)


def finding(result: str) -> Finding:
    return Finding("points", "rivet_shape", result, "hard", "why")  # type: ignore[arg-type]


def test_point_that_conflicts_in_most_listings_doubts_the_sheet() -> None:
    most = [examined(n, findings=(finding("conflicts"),)) for n in range(4)]
    rest = [examined(9, findings=(finding("agrees"),))]
    (doubt,) = find_sheet_doubts([*most, *rest])
    assert (doubt.reference, doubt.point, doubt.conflicts, doubt.stated) == (
        "r",
        "rivet_shape",
        4,
        5,
    )
    assert "the sheet may be wrong" in doubt.text


def test_one_seller_counts_once_for_doubt() -> None:
    same = [examined(n, seller="s", findings=(finding("conflicts"),)) for n in range(6)]
    assert find_sheet_doubts(same) == ()
