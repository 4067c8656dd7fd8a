"""The whole way: a folder of listings becomes a ranked run, and a second look costs little."""

import io
import json
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter

import triage.pipeline as pipeline
from extractors.errors import UserError
from triage.cli import main
from triage.pipeline import add_pictures, run_stage, screen, with_own_ids
from triage.progress import Progress, summary
from triage.report import make_report
from triage.run import Entered, PhotoPair
from triage.settings import Settings
from triage.shown import last_shown, recall, remember

SHEET = """
id = "vennerby-halm"
name = "Vennerby Halm"
aliases = ["Halm"]
years = [1968, 1975]
source = "three pieces measured"
sure = "certain"

[sizes]
complete = true
basis = "printed"
combinations = [{ name = "one", lens_width = 52, bridge = 18, temple_length = 140 }]

[[point]]
name = "hinge_barrels"
always = 7
why = "Seven barrels throughout."
question = "How many barrels do the hinges have?"
photo = "open hinge from the side"
"""

LISTINGS = [
    {
        "id": "fits",
        "title": "Vennerby Halm 52-18-140",
        "description": "Seven-barrel hinges. Made about 1970.",
        "seller_name": "olde_lens_loft",
        "date_listed": "2026-11-01",
        "photos": ["one.jpg", "two.jpg"],
    },
    {
        "id": "differs",
        "title": "Vennerby Halm frame",
        "description": "Lens 44 mm, bridge 25 mm, arms 120 mm. Three-barrel hinges.",
        "seller_name": "brass_and_horn",
        "date_listed": "2026-11-05",
        "photos": ["three.jpg"],
    },
    {"id": "silent", "title": "Vennerby Halm", "description": "A frame.", "seller_name": "s3"},
    {"id": "unknown", "title": "Ostelino Bruma", "description": "Nice.", "seller_name": "s4"},
]


def photo(seed: int, quality: int = 90, crop: int = 0) -> bytes:
    """A picture full of detail, the same for the same seed."""
    rng = np.random.default_rng(seed)
    picture = Image.fromarray(rng.integers(0, 255, (30, 40, 3), dtype=np.uint8))
    picture = picture.resize((800, 600), Image.Resampling.BICUBIC)
    draw = ImageDraw.Draw(picture)
    for _ in range(50):
        x, y = int(rng.integers(760)), int(rng.integers(560))
        shade = tuple(int(v) for v in rng.integers(0, 255, 3))
        draw.rectangle((x, y, x + int(rng.integers(10, 90)), y + int(rng.integers(10, 90))), shade)
    picture = picture.filter(ImageFilter.GaussianBlur(1))
    if crop:
        picture = picture.crop((crop, crop, 800 - crop, 600 - crop))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=quality)
    return out.getvalue()


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("place")
    (place / "sheets").mkdir()
    (place / "sheets" / "vennerby-halm.toml").write_text(SHEET, encoding="utf-8")
    week = place / "week"
    week.mkdir()
    lines = "".join(json.dumps(listing) + "\n" for listing in LISTINGS)
    (week / "listings.jsonl").write_text(lines, encoding="utf-8")
    (week / "one.jpg").write_bytes(photo(1))
    (week / "two.jpg").write_bytes(photo(2))
    (week / "three.jpg").write_bytes(photo(1, quality=60, crop=30))
    return place


@pytest.fixture(scope="module")
def settings(place: Path) -> Settings:
    return Settings(workers=1, cache=place / "cache", sheets=(place / "sheets",))


@pytest.fixture(scope="module")
def run(place: Path, settings: Settings) -> pipeline.Run:
    return screen(place / "week", settings)


def _row(run: pipeline.Run, listing_id: str):  # type: ignore[no-untyped-def]
    return next(row for row in run.rows if row.listing.id == listing_id)


def test_every_listing_is_ranked_once(run: pipeline.Run) -> None:
    assert sorted(row.listing.id for row in run.rows) == ["differs", "fits", "silent", "unknown"]
    assert [row.rank for row in run.rows] == [1, 2, 3, 4]
    assert run.problems == ()


def test_what_fits_the_sheet_comes_before_what_differs(run: pipeline.Run) -> None:
    fits, differs = _row(run, "fits").assessment, _row(run, "differs").assessment
    assert fits.reference == differs.reference == "vennerby-halm"
    assert fits.risk < differs.risk
    assert {f.result for f in differs.findings if f.point == "hinge_barrels"} == {"conflicts"}


def test_steps_add_up_to_the_score(run: pipeline.Run) -> None:
    for row in run.rows:
        total = sum(step.log_odds for step in row.assessment.steps)
        assert total == pytest.approx(row.assessment.score, abs=1e-9)


def test_a_name_without_a_sheet_is_counted(run: pipeline.Run) -> None:
    assert _row(run, "unknown").assessment.next_step == "no_sheet"
    assert [count for _, count in run.unsheeted] == [1]
    assert "ostelino" in run.unsheeted[0][0].casefold()


def test_a_photo_shown_by_two_sellers_names_each_other(run: pipeline.Run) -> None:
    assert _row(run, "fits").assessment.shares_photo_with == ("differs",)
    assert _row(run, "differs").assessment.shares_photo_with == ("fits",)
    assert [(p.a, p.b, p.answer) for p in run.pairs] == [("one.jpg", "three.jpg", "copy")]


def test_quotations_point_at_their_own_words(run: pipeline.Run) -> None:
    for row in run.rows:
        for finding in row.assessment.findings:
            for span in finding.quoted:
                if span.part == "text":
                    assert row.listing.text[span.start : span.end] == span.text


def test_an_unchanged_folder_is_not_read_again(
    place: Path, settings: Settings, run: pipeline.Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise AssertionError("the folder was read again")

    monkeypatch.setattr(pipeline, "_screen", refuse)
    assert screen(place / "week", settings) == run


@pytest.mark.parametrize(
    ("what", "kept"),
    [
        ("took longer than 25 s", False),
        ("needed more than 450 MB of memory", False),
        ("crashed its reader (signal 11)", False),
        ("is empty", True),
        ("is of a kind that holds no listings", True),
    ],
)
def test_what_befell_a_file_on_a_busy_machine_is_not_kept(what: str, kept: bool) -> None:
    assert pipeline._would_recur([pipeline.Problem("a.html", None, what, "")]) is kept


def test_no_cache_gives_the_same_run(place: Path, settings: Settings, run: pipeline.Run) -> None:
    assert screen(place / "week", replace(settings, no_cache=True)) == run


def test_a_changed_sheet_is_noticed(place: Path, settings: Settings, tmp_path: Path) -> None:
    other = tmp_path / "sheets"
    other.mkdir()
    file = other / "vennerby-halm.toml"
    file.write_text(SHEET.replace("always = 7", "always = 3"), encoding="utf-8")
    run = screen(place / "week", replace(settings, sheets=(other,)))
    found = _row(run, "fits").assessment.findings
    assert {f.result for f in found if f.point == "hinge_barrels"} == {"conflicts"}


def test_the_report_shows_the_pictures_that_the_folder_holds(
    place: Path, settings: Settings, run: pipeline.Run
) -> None:
    pictured = add_pictures(run, place / "week", settings)
    assert len(pictured.thumbnails) == 3
    first = pictured.thumbnails[_row(run, "fits").listing.photos[0].sha256]
    assert (first.full_width, first.full_height) == (800, 600)
    html = make_report(pictured)
    assert html.count('<div class="pair">') == 1
    assert "laid over each other" in html


def test_the_summary_and_the_report_say_how_sure_the_order_is(run: pipeline.Run) -> None:
    (told,) = [line for line in summary(run) if "should be as described" in line]
    few = min(20, len(run.rows))
    assert re.match(rf"Of the first {few}, \d+(?: to \d+)? should be as described", told)
    assert told in make_report(run)
    assert not any("as described" in line for line in summary(replace(run, rows=(), sureness="")))


def test_progress_is_told_by_stage(place: Path, settings: Settings) -> None:
    seen: list[Progress] = []
    screen(place / "week", replace(settings, no_cache=True), seen.append)
    assert {p.stage for p in seen} >= {"read", "evidence", "checks", "photos", "pairs"}
    for stage in ("evidence", "checks", "photos"):
        last = [p for p in seen if p.stage == stage][-1]
        assert last.done == last.total


def test_photos_of_a_bare_folder_are_compared(tmp_path: Path, settings: Settings) -> None:
    (tmp_path / "a.jpg").write_bytes(photo(5))
    (tmp_path / "b.jpg").write_bytes(photo(5, quality=55, crop=25))
    (tmp_path / "c.jpg").write_bytes(photo(6))
    stage = run_stage("photos", tmp_path, settings)
    pairs, problems = stage.rows, stage.problems
    assert [(p.a, p.b) for p in pairs] == [("a.jpg", "b.jpg")]
    assert problems == ()


def test_a_catalogue_picture_is_no_listing_and_is_told_apart(
    tmp_path: Path, settings: Settings
) -> None:
    week, known = tmp_path / "week", tmp_path / "spring catalogue"
    week.mkdir(), known.mkdir()
    (week / "lamp.txt").write_text("Vennerby Halm 52-18-140\nSeller: ann\n\nSeven-barrel hinges.")
    (week / "lamp_1.jpg").write_bytes(photo(21, quality=60, crop=20))
    (week / "lamp_2.jpg").write_bytes(photo(22))
    (known / "plate.jpg").write_bytes(photo(21))
    (known / "notes.txt").write_text("not a picture")
    found = screen(week, replace(settings, catalogue=(known,)))
    assert len(found.rows) == 1
    told = [f for f in found.rows[0].assessment.findings if f.check == "catalogue_picture"]
    assert len(told) == 1
    assert "spring catalogue" in told[0].why
    assert [span.key for span in told[0].quoted] == ["lamp_1.jpg"]
    assert found.pairs == ()
    plain = screen(week, settings)
    assert plain.rows[0].assessment.score == found.rows[0].assessment.score


@pytest.mark.parametrize(("copies", "lines"), [(79, 0), (80, 1), (300, 1)])
def test_a_picture_with_too_many_copies_is_one_line(copies: int, lines: int) -> None:
    pairs = [PhotoPair("hub.jpg", f"{n}.jpg", 0.99, "copy") for n in range(copies)]
    told = pipeline._shown_too_often(pairs)
    assert [problem.source for problem in told] == ["hub.jpg"] * lines
    assert pipeline._shown_too_often([replace(pair, score=1.0) for pair in pairs]) == ()


def test_a_catalogue_folder_that_is_not_there_is_said(place: Path, settings: Settings) -> None:
    with pytest.raises(UserError, match="no folder"):
        screen(place / "week", replace(settings, catalogue=(place / "gone",)))


def test_a_photo_that_cannot_be_decoded_is_one_problem(tmp_path: Path, settings: Settings) -> None:
    (tmp_path / "lamp.txt").write_text("Vennerby Halm 52-18-140\n\nSeven-barrel hinges.")
    (tmp_path / "lamp_1.jpg").write_bytes(photo(9)[:3000])
    run = screen(tmp_path, settings)
    assert len(run.rows) == 1
    assert [p.source for p in run.problems] == ["lamp_1.jpg"]


def test_an_answer_entered_is_read_like_the_listings_own_words(
    place: Path, settings: Settings, run: pipeline.Run
) -> None:
    answered = Entered(answers={"silent": ("The hinges have three barrels.",)})
    after = _row(screen(place / "week", settings, entered=answered), "silent").assessment
    assert {f.result for f in after.findings if f.point == "hinge_barrels"} == {"conflicts"}
    assert after.risk > _row(run, "silent").assessment.risk


def test_a_disputed_finding_leaves_the_score_and_stays_in_sight(
    place: Path, settings: Settings, run: pipeline.Run
) -> None:
    wrong = next(f for f in _row(run, "differs").assessment.findings if f.point == "hinge_barrels")
    disputed = Entered(disputed={"differs": ((wrong.check, wrong.point),)})
    row = _row(screen(place / "week", settings, entered=disputed), "differs")
    assert row.disputed == (wrong,)
    assert wrong not in row.assessment.findings
    assert row.assessment.risk < _row(run, "differs").assessment.risk


def test_a_report_of_ours_in_the_folder_is_no_listing(
    tmp_path: Path, settings: Settings, run: pipeline.Run
) -> None:
    (tmp_path / "ranking.html").write_text(make_report(run), encoding="utf-8")
    (tmp_path / "one.json").write_text(json.dumps(LISTINGS[2]), encoding="utf-8")
    again = screen(tmp_path, settings)
    assert [row.listing.source for row in again.rows] == ["one.json"]
    assert [(p.source, p.what) for p in again.problems] == [
        ("ranking.html", "is a report of this tool, no listing")
    ]


def test_ids_that_repeat_are_told_apart() -> None:
    listing = pipeline.Listing("x", "a.html")
    ids = [x.id for x in with_own_ids([listing, listing, replace(listing, id="y"), listing])]
    assert ids == ["x", "x-2", "y", "x-3"]


def test_the_folder_ranked_last_is_remembered(place: Path, tmp_path: Path) -> None:
    settings = Settings(cache=tmp_path, sheets=(place / "sheets",))
    with pytest.raises(UserError):
        last_shown(settings)
    remember(place / "week", settings)
    shown = last_shown(Settings(cache=tmp_path))
    assert shown.folder == (place / "week").resolve()
    assert shown.settings(Settings()).sheets == ((place / "sheets").resolve(),)
    assert recall(settings, tmp_path) is None


def _rank(place: Path, settings: Settings, *more: str) -> Sequence[str]:
    sheets = str(settings.sheets[0])
    common = ["--cache", str(settings.cache), "--workers", "1", "--sheets", sheets]
    return ["rank", str(place / "week"), *common, *more]


def test_rank_prints_records_and_tells_the_rest_beside(
    place: Path, settings: Settings, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    report = tmp_path / "report.html"
    given = _rank(place, settings, "--format", "jsonl", "--report", str(report))
    assert main(given) == 0
    told = capsys.readouterr()
    records = [json.loads(line) for line in told.out.splitlines()]
    assert [record["rank"] for record in records] == [1, 2, 3, 4]
    assert "4 listings: " in told.err
    assert "Names without a sheet: " in told.err
    assert str(report) in told.err
    assert report.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_explain_finds_a_listing_of_the_last_ranking(
    place: Path, settings: Settings, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(_rank(place, settings, "--quiet")) == 0
    capsys.readouterr()
    assert main(["explain", "differs", "--cache", str(settings.cache)]) == 0
    told = capsys.readouterr().out
    assert "Three-barrel" in told
    assert "starting share" in told
    assert max(map(len, told.splitlines())) <= 80
