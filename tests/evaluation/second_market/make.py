"""Make the listings of the second market: five references, two halves with no sentence in common.

Forty of 100 pieces are not as described: of these about three in ten give themselves away by a
firm statement, three in ten only by habits of selling (borrowed words, a low price, terms that keep
the buyer from checking), a fifth by both, a fifth by nothing at all. Honest sellers slip and have
habits too. A fifth of all listings says next to nothing. All shares are own choices.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

Bank = list[list[str]]  # sentences of the open half, and of the half kept back
MARKET: dict[str, Any] = json.loads(Path(__file__).with_name("market.json").read_text("utf-8"))

HALVES = {"open": 0, "kept": 1}
BAD, SILENT_SHARE, SLIP = 0.4, 0.2, 0.03


@dataclass(frozen=True)
class Reference:
    """A reference as its sellers know it: sizes, years, and its points, right and wrong."""

    name: str
    sizes: list[tuple[int, int, int]]
    wrong_sizes: list[tuple[int, int, int]]
    years: tuple[int, int]
    price: float
    # sentence, value, value on something else (or sentence, None, sentence on something else)
    points: list[tuple[str, str | int | None, str | int]]


@dataclass(frozen=True)
class Made:
    """One made-up listing and the truth about it; `signs`: none, soft, hard, both or honest."""

    record: dict[str, object]
    bad: bool
    little: bool
    signs: str


class Seller:
    """Draws sentences of one half, so that the two halves share none."""

    def __init__(self, half: str, language: str, random: np.random.Generator) -> None:
        self.bank, self.language, self.random = HALVES[half], language, random

    def pick(self, bank: Bank) -> str:
        options = bank[self.bank]
        return options[int(self.random.integers(len(options)))]

    def point(self, sentence: str, value: str | int | None) -> str:
        words = self.pick(MARKET["said"][sentence][self.language])
        if value is None:
            return words
        if isinstance(value, int):
            figure = self.random.random() < 0.4
            value = str(value) if figure else MARKET["numbers"][self.language][str(value)]
        value = MARKET["values"][self.language].get(value, value)
        told = words.replace("{}", value)
        return told[0].upper() + told[1:]

    def size(self, size: tuple[int, int, int]) -> str:
        lens, bridge, temple = (str(value) for value in size)
        words = self.pick(MARKET["said"]["sizes"][self.language])
        return words.replace("{l}", lens).replace("{b}", bridge).replace("{t}", temple)


def make_listing(half: str, number: int, random: np.random.Generator) -> Made:
    """Draw a piece and let its seller write about it."""
    references = MARKET["references"][half]
    reference = Reference(**references[int(random.integers(len(references)))])
    bad = bool(random.random() < BAD)
    signs = "honest"
    if bad:
        signs = str(random.choice(["hard", "soft", "both", "none"], p=[0.3, 0.3, 0.2, 0.2]))
    language = str(random.choice(["en", "de", "fr", "it", "es"], p=[0.6, 0.1, 0.1, 0.1, 0.1]))
    seller = Seller(half, language, random)
    little = bool(random.random() < SILENT_SHARE)
    lines = [] if little else _told(reference, seller, signs, random)
    lines += _habits(reference, seller, signs, little, random)
    if not little:
        count = int(random.integers(1, 4))
        chatter = MARKET["chatter"][language][seller.bank]
        lines += [str(x) for x in random.choice(chatter, min(count, len(chatter)), replace=False)]
    else:
        lines.append(seller.pick(MARKET["silent"][language]))
    if random.random() < (0.14 if signs in ("soft", "both") else 0.03):
        lines.insert(0, seller.pick(MARKET["borrowed"][language]))
    random.shuffle(lines)
    joined = (" " if random.random() < 0.5 else "\n").join(line for line in lines if line)
    record = {
        "id": f"{half[0]}{number:03}",
        "title": seller.pick(MARKET["titles"][language]).replace("{name}", reference.name),
        "description": joined,
        "price": f"{_price(reference, signs, random):.0f}",
        "currency": "EUR",
        "price_kind": "fixed",
        "seller_id": f"{half}-{int(random.integers(110))}",
    }
    return Made(record, bad, little, signs)


def _told(
    reference: Reference, seller: Seller, signs: str, random: np.random.Generator
) -> list[str]:
    """What the seller states of the piece, wrong where it is another piece and he says so."""
    told = float(random.choice([0.3, 0.6, 0.95], p=[0.35, 0.35, 0.3]))
    wrong = {"hard": 0.3, "both": 0.3}.get(signs, SLIP if signs == "honest" else 0.0)
    statements: list[tuple[str, str]] = []
    size = reference.sizes[int(random.integers(len(reference.sizes)))]
    other = reference.wrong_sizes[int(random.integers(len(reference.wrong_sizes)))]
    statements.append((seller.size(size), seller.size(other)))
    for sentence, right, instead in reference.points:
        if right is None:
            statements.append((seller.point(sentence, None), seller.point(str(instead), None)))
        else:
            statements.append((seller.point(sentence, right), seller.point(sentence, instead)))
    first, last = reference.years
    year = int(random.integers(first, last + 1))
    late = int(random.integers(last + 15, last + 30))
    statements.append((seller.point("era", str(year)), seller.point("era", str(late))))
    chosen = [pair for pair in statements if random.random() < told] or statements[:1]
    slips = [random.random() < wrong for _ in chosen]
    if signs in ("hard", "both") and not any(slips):
        slips[int(random.integers(len(slips)))] = True
    lines = [pair[1] if slip else pair[0] for pair, slip in zip(chosen, slips, strict=True)]
    if random.random() < (0.1 if signs in ("hard", "both") else 0.005):
        lines.append(seller.point("ce", None))
    return lines


def _habits(
    reference: Reference, seller: Seller, signs: str, little: bool, random: np.random.Generator
) -> list[str]:
    """Terms and habits of the seller: those of bad pieces only where the signs say so."""
    shown = signs in ("soft", "both")
    lines = []
    for habit in MARKET["habits"].values():
        share = min(0.9, habit["bad"] * 1.6) if shown else habit["honest"]
        if random.random() < share * (0.4 if little else 1.0):
            words = seller.pick(habit["words"][seller.language])
            lines.append(words.replace("{name}", reference.name))
    return lines


def _price(reference: Reference, signs: str, random: np.random.Generator) -> float:
    low = random.random() < (0.5 if signs in ("soft", "both") else 0.06)
    return float(reference.price * np.exp(random.normal(-0.65 if low else 0.0, 0.22)))


def make_half(half: str, count: int = 150, seed: int = 11) -> list[Made]:
    """All listings of one half; the same seed makes the same."""
    random = np.random.default_rng([seed, HALVES[half]])
    return [make_listing(half, number, random) for number in range(count)]
