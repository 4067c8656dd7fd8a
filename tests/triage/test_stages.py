"""The records that other programs build on: their keys, their forms, their files."""

import csv
import io
import json
import os
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.errors import UserError
from extractors.records import Marking, Span
from tests.triage.made import EVIDENCE, LISTING, RUN
from triage.changes import Change
from triage.journal import Standing
from triage.review import Place, Reviewed
from triage.stages import csv_cell, json_line, problem_line, render, write_problems, write_whole
from triage.week import WeekRow

KEYS = {
    "read": "id listing_id url source member line title description specifics price currency"
    " price_kind buy_now shipping offers_accepted returns quantity ended ends_at seller_id"
    " seller_name seller_feedback location date_listed date_saved photos missing_photos"
    " hidden_text origins",
    "evidence": "id measurements markings eras features authenticity key_phrases",
    "photos": "a b score answer changes area_a area_b",
    "rank": "id source line rank next_step reason risk interval score steps completeness"
    " reference edition candidates findings shares_photo_with questions",
    "review": "source line id state continues changed asks_about",
}
REVIEWED = WeekRow(
    Reviewed(
        "L1",
        "week/one.html",
        None,
        "changed",
        Place("last week", "one.html", None),
        ("price",),
        None,
        (Change("price", "90 EUR", "84.50 EUR"),),
        ("same address",),
        LISTING,
        1,
        None,
    ),
    1,
    3,
    Standing(),
)
ROWS = {
    "review": [REVIEWED],
    "read": [LISTING],
    "evidence": [EVIDENCE],
    "photos": RUN.pairs,
    "rank": RUN.rows,
}


def _first(stage: str) -> dict[str, object]:
    record = json.loads(render(stage, ROWS[stage], "jsonl").splitlines()[0])
    assert isinstance(record, dict)
    return record


@pytest.mark.parametrize("stage", KEYS)
def test_records_hold_the_documented_keys_in_order_and_only_add_after_them(stage: str) -> None:
    documented = KEYS[stage].split()
    assert [key for key in _first(stage) if key in documented] == documented


def test_keys_are_there_when_nothing_is_known() -> None:
    bare = replace(LISTING, price=None, currency=None, photos=(), specifics=(), line=None)
    record = json.loads(render("read", [bare], "jsonl"))
    assert record["price"] is None
    assert record["line"] is None
    assert record["photos"] == []
    assert record["specifics"] == {}


def test_money_is_a_decimal_string() -> None:
    assert _first("read")["price"] == "84.50"


def test_photos_name_path_member_and_digest() -> None:
    assert _first("read")["photos"][0] == {  # type: ignore[index]
        "path": "week/one_1.jpg",
        "member": None,
        "sha256": "a" * 64,
    }


def test_evidence_items_carry_the_annotated_fields_and_their_words() -> None:
    item = _first("evidence")["measurements"][0]  # type: ignore[index]
    assert {"quantity", "low_mm", "high_mm", "approximate", "of_item", "object", "item"} <= set(
        item
    )
    assert (item["text"], item["start"], item["end"]) == ("52-18", 14, 19)
    assert item["quoted"] == [
        {"part": "text", "key": None, "start": 14, "end": 19, "text": "52-18"}
    ]
    phrase = _first("evidence")["key_phrases"][0]  # type: ignore[index]
    assert phrase["class"] == "returns_refused"
    marking = _first("evidence")["markings"][1]  # type: ignore[index]
    assert (marking["text"], marking["claimed"]) == ("CE", "absent")


def test_evidence_has_one_marking_for_each_mention_and_none_of_a_case() -> None:
    twice = (Span("text", None, 0, 4, "LARK"), Span("text", None, 9, 13, "LARK"))
    marks = (
        Marking("LARK", "arm", "present", "item", twice),
        Marking("LARK", None, "present", "case", twice),
    )
    told = render("evidence", [replace(EVIDENCE, markings=marks)], "jsonl")
    starts = [mark["start"] for mark in json.loads(told)["markings"]]
    assert starts == [0, 9]


def test_a_review_tells_what_a_listing_continues_and_what_changed() -> None:
    record = _first("review")
    assert record["continues"] == {"folder": "last week", "source": "one.html", "line": None}
    assert record["changed"] == ["price"]
    assert record["asks_about"] is None


def test_a_review_reads_well_at_80_columns() -> None:
    assert render("review", [REVIEWED], "table") == (
        "\nChanged (1)\n"
        "   1  Vennerby Halm 52-18 acetate frame                                EUR 84.50\n"
        "      was number 3\n"
        "      price: 90 EUR → 84.50 EUR (down 6 %)\n"
    )


def test_steps_of_a_record_add_up_to_its_score() -> None:
    record = _first("rank")
    assert sum(s["log_odds"] for s in record["steps"]) == pytest.approx(record["score"])  # type: ignore[attr-defined]


def test_findings_carry_the_documented_keys() -> None:
    finding = _first("rank")["findings"][0]  # type: ignore[index]
    documented = ["check", "point", "result", "strength", "stated", "expected", "why", "quoted"]
    assert list(finding)[: len(documented)] == documented


@pytest.mark.parametrize("stage", KEYS)
def test_csv_has_the_same_keys_and_one_line_a_record(stage: str) -> None:
    rows = list(csv.DictReader(io.StringIO(render(stage, ROWS[stage], "csv"))))
    assert len(rows) == len(ROWS[stage])
    assert set(KEYS[stage].split()) <= set(rows[0])


@pytest.mark.parametrize(
    "text", ["=1+1", "+49 30", "-5", "@cmd", "\t=1", " =1", "\r=1", "\ufeff=1", "＝1", "|x", "\n"]
)
def test_no_csv_cell_starts_a_formula(text: str) -> None:
    assert csv_cell(text).startswith("'")


@given(st.text())
def test_json_records_stay_on_one_line_and_read_back(text: str) -> None:
    line = json_line({"title": text})
    assert line.endswith("\n")
    assert len(line.splitlines()) == 1
    assert json.loads(line) == {"title": text}


def test_lone_surrogates_can_be_written_as_utf8() -> None:
    assert json_line("\ud800").encode() == b'"\\ud800"\n'


def test_problems_are_one_object_a_line(tmp_path: Path) -> None:
    write_problems(tmp_path / "p.jsonl", RUN.problems)
    lines = (tmp_path / "p.jsonl").read_text().splitlines()
    assert [list(json.loads(line)) for line in lines] == [["source", "member", "what", "do"]] * 2
    assert problem_line(RUN.problems[0]) == lines[0] + "\n"


def test_a_file_is_replaced_whole_or_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "out.jsonl"
    write_whole(file, "old\n")

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(UserError, match="No space left"):
        write_whole(file, "new\n")
    assert file.read_text() == "old\n"
    assert list(tmp_path.iterdir()) == [file]


def test_a_folder_that_is_not_there_is_a_user_error(tmp_path: Path) -> None:
    with pytest.raises(UserError) as caught:
        write_whole(tmp_path / "none" / "out.csv", "x")
    assert caught.value.hint


def test_a_written_file_has_the_usual_rights(tmp_path: Path) -> None:
    write_whole(tmp_path / "a", "x")
    (tmp_path / "b").write_text("x")
    assert (tmp_path / "a").stat().st_mode == (tmp_path / "b").stat().st_mode
