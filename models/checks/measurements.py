"""Dimensions: the seller's sizes, with rounding and basis, against the sheet's.

The sizes of a model belong together, so the best-fitting combination is looked for first. A wrong
unit, swapped axes and a sibling's sizes are recognised as one cause. A lens is never taken for a
rim or the whole front, a temple to the bend never for its full length.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from extractors.records import Measurement
from models.checks.case import Case
from models.point_values import Scene, is_replaced
from models.point_words import facet
from models.records import Finding, Result, Strength
from models.sheet_records import Combination, Dimension, ReferenceSheet, Sizes
from models.wording import words_of

CHECK = "measurements"
CODES = tuple(
    (CHECK, result, strength)
    for result in ("agrees", "conflicts", "undecided", "not_stated")
    for strength in ("hard", "soft")
)

# what an honest ruler may be out beyond rounding (own choice; F35 suggests 1 and 3 mm)
_SLACK = {"temple_length": 2.0, "frame_width": 2.0, "temple_to_bend": 3.0, "frame_height": 1.5}
_SLACK_DEFAULT = 1.0
_ABOUT = {"temple_length": 4.0, "frame_width": 4.0}
_ABOUT_DEFAULT = 2.0
_BASIS_GAP = 6.0  # hinge to hinge against edge to edge
_BEND = (22.0, 62.0)  # how much shorter a temple is when measured to the bend
_NOT_LISTED = "the sheet's list of sizes is not complete"
_RULER, _MISREAD = "a ruler may be out by that much", "a figure is easily misread by that much"
_FACTORS = {
    "inches": 25.4, "centimetres": 10.0, "millimetres": 0.1, "millimetres, not inches": 1 / 25.4,
    "centimetres, not inches": 10 / 25.4, "inches, not centimetres": 2.54,
}  # fmt: skip
_SWAPS = (
    ("lens_width", "lens_height"), ("rim_width", "rim_height"), ("lens_width", "bridge"),
    ("lens_width", "temple_length"), ("bridge", "temple_length"),
    ("frame_width", "temple_length"), ("frame_width", "frame_height"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fit:
    """How one stated size lies to the sheet's: what is left between them beyond all tolerance."""

    result: Result
    gap_mm: float
    dimension: Dimension
    stated: Measurement
    why: str = ""
    also_agrees: bool = False  # another statement of this size agrees

    @property
    def is_near(self) -> bool:
        """Whether a ruler or an eye may be out by all that is left."""
        return self.result == "undecided" and self.why in (_RULER, _MISREAD)


def check_measurements(case: Case) -> tuple[Finding, ...]:
    """One finding per size of the sheet; findings of one cause share `cause`."""
    sheet = case.sheet
    if sheet is None:
        return ()
    stated = stated_sizes(case)
    edition = case.edition
    sizes = edition.sizes if edition and edition.sizes else sheet.sizes
    fixed = _fixed(sheet.fixed, edition.fixed if edition else ())
    chosen, fits = best_combination(sizes, fixed, stated)
    fits = [_if_guessed(case, _soften(f, chosen, sizes, fixed)) for f in fits]
    fits = _of_another_size(fits, sizes, stated)
    findings = [_finding(fit, sizes, _beside(fit, fits, chosen, sizes, stated)) for fit in fits]
    if any(fit.result == "conflicts" for fit in fits) or _is_a_look_alike(case, fits, stated):
        findings = _by_look_alike(case, fits, stated, findings)
        findings = _by_cause(case, sizes, fixed, stated, findings)
        findings = _edition_sizes(case, stated, findings)
    return (*findings, *_silent(sizes, fixed, stated))


def _fixed(base: tuple[Dimension, ...], own: tuple[Dimension, ...]) -> tuple[Dimension, ...]:
    replaced = {d.quantity for d in own}
    return (*own, *(d for d in base if d.quantity not in replaced))


def stated_sizes(case: Case) -> dict[str, tuple[Measurement, ...]]:
    """The item's sizes by quantity, of several items only the first one's (read once)."""
    if "sizes" not in case.kept:
        case.kept["sizes"] = _stated_sizes(case)
    return case.kept["sizes"]  # type: ignore[return-value]


def _stated_sizes(case: Case) -> dict[str, tuple[Measurement, ...]]:
    own = [m for m in case.evidence.measurements if m.of_item and not _is_of_another(case, m)]
    own = [m for m in own if not (_is_other_extent(case, m) or _is_in_a_mark(case, m))]
    own = [_named_exactly(case, m) for m in own]
    first = min((m.item for m in own), default=1)
    result: dict[str, tuple[Measurement, ...]] = {}
    for measurement in own:
        if measurement.item != first:
            continue
        name = measurement.quantity
        if name == "temple_length" and measurement.basis == "to_bend":
            name = "temple_to_bend"
        result[name] = (*result.get(name, ()), measurement)
    for measurement in (*_rims(case), *_unread_prints(case)):
        result.setdefault(measurement.quantity, (measurement,))
    return result


_TRIPLE = re.compile(
    r"(?<![\w.,/-])([3-6]\d)\s?(?:□|▢|◻|☐|\[\s?\]|[-/])\s?([12]\d)"
    r"\s?(?:□|[-/ ])\s?(1[1-6]\d)(?![\w/-]|[.,]\d)"
)


def _unread_prints(case: Case) -> Iterator[Measurement]:
    """A whole "52□18-140" that the general reading passed over, outside words of other pieces."""
    names = ("lens_width", "bridge", "temple_length")
    for scene in case.told:
        for match in _TRIPLE.finditer(scene.passage.folded, scene.start, scene.end):
            for group, quantity in enumerate(names, 1):
                span = scene.passage.span(match.start(group), match.end(group))
                value = float(match.group(group))
                if not case.is_of_another(span):
                    yield Measurement(
                        quantity, value, value, False, True, "item", 1, 0.5, "printed", (span,)
                    )


_RIM_PAIR = re.compile(
    r"\b(?:rims?|rand(?:mas+e?)?|rahmenmas+e?|cercles?|cerchio?|aros?)\b[^.\d\n]{0,30}(\d\d(?:[.,]\d)?)\s*(?:mm)?\s*(?:x|by|×|/|sur|per|por|mal)\s*(\d\d(?:[.,]\d)?)(?!\d)"
)
_RIM_ONE = re.compile(
    r"\brims?\s+(width|wide|height|high|tall)\b\D{0,8}?(\d\d(?:[.,]\d)?)(?![\d.,]*\s*(?:cm|in|\d))"
)


_RIM_NAMED = re.compile(
    r"\b(?:rand|rahmen|cercles?|cerchio?|aros?)\b\D{0,12}?(\d\d(?:[.,]\d)?)\s*(?:mm)?\s*"
    r"(?:de |di )?(?P<wide>breit|large|largo|ancho|larghezza)?"
    r"(?P<high>hoch|haut|hauteur|alto|altezza)?\b"
)


def _rims(case: Case) -> Iterator[Measurement]:
    """Sizes of a rim the general reading left without a name ("rim height 51")."""
    for scene in case.told:
        folded, first = scene.passage.folded, scene.start
        for match in _RIM_PAIR.finditer(folded, first, scene.end):
            yield _rim(scene, "rim_width", match, 1)
            yield _rim(scene, "rim_height", match, 2)
        for match in _RIM_ONE.finditer(folded, first, scene.end):
            quantity = "rim_width" if match.group(1) in ("width", "wide") else "rim_height"
            yield _rim(scene, quantity, match, 2)
        for match in _RIM_NAMED.finditer(folded, first, scene.end):
            if match["wide"] or match["high"]:
                yield _rim(scene, "rim_width" if match["wide"] else "rim_height", match, 1)


def _rim(scene: Scene, quantity: str, match: re.Match[str], group: int) -> Measurement:
    value = float(match.group(group).replace(",", "."))
    half = 0.5 if value.is_integer() else 0.05
    span = scene.passage.span(match.start(group), match.end(group))
    return Measurement(quantity, value, value, False, True, "item", 1, half, None, (span,))


def _is_of_another(case: Case, measurement: Measurement) -> bool:
    """Whether the clause speaks of another pair ("the pair next to it is 52 mm")."""
    span = measurement.quoted[0] if measurement.quoted else None
    return span is not None and case.is_of_another(span)


_OTHER_EXTENT = {
    "temple_length": "other_temple", "bridge": "other_bridge", "frame_width": "other_front"
}  # fmt: skip


def _is_other_extent(case: Case, measurement: Measurement) -> bool:
    """How far the arms open, how wide the nose is lower down: no size of the sheet."""
    word_class = _OTHER_EXTENT.get(measurement.quantity)
    place = case.place_of(measurement.quoted[0]) if measurement.quoted else None
    if place is None or measurement.basis == "printed":
        return False
    scene, clause = place
    if measurement.quantity != "lens_diagonal" and _is_no_extent(scene, clause, measurement):
        return True
    if word_class is None:
        return False
    return words_of(word_class).search(scene.passage.folded, *clause) is not None


def _is_no_extent(scene: Scene, clause: tuple[int, int], measurement: Measurement) -> bool:
    """ "circumference of the lens 140 mm": the word stands before the figure."""
    at = measurement.quoted[0].start - scene.passage.shift
    return words_of("no_extent").search(scene.passage.folded, clause[0], at) is not None


_CODE = re.compile(r"(?<!\w)(?!(?:MM|CM|W|H|B|T|L|A|DBL|ED|PD|GR|NR|NO)[ .-])[A-Z]{1,5}[ .-]?$")


def _is_in_a_mark(case: Case, measurement: Measurement) -> bool:
    """ "stamped behind the bridge: GX 22": the figure is part of what is written."""
    place = case.place_of(measurement.quoted[0]) if measurement.quoted else None
    if place is None:
        return False
    scene, at = place[0], measurement.quoted[0].start - place[0].passage.shift
    text = scene.passage.text[scene.start : scene.end]
    if text.isupper() or not any(p.search(scene.folded) for p in facet("method").values.values()):
        return False
    return _CODE.search(scene.passage.text[scene.start : at]) is not None


_LENS = re.compile(r"\b(?:lens(?:es)?|glass|glas|verres?|lent[ei]s?)\b")


def _last(pattern: re.Pattern[str], text: str) -> int:
    """Where the pattern stands last in the text, -1 if nowhere."""
    return max((m.start() for m in pattern.finditer(text)), default=-1)


_RIM = {"lens_width": "rim_width", "lens_height": "rim_height", "frame_height": "rim_height"}
_BOXED = re.compile(
    r"(?<![\d.,])[3-6]\d\s?(?:□|▢|◻|☐|\[\s?\]|[/x-]|\s)\s?[12]\d"
    r"(?:\s?[-/x□ ]\s?1[0-7]\d)?(?!\s?(?:\d|[.,]\d))"
)


def _named_exactly(case: Case, measurement: Measurement) -> Measurement:
    """Tell a rim from a lens, hinge to hinge from overall, a copied print from a ruler."""
    if not measurement.quoted:
        return measurement
    span = measurement.quoted[0]
    for scene in case.told:
        passage, start = scene.passage, span.start - scene.passage.shift
        if (passage.part, passage.key) != (
            span.part,
            span.key,
        ) or not scene.start <= start < scene.end:
            continue
        if measurement.quantity in _RIM and words_of("rim").search(scene.folded):
            before = passage.folded[scene.start : start]
            if _last(words_of("rim"), before) >= _last(_LENS, before):
                measurement = replace(measurement, quantity=_RIM[measurement.quantity])
        if measurement.quantity == "frame_width" and re.search(
            r"\bhinges? to hinge|hinge-to-hinge", scene.folded
        ):
            measurement = replace(measurement, basis="hinge_to_hinge")
        if measurement.basis is None and _in_boxed_notation(passage.text, start):
            measurement = replace(measurement, basis="printed")
        break
    return measurement


def _in_boxed_notation(text: str, at: int) -> bool:
    """Whether a figure is part of "52□18-140", which copies what stands on the frame (F10, F11)."""
    return any(m.start() <= at < m.end() for m in _BOXED.finditer(text, max(0, at - 14), at + 14))


def best_combination(
    sizes: Sizes, fixed: Sequence[Dimension], stated: Mapping[str, Sequence[Measurement]]
) -> tuple[Combination | None, list[Fit]]:
    """The size of the model that explains the stated sizes best, and how each lies to it."""
    options = sizes.combinations or (Combination("", ()),)
    judged = []
    for combination in options:
        rows = [d for d in (*combination.dimensions, *fixed) if d.quantity in stated]
        fits = [compare_all(stated[d.quantity], d) for d in rows]
        wrong = sum(f.result == "conflicts" for f in fits)
        # a millimetre of a lens tells more than one of a temple
        off = sum(f.gap_mm / max(f.dimension.tolerance_mm, 0.5) for f in fits)
        judged.append((wrong, off, combination, fits))
    best = min(judged, key=lambda row: (row[0], row[1]))
    return (best[2] if best[2].dimensions else None), best[3]


def compare_all(stated: Sequence[Measurement], dimension: Dimension) -> Fit:
    """Several statements of one size: an agreeing one beside a conflicting one leaves it open."""
    fits = [compare(m, dimension) for m in stated]
    results = {fit.result for fit in fits}
    if {"agrees", "conflicts"} <= results:
        wrong = next(f for f in fits if f.result == "conflicts")
        why = "the listing gives another size too"
        return replace(wrong, result="undecided", why=why, also_agrees=True)
    order = ("conflicts", "agrees", "undecided")
    return min(fits, key=lambda fit: (order.index(fit.result), fit.gap_mm))


def compare(stated: Measurement, dimension: Dimension) -> Fit:
    """Hold one stated size against the sheet's.

    Agrees within tolerance and rounding; conflicts beyond them and an honest ruler's error;
    undecided between. A print repeats the maker's figure exactly, so it agrees when equal.

    >>> from models.sheet_records import Dimension
    >>> lens = Dimension("lens_width", 46, 46, 1.0)
    >>> seen = Measurement("lens_width", 51, 51, False, True, "item", 1, 0.5, None, ())
    >>> compare(seen, lens).result
    'conflicts'
    """
    if stated.basis == "printed" and dimension.basis == "printed":
        return _compare_prints(stated, dimension)
    rounding = stated.half_width_mm
    off = max(stated.low_mm - dimension.high_mm, dimension.low_mm - stated.high_mm, 0.0)
    gap = max(0.0, off - dimension.tolerance_mm - rounding)
    if stated.approximate:
        agrees, beyond = (
            off <= dimension.tolerance_mm,
            _ABOUT.get(dimension.quantity, _ABOUT_DEFAULT),
        )
    else:
        agrees, beyond = gap <= 1e-9, 0.0
    if agrees:
        return Fit("agrees", gap, dimension, stated)
    slack = _SLACK.get(dimension.quantity, _SLACK_DEFAULT) + beyond
    slack += _basis_slack(stated, dimension)
    if gap > slack + 1e-9:
        return Fit("conflicts", gap, dimension, stated)
    why = "the seller gives it as approximate" if stated.approximate else _RULER
    return Fit("undecided", gap, dimension, stated, why)


def _compare_prints(stated: Measurement, dimension: Dimension) -> Fit:
    """Two prints are the same or not; one millimetre may still be a slip of the eye."""
    off = max(stated.low_mm - dimension.high_mm, dimension.low_mm - stated.high_mm, 0.0)
    if off < 0.5:
        return Fit("agrees", 0.0, dimension, stated)
    if off < 1.5 or stated.approximate:
        return Fit("undecided", off, dimension, stated, _MISREAD)
    return Fit("conflicts", off, dimension, stated)


def _basis_slack(stated: Measurement, dimension: Dimension) -> float:
    between = "hinge_to_hinge"
    if dimension.quantity != "frame_width" or stated.basis == dimension.basis:
        return 0.0
    # edge to edge is wider than between the hinges, never narrower
    wider = stated.low_mm > dimension.high_mm
    if dimension.basis == between:
        return _BASIS_GAP if wider else 0.0
    return 0.0 if wider or stated.basis == "overall" else _BASIS_GAP


def _soften(fit: Fit, chosen: Combination | None, sizes: Sizes, fixed: Sequence[Dimension]) -> Fit:
    """A conflict that the sheet's own gaps or the way of measuring may explain stays open."""
    if fit.result != "conflicts":
        return fit
    if is_to_bend(fit):
        return replace(fit, result="undecided", why="it may have been measured to the bend only")
    listed = any(fit.dimension is d for d in fixed)
    if not listed and not sizes.complete:
        return replace(fit, result="undecided", why=_NOT_LISTED)
    if sizes.sure == "guess" and not listed:
        return replace(fit, result="undecided", why="the sheet itself is not sure of its sizes")
    return fit


def _if_guessed(case: Case, fit: Fit) -> Fit:
    """A size with a question mark behind it, one the seller does not stand by, one of a part that
    is said to be altered or renewed: it stays open."""
    if fit.result != "conflicts" or not fit.stated.quoted:
        return fit
    place = case.place_of(fit.stated.quoted[0])
    if place is None:
        return fit
    scene, clause = place
    folded = scene.passage.folded
    after = folded[fit.stated.quoted[0].end - scene.passage.shift : clause[1]]
    if _takes_in_the_bend(fit, folded[scene.start : scene.end]):
        return replace(fit, result="undecided", why="it was measured along the bend")
    if fit.dimension.quantity in _CHANGES and is_replaced(scene, clause):
        return replace(fit, result="undecided", why="the part is said to be changed")
    asked = re.match(r"[\w\s/x□-]{0,12}(?:mm|cm)?\s?\?", after)
    if asked or words_of("guesses_size").search(folded, *clause):
        return replace(fit, result="undecided", why="the seller is not sure of it")
    return fit


# sizes of parts that are shortened or renewed (the bridge stays)
_CHANGES = frozenset({"temple_length", "temple_to_bend", "lens_width", "lens_height"})
_BEND_SLACK = 8.0  # how much longer a temple may come out along its bend (own choice)


def _takes_in_the_bend(fit: Fit, sentence: str) -> bool:
    longer = fit.stated.low_mm - fit.dimension.high_mm
    told = fit.dimension.quantity == "temple_length" and 0 < longer <= _BEND_SLACK
    return told and words_of("along_curve").search(sentence) is not None


def _of_another_size(
    fits: list[Fit], sizes: Sizes, stated: Mapping[str, tuple[Measurement, ...]]
) -> list[Fit]:
    """Beside a size that no combination has, one that another combination has stays open."""
    wrong = [f for f in fits if f.result == "conflicts"]
    listed = [f for f in wrong if _is_listed(f, sizes, stated)]
    if len(listed) == len(wrong):
        return fits
    why = "another size of the model has it"
    return [replace(f, result="undecided", why=why) if f in listed else f for f in fits]


def _is_listed(fit: Fit, sizes: Sizes, stated: Mapping[str, tuple[Measurement, ...]]) -> bool:
    same = [
        d for c in sizes.combinations for d in c.dimensions if d.quantity == fit.dimension.quantity
    ]
    return any(compare_all(stated[d.quantity], d).result == "agrees" for d in same)


def is_to_bend(fit: Fit) -> bool:
    """A temple as much too short as the part behind the ear is long."""
    short = fit.dimension.low_mm - fit.stated.high_mm
    known = fit.stated.basis in ("printed", "overall")
    return fit.dimension.quantity == "temple_length" and not known and _BEND[0] <= short <= _BEND[1]


def _is_a_look_alike(
    case: Case, fits: Sequence[Fit], stated: Mapping[str, tuple[Measurement, ...]]
) -> bool:
    return bool(_telling_sizes(case, fits, stated))


def _telling_sizes(
    case: Case, fits: Sequence[Fit], stated: Mapping[str, tuple[Measurement, ...]]
) -> set[str]:
    """Unlisted sizes that are just those by which a look-alike is told from this model."""
    other = measures_as(case, stated)
    if other is None or case.sheet is None:
        return set()
    looks = [k for k in case.sheet.look_alikes if case.sheets.find(k.reference) is other]
    told_by = {point for look in looks for point in look.tell_by}
    unlisted = {
        f.dimension.quantity for f in fits if f.result == "undecided" and f.why == _NOT_LISTED
    }
    return told_by & unlisted


def _by_look_alike(
    case: Case, fits: Sequence[Fit], stated: Mapping[str, tuple[Measurement, ...]],
    findings: list[Finding],
) -> list[Finding]:  # fmt: skip
    """An open list of sizes is no excuse for the very sizes of a look-alike."""
    telling = _telling_sizes(case, fits, stated)
    return [
        replace(f, result="conflicts", strength="soft", why=f.why.split(", but ")[0])
        if f.point in telling
        else f
        for f in findings
    ]


# --- one cause behind several conflicts --------------------------------------------------------


def _by_cause(
    case: Case, sizes: Sizes, fixed: Sequence[Dimension],
    stated: Mapping[str, tuple[Measurement, ...]], findings: list[Finding],
) -> list[Finding]:  # fmt: skip
    """Look for the one slip that explains every conflict: unit, order, another reference."""
    if why := _unit_slip(sizes, fixed, stated):
        return [_open(f, f"unit:{why}", f"it fits the sheet if in {why}") for f in findings]
    if pair := _swap_slip(sizes, fixed, stated):
        names = " and ".join(p.replace("_", " ") for p in pair)
        return [
            _open(f, "swapped", f"it fits the sheet with {names} the other way round")
            for f in findings
        ]
    other = measures_as(case, stated)
    wrong = [f for f in findings if f.result == "conflicts"]
    cause = f"measures_as:{other.id}" if other else "sizes" if len(wrong) > 1 else None
    added = f"; it measures as the {other.name}" if other else ""
    return [
        replace(f, cause=cause, why=f.why + added) if f.result == "conflicts" else f
        for f in findings
    ]


def _open(finding: Finding, cause: str, why: str) -> Finding:
    if finding.result != "conflicts":
        return finding
    text = finding.why + f", but {why}"
    return replace(finding, result="undecided", cause=cause, why=text, explanations=(why,))


def _fits_changed(
    sizes: Sizes, fixed: Sequence[Dimension], stated: Mapping[str, tuple[Measurement, ...]]
) -> bool:
    """Whether every compared size now agrees, and at least one is compared."""
    _, fits = best_combination(sizes, fixed, stated)
    return (
        bool(fits)
        and all(f.result in ("agrees", "undecided") for f in fits)
        and any(f.result == "agrees" for f in fits)
    )


def _unit_slip(
    sizes: Sizes, fixed: Sequence[Dimension], stated: Mapping[str, tuple[Measurement, ...]]
) -> str | None:
    """The unit in which all conflicting sizes would fit."""
    _, fits = best_combination(sizes, fixed, stated)
    wrong = {f.dimension.quantity for f in fits if f.result == "conflicts"}
    if not wrong or not all(_is_absurd(m) for q in wrong for m in stated[q]):
        return None
    for unit, factor in _FACTORS.items():
        changed = {
            q: tuple(_scaled(m, factor) for m in ms) if q in wrong else ms
            for q, ms in stated.items()
        }
        if _fits_changed(sizes, fixed, changed):
            return unit.split(",")[0]
    return None


def _is_absurd(measurement: Measurement) -> bool:
    """No size of an adult's frame.

    Wider than the usual ranges of retail and clinic size guides (F15 to F18).
    """
    low, high = {
        "lens_width": (30, 80), "lens_height": (18, 75), "bridge": (9, 35), "rim_width": (34, 85),
        "rim_height": (22, 80), "frame_width": (95, 180), "temple_length": (75, 175),
    }.get(measurement.quantity, (15, 200))  # fmt: skip
    return not low <= measurement.low_mm <= high


def _scaled(measurement: Measurement, factor: float) -> Measurement:
    return replace(
        measurement,
        low_mm=measurement.low_mm * factor,
        high_mm=measurement.high_mm * factor,
        half_width_mm=max(0.5, measurement.half_width_mm * factor),
    )


def _swap_slip(
    sizes: Sizes, fixed: Sequence[Dimension], stated: Mapping[str, tuple[Measurement, ...]]
) -> tuple[str, str] | None:
    """The two quantities that fit when exchanged."""
    for one, other in _SWAPS:
        if one not in stated or other not in stated:
            continue
        changed = dict(stated)
        changed[one] = tuple(replace(m, quantity=one) for m in stated[other])
        changed[other] = tuple(replace(m, quantity=other) for m in stated[one])
        quantities = {d.quantity for c in sizes.combinations for d in c.dimensions} | {
            d.quantity for d in fixed
        }
        if {one, other} <= quantities and _fits_changed(sizes, fixed, changed):
            return one, other
    return None


def measures_as(case: Case, stated: Mapping[str, tuple[Measurement, ...]]) -> ReferenceSheet | None:
    """Another reference, look-alikes first, whose sizes explain all that is stated here."""
    assert case.sheet is not None
    mine = {d.quantity for c in case.sheet.sizes.combinations for d in c.dimensions}
    compared = (mine | {d.quantity for d in case.sheet.fixed}) & set(stated)
    named = [case.sheets.find(look.reference) for look in case.sheet.look_alikes]
    rest = [s for s in case.sheets.sheets if s.maker == case.sheet.maker]
    for sheet in [*named, *rest]:
        if sheet is None or sheet is case.sheet:
            continue
        _, fits = best_combination(sheet.sizes, sheet.fixed, stated)
        known = {f.dimension.quantity for f in fits}
        if not fits or not all(f.result == "agrees" for f in fits) or not compared <= known:
            continue
        if len(fits) >= 2 or sheet in named:
            return sheet
    return None


def _edition_sizes(
    case: Case, stated: Mapping[str, tuple[Measurement, ...]], findings: list[Finding]
) -> list[Finding]:
    """Sizes that belong to an edition the listing does not name stay open."""
    assert case.sheet is not None
    if case.edition is not None:
        return findings
    for edition in case.sheet.editions:
        sizes = edition.sizes or case.sheet.sizes
        fixed = _fixed(case.sheet.fixed, edition.fixed)
        if (edition.sizes or edition.fixed) and _fits_changed(sizes, fixed, stated):
            why = (
                f"it would be right on the {edition.name} edition, which the listing does not name"
            )
            return [_open(f, f"edition:{edition.name}", why) for f in findings]
    return findings


# --- words -----------------------------------------------------------------------------------


def size_text(low_mm: float, high_mm: float) -> str:
    """A size as a dealer writes it: 46 mm, 46 to 48 mm."""
    if abs(high_mm - low_mm) < 0.05:
        return f"{round(low_mm, 1):g} mm"
    return f"{round(low_mm, 1):g} to {round(high_mm, 1):g} mm"


def _beside(
    fit: Fit, fits: Sequence[Fit], chosen: Combination | None, sizes: Sizes,
    stated: Mapping[str, tuple[Measurement, ...]],
) -> str:  # fmt: skip
    """The stated sizes that a size of another combination cannot stand together with."""
    if chosen is None or fit.result == "agrees" or not _is_listed(fit, sizes, stated):
        return ""
    fitting = [
        f.dimension
        for f in fits
        if f.result == "agrees" and any(f.dimension is d for d in chosen.dimensions)
    ]
    return " and ".join(
        f"{d.quantity.replace('_', ' ')} {size_text(d.low_mm, d.high_mm)}" for d in fitting
    )


def _finding(fit: Fit, sizes: Sizes, beside: str) -> Finding:
    name = fit.dimension.quantity.replace("_", " ")
    stated = size_text(fit.stated.low_mm, fit.stated.high_mm)
    if fit.stated.approximate:
        stated = f"about {stated}"
    expected = _expected(fit.dimension, Sizes() if beside else sizes)
    expected += f" with {beside}" if beside else ""
    said = f"{name}: the seller gives {stated}{_quote(fit.stated)}"
    why = {
        "agrees": f"{said}, the sheet has {expected}",
        "conflicts": f"{said}; the sheet has {expected}",
        "undecided": f"{said}; the sheet has {expected}, but {fit.why}",
    }[fit.result]
    explanations = (
        ("a slip of the ruler or the pen", "a size the sheet does not know")
        if fit.result == "conflicts"
        else ()
    )
    return Finding(
        CHECK, fit.dimension.quantity, fit.result, _strength(fit, sizes), why, stated=stated,
        expected=expected, quoted=fit.stated.quoted, source=fit.dimension.source or None,
        explanations=explanations, also_agrees=fit.also_agrees, near=fit.is_near,
    )  # fmt: skip


def _quote(measurement: Measurement) -> str:
    text = " ".join(measurement.quoted[0].text.split()) if measurement.quoted else ""
    return f" (“{text}”)" if text else ""


def _expected(dimension: Dimension, sizes: Sizes) -> str:
    """All values the sheet admits for this length, with the tolerance."""
    values = {size_text(dimension.low_mm, dimension.high_mm)}
    for combination in sizes.combinations:
        values |= {
            size_text(d.low_mm, d.high_mm)
            for d in combination.dimensions
            if d.quantity == dimension.quantity
        }
    listed = sorted(values, key=lambda v: float(v.split()[0]))
    bare = [value.removesuffix(" mm") for value in listed[:-1]]
    said = f"{', '.join(bare)} or {listed[-1]}" if bare else listed[-1]
    return f"{said} (±{dimension.tolerance_mm:g} mm)"


def _strength(fit: Fit, sizes: Sizes) -> Strength:
    return "soft" if fit.stated.approximate or sizes.sure != "certain" else "hard"


def _silent(
    sizes: Sizes, fixed: Sequence[Dimension], stated: Mapping[str, object]
) -> Iterator[Finding]:
    """Sizes of the sheet that the listing does not state."""
    rows = [*(d for c in sizes.combinations for d in c.dimensions), *fixed]
    for quantity in dict.fromkeys(d.quantity for d in rows):
        if quantity not in stated:
            dimension = next(d for d in rows if d.quantity == quantity)
            expected, name = _expected(dimension, sizes), quantity.replace("_", " ")
            why = f"{name}: not stated; the sheet has {expected}"
            source = dimension.source or None
            yield Finding(
                CHECK, quantity, "not_stated", "hard", why, expected=expected, source=source
            )


Checker = Callable[[Case], Iterable[Finding]]
