"""`triage review` over weeks that are files in folders: exports and saved pages."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from models.records import Assessment, Step
from tests.triage.made import RUN
from triage.cli import main
from triage.week import _moved_by, _start_moved

Listing = Mapping[str, Any]


def _listing(number: int, **fields: Any) -> dict[str, Any]:
    return {
        "id": f"frame-{number}",
        "listing_id": f"77{number}",
        "url": f"https://stallrow.example/item/77{number}",
        "title": f"Ostelino Bruma 50-20-140 number {number}",
        "description": f"Five-barrel hinges, tortoise, from drawer {number}.",
        "seller_name": f"seller {number}",
        "price": "90.00",
        "currency": "EUR",
        **fields,
    }


WEEKS: dict[str, list[Listing]] = {
    "week 2": [_listing(1), _listing(2), _listing(3)],
    "week 9": [_listing(1, price="80.00"), _listing(2), _listing(4)],
    "week 10": [
        _listing(1, price="80.00", ended=True, price_kind="sold"),
        _listing(4, title="Ostelino Bruma 50-20-140 tortoise, number 4"),
        _listing(5),
    ],
}
DATES = {"week 2": "2026-10-02", "week 9": "2026-10-09", "week 10": "2026-10-16"}
STATES = {
    "frame-1": ("sold", ["price_kind"]),
    "frame-2": ("not_seen", []),
    "frame-3": ("not_seen", []),
    "frame-4": ("changed", ["title"]),
    "frame-5": ("new", []),
}


def _write_exports(place: Path, dated: bool) -> None:
    for week, listings in WEEKS.items():
        (place / week).mkdir()
        rows = [{**x, "date_saved": DATES[week]} if dated else x for x in listings]
        text = "".join(json.dumps(row) + "\n" for row in rows)
        (place / week / "all.jsonl").write_text(text, encoding="utf-8")


def _write_pages(place: Path) -> None:
    for week, listings in WEEKS.items():
        (place / week).mkdir()
        for listing in listings:
            page = _page(listing)
            (place / week / f"{listing['listing_id']}.html").write_text(page, encoding="utf-8")


def _page(listing: Listing) -> str:
    facts = {
        "@context": "https://schema.org",
        "@type": "Product",
        "name": listing["title"],
        "sku": listing["listing_id"],
        "url": listing["url"],
        "description": listing["description"],
        "offers": {
            "@type": "Offer",
            "price": listing["price"],
            "priceCurrency": "EUR",
            "availability": f"https://schema.org/{'SoldOut' if 'ended' in listing else 'InStock'}",
            "seller": {"@type": "Person", "name": listing["seller_name"]},
        },
    }
    return (
        f"<!doctype html><html><head><title>{listing['title']}</title>"
        f'<link rel="canonical" href="{listing["url"]}">'
        f'<script type="application/ld+json">{json.dumps(facts)}</script></head>'
        f"<body><h1>{listing['title']}</h1><p>{listing['description']}</p></body></html>"
    )


def _review(
    place: Path, folders: tuple[str, ...], memory: str, capsys: pytest.CaptureFixture[str]
) -> list[dict[str, Any]]:
    given = ["review", *folders, "--format", "jsonl", "--quiet", "--memory", str(place / memory)]
    assert main([*given, "--cache", str(place / "cache"), "--workers", "1"]) == 0
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


@pytest.mark.parametrize(
    ("dated", "order"),
    [
        (True, ("week 10", "week 2", "week 9")),
        (True, ("week 9", "week 10", "week 2", "week 9")),  # one given twice
        (False, ("week 10", "week 9", "week 2")),
    ],
)
def test_several_folders_in_any_order_give_the_review_of_the_newest(
    dated: bool,
    order: tuple[str, ...],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _write_exports(tmp_path, dated)
    monkeypatch.chdir(tmp_path)
    told = _review(tmp_path, order, "memory.db", capsys)
    assert {r["id"]: (r["state"], r["changed"]) for r in told} == STATES
    sold, unseen = (next(r for r in told if r["id"] == f"frame-{n}") for n in (1, 2))
    assert (sold["source"], sold["line"]) == ("all.jsonl", 1)
    assert sold["continues"] == {"folder": "week 9", "source": "all.jsonl", "line": 1}
    assert (unseen["source"], unseen["line"]) == (None, None)
    assert unseen["continues"] == {"folder": "week 9", "source": "all.jsonl", "line": 2}


def test_weeks_given_one_by_one_end_like_those_given_together(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _write_exports(tmp_path, dated=True)
    folders = tuple(str(tmp_path / week) for week in WEEKS)
    together = _review(tmp_path, folders, "together.db", capsys)
    for folder in folders:
        apart = _review(tmp_path, (folder,), "apart.db", capsys)
    assert apart == together
    assert {r["continues"]["folder"] for r in apart if r["continues"]} == set(folders[:2])


def test_saved_pages_without_dates_are_reviewed_alike(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _write_pages(tmp_path)
    folders = tuple(str(tmp_path / week) for week in reversed(WEEKS))
    told = {r["source"]: r for r in _review(tmp_path, folders, "pages.db", capsys)}
    assert {source: r["state"] for source, r in told.items()} == {
        "771.html": "sold",
        "774.html": "changed",
        "775.html": "new",
        None: "not_seen",
    }
    assert len(told) == 4
    assert told["774.html"]["changed"] == ["title"]
    assert told["771.html"]["continues"]["source"] == "771.html"


# the same pictures and words under another number, by another seller, while the first was open
ASKED = {
    "week 1": [_listing(1, photos=["a.png"])],
    "week 2": [
        _listing(
            6,
            title="Ostelino Bruma 50-20-140 number 1",
            description="Five-barrel hinges, tortoise, from drawer 1.",
            photos=["a.png"],
        )
    ],
}


@pytest.fixture
def asked(tmp_path: Path) -> Path:
    from PIL import Image

    for week, listings in ASKED.items():
        (tmp_path / week).mkdir()
        day = f"2026-10-0{week[-1]}"
        text = "".join(json.dumps({**x, "date_saved": day}) + "\n" for x in listings)
        (tmp_path / week / "all.jsonl").write_text(text, encoding="utf-8")
        Image.radial_gradient("L").save(tmp_path / week / "a.png")
    _shown(tmp_path, "week 1")
    return tmp_path


def _shown(place: Path, week: str, *more: str) -> None:
    given = ["review", str(place / week), "--memory", str(place / "memory.db"), "--quiet", *more]
    assert main([*given, "--cache", str(place / "cache"), "--workers", "1"]) == 0


@pytest.mark.parametrize("word", ["same", "different"])
def test_a_question_about_a_piece_is_answered_in_plain_words(
    asked: Path, word: str, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    _shown(asked, "week 2")
    told = " ".join(capsys.readouterr().out.split())
    assert "same piece as “Ostelino Bruma 50-20-140 number 1”, EUR 90, seen 2026-10-01?" in told
    assert "triage same 1, or: triage different 1" in told
    memory = ["--memory", str(asked / "memory.db")]
    assert main([word, "1", *memory]) == 0
    assert "“Ostelino Bruma 50-20-140 number 1”" in capsys.readouterr().err
    assert main([word, "1", *memory]) == 2, "it is not asked any more"
    capsys.readouterr()
    _shown(asked, "week 2", "--format", "jsonl")
    (record,) = (
        r for r in map(json.loads, capsys.readouterr().out.splitlines()) if r["id"] == "frame-6"
    )
    assert record["asks_about"] is None
    assert (record["continues"] is not None) is (word == "same")
    assert main(["undo", *memory]) == 0
    capsys.readouterr()
    _shown(asked, "week 2")
    assert "Is this the same piece as" in capsys.readouterr().out


def test_a_bought_piece_needs_nothing_more_and_tells_its_outcome(
    asked: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    memory = ["--memory", str(asked / "memory.db")]
    _shown(asked, "week 1")
    assert main(["next", "write", "1", "--due", "2026-01-02", *memory]) == 0
    capsys.readouterr()
    _shown(asked, "week 1")
    assert "next step: write by 2026-01-02, which is past" in capsys.readouterr().out
    assert main(["outcome", "a copy", "1", "--paid", "80,50", *memory]) == 0
    capsys.readouterr()
    _shown(asked, "week 1", "--report", str(asked / "week.html"))
    told = capsys.readouterr().out
    assert "Needs you first" not in told
    assert "your outcome: a copy, paid 80.50" in told
    assert "your outcome: a copy, paid 80.50" in (asked / "week.html").read_text("utf-8")


def _assessed(*steps: tuple[str, float]) -> Assessment:
    return replace(RUN.rows[0].assessment, steps=tuple(Step(*step) for step in steps))


def test_a_start_that_outcomes_moved_is_told_once_and_not_as_two_steps() -> None:
    before = _assessed(("starting share (starting figure, not measured)", -1.4), ("price", 0.1))
    learned = "starting share (starting figure, not measured, moved by 5 outcomes, 1 of them bad)"
    now = _assessed((learned, -2.0), ("price", 0.5))
    assert _moved_by(before, now) == ("“price” (+0.40, more risk)",)
    gone = ("no longer “price” (−0.10, less risk)",)
    assert _moved_by(before, _assessed(("starting share (as before)", -1.4))) == gone
    assert _start_moved(before, now).startswith("Your outcomes moved the starting figure of all")
    assert _start_moved(before, before) == ""


def test_a_review_without_the_sheets_of_the_last_one_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _write_exports(tmp_path, dated=True)
    (tmp_path / "sheets").mkdir()
    (tmp_path / "sheets" / "bruma.toml").write_text(
        'name = "Ostelino Bruma"\n[points.hinge_barrels]\nalways = 5'
    )
    rest = ["--memory", str(tmp_path / "m.db"), "--cache", str(tmp_path / "c"), "--workers", "1"]
    with_sheets = ["--sheets", str(tmp_path / "sheets")]
    assert main(["review", str(tmp_path / "week 2"), *with_sheets, *rest]) == 0
    assert main(["review", str(tmp_path / "week 9"), *with_sheets, *rest]) == 0
    assert "Not loaded now" not in capsys.readouterr().err
    assert main(["review", str(tmp_path / "week 10"), *rest]) == 0
    told = " ".join(capsys.readouterr().err.split())
    assert "held against them last time: bruma (2). Give your sheets again: --sheets" in told


def test_a_return_without_a_reason_tells_which_reasons_count(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _write_exports(tmp_path, dated=True)
    rest = ["--memory", str(tmp_path / "m.db"), "--cache", str(tmp_path / "c")]
    assert main(["review", str(tmp_path / "week 2"), "--workers", "1", *rest]) == 0
    assert main(["outcome", "returned", "1", *rest]) == 2
    assert "--reason, of which these count: 'not as described'" in capsys.readouterr().err
