"""A reference sheet as values: what a practitioner knows of one model of frame.

All lengths are millimetres, all values text in the sheet's own words; nothing here reads a file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Force = Literal["always", "usually"]
Wear = Literal["stays", "can vanish"]
Sure = Literal["certain", "likely", "guess"]

LENGTHS = (
    "lens_width", "lens_height", "lens_diagonal", "bridge", "temple_length", "frame_width",
    "frame_height", "rim_width", "rim_height", "temple_to_bend",
)  # fmt: skip
INSCRIPTIONS = (
    "inscription_left", "inscription_right", "inscription_inside", "lens_mark", "bridge_mark",
    "badge",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Years:
    """When the model was made; an open side is None."""

    first: int | None = None
    last: int | None = None


@dataclass(frozen=True, slots=True)
class Dimension:
    """One length of the reference; the range is widened by `tolerance_mm` on both sides."""

    quantity: str
    low_mm: float
    high_mm: float
    tolerance_mm: float
    basis: str | None = None
    source: str = ""


@dataclass(frozen=True, slots=True)
class Combination:
    """One size of the model: these lengths belong together."""

    name: str
    dimensions: tuple[Dimension, ...]


@dataclass(frozen=True, slots=True)
class Sizes:
    """Every known size; only a complete list makes an unlisted size a conflict."""

    combinations: tuple[Combination, ...] = ()
    complete: bool = False
    source: str = ""
    sure: Sure = "certain"
    question: str = ""
    photo: str = ""


@dataclass(frozen=True, slots=True)
class Condition:
    """When a rule holds: `subject` ("colour", "edition", "size", a point) is, or is not, one of."""

    subject: str
    values: tuple[str, ...]
    negated: bool = False


@dataclass(frozen=True, slots=True)
class Inscription:
    """What is written: the literal text, how it is made, where it sits and may not sit."""

    text: tuple[str, ...] = ()
    how: tuple[str, ...] = ()
    where: tuple[str, ...] = ()
    not_where: tuple[str, ...] = ()
    aligned: str = ""
    numerals: Literal["roman", "arabic", ""] = ""
    how_often: int | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """One statement of the sheet about one point.

    `values` are the admitted values, `force` how firm they are; `never` lists what cannot be
    ("any": nothing of the kind). `low`/`high`/`tolerance` hold a plain number (an angle, a count).
    `cues` are words a seller may use for a value, `topic` words that name the part.
    """

    point: str
    values: tuple[str, ...] = ()
    force: Force = "always"
    never: tuple[str, ...] = ()
    usual: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    tolerance: float = 0.0
    unit: str = ""
    when: tuple[Condition, ...] = ()
    inscription: Inscription | None = None
    wear: Wear | None = None
    harmless: tuple[str, ...] = ()
    source: str = ""
    sure: Sure = "certain"
    why: str = ""
    question: str = ""
    photo: str = ""
    cues: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    topic: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class EditionSheet:
    """An edition: the points and sizes it replaces, and the names or the point that tell it."""

    name: str
    aliases: tuple[str, ...] = ()
    known_by: tuple[Condition, ...] = ()
    years: Years | None = None
    sizes: Sizes | None = None
    fixed: tuple[Dimension, ...] = ()
    rules: tuple[Rule, ...] = ()


@dataclass(frozen=True, slots=True)
class LookAlike:
    """Another reference that is easily taken for this one, and the points that tell them apart."""

    reference: str
    how: str = ""
    tell_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Picture:
    """The buyer's own picture of a known piece with places marked (fractions of its size)."""

    file: str
    shows: str = ""
    places: tuple[tuple[float, float, str], ...] = ()


@dataclass(frozen=True, eq=False)
class ReferenceSheet:
    """Everything known of one model; `file` is where it was read.

    Compared by identity, so that what is worked out from a sheet can be kept beside it.
    """

    id: str
    name: str
    maker: str = ""
    aliases: tuple[str, ...] = ()
    years: Years = Years()
    country: tuple[str, ...] = ()
    sizes: Sizes = Sizes()
    fixed: tuple[Dimension, ...] = ()
    rules: tuple[Rule, ...] = ()
    editions: tuple[EditionSheet, ...] = ()
    look_alikes: tuple[LookAlike, ...] = ()
    marks_belong: tuple[str, ...] = ()
    marks_never: tuple[str, ...] = ()
    usual_faults: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()
    source: str = ""
    sure: Sure = "certain"
    notes: str = ""
    file: str = ""
    text: str = field(default="", repr=False)  # as written, to say in which line a thing stands

    @property
    def points(self) -> tuple[str, ...]:
        """Names of everything the sheet says something about, each once, in its order."""
        names = [d.quantity for c in self.sizes.combinations for d in c.dimensions]
        names += [d.quantity for d in self.fixed] + [rule.point for rule in self.rules]
        if self.years.first or self.years.last:
            names.append("production_years")
        return tuple(dict.fromkeys(names))
