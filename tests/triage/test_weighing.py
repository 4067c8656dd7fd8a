"""How many close looks there are decides where they go, by what each is worth in money."""

from decimal import Decimal

from extractors.records import Listing
from models.decide import DEFAULT_COSTS
from models.records import Assessment, NextStep
from models.risk import starting_model
from models.weights import load_weights
from triage.weighing import Scales, best_looks

WEIGHTS = load_weights()


def listing(name: str, price: str | None, currency: str = "EUR") -> Listing:
    return Listing(name, name, price=Decimal(price) if price else None, currency=currency)


def assessed(name: str, risk: float, step: NextStep = "look") -> Assessment:
    return Assessment(name, risk, (0.0, 1.0), 0.0, (), 0.6, step, "")


def scales(looks: int) -> Scales:
    return Scales(WEIGHTS, starting_model(WEIGHTS), DEFAULT_COSTS, looks)


LISTINGS = [listing("dear", "400"), listing("cheap", "20"), listing("none", None),
            listing("other", "9000", "JPY"), listing("left", "900")]  # fmt: skip
SEEN = [assessed("dear", 0.2), assessed("cheap", 0.1), assessed("none", 0.1),
        assessed("other", 0.15), assessed("left", 0.1, "leave")]  # fmt: skip


def test_without_a_number_of_looks_the_order_is_by_risk() -> None:
    assert best_looks(LISTINGS, SEEN, scales(0)) == ()


def test_one_look_goes_to_the_piece_where_it_is_worth_most() -> None:
    assert best_looks(LISTINGS[:3], SEEN[:3], scales(1)) == ("none",)
    assert best_looks(LISTINGS[:2], SEEN[:2], scales(1)) == ("dear",)


def test_only_listings_worth_a_look_get_one_and_foreign_prices_do_not_mislead() -> None:
    chosen = best_looks(LISTINGS, SEEN, scales(9))
    assert set(chosen) == {"dear", "cheap", "none", "other"}
    assert chosen[-1] == "cheap"


def test_nothing_to_look_at_is_no_error() -> None:
    assert best_looks([], [], scales(3)) == ()
