"""The result of one run over a folder: what every screen and every stage is made from."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from extractors.records import Evidence, Listing, Photo, Problem
from models.notes import Note
from models.records import Assessment, Finding, NextStep

PairAnswer = Literal["copy", "same_piece", "alike", "shared_overlay"]
Corner = tuple[float, float]

# stands at the head of every report, so that one lying in a folder is not read as a listing
REPORT_MARK = 'content="frame-triage report"'

# the order of the groups, and what a buyer reads above each
GROUPS: dict[NextStep, str] = {
    "look": "Worth a close look",
    "ask": "Worth a question",
    "cannot_say": "Cannot be judged yet",
    "no_sheet": "No reference sheet yet",
    "leave": "To leave",
}

SHORT: dict[NextStep, str] = {
    "look": "Look",
    "ask": "Ask",
    "cannot_say": "Cannot say",
    "no_sheet": "No sheet",
    "leave": "Leave",
}


def place_text(path: str, member: str | None) -> str:
    """Name a file or a member of one in a single text.

    >>> place_text("week.zip", "a.jpg")
    'week.zip!a.jpg'
    """
    return path if member is None else f"{path}!{member}"


def problem_groups(problems: Iterable[Problem]) -> list[tuple[str, str, tuple[str, ...]]]:
    """(what is wrong, what to do, where) of problems, those of one kind together, most first.

    A place is a file or a member of one, with the lines of it where these are told.
    """
    groups: dict[tuple[str, str], dict[str, list[str]]] = {}
    counts: Counter[tuple[str, str]] = Counter()
    for problem in problems:
        line = re.match(r"line (\d+):? ", problem.what)
        what = problem.what[line.end() :] if line else problem.what
        place = place_text(problem.source, problem.member)
        counts[what, problem.do] += 1
        lines = groups.setdefault((what, problem.do), {}).setdefault(place, [])
        lines += [line[1]] if line else []
    return [
        (what, do, tuple(_with_lines(place, lines) for place, lines in places.items()))
        for (what, do), places in sorted(groups.items(), key=lambda item: -counts[item[0]])
    ]


# stands above what is in a group by what it tells, but in the order behind others by its risk
FURTHER_DOWN = "Told as well, with something against it: further down in the order"


def first_further_down(step: NextStep, rows: Sequence[Row]) -> int | None:
    """The place in its group of the first listing whose number skips others; None if none does.

    Only in the first group may something stand for what it tells and be numbered by its risk.
    """
    skips = (n for n in range(1, len(rows)) if rows[n].rank > rows[n - 1].rank + 1)
    return next(skips, None) if step == "look" else None


LINES_SHOWN = 5


def _with_lines(place: str, lines: Sequence[str]) -> str:
    """A place with its first lines, as listings in it are named.

    >>> _with_lines("week.csv", ["3", "9"]), _with_lines("a.html", [])
    ('week.csv:3, 9', 'a.html')
    """
    rest = len(lines) - LINES_SHOWN
    told = ", ".join(lines[:LINES_SHOWN]) + (f" and {rest} more lines" if rest > 0 else "")
    return f"{place}:{told}" if told else place


def photo_place(photo: Photo) -> str:
    """Name a photo as the stage records do."""
    return place_text(photo.path, photo.member)


def same_seller(one: Listing, two: Listing) -> bool:
    """Whether both name the same seller; two unnamed sellers are not held to be one."""
    for key in ("seller_id", "seller_name"):
        a, b = getattr(one, key), getattr(two, key)
        if a is not None and b is not None:
            return bool(a == b)
    return False


@dataclass(frozen=True, slots=True)
class Thumbnail:
    """A small JPEG of a photo, and the size of the upright photo it was made from (pixels)."""

    jpeg: bytes
    width: int
    height: int
    full_width: int
    full_height: int


@dataclass(frozen=True, slots=True)
class PhotoPair:
    """Two photos that the tool holds to show the same; `a` and `b` are places as in `photo_place`.

    `area_a` and `area_b` are corner points of the matching part in pixels of the upright photo.
    """

    a: str
    b: str
    score: float
    answer: PairAnswer
    changes: tuple[str, ...] = ()
    area_a: tuple[Corner, ...] = ()
    area_b: tuple[Corner, ...] = ()
    stands: bool = True


@dataclass(frozen=True, slots=True)
class Row:
    """One ranked listing with everything known about it; `rank` counts from 1.

    `disputed` are findings that the buyer holds to be wrong: shown, but not weighed. `notes` are
    about safety, raised by the seller's words; they do not move the rank. `places` are the first
    and last between which it stands in 9 of 10 draws of what is unsure; None where not reckoned.
    """

    rank: int
    listing: Listing
    evidence: Evidence
    assessment: Assessment
    disputed: tuple[Finding, ...] = ()
    notes: tuple[Note, ...] = ()
    places: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Earlier:
    """A listing of an earlier week, the reference it was held to claim, and its pictures here.

    `shows` pairs the SHA-256 of a photo of this week with that of the earlier listing.
    """

    listing: Listing
    reference: str | None
    shows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Entered:
    """What is known from the memory that moves a ranking.

    By listing id: `answers` are the seller's, read like the listing's own text; `disputed` names
    findings by check and point. `earlier` are listings of other weeks that show a picture of this
    one; `known_pictures` names the collection of a catalogue picture, by SHA-256 of a photo here.
    """

    answers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    disputed: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)
    earlier: tuple[Earlier, ...] = ()
    known_pictures: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Past:
    """How a piece stood in one week: the day, what happened since the week before, its price."""

    date: str
    state: str
    price: str


@dataclass(frozen=True, slots=True)
class PricePoint:
    """A price that a piece of a reference was offered, sold or bought at."""

    date: str
    reference: str
    price: Decimal
    currency: str | None
    kind: str | None
    source: str


@dataclass(frozen=True, slots=True)
class Run:
    """One run: the listings in order, the photo pairs, the problems, the pictures at hand.

    `thumbnails` is by SHA-256 of the stored bytes; `unsheeted` counts the names without a sheet,
    `doubts` says where a sheet itself may be wrong. A review adds, by listing id, `since` (what
    it has to say) and `history` (how the piece stood week by week), and `prices` (what references
    went for). `holds` names the means of containment that were tried and whether each was in
    force; it is empty where no file had to be opened.
    """

    folder: str
    rows: tuple[Row, ...] = ()
    pairs: tuple[PhotoPair, ...] = ()
    problems: tuple[Problem, ...] = ()
    thumbnails: Mapping[str, Thumbnail] = field(default_factory=dict)
    unsheeted: tuple[tuple[str, int], ...] = ()
    doubts: tuple[str, ...] = ()
    sureness: str = ""  # how sure the order is, in a sentence
    since: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    history: Mapping[str, tuple[Past, ...]] = field(default_factory=dict)
    prices: tuple[PricePoint, ...] = ()
    holds: Mapping[str, bool] = field(default_factory=dict, compare=False)

    def group(self, step: NextStep) -> tuple[Row, ...]:
        """The rows of one group, in order."""
        return tuple(row for row in self.rows if row.assessment.next_step == step)

    def counts(self) -> Counter[NextStep]:
        """How many listings each group holds."""
        return Counter(row.assessment.next_step for row in self.rows)
