"""Precious metal against itself: karat and fineness, sterling, gold layers, "gold" that is plating.

Values stand in models/data/fineness.csv with their sources.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator
from functools import cache
from importlib import resources

from extractors.records import Span
from models.checks.case import Case
from models.records import Finding
from models.wording import words_of

CHECK = "fineness"
CODES = (
    (CHECK, "conflicts", "soft"),
    (CHECK, "undecided", "clue"),
)


_KARAT = re.compile(
    r"(?<![\w.,/])(8|9|10|12|14|15|18|20|21|22|24)\s?-?\s?"
    r"(?:k|kt|karat|carats?|ct|kar\.?|carati|quilates)\b(?!\.?\s*(?:diamond|stone|ruby|emerald))"
)
_FINENESS = re.compile(
    r"(?<![\w.,/-])(333|375|417|500|583|585|625|750|800|830|833|835|875|900|916|917|925|950|958|999)"
    r"(?![\w/]|[.,-]\d|\s?(?:mm|cm|eur|euro|usd|gbp|\$|€|£|pieces|pcs|g\b|grams?))"
)
_LAYER = re.compile(
    r"\b1\s?/\s?(\d{1,3})(?:th)?\s*(?:(\d{1,2})\s?k(?:t|arat)?\.?)?\s*"
    r"(g\.?f\.?|gold[- ]filled|r\.?g\.?p\.?|rolled gold(?: plate)?)?\b"
)


@cache
def fineness_of_karat() -> dict[int, tuple[float, frozenset[int]]]:
    """Karat -> exact parts per thousand and the marks that go with it ."""
    table: dict[int, tuple[float, frozenset[int]]] = {}
    with resources.files("models").joinpath("data/fineness.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if row["metal"] == "gold" and row["karat"]:
                exact = float(row["parts_per_thousand"])
                marks = frozenset({int(row["common_mark"]), math.floor(exact), round(exact)})
                table[int(row["karat"])] = exact, marks
    return table


def karat_agrees(karat: int, mark: int) -> bool:
    """Whether a karat and a fineness mark can stand for the same gold (F50, F123).

    >>> karat_agrees(14, 585), karat_agrees(14, 750)
    (True, False)
    """
    exact, marks = fineness_of_karat().get(karat, (1000 * karat / 24, frozenset()))
    return mark in marks or abs(mark - exact) <= 3.5


def gold_share(fraction: int, karat: int) -> float:
    """Fine gold of a filled or rolled layer, parts per thousand of the weight (F128).

    >>> gold_share(20, 12), round(gold_share(40, 10), 1)
    (25.0, 10.4)
    """
    return 1000.0 / fraction * karat / 24.0


def step_down(fineness: float, steps: tuple[int, ...] = (375, 585, 750, 916, 999)) -> int | None:
    """The mark a true fineness allows: the highest step not above it (F119, F120).

    >>> step_down(584, (375, 585)), step_down(588, (375, 585))
    (375, 585)
    """
    allowed = [step for step in steps if step <= fineness]
    return max(allowed) if allowed else None


def check_fineness(case: Case) -> tuple[Finding, ...]:
    """Karat against fineness, sterling below 925, a layer called solid or too thin (F118 on)."""
    findings: list[Finding] = []
    for passage in case.found:
        for start, end in _near_sentences(case, passage.part, passage.key):
            text = passage.folded[start:end]
            for why, span in metal_faults(text, passage.folded):
                quoted = passage.span(start + span[0], start + span[1])
                findings.append(_metal_finding(why, quoted, text))
    return tuple(findings[:1])


def _near_sentences(case: Case, part: str, key: str | None) -> Iterator[tuple[int, int]]:
    for scene in case.told:
        if (
            scene.passage.part == part
            and scene.passage.key == key
            and words_of("metal_context").search(scene.folded)
        ):
            yield scene.start, scene.end


def metal_faults(folded: str, whole: str = "") -> Iterator[tuple[str, tuple[int, int]]]:
    """What a sentence says of precious metal that cannot be, with its place; `whole` is all text.

    >>> [why for why, _ in metal_faults("14k gold, stamped 750")]
    ['14 karat is 583 parts in a thousand, a mark of 750 belongs to 18 karat']
    """
    layer = _LAYER.search(folded)
    karats = [(int(m.group(1)), m.span()) for m in _KARAT.finditer(folded)]
    marks = [(int(m.group(1)), m.span()) for m in _FINENESS.finditer(folded)]
    plated = words_of("plated").search(folded) is not None
    if not layer and not plated:
        yield from _karat_faults(karats, marks)
    if "sterling" in folded and not plated:
        low = [(v, span) for v, span in marks if v in (800, 830, 833, 835, 875, 900)]
        for value, span in low[:1]:
            yield f"sterling silver is at least 925, a mark of {value} is below it", span
    if layer and layer.group(3):
        yield from _layer_faults(whole or folded, layer)


def _karat_faults(
    karats: list[tuple[int, tuple[int, int]]], marks: list[tuple[int, tuple[int, int]]]
) -> Iterator[tuple[str, tuple[int, int]]]:
    for karat, span in karats[:1]:
        wrong = [(v, s) for v, s in marks if not karat_agrees(karat, v)]
        if not wrong or any(karat_agrees(karat, v) for v, _ in marks):
            continue
        value, at = wrong[0]
        both = min(span[0], at[0]), max(span[1], at[1])
        exact = 1000 * karat / 24
        if value in (800, 830, 835, 925, 950, 958):
            why = f"{karat} karat gold and a silver mark of {value} do not go together"
            yield f"{why} unless it is plated", both
        else:
            why = f"{karat} karat is {exact:.0f} parts in a thousand"
            yield f"{why}, a mark of {value} belongs to {value * 24 / 1000:.0f} karat", both


def _layer_faults(folded: str, layer: re.Match[str]) -> Iterator[tuple[str, tuple[int, int]]]:
    fraction = int(layer.group(1))
    term = layer.group(3).replace(".", "")
    if term.startswith(("gf", "gold")) and fraction > 20:
        yield (
            f"gold filled is at least one twentieth by weight, 1/{fraction} is rolled gold plate",
            layer.span(),
        )
    if solid := words_of("solid_gold").search(folded):
        before = folded[max(0, solid.start() - 14) : solid.start()]
        asked = re.match(r"[^.\n]{0,20}\?", folded[solid.end() :])
        if not asked and not re.search(r"\b(?:not|no|isn'?t|nicht|kein|pas|non)\b", before):
            yield f"a layer of 1/{fraction} is not solid gold", layer.span()


def _metal_finding(why: str, quoted: Span, text: str) -> Finding:
    return Finding(
        CHECK, "fineness", "conflicts", "soft", why, stated=quoted.text, quoted=(quoted,),
        source="16 CFR Part 23; CIBJO precious metals book; ISO 9202",
        explanations=("a slip of the pen", "a mark misread"),
    )  # fmt: skip


def check_gold_wording(case: Case) -> tuple[Finding, ...]:
    """ "Gold" alone in the title, plating in the text: misleading by 16 CFR 23.3(b) (F132)."""
    text = case.found[0]
    title, body = text.folded[: text.title_end], text.folded[text.title_end :]
    gold = re.search(
        r"\bgold\b(?![- ]?(?:tone|toned|plated?|filled|colou?r\w*|look|metal|rims?))",
        title,
    )
    toned = re.search(
        r"\bgold[- ]?(?:tone|toned|plated?|coloured|colored|wash|flash)\b|\b(?:gep|hge)\b", body
    )
    solid = re.search(r"\b(?:real|solid|genuine|pure|\d{1,2}\s?k\w*)\s+gold\b", title)
    if not gold or not toned:
        return ()
    start = text.title_end + toned.start()
    why = "the title says gold, the text says that it is plated or toned"
    quoted = text.span(gold.start(), gold.end()), text.span(start, start + len(toned.group()))
    return (
        Finding(
            CHECK, "gold_wording", "conflicts" if solid else "undecided",
            "soft" if solid else "clue", why, stated="gold", quoted=quoted, source="16 CFR 23.3(b)",
            explanations=("gold may be meant as the colour",),
        ),
    )  # fmt: skip


def check_metal(case: Case) -> tuple[Finding, ...]:
    """Both checks of precious metal."""
    return (*check_fineness(case), *check_gold_wording(case))
