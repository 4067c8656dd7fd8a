"""The commands that enter decisions and those that work with sheets, as a buyer types them."""

import io
import json
from pathlib import Path

import pytest

from triage.cli import main

LISTINGS = [
    {
        "id": f"frame-{number}",
        "title": f"Ostelino Bruma 50-20-140 number {number}",
        "description": "Five-barrel hinges.",
        "seller_name": f"seller {number}",
        "date_saved": "2026-11-20",
    }
    for number in (1, 2, 3)
]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("desk")
    (place / "week").mkdir()
    lines = "".join(json.dumps(listing) + "\n" for listing in LISTINGS)
    (place / "week" / "all.jsonl").write_text(lines, encoding="utf-8")
    assert main(["review", str(place / "week"), *_kept(place), "--quiet"]) == 0
    return place


def _kept(place: Path) -> list[str]:
    memory, cache = str(place / "memory.sqlite3"), str(place / "cache")
    return ["--memory", memory, "--cache", cache, "--workers", "1"]


def _memory(place: Path) -> list[str]:
    return ["--memory", str(place / "memory.sqlite3")]


def _review(place: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, dict[str, object]]:
    capsys.readouterr()
    assert main(["review", str(place / "week"), "--format", "jsonl", *_kept(place)]) == 0
    records = map(json.loads, capsys.readouterr().out.splitlines())
    return {str(record["id"]): record for record in records}


def test_a_step_is_entered_for_several_shown_and_taken_back(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = ["next", "write", "1-2", "--due", "2026-12-01", *_memory(place)]
    assert main(given) == 0
    due = [r for r in _review(place, capsys).values() if r["due"] == "2026-12-01"]
    assert len(due) == 2
    assert main(["undo", *_memory(place)]) == 0
    assert "Taken back: 2" in capsys.readouterr().err
    assert not [r for r in _review(place, capsys).values() if r["due"]]


def test_what_is_due_goes_into_a_calendar(place: Path, tmp_path: Path) -> None:
    assert main(["next", "examine", "3", "--due", "2026-12-05", *_memory(place)]) == 0
    file = tmp_path / "due.ics"
    given = ["review", str(place / "week"), "--quiet", "--calendar", str(file), *_kept(place)]
    assert main(given) == 0
    text = file.read_bytes().decode()
    assert text.startswith("BEGIN:VCALENDAR\r\n")
    assert "20261205" in text
    assert main(["undo", *_memory(place)]) == 0


def test_what_is_overdue_noted_and_watched_is_said(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["next", "write", "3", "--due", "2026-11-01", "--note", "ask for the hinge",
                 *_memory(place)]) == 0  # fmt: skip
    assert main(["watch", "1", *_memory(place)]) == 0
    capsys.readouterr()
    assert main(["review", str(place / "week"), "--format", "table", *_kept(place)]) == 0
    lines = [line.strip() for line in capsys.readouterr().out.splitlines()]
    assert "next step: write by 2026-11-01, which is past" in lines
    assert "your note: ask for the hinge" in lines
    assert "watched" in lines
    assert main(["undo", *_memory(place)]) == main(["undo", *_memory(place)]) == 0
    assert "Taken back: 1 entry of" in capsys.readouterr().err


def test_a_review_has_a_report_too(place: Path, tmp_path: Path) -> None:
    file = tmp_path / "review.html"
    given = ["review", str(place / "week"), "--quiet", "--report", str(file), *_kept(place)]
    assert main(given) == 0
    assert "Since the weeks before" in file.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "given",
    [
        ["watch", "9"],
        ["next", "write", "1", "--due", "tomorrow"],
        ["outcome", "returned", "1"],
        ["outcome", "as described", "1", "--paid", "much"],
        ["note", "  ", "1"],
        ["answered", "", "1"],
        ["next", "write", "1", "--due", "31.2.2026"],
        ["memory", "forget-before", "last year"],
        ["undo", "no-such-batch"],
        ["same", "1"],
        ["dispute", "misread", "1", "--check", "rivets", "--point", "hinge_barrels"],
    ],
)
def test_what_cannot_be_entered_is_told_with_a_hint(
    place: Path, given: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*given, *_memory(place)]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 2


def test_a_dispute_of_what_was_not_found_lists_what_was(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    given = ["dispute", "misread", "1", "--check", "itself", "--point", "nothing"]
    assert main([*given, *_memory(place)]) == 2
    told = capsys.readouterr().err
    assert "has no finding" in told
    assert "Its findings (check, point): " in told


@pytest.mark.parametrize("given", [["memory", "verify"], ["watch", "1"], ["entries"], ["undo"]])
def test_a_memory_that_is_not_there_is_told_and_never_made(
    tmp_path: Path, given: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "none.db"
    assert main([*given, "--memory", str(file)]) == 2
    assert "There is no memory" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_entries_are_listed_with_batch_time_and_whether_taken_back(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["note", "ask for the hinge", "2", *_memory(place)]) == 0
    assert main(["outcome", "copy", "2", "--paid", "80", *_memory(place)]) == 0
    assert main(["next", "write", "1", "--due", "5.12.2026", *_memory(place)]) == 0
    batch = capsys.readouterr().err.split()[-1]
    assert main(["undo", *_memory(place)]) == 0
    assert main(["entries", *_memory(place)]) == 0
    everything = capsys.readouterr().out
    assert f"{batch}  20" in everything
    assert "step: write, due 2026-12-05  (taken back)" in everything
    assert main(["entries", "2", *_memory(place)]) == 0
    some = capsys.readouterr().out
    assert "note: ask for the hinge" in some
    assert "outcome: a copy, paid 80" in some
    assert "due 2026-12-05" not in some
    for _ in range(2):
        assert main(["undo", *_memory(place)]) == 0


def test_the_memory_is_exported_and_taken_in(place: Path, tmp_path: Path) -> None:
    assert main(["watch", "1", *_memory(place)]) == 0
    assert main(["memory", "verify", *_memory(place)]) == 0
    assert main(["memory", "export", str(tmp_path / "out"), *_memory(place)]) == 0
    other = ["--memory", str(tmp_path / "other.sqlite3")]
    assert main(["memory", "import", str(tmp_path / "out"), *other]) == 0
    assert main(["memory", "export", str(tmp_path / "again"), *other]) == 0
    first, second = (tmp_path / name / "store.jsonl" for name in ("out", "again"))
    assert first.read_bytes() == second.read_bytes()


def test_a_sheet_is_started_by_answers_and_can_be_used(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = ["Ostelino Bruma", "Bruma", "1965-1972", "Italy", "two pieces measured", "printed"]
    answers += ["big", "50-20-140", "perhaps", "yes", "some", "5"]
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(answers) + "\n"))
    file = tmp_path / "ostelino-bruma.toml"
    assert main(["sheet", "new", str(file)]) == 0
    assert capsys.readouterr().err.count("leave it empty if not known") == 3
    assert main(["sheet", "check", str(file)]) in (0, 1)
    capsys.readouterr()
    assert main(["sheet", "show", "Bruma", "--sheets", str(tmp_path)]) == 0
    assert "hinge barrels: 5" in capsys.readouterr().out
    given = ["sheet", "try", str(file), str(place / "week"), "--cache", str(place / "cache")]
    assert main([*given, "--workers", "1"]) == 0
    told = capsys.readouterr()
    assert "3 of 3 listings would move" in told.err
    assert main(["sheet", "new", str(file)]) == 2, "an existing sheet is not written over"


def test_a_sheet_is_drafted_from_listings(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "draft.toml"
    common = ["--cache", str(place / "cache"), "--workers", "1", "--output", str(file)]
    assert main(["sheet", "draft", "ostelino bruma", str(place / "week"), *common]) == 0
    assert "lens_width = 50" in file.read_text(encoding="utf-8")
    assert main(["sheet", "draft", "Nobody", str(place / "week"), *common]) == 2
    capsys.readouterr()


def test_coverage_and_schema_are_told(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = ["sheet", "coverage", str(place / "week"), "--cache", str(place / "cache")]
    assert main([*given, "--workers", "1"]) == 0
    assert " listings, " in capsys.readouterr().out
    assert main(["sheet", "schema"]) == 0
    assert json.loads(capsys.readouterr().out)["type"] == "object"


def test_a_sheet_that_is_not_there_is_a_user_error(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", "show", "no such model"]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 2


def test_example_of_a_sheet_is_written_or_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "example.toml"
    assert main(["sheet", "new", "--example", str(file)]) == 0
    assert main(["sheet", "new", "--example"]) == 0
    assert capsys.readouterr().out == file.read_text(encoding="utf-8")
    assert main(["sheet", "new", "--example", str(file)]) == 2, "it is not written over"
    assert main(["sheet", "new"]) == 2


def test_sheet_is_shown_from_its_file_and_checked_quietly(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "grelle.toml"
    file.write_text('name = "Grelle Nine"\nhinge_barrels = 5\n', encoding="utf-8")
    assert main(["sheet", "show", str(file)]) == 0
    assert "hinge barrels: 5" in capsys.readouterr().out
    assert main(["sheet", "check", str(file), "--quiet"]) == 1
    assert "remark" not in capsys.readouterr().err
