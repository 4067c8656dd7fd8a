"""What the parts of a page say, fact by fact, and which word holds where they disagree.

The order of trust per field is data (data/trust.toml). Every fact names its origin; where
sources disagree the origins of the field list the others with what they say.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from triage.readers.tables import table_of

VISIBLE = "visible text"  # the origin of what a reader of the page sees


@dataclass(frozen=True, slots=True)
class Amount:
    """A price with its currency (ISO 4217, None if not stated)."""

    value: Decimal
    currency: str | None = None

    def __str__(self) -> str:
        return f"{self.value} {self.currency}" if self.currency else str(self.value)


@dataclass(frozen=True, slots=True)
class Fact:
    """One value for one field as one source states it; `note` says where or how, or a doubt."""

    field: str
    value: Any
    origin: str
    note: str = ""

    @property
    def place(self) -> str:
        return f"{self.origin}: {self.note}" if self.note else self.origin


@cache
def _orders() -> dict[str, list[str]]:
    orders: dict[str, list[str]] = table_of("trust.toml")["order"]
    return orders


def trust_order(field: str) -> list[str]:
    """The origins for a field, the most trusted first."""
    return _orders().get(field, _orders()["default"])


def by_trust(facts: Iterable[Fact], field: str) -> list[Fact]:
    """The facts for one field, most trusted first; equally trusted ones keep their order."""
    order = trust_order(field)
    own = [f for f in facts if f.field == field and f.origin in order]
    return sorted(own, key=lambda f: order.index(f.origin))


def origins_of(chosen: Fact, facts: Iterable[Fact]) -> tuple[str, ...]:
    """Where a value comes from; then every source that says otherwise, with what it says."""
    same = _comparable(chosen.value)
    others = dict.fromkeys(
        f"{f.place} says {_shown(f.value)}" for f in facts if _comparable(f.value) != same
    )
    return (chosen.place, *others)


def _comparable(value: Any) -> Any:
    if isinstance(value, Amount):
        return value.value
    return " ".join(value.split()).casefold() if isinstance(value, str) else value


def _shown(value: Any) -> str:
    text = str(value)
    return text if len(text) <= 80 else text[:79] + "…"
