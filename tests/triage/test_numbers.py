"""A number means one listing, whichever command it is given to."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from triage.cli import main
from triage.settings import Settings

SHEET = """
name = "Ostelino Bruma"
source = "two pieces measured"
[[point]]
name = "hinge_barrels"
always = 5
"""
SEVEN = "Ostelino Bruma with seven-barrel hinges"
SILENT = "Ostelino Bruma, tortoise"
LISTINGS = (
    {"id": "seven", "title": SEVEN, "description": "Seven-barrel hinges."},
    {"id": "silent", "title": SILENT, "description": "As found."},
)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    for folder in ("week", "sheets"):
        (tmp_path / folder).mkdir()
    text = "".join(json.dumps(listing) + "\n" for listing in LISTINGS)
    (tmp_path / "week" / "all.jsonl").write_text(text, encoding="utf-8")
    (tmp_path / "sheets" / "bruma.toml").write_text(SHEET, encoding="utf-8")
    return tmp_path


def _kept(place: Path) -> list[str]:
    return ["--cache", str(place / "cache"), "--workers", "1"]


def _memory(place: Path) -> list[str]:
    return ["--memory", str(place / "memory.db")]


def _ranked(place: Path, command: str, *more: str) -> None:
    sheets = ["--sheets", str(place / "sheets")]
    assert main([command, str(place / "week"), *sheets, *_kept(place), *more]) == 0


def _explained(place: Path, capsys: pytest.CaptureFixture[str], *given: str) -> tuple[str, str]:
    capsys.readouterr()
    assert main(["explain", *given, *_kept(place)]) == 0
    told = capsys.readouterr()
    return " ".join(told.out.split()), " ".join(told.err.split())


def test_after_a_review_all_commands_speak_of_its_numbers(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _ranked(place, "review", *_memory(place))
    first, about = _explained(place, capsys, "1")
    assert f"Numbers are those of the review of {place / 'week'}, 20" in about
    title = next(title for title in (SEVEN, SILENT) if first.startswith(title))
    assert main(["watch", "1", *_memory(place)]) == 0
    told = capsys.readouterr().err
    assert f"1  {title}" in told
    assert f"In the review of {place / 'week'}" in told


def test_a_ranking_made_since_the_review_is_told_apart(
    place: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _ranked(place, "review", *_memory(place))
    _ranked(place, "rank")
    here = Settings(cache=place / "cache", memory=place / "memory.db")
    monkeypatch.setattr("triage.cli.make_settings", lambda *_: here)
    capsys.readouterr()
    assert main(["watch", "1"]) == 0
    told = capsys.readouterr().err
    assert f"not those of {(place / 'week').resolve()}, ranked since" in told


def test_what_is_entered_moves_the_sum_but_no_number(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _ranked(place, "review", *_memory(place))
    numbers = {title: n for n in ("1", "2") for title in (SEVEN, SILENT)
               if _explained(place, capsys, n)[0].startswith(title)}  # fmt: skip
    assert sorted(numbers.values()) == ["1", "2"]
    silent, seven = numbers[SILENT], numbers[SEVEN]
    assert main(["answered", "Hinges: five barrels, I looked", silent, *_memory(place)]) == 0
    why = ["dispute", "misread", seven, "--check", "points", "--point", "hinge_barrels"]
    assert main([*why, *_memory(place)]) == 0
    for number, title, words in ((silent, SILENT, "answer of the seller"),
                                 (seven, SEVEN, "Disputed by you")):  # fmt: skip
        told, _ = _explained(place, capsys, number)
        assert told.startswith(title)
        assert words in told
        assert f"No {number} " in told
        assert _explained(place, capsys, number, *_memory(place))[0] == told
        assert _explained(place, capsys, number, str(place / "week"))[0] == told


def test_a_named_folder_is_explained_with_the_sheets_it_was_ranked_with(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _ranked(place, "rank")
    bare = _explained(place, capsys, "seven")
    assert "expected 5" in bare[0]
    assert _explained(place, capsys, "seven", str(place / "week")) == bare
    assert "Numbers are those of the ranking of" in bare[1]


def test_a_memory_without_the_folder_says_so(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _ranked(place, "review", *_memory(place))
    assert main(["explain", "1", str(place / "sheets"), *_memory(place), *_kept(place)]) == 2
    assert "holds no review of" in capsys.readouterr().err


def test_numbers_are_those_shown_last_even_of_an_older_folder(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (place / "later").mkdir()
    later = {"id": "other", "title": "Ostelino Bruma later", "date_saved": "2099-01-01"}
    (place / "later" / "all.jsonl").write_text(json.dumps(later), encoding="utf-8")
    for folder in ("later", "week"):
        assert main(["review", str(place / folder), *_memory(place), *_kept(place)]) == 0
    capsys.readouterr()
    assert main(["watch", "1", *_memory(place)]) == 0
    assert "Bruma later" not in capsys.readouterr().err
