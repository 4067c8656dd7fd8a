"""What to do next, from what it would cost: buy, look closely, ask, or leave.

All money is in one unit: the price of the piece. Buying well gains `gain`; buying wrongly loses
what neither a return nor a resale brings back. A close look costs time and sees a bad piece with
some chance. The figures are the buyer's own; the defaults below are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

Action = Literal["buy", "look", "leave"]
ACTIONS: tuple[Action, ...] = ("leave", "look", "buy")  # the more careful first


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
    return max(ACTIONS, key=lambda action: value_of(action, risk, costs))


def value_of_best(risk: float, costs: Costs = DEFAULT_COSTS) -> float:
    """Expected value of the best action at this risk: never below zero, convex in the risk."""
    return max(value_of(action, risk, costs) for action in ACTIONS)


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


@dataclass(frozen=True, slots=True)
class Turn:
    """The value of one of the buyer's figures at which a close look begins or ceases to pay.

    `below`: it does so for smaller values than `at`, else for larger ones.
    """

    figure: str
    at: float
    below: bool


# the buyer's figures, and how far they may reasonably be changed
RANGES: Mapping[str, tuple[float, float]] = {
    "gain": (0.0, 2.0),
    "resale": (0.0, 1.0),
    "return_chance": (0.0, 1.0),
    "look": (0.0, 0.5),
}


def turns(risk: float, costs: Costs = DEFAULT_COSTS) -> tuple[Turn, ...]:
    """For each figure, from where on a close look pays no more, or pays at last.

    The others stay as they are; a figure that changes nothing within its range is left out.
    """
    found = (_turn(risk, costs, figure) for figure in RANGES)
    return tuple(turn for turn in found if turn is not None)


def _turn(risk: float, costs: Costs, figure: str) -> Turn | None:
    """The value of a look is a straight line in each figure: it turns where the line meets zero."""
    here = value_of("look", risk, costs)
    now = float(getattr(costs, figure))
    slope = value_of("look", risk, replace(costs, **{figure: now + 1.0})) - here
    low, high = RANGES[figure]
    at = now - here / slope if slope else high + 1.0
    return Turn(figure, at, at < now) if low <= at <= high and at != now else None


def say_turns(risk: float, costs: Costs = DEFAULT_COSTS) -> tuple[str, ...]:
    """What a close look is worth at the buyer's figures, and what a change of each would do.

    >>> say_turns(0.2)[0]
    'At your figures a close look is worth 0.21 of the price.'
    """
    worth = value_of("look", risk, costs)
    pays = worth > 0
    told = f"is worth {worth:.2f} of the price" if pays else f"costs {-worth:.2f} of the price more"
    lines = [f"At your figures a close look {told}{'' if pays else ' than it brings'}."]
    for turn in turns(risk, costs):
        side = "below" if turn.below else "above"
        then = "it would not pay" if pays else "it would pay"
        now = f"now {getattr(costs, turn.figure):g}"
        lines.append(f"With --{_option(turn.figure)} {side} {turn.at:.2f} ({now}) {then}.")
    return tuple(lines)


def what_if(risks: Sequence[float], costs: Costs, changed: Costs) -> tuple[int, int]:
    """How many listings a close look would pay for at last, and for how many no more."""
    now = [value_of("look", risk, costs) > 0 for risk in risks]
    then = [value_of("look", risk, changed) > 0 for risk in risks]
    pairs = list(zip(now, then, strict=True))
    return pairs.count((False, True)), pairs.count((True, False))


def say_changes(risks: Sequence[float], costs: Costs = DEFAULT_COSTS) -> tuple[str, ...]:
    """What half and twice each of the buyer's figures would do to many listings, in sentences.

    >>> say_changes([0.1, 0.5], Costs(gain=0.3))[0]
    'With --gain 0.15 (now 0.3) a close look would pay for 0 more and 1 fewer of 2.'
    """
    lines = []
    for figure, (low, high) in RANGES.items():
        now = float(getattr(costs, figure))
        option = _option(figure)
        for value in (max(low, now / 2), min(high, now * 2)):
            more, fewer = what_if(risks, costs, replace(costs, **{figure: value}))
            if more or fewer:
                lines.append(
                    f"With --{option} {value:.2g} (now {now:g}) a close look would pay for "
                    f"{more} more and {fewer} fewer of {len(risks)}."
                )
    return tuple(lines)


def _option(figure: str) -> str:
    return "look-cost" if figure == "look" else figure.replace("_", "-")
