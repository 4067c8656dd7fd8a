"""Small hand-made runs for the tests of tables, explanations and reports."""

from __future__ import annotations

import io
from dataclasses import replace
from decimal import Decimal

from PIL import Image

from extractors.records import (
    Authenticity,
    Evidence,
    KeyPhrase,
    Listing,
    Marking,
    Measurement,
    Photo,
    Problem,
    Span,
)
from models.notes import Note
from models.records import Assessment, Candidate, Finding, Question, Step
from triage.run import PhotoPair, Row, Run, Thumbnail

TITLE = "Vennerby Halm 52-18 acetate frame"
DESCRIPTION = (
    "Lens 49 mm wide, arms 140 mm.\nStamped VENNERBY on the left arm, no CE.\n"
    "Seven-barrel hinges. Returns not accepted."
)
TEXT = f"{TITLE}\n{DESCRIPTION}"


def span(words: str, text: str = TEXT) -> Span:
    """The first place of these words in the text."""
    start = text.index(words)
    return Span("text", None, start, start + len(words), words)


def picture(shade: int) -> Thumbnail:
    """A plain picture of one shade."""
    out = io.BytesIO()
    Image.new("RGB", (160, 120), (shade, shade // 2, 255 - shade)).save(out, "JPEG")
    return Thumbnail(out.getvalue(), 160, 120, 1600, 1200)


LISTING = Listing(
    id="L1",
    source="week/one.html",
    title=TITLE,
    description=DESCRIPTION,
    specifics=(("Bridge", "18 mm"), ("Made in", "Denmark")),
    price=Decimal("84.50"),
    currency="EUR",
    price_kind="bid",
    seller_id="s-1",
    seller_name="olde_lens_loft",
    location="Aarhus",
    url="https://market.example/item/1",
    date_listed="2026-11-02",
    date_saved="2026-11-20",
    photos=(Photo("week/one_1.jpg", None, "a" * 64), Photo("week/one_2.jpg", None, "b" * 64)),
    answers=("Yes, seven barrels on both sides.",),
)

EVIDENCE = Evidence(
    id="L1",
    measurements=(
        Measurement("lens_width", 52, 52, False, True, "item", 1, 0.5, "printed", (span("52-18"),)),
        Measurement("lens_width", 49, 49, False, True, "item", 1, 0.5, None, (span("49 mm"),)),
        Measurement(
            "temple_length", 140, 140, False, True, "item", 1, 0.5, None, (span("140 mm"),)
        ),
    ),
    markings=(
        Marking("VENNERBY", "left arm", "present", "item", (span("VENNERBY"),)),
        Marking("CE", None, "absent", "item", (span("no CE"),)),
    ),
    authenticity=Authenticity(),
    key_phrases=(KeyPhrase("returns_refused", (span("Returns not accepted"),)),),
)

CONFLICT = Finding(
    "sizes",
    "lens_width",
    "conflicts",
    "hard",
    "The sheet knows no lens of 49 mm; this maker never made one.",
    stated="49 mm",
    expected="50 or 52 mm",
    quoted=(span("49 mm"),),
    source="seven pieces measured",
    explanations=("one eye measured inside the rim",),
)
AGREES = Finding(
    "points",
    "inscription_left",
    "agrees",
    "soft",
    "The name belongs on the left arm.",
    stated="VENNERBY",
    expected="VENNERBY",
    quoted=(span("VENNERBY on the left arm"),),
)
UNDECIDED = Finding(
    "points",
    "bridge",
    "undecided",
    "clue",
    "Two figures are given.",
    stated="18 mm",
    quoted=(Span("specific", "Bridge", 0, 5, "18 mm"), span("52-18")),
)
SILENT = Finding("points", "nose_pads", "not_stated", "soft", "Nothing is said of the pads.")
SHARED = Finding(
    "photo_reuse",
    "photo",
    "conflicts",
    "soft",
    "The same picture stands in the listing of another seller, seen first there.",
    quoted=(Span("photo", "week/one_1.jpg", 0, 0, ""),),
    about=("L2",),
)

ASSESSMENT = Assessment(
    id="L1",
    risk=0.81,
    interval=(0.6, 0.93),
    score=1.45,
    steps=(
        Step("starting value", -1.1),
        Step("sizes conflict with the sheet", 2.0),
        Step("photo used by another seller", 0.9),
        Step("inscription as on the sheet", -0.35),
    ),
    completeness=0.4,
    next_step="look",
    reason="The lens is 3 mm too narrow for any known size, and a photo is shared.",
    reference="vennerby-halm",
    edition="1972",
    candidates=(Candidate("vennerby-holm", "one letter away"),),
    findings=(CONFLICT, AGREES, UNDECIDED, SILENT, SHARED),
    shares_photo_with=("L2",),
    questions=(
        Question("Could you lay a ruler across one lens and send a photo?", "lens_width"),
        Question("Are the nose pads part of the front?", "nose_pads"),
    ),
)

SECOND = replace(
    LISTING,
    id="L2",
    source="week/two.html",
    title="Vennerby Halm frame",
    description="A nice frame.",
    specifics=(),
    answers=(),
    price=None,
    seller_id="s-2",
    seller_name="brass_and_horn",
    date_listed="2026-10-01",
    photos=(Photo("week/two_1.jpg", None, "c" * 64),),
)
THIRD = replace(SECOND, id="L3", source="mail/three.eml", title="Orphan 70s frame", photos=())


def calm(listing: Listing, step: str, risk: float, reason: str) -> Assessment:
    """An assessment without findings."""
    return Assessment(
        id=listing.id,
        risk=risk,
        interval=(risk - 0.1, risk + 0.1),
        score=-1.1,
        steps=(Step("starting value", -1.1),),
        completeness=None,
        next_step=step,  # type: ignore[arg-type]
        reason=reason,
    )


NOTE = Note(
    "celluloid", "Celluloid burns fiercely.", "Conservation Notes 15/3", span("acetate frame")
)

RUN = Run(
    folder="week",
    rows=(
        Row(1, LISTING, EVIDENCE, ASSESSMENT, notes=(NOTE,)),
        Row(2, SECOND, Evidence("L2"), calm(SECOND, "ask", 0.5, "It says too little.")),
        Row(3, THIRD, Evidence("L3"), calm(THIRD, "no_sheet", 0.3, "No sheet for this name.")),
    ),
    pairs=(
        PhotoPair(
            "week/one_1.jpg",
            "week/two_1.jpg",
            0.97,
            "copy",
            ("mirrored", "cropped"),
            ((100, 100), (1500, 100), (1500, 1100), (100, 1100)),
            ((0, 0), (1600, 0), (1600, 1200), (0, 1200)),
        ),
    ),
    problems=(
        Problem("week/broken.html", None, "the file is cut off", "save the page again"),
        Problem("week/big.zip", "a.jpg", "too large to open", "unpack it first"),
    ),
    thumbnails={"a" * 64: picture(200), "b" * 64: picture(120), "c" * 64: picture(60)},
    unsheeted=(("Orphan", 1),),
)
