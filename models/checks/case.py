"""One listing made ready for the checks: its sentences, its edition, the rules that hold for it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

from extractors.catalogue import extract
from extractors.folding import plain
from extractors.records import Evidence, Listing, Span
from models.focus import focused, focused_evidence
from models.others import names_in, without_others
from models.passages import Passage, clause_at, clauses, passages
from models.point_values import (
    Scene,
    Statement,
    is_doubted,
    read_point,
    replaced_parts,
    scenes,
    speaks_of_others,
)
from models.point_words import PointWords, facet, point_words
from models.records import Finding
from models.resolve import Resolution, editions_denied
from models.sheet_records import Condition, EditionSheet, ReferenceSheet, Rule
from models.sheets import Sheets
from models.wording import words_of

_OPAQUE = frozenset({"black", "white"})
_SEE_THROUGH = frozenset({"clear", "tortoise", "amber"})


@dataclass(frozen=True, eq=False)
class Case:
    """What a check gets: the listing, its evidence and sheet, and its text cut into scenes.

    `sheet` is None where no reference is claimed; `kept` holds what was read once.
    """

    listing: Listing
    evidence: Evidence
    resolution: Resolution
    sheet: ReferenceSheet | None
    sheets: Sheets
    found: tuple[Passage, ...]
    told: tuple[Scene, ...]
    replaced: dict[str, Span]
    kept: dict[str, object] = field(default_factory=dict)

    def read(self, point: str) -> tuple[Statement, ...]:
        """What the listing says of a point (read once)."""
        key = f"read:{point}"
        if key not in self.kept:
            self.kept[key] = read_point(words_for(self.sheet, point), self.told)
        return self.kept[key]  # type: ignore[return-value]

    def says(self, word_class: str) -> bool:
        """Whether a word of the class stands anywhere in the listing."""
        key = f"says:{word_class}"
        if key not in self.kept:
            self.kept[key] = any(words_of(word_class).search(p.folded) for p in self.found)
        return bool(self.kept[key])

    @property
    def has_other_lenses(self) -> bool:
        """Whether the lenses are said to be replaced, missing or made to a prescription."""
        kinds = {"lenses_replaced", "lenses_missing", "prescription"}
        told = any(c.kind in kinds and c.claimed == "present" for c in self.evidence.conditions)
        return told or "lens" in self.replaced or self.says("other_lenses")

    def is_of_another(self, span: Span) -> bool:
        """Whether the words at `span` are said of another piece."""
        place = self.place_of(span)
        if place is None:
            return False
        scene, clause = place
        return speaks_of_others(scene, clause, span.start - scene.passage.shift)

    def is_doubted(self, span: Span) -> bool:
        """Whether the words at `span` are doubted, or stand right before a question mark."""
        place = self.place_of(span)
        if place is None:
            return False
        scene, clause = place
        after = scene.passage.folded[span.end - scene.passage.shift :]
        return is_doubted(scene, clause) or re.match(r"[\w ]{0,12}\?", after) is not None

    def place_of(self, span: Span) -> tuple[Scene, tuple[int, int]] | None:
        """The sentence and the clause a span stands in."""
        for scene in self.told:
            start = span.start - scene.passage.shift
            same = (scene.passage.part, scene.passage.key) == (span.part, span.key)
            if same and scene.start <= start < scene.end:
                clause = clause_at(scene.passage.folded, (scene.start, scene.end), start)
                if clause is not None:
                    return scene, clause
        return None

    @property
    def edition(self) -> EditionSheet | None:
        """The edition that the listing names, or shows by the edition's own point."""
        if self.sheet is None:
            return None
        if "edition" not in self.kept:
            self.kept["edition"] = _edition_of(self, self.sheet)
        return self.kept["edition"]  # type: ignore[return-value]


def make_case(listing: Listing, evidence: Evidence, resolution: Resolution, sheets: Sheets) -> Case:
    """Read the listing once for all checks."""
    named = names_in(listing, resolution, sheets)
    rest = without_others(listing, named)
    evidence = evidence if rest is listing else extract(rest)
    whole = passages(rest)
    found = focused(whole, named.own)
    evidence = focused_evidence(evidence, rest, whole, named.own)
    listing = rest
    told = scenes(found)
    sheet = sheets.get(resolution.reference)
    return Case(listing, evidence, resolution, sheet, sheets, found, told, replaced_parts(told))


@lru_cache(maxsize=2048)
def words_for(sheet: ReferenceSheet | None, point: str) -> PointWords:
    """The point's words with everything the sheet adds to them."""
    return point_words(point, all_rules(sheet, point) if sheet else ())


def all_rules(sheet: ReferenceSheet, point: str) -> tuple[Rule, ...]:
    """Every rule about a point, those of editions too."""
    edition_rules = [r for e in sheet.editions for r in e.rules]
    return tuple(r for r in (*sheet.rules, *edition_rules) if r.point == point)


@dataclass(frozen=True, slots=True)
class Holding:
    """The rules for one point of one listing: those that hold, may hold, or hold in an edition."""

    sure: tuple[Rule, ...]
    maybe: tuple[Rule, ...]
    editions: tuple[tuple[str, Rule], ...]


def rules_for(case: Case, point: str) -> Holding:
    """Sort a point's rules by whether they hold for this listing."""
    assert case.sheet is not None
    own = [r for r in case.edition.rules if r.point == point] if case.edition else []
    base = own or [r for r in case.sheet.rules if r.point == point]
    told = [(holds(case, rule.when), rule) for rule in base]
    sure = tuple(rule for value, rule in told if value is True)
    maybe = tuple(rule for value, rule in told if value is None)
    others: tuple[tuple[str, Rule], ...] = ()
    if case.edition is None:
        others = tuple(
            (e.name, r)
            for e in case.sheet.editions
            for r in e.rules
            if r.point == point and not _is_ruled_out(case, e)
        )
    return Holding(sure, maybe, others)


def _is_denied(case: Case, edition: EditionSheet) -> bool:
    assert case.sheet is not None
    if "editions_denied" not in case.kept:
        denied = editions_denied(case.sheet, case.listing, case.evidence)
        case.kept["editions_denied"] = denied
    return edition.name in case.kept["editions_denied"]  # type: ignore[operator]


def _is_ruled_out(case: Case, edition: EditionSheet) -> bool:
    """The listing denies the edition, or the point by which it is known."""
    if _is_denied(case, edition):
        return True
    return any(condition_value(case, c, own_only=True) is False for c in edition.known_by)


def holds(case: Case, conditions: Iterable[Condition]) -> bool | None:
    """Whether all conditions hold; None where the listing does not say."""
    values = [condition_value(case, c) for c in conditions]
    if False in values:
        return False
    return None if None in values else True


def condition_value(case: Case, condition: Condition, own_only: bool = False) -> bool | None:
    """Whether one condition holds; None where the listing does not say."""
    if condition.subject == "colour":
        value = _colour_is(frame_colours(case), condition.values)
    elif condition.subject == "edition":
        named = case.resolution.edition
        value = None if named is None else named.casefold() in condition.values
    elif condition.subject == "country":
        value = _country_is(case, condition.values)
    elif condition.subject == "lens":
        value = None
    else:
        value = _point_is(case, condition, own_only)
    return value if value is None or not condition.negated else not value


def _point_is(case: Case, condition: Condition, own_only: bool) -> bool | None:
    """Whether a point of the listing has one of the values."""
    markings = [m for m in case.evidence.markings if m.object in ("item", "lens", "")]
    wanted = [_squeezed(v) for v in condition.values]
    for marking in markings:
        if _squeezed(marking.text) in wanted and marking.claimed != "unsure":
            return marking.claimed == "present"
    words = words_for(case.sheet, condition.subject)
    statements = case.read(condition.subject)
    for f in words.facets:
        values = {f.canonical(v) or v for v in condition.values}
        told = [s for s in statements if s.facet == f.name and s.claimed == "present"]
        if told:
            return any(s.value in values for s in told)
    counts = [s for s in statements if s.facet in ("count", "number") and s.claimed == "present"]
    if counts:
        return any(s.value in condition.values for s in counts)
    absent = [s for s in statements if s.facet == "presence" and s.claimed == "absent"]
    return False if absent else None


def _squeezed(text: str) -> str:
    return "".join(c for c in plain(text) if c.isalnum())


_OTHER_COUNTRY = ("off_frame", "on_lens", "year_aside", "other_thing", "aside")


def _country_is(case: Case, values: tuple[str, ...]) -> bool | None:
    """A country named beside lenses, a case or a purchase tells nothing of the making."""
    for scene in case.told:
        for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
            text = scene.passage.folded[clause.start : clause.end]
            named = any(plain(value) in text for value in values)
            if named and not any(words_of(name).search(text) for name in _OTHER_COUNTRY):
                return True
    return None


def _edition_of(case: Case, sheet: ReferenceSheet) -> EditionSheet | None:
    for edition in sheet.editions:
        if case.resolution.edition == edition.name:
            return edition
    for edition in sheet.editions:
        known = [condition_value(case, c) for c in edition.known_by]
        if known and all(value is True for value in known) and not _is_denied(case, edition):
            return edition
    return None


# --- the frame's colour ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FrameColour:
    """A colour said of the whole or the front, with the word before it ("dark tortoise")."""

    value: str
    words: str


def frame_colours(case: Case) -> tuple[FrameColour, ...]:
    """Colours of the frame: of the front, of the whole, or standing alone in title or label."""
    key = "colours"
    if key not in case.kept:
        case.kept[key] = tuple(_find_frame_colours(case))
    return case.kept[key]  # type: ignore[return-value]


def _find_frame_colours(case: Case) -> Iterable[FrameColour]:
    colours = facet("colour")
    for colour in case.evidence.colours:
        if colour.part in (None, "front", "frame", "whole"):
            text = colour.quoted[0].text if colour.quoted else colour.value
            value = colours.canonical(colour.value) or colours.canonical(text)
            if value:
                yield FrameColour(value, plain(text))
    for statement in read_point(point_words("frame_colour"), case.told):
        if statement.facet == "colour" and statement.claimed == "present":
            yield FrameColour(statement.value, plain(statement.span.text))
    for scene in case.told:
        in_title = scene.passage.part == "text" and scene.start < scene.passage.title_end
        label = scene.passage.folded[: -scene.passage.shift] if scene.passage.shift else ""
        in_label = any(w in label for w in ("colo", "farbe", "couleur", "color"))
        if (in_title or in_label) and not ("lens" in label or "glas" in label):
            yield from _alone(scene)


def _alone(scene: Scene) -> Iterable[FrameColour]:
    """Colour words that no other part stands right behind."""
    for value, pattern in facet("colour").values.items():
        for match in pattern.finditer(scene.passage.folded, scene.start, scene.end):
            owned = any(
                0 <= start - match.end() <= 2 and name not in ("front",)
                for name, start, _ in scene.parts
            )
            if not owned:
                before = scene.passage.folded[max(scene.start, match.start() - 8) : match.end()]
                yield FrameColour(value, before)


def _colour_is(colours: tuple[FrameColour, ...], values: tuple[str, ...]) -> bool | None:
    """Whether the frame has one of these colours; "opaque" and "dark ..." are understood."""
    if not colours:
        return None
    answers = [_one_colour_is(colour, value) for colour in colours for value in values]
    if True in answers:
        return True
    return None if None in answers else False


def _one_colour_is(colour: FrameColour, value: str) -> bool | None:
    if "opaque" in value or "solid" in value:
        if "opaque" in colour.words or "solid" in colour.words or colour.value in _OPAQUE:
            return True
        return False if colour.value in _SEE_THROUGH else None
    if "transparent" in value or "translucent" in value:
        if colour.value in _SEE_THROUGH:
            return colour.value == "clear" or None
        return False if colour.value in _OPAQUE else None
    wanted = facet("colour").canonical(value)
    if wanted is None and value.split()[0] == "dark":  # "not dark colours"
        if colour.value == "black" or "dark" in colour.words:
            return True
        return False if colour.value in {"clear", "amber", "white", "yellow"} else None
    if wanted is None:
        return None if plain(value) not in colour.words else True
    if wanted != colour.value:
        return False
    for shade in ("dark", "light", "pale"):
        if shade in value and shade not in colour.words:
            other = any(s in colour.words for s in ("dark", "light", "pale", "blond"))
            return False if other else None
    return True


def no_reference(case: Case) -> Finding:
    """The finding of a listing that claims no reference with a sheet."""
    return Finding(
        "reference", "reference", "no_reference", "clue",
        case.resolution.why or "no reference is claimed",
        stated=case.resolution.named, quoted=case.resolution.quoted,
    )  # fmt: skip
