"""The listing against itself: sizes that cannot all be true, fineness against karat, two statements
of one thing that exclude each other. No sheet is needed.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib import resources

from extractors.records import Measurement, Span
from models.boxing import diagonal_bounds, least_front_width
from models.checks.case import Case
from models.checks.measurements import size_text, stated_sizes
from models.point_values import Statement
from models.records import Finding

CHECK = "itself"
CODES = (
    (CHECK, "conflicts", "hard"),
    (CHECK, "conflicts", "soft"),
    (CHECK, "undecided", "soft"),
    (CHECK, "undecided", "clue"),
    (CHECK, "agrees", "soft"),
)

# what two readings of one size by the same seller may differ beyond rounding (own choice)
_TWICE_SLACK = {"temple_length": 3.0, "frame_width": 4.0}
_TWICE_DEFAULT = 1.5
_WRAP = re.compile(
    r"\b(?:wrap\w*|curved? front|strongly curved|shield|bowed|goggle\w*|base ?[68]|sport\w*)\b"
)


def check_front(case: Case) -> tuple[Finding, ...]:
    """Full front width must exceed two lenses and the bridge (F26), beyond all rounding."""
    sizes = stated_sizes(case)
    front, lens, bridge = (_single(sizes.get(q)) for q in ("frame_width", "lens_width", "bridge"))
    if front is None or lens is None or bridge is None or front.basis == "hinge_to_hinge":
        return ()
    if any(_WRAP.search(p.folded) for p in case.found):
        return ()
    least = least_front_width(
        lens.low_mm - lens.half_width_mm, bridge.low_mm - bridge.half_width_mm
    )
    most = front.high_mm + front.half_width_mm
    slack = sum(3.0 for m in (front, lens, bridge) if m.approximate) + (
        0 if front.basis == "overall" else 1.0
    )
    if most + slack >= least or not _is_plausible_front(front, lens, bridge):
        return ()
    why = (
        f"a front {size_text(front.low_mm, front.high_mm)} wide cannot hold two lenses of "
        f"{size_text(lens.low_mm, lens.high_mm)} and a bridge of {size_text(bridge.low_mm, bridge.high_mm)}"
    )
    return (
        Finding(
            CHECK, "front_against_lenses", "conflicts", "hard" if front.basis == "overall" else "soft",
            why, stated=size_text(front.low_mm, front.high_mm), expected=f"more than {least:.0f} mm",
            quoted=(*front.quoted, *lens.quoted, *bridge.quoted), source="boxing system, geometry (ISO 8624)",
            explanations=("the width may be taken between the hinges", "a slip of the ruler or the pen"),
        ),
    )  # fmt: skip


def _single(stated: tuple[Measurement, ...] | None) -> Measurement | None:
    """The only value of a size; None where there is none or several that differ."""
    if not stated:
        return None
    low, high = min(m.low_mm for m in stated), max(m.high_mm for m in stated)
    return stated[0] if high - low <= 2 else None


def _is_plausible_front(front: Measurement, lens: Measurement, bridge: Measurement) -> bool:
    """Within what retail and clinic guides call usual, widely taken (F15, F16): else a unit slip."""
    return 90 <= front.low_mm <= 180 and 30 <= lens.low_mm <= 75 and 8 <= bridge.low_mm <= 35


def check_diagonal(case: Case) -> tuple[Finding, ...]:
    """A lens diagonal lies between the longer side and the box's diagonal (F23)."""
    sizes = stated_sizes(case)
    names = ("lens_width", "lens_height", "lens_diagonal")
    a, b, ed = (_single(sizes.get(q)) for q in names)
    if a is None or b is None or ed is None:
        return ()
    rounding = a.half_width_mm + b.half_width_mm + ed.half_width_mm
    slack = rounding + 1.0 + sum(2.0 for m in (a, b, ed) if m.approximate)
    low, high = max(a.low_mm, b.low_mm), diagonal_bounds(a.high_mm, b.high_mm)[1]
    if low - slack <= ed.high_mm and ed.low_mm <= high + slack:
        return ()
    why = (
        f"a lens {size_text(a.low_mm, a.high_mm)} by {size_text(b.low_mm, b.high_mm)} cannot measure "
        f"{size_text(ed.low_mm, ed.high_mm)} across the corners"
    )
    return (
        Finding(
            CHECK, "lens_diagonal", "conflicts", "soft", why, stated=size_text(ed.low_mm, ed.high_mm),
            expected=f"{low:.0f} to {high:.0f} mm", quoted=(*ed.quoted, *a.quoted, *b.quoted),
            source="geometry of the boxed lens", explanations=("a slip of the ruler or the pen",),
        ),
    )  # fmt: skip


def check_twice_stated(case: Case) -> tuple[Finding, ...]:
    """Two statements of one size that exclude each other."""
    return tuple(f for q, stated in stated_sizes(case).items() if (f := _differ(case, q, stated)))


def _differ(case: Case, quantity: str, stated: tuple[Measurement, ...]) -> Finding | None:
    if quantity == "unspecified" or len(stated) < 2:
        return None
    low = min(stated, key=lambda m: m.high_mm)
    high = max(stated, key=lambda m: m.low_mm)
    slack = _TWICE_SLACK.get(quantity, _TWICE_DEFAULT) + low.half_width_mm + high.half_width_mm
    slack += sum(3.0 for m in (low, high) if m.approximate)
    if high.low_mm - low.high_mm <= slack or _measured_otherwise(quantity, low, high):
        return None
    name = quantity.replace("_", " ")
    one, other = (size_text(m.low_mm, m.high_mm) for m in (low, high))
    why = f"the listing gives the {name} as {one} and as {other}"
    return Finding(
        CHECK, quantity, "conflicts", "soft", why, stated=f"{one} and {other}", expected="one size",
        quoted=(*low.quoted, *high.quoted), explanations=("a slip of the pen", "text kept from another listing"),
    )  # fmt: skip


def _measured_otherwise(quantity: str, low: Measurement, high: Measurement) -> bool:
    """Two bases (to the bend, hinge to hinge, printed) make two sizes of one thing."""
    if quantity in ("temple_length", "frame_width") and low.basis != high.basis:
        return True
    # an arm given to the bend and in total, without saying so
    return quantity == "temple_length" and 22 <= high.low_mm - low.high_mm <= 62


def check_counts(case: Case) -> tuple[Finding, ...]:
    """Two counts of one thing ("7 barrel" in the title, "five barrels" below)."""
    statements = [
        s for s in case.read("hinge_barrels") if s.facet == "count" and s.claimed == "present"
    ]
    values = {s.value for s in statements}
    if len(values) != 2 or any(s.replaced for s in statements):
        return ()
    one, other = _first_of(statements, values)
    why = f"the listing speaks of {one.value} and of {other.value} hinge barrels"
    return (
        Finding(
            CHECK, "hinge_barrels", "conflicts", "soft", why, stated=f"{one.value} and {other.value}",
            expected="one count", quoted=(one.span, other.span),
            explanations=("a slip of the pen", "text kept from another listing"),
        ),
    )  # fmt: skip


def _first_of(statements: list[Statement], values: set[str]) -> tuple[Statement, Statement]:
    one, other = sorted(
        values, key=lambda v: next(i for i, s in enumerate(statements) if s.value == v)
    )
    return (
        next(s for s in statements if s.value == one),
        next(s for s in statements if s.value == other),
    )


# --- precious metals -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Stated:
    kind: str
    value: float
    start: int
    end: int


_KARAT = re.compile(
    r"(?<![\w.,/])(8|9|10|12|14|15|18|20|21|22|24)\s?-?\s?(?:k|kt|karat|carat|ct|kar\.?|carats?|carati|quilates)\b(?!\.?\s*(?:diamond|stone|ruby|emerald))"
)
_FINENESS = re.compile(
    r"(?<![\w.,/-])(333|375|417|500|583|585|625|750|800|830|833|835|875|900|916|917|925|950|958|999)(?![\w/]|[.,-]\d|\s?(?:mm|cm|eur|euro|usd|gbp|\$|€|£|pieces|pcs|g\b|grams?))"
)
_LAYER = re.compile(
    r"\b1\s?/\s?(\d{1,3})(?:th)?\s*(?:(\d{1,2})\s?k(?:t|arat)?\.?)?\s*(g\.?f\.?|gold[- ]filled|r\.?g\.?p\.?|rolled gold(?: plate)?)?\b"
)
_METAL_CONTEXT = re.compile(
    r"\b(?:gold|silver|stamped|marked|hallmark\w*|fineness|sterling|karat|carat|\d{1,2}\s?k|\d{1,2}\s?kt|silber|or|argent|oro|argento|plata|feingehalt|punze|punziert|poinconn\w*|punzonat\w*)\b"
)
_PLATED = re.compile(
    r"\b(?:plated|vermeil|gilt|gilded|silver[- ]gilt|gold on silver|over silver|filled|g\.?f\.?|r\.?g\.?p\.?|hge|gep|rolled|vergoldet|plaque|dorado a|placcat\w+)\b"
)
_SOLID = re.compile(
    r"\b(?:solid (?:\d+\s?k\w*\s)?gold|all gold|pure gold|massivgold|or massif|oro massiccio|oro macizo|full gold)\b"
)


@cache
def fineness_of_karat() -> dict[int, tuple[float, frozenset[int]]]:
    """Karat -> exact parts per thousand and the marks that go with it (models/data/fineness.csv)."""
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
    """Karat against fineness, sterling below 925, a gold layer called solid or too thin (F118-F133)."""
    findings: list[Finding] = []
    for passage in case.found:
        for start, end in _near_sentences(case, passage.part, passage.key):
            text = passage.folded[start:end]
            for why, span in metal_faults(text):
                quoted = passage.span(start + span[0], start + span[1])
                findings.append(_metal_finding(why, quoted, text))
    return tuple(findings[:1])


def _near_sentences(case: Case, part: str, key: str | None) -> Iterator[tuple[int, int]]:
    for scene in case.told:
        if (
            scene.passage.part == part
            and scene.passage.key == key
            and _METAL_CONTEXT.search(scene.folded)
        ):
            yield scene.start, scene.end


def metal_faults(folded: str) -> Iterator[tuple[str, tuple[int, int]]]:
    """What a sentence says of precious metal that cannot be, with its place.

    >>> [why for why, _ in metal_faults("14k gold, stamped 750")]
    ['14 karat is 583 parts in a thousand, a mark of 750 belongs to 18 karat']
    """
    layer = _LAYER.search(folded)
    karats = [(int(m.group(1)), m.span()) for m in _KARAT.finditer(folded)]
    marks = [(int(m.group(1)), m.span()) for m in _FINENESS.finditer(folded)]
    plated = _PLATED.search(folded) is not None
    if not layer and not plated:
        yield from _karat_faults(karats, marks)
    if "sterling" in folded and not plated:
        low = [(v, span) for v, span in marks if v in (800, 830, 833, 835, 875, 900)]
        for value, span in low[:1]:
            yield f"sterling silver is at least 925, a mark of {value} is below it", span
    if layer and layer.group(3):
        yield from _layer_faults(folded, layer)


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
            yield (
                f"{karat} karat gold and a silver mark of {value} do not go together unless it is plated",
                both,
            )
        else:
            yield (
                f"{karat} karat is {exact:.0f} parts in a thousand, a mark of {value} belongs to {value * 24 / 1000:.0f} karat",
                both,
            )


def _layer_faults(folded: str, layer: re.Match[str]) -> Iterator[tuple[str, tuple[int, int]]]:
    fraction = int(layer.group(1))
    term = layer.group(3).replace(".", "")
    if term.startswith(("gf", "gold")) and fraction > 20:
        yield (
            f"gold filled is at least one twentieth by weight, 1/{fraction} is rolled gold plate",
            layer.span(),
        )
    if solid := _SOLID.search(folded):
        before = folded[max(0, solid.start() - 14) : solid.start()]
        if not re.search(r"\b(?:not|no|isn'?t|nicht|kein|pas|non)\b", before):
            yield f"a layer of 1/{fraction} is not solid gold", layer.span()


def _metal_finding(why: str, quoted: Span, text: str) -> Finding:
    return Finding(
        CHECK, "fineness", "conflicts", "soft", why, stated=quoted.text, expected=None, quoted=(quoted,),
        source="16 CFR Part 23; CIBJO precious metals book; ISO 9202",
        explanations=("a slip of the pen", "a mark misread"),
    )  # fmt: skip


def check_gold_wording(case: Case) -> tuple[Finding, ...]:
    """ "Gold" alone in the title, plating in the text: listed as misleading (16 CFR 23.3(b), F132)."""
    text = case.found[0]
    title, body = text.folded[: text.title_end], text.folded[text.title_end :]
    gold = re.search(
        r"\bgold\b(?![- ]?(?:tone|toned|plated?|filled|colou?r\w*|look|metal|rims?|frames?\b(?=.*tone)))",
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
    return (
        Finding(
            CHECK, "gold_wording", "conflicts" if solid else "undecided", "soft" if solid else "clue", why, stated="gold",
            quoted=(text.span(gold.start(), gold.end()), text.span(start, start + len(toned.group()))),
            source="16 CFR 23.3(b)", explanations=("gold may be meant as the colour",),
        ),
    )  # fmt: skip


def check_itself(case: Case) -> tuple[Finding, ...]:
    """All checks of the listing against itself."""
    checks = (
        check_front,
        check_diagonal,
        check_twice_stated,
        check_counts,
        check_fineness,
        check_gold_wording,
    )
    return tuple(f for check in checks for f in check(case))


def swapped_labels(case: Case) -> bool:
    """Lens and bridge under each other's name: their ranges do not overlap (F19)."""
    sizes = stated_sizes(case)
    lens, bridge = _single(sizes.get("lens_width")), _single(sizes.get("bridge"))
    if lens is None or bridge is None:
        return False
    return 10 <= lens.low_mm <= 26 and 38 <= bridge.low_mm <= 64
