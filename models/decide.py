"""What to do next, from what it would cost: buy, look closely, ask, or leave.

All money is in one unit: the price of the piece. Buying well gains `gain`; buying wrongly loses
what neither a return nor a resale brings back. A close look costs time and sees a bad piece with
some chance. The figures are the buyer's own; the defaults below are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

Action = Literal["buy", "look", "leave"]
ACTIONS: tuple[Action, ...] = ("leave", "look", "buy")  # the more careful first
SAID: Mapping[Action, str] = {
    "buy": "to buy without a close look",
    "look": "a close look",
    "leave": "to leave it",
}


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
    """From which value of one of the buyer's figures another action would be best.

    `below`: it holds for smaller values than `at`, else for larger ones.
    """

    figure: str
    at: float
    below: bool
    action: Action


# the buyer's figures, and how far they may reasonably be changed
RANGES: Mapping[str, tuple[float, float]] = {
    "gain": (0.0, 2.0),
    "resale": (0.0, 1.0),
    "return_chance": (0.0, 1.0),
    "look": (0.0, 0.5),
}


def turns(risk: float, costs: Costs = DEFAULT_COSTS) -> tuple[Turn, ...]:
    """The nearest value of each figure, down and up, at which another action becomes best.

    The others stay as they are; a figure that changes nothing within its range is left out.
    """
    return tuple(
        turn
        for figure in RANGES
        for below in (True, False)
        if (turn := _turn(risk, costs, figure, below)) is not None
    )


def _turn(risk: float, costs: Costs, figure: str, below: bool) -> Turn | None:
    """An action's value is a straight line in each figure: the first line to cross is the next."""
    now, start = best_action(risk, costs), float(getattr(costs, figure))
    low, high = RANGES[figure]
    lead, slope = _line(now, risk, costs, figure)
    met: list[tuple[float, Action]] = []
    for action in ACTIONS:
        value, rise = _line(action, risk, costs, figure)
        gains = slope - rise if below else rise - slope  # on the other action's lead, per step
        if action != now and gains > 0:
            step = (lead - value) / gains
            met.append((start - step if below else start + step, action))
    if not met:
        return None
    at, action = max(met) if below else min(met)
    return Turn(figure, at, below, action) if low <= at <= high else None


def _line(action: Action, risk: float, costs: Costs, figure: str) -> tuple[float, float]:
    """Value of an action now, and how much it rises with one of the figures."""
    here = value_of(action, risk, costs)
    there = value_of(action, risk, replace(costs, **{figure: getattr(costs, figure) + 1.0}))
    return here, there - here


def say_turns(risk: float, costs: Costs = DEFAULT_COSTS) -> tuple[str, ...]:
    """What is best at the buyer's figures, and what a change of each of them would do.

    >>> say_turns(0.13)[0]
    'Best at your figures: a close look, worth 0.24 of the price.'
    """
    now = best_action(risk, costs)
    worth = f", worth {value_of(now, risk, costs):.2f} of the price" if now != "leave" else ""
    lines = [f"Best at your figures: {SAID[now]}{worth}."]
    for turn in turns(risk, costs):
        option = "look-cost" if turn.figure == "look" else turn.figure.replace("_", "-")
        side = "below" if turn.below else "above"
        is_now = f"now {getattr(costs, turn.figure):g}"
        lines.append(f"With --{option} {side} {turn.at:.2f} ({is_now}): {SAID[turn.action]}.")
    return tuple(lines)


def what_if(
    risks: Mapping[str, float], costs: Costs, changed: Costs
) -> tuple[tuple[str, Action, Action], ...]:
    """Listings whose best action another figure would change: id, action now, action then."""
    moves = (
        (key, best_action(risk, costs), best_action(risk, changed))
        for key, risk in sorted(risks.items())
    )
    return tuple((key, now, then) for key, now, then in moves if now != then)
