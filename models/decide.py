"""What to do next, from what it would cost: buy, look closely, ask, or leave.

All money is in one unit: the price of the piece. Buying well gains `gain`; buying wrongly loses
what neither a return nor a resale brings back. A close look costs time and sees a bad piece with
some chance. The figures are the buyer's own; the defaults below are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Action = Literal["buy", "look", "leave"]


@dataclass(frozen=True, slots=True)
class Costs:
    """The buyer's figures, each a share of the asking price, or a chance from 0 to 1."""

    gain: float = 0.35  # worth more than it costs, if as described
    resale: float = 0.35  # what a wrong piece still fetches
    return_chance: float = 0.4  # that a wrong piece can be given back
    return_cost: float = 0.10  # postage and trouble of giving it back
    look: float = 0.03  # half an hour with pictures and sheet
    ask: float = 0.005  # writing a question and waiting
    look_finds: float = 0.7  # chance that a close look sees what is wrong with a wrong piece
    look_keeps: float = 0.95  # chance that it does not put the buyer off a right one

    @property
    def loss(self) -> float:
        """Expected loss from a wrong purchase, as a share of the price."""
        kept = 1.0 - self.return_chance
        return kept * (1.0 - self.resale) + self.return_chance * self.return_cost


DEFAULT_COSTS = Costs()


def value_of(action: Action, risk: float, costs: Costs = DEFAULT_COSTS) -> float:
    """Expected value of an action at a risk, as a share of the price.

    >>> value_of("leave", 0.5)
    0.0
    """
    if action == "leave":
        return 0.0
    if action == "buy":
        return (1.0 - risk) * costs.gain - risk * costs.loss
    passed = (1.0 - risk) * costs.look_keeps * costs.gain
    return passed - risk * (1.0 - costs.look_finds) * costs.loss - costs.look


def best_action(risk: float, costs: Costs = DEFAULT_COSTS) -> Action:
    """Name the action of highest expected value; the more careful one on a tie."""
    careful: tuple[Action, ...] = ("leave", "look", "buy")
    return max(careful, key=lambda action: value_of(action, risk, costs))


def value_of_best(risk: float, costs: Costs = DEFAULT_COSTS) -> float:
    """Expected value of the best action at this risk: never below zero, convex in the risk."""
    return max(value_of(action, risk, costs) for action in ("leave", "look", "buy"))


def leave_from(costs: Costs = DEFAULT_COSTS) -> float:
    """Risk from which neither a look nor a purchase is worth its cost (0 to 1).

    >>> 0.5 < leave_from() < 0.8
    True
    """
    look_gain = costs.look_keeps * costs.gain
    look_loss = (1.0 - costs.look_finds) * costs.loss
    by_look = (look_gain - costs.look) / (look_gain + look_loss)
    by_purchase = costs.gain / (costs.gain + costs.loss)
    return min(1.0, max(0.0, by_look, by_purchase))


def spend_looks(
    risks: Mapping[str, float],
    prices: Mapping[str, float],
    looks: int,
    costs: Costs = DEFAULT_COSTS,
) -> tuple[str, ...]:
    """Choose the listings whose close look is worth most money, at most `looks` of them.

    Each look costs the same hour wherever it is spent, so taking the largest values is the best
    choice there is. A listing without a price counts as one of the middle price of the others.
    """
    known = sorted(prices.values())
    middle = known[len(known) // 2] if known else 1.0
    worth = {
        key: value_of("look", risk, costs) * prices.get(key, middle) for key, risk in risks.items()
    }
    best = sorted(worth, key=lambda key: (-worth[key], key))
    return tuple(key for key in best[: max(0, looks)] if worth[key] > 0)


def what_if(
    risks: Mapping[str, float], costs: Costs, changed: Costs
) -> tuple[tuple[str, Action, Action], ...]:
    """Listings whose best action another figure would change: id, action now, action then."""
    moves = (
        (key, best_action(risk, costs), best_action(risk, changed))
        for key, risk in sorted(risks.items())
    )
    return tuple((key, now, then) for key, now, then in moves if now != then)
