"""The values that travel through the tool: a listing, and the evidence read from it.

All are frozen; sequences are tuples. Offsets count Unicode code points. Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

Part = Literal["text", "specific", "answer", "photo"]
Claimed = Literal["present", "absent", "unsure"]
Basis = Literal["printed", "ruler", "hinge_to_hinge", "overall", "to_bend"]
AuthenticityLabel = Literal["disclaimed", "hedged", "asserted", "none"]

# makes a named tuple of a class and a tuple of all its values, in half the time of the class's own
# call, which only hands them on; for the ones made by the thousand
new_named = tuple.__new__


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the seller's own words.

    `part` "text": offsets into title + newline + description, `key` is None.
    `part` "specific": offsets into the value of the item specific labelled `key`.
    `part` "answer": offsets into the seller's answer number `key`.
    `part` "photo": `key` is the path.
    """

    part: Part
    key: str | None
    start: int
    end: int
    text: str


@dataclass(frozen=True, slots=True)
class Photo:
    """One photo of a listing: where its stored bytes lie, and their SHA-256 (hex)."""

    path: str  # relative to the folder, with "/"
    member: str | None  # inside a container, in the readers' notation; None for a plain file
    sha256: str


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that could not be read or used: which file, what is wrong, what to do."""

    source: str
    member: str | None
    what: str
    do: str


@dataclass(frozen=True, slots=True)
class Listing:
    """One saved listing. None means not known; dates are ISO 8601 text."""

    id: str
    source: str
    title: str = ""
    description: str = ""
    listing_id: str | None = None
    url: str | None = None
    member: str | None = None
    line: int | None = None
    specifics: tuple[tuple[str, str], ...] = ()
    price: Decimal | None = None
    currency: str | None = None
    price_kind: Literal["fixed", "bid", "sold"] | None = None
    buy_now: Decimal | None = None
    shipping: Decimal | None = None
    offers_accepted: bool | None = None
    returns: str | None = None
    quantity: int | None = None
    ended: bool | None = None
    ends_at: str | None = None
    seller_id: str | None = None
    seller_name: str | None = None
    seller_feedback: str | None = None
    location: str | None = None
    date_listed: str | None = None
    date_saved: str | None = None
    photos: tuple[Photo, ...] = ()
    missing_photos: tuple[str, ...] = ()
    hidden_text: str | None = None
    answers: tuple[str, ...] = ()
    saved_from: str | None = None  # the address that browser or archive gives, not the page
    origins: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def text(self) -> str:
        """Title, newline, description: what offsets of part "text" count in."""
        return f"{self.title}\n{self.description}"


@dataclass(frozen=True, slots=True)
class Measurement:
    """One stated length; `half_width_mm` is half the step the seller rounded to (FACTS F40)."""

    quantity: str
    low_mm: float
    high_mm: float
    approximate: bool
    of_item: bool
    object: str
    item: int
    half_width_mm: float
    basis: Basis | None
    quoted: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Marking:
    """Something said to be written on a thing; `object` says on which (item, lens, case ...)."""

    text: str
    place: str | None
    claimed: Claimed
    object: str
    quoted: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Era:
    """When the piece was made, as claimed; an open side is None."""

    from_year: int | None
    to_year: int | None
    approximate: bool
    quoted: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Feature:
    """A construction claim; `value` is its normal form ("seven-barrel" is "7"), if it has one."""

    kind: str
    text: str
    claimed: Claimed
    value: str | None
    quoted: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Authenticity:
    """The listing's one label on authenticity, with the words that gave it."""

    label: AuthenticityLabel = "none"
    quoted: tuple[Span, ...] = ()


@dataclass(frozen=True, slots=True)
class KeyPhrase:
    """A phrase of one of the annotated classes (returns_refused, urgency, ...)."""

    phrase_class: str
    quoted: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Condition:
    """A state of the piece (crack, warp, bloom, repair, part_missing, lenses_replaced ...)."""

    kind: str
    claimed: Claimed
    part: str | None
    quoted: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour said of a part (front, temples, pads, rivets, lenses, or None for the whole)."""

    value: str
    part: str | None
    quoted: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Edition:
    """A named edition the seller claims (limited, anniversary, number so-and-so ...)."""

    name: str
    quoted: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything the text of one listing says, each item pointing at its own words."""

    id: str
    measurements: tuple[Measurement, ...] = ()
    markings: tuple[Marking, ...] = ()
    eras: tuple[Era, ...] = ()
    features: tuple[Feature, ...] = ()
    authenticity: Authenticity = Authenticity()
    key_phrases: tuple[KeyPhrase, ...] = ()
    conditions: tuple[Condition, ...] = ()
    colours: tuple[Colour, ...] = ()
    editions: tuple[Edition, ...] = ()
