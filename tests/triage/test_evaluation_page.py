"""`triage evaluate`: outcomes joined to ranked listings, and the page that shows the figures."""

from __future__ import annotations

import json
import re

import pytest

from extractors.errors import UserError
from extractors.records import Evidence, KeyPhrase, Listing
from models.artefact import load_model
from models.evaluate import evaluate
from models.outcomes import Outcome
from models.records import Assessment, Finding, Step
from models.risk import starting_model
from models.weights import load_weights
from triage.cli import main
from triage.evaluation import (
    draw_lots,
    figure_lines,
    learn_from,
    make_page,
    measure_run,
    read_outcomes,
    uncounted_line,
)
from triage.run import Row, Run
from triage.settings import Settings

WEIGHTS = load_weights()


def row(number: int, conflict: bool = False) -> Row:
    listing = Listing(f"id{number}", f"{number}.txt", seller_id=f"s{number % 7}")
    evidence = Evidence(listing.id, key_phrases=(KeyPhrase("urgency", ()),))
    findings = (Finding("points", "hinge_barrels", "conflicts", "hard", ""),) if conflict else ()
    score = 1.0 if conflict else -1.0
    assessment = Assessment(
        id=listing.id, risk=0.7 if conflict else 0.3, interval=(0.1, 0.9), score=score,
        steps=(Step("start", score),), completeness=0.5, next_step="ask", reason="",
        reference="<ref>", findings=findings,
    )  # fmt: skip
    return Row(number, listing, evidence, assessment)


RUN = Run("folder", tuple(row(n, conflict=n % 3 == 0) for n in range(1, 40)))
ROWS = {r.listing.id: r for r in RUN.rows}


def write(path, *lines):
    path.write_text("\n".join(x if isinstance(x, str) else json.dumps(x) for x in lines), "utf-8")
    return path


def test_an_outcome_carries_what_the_risk_model_saw(tmp_path):
    file = write(tmp_path / "o.jsonl", {"id": "id3", "result": "a copy", "date": "2026-01-02"})
    (outcome,), problems = read_outcomes(file, ROWS, WEIGHTS)
    assert problems == ()
    assert outcome.bad
    assert outcome.amounts == {"points.conflicts.hard": 1.0, "wording.urgency": 1.0}
    assert (outcome.score, outcome.rank, outcome.reference) == (1.0, 3, "<ref>")


def test_the_last_line_about_a_piece_stands_and_no_label_is_left_out(tmp_path):
    file = write(
        tmp_path / "o.jsonl",
        {"id": "id1", "result": "as described"},
        {"id": "id1", "result": "returned", "reason": "not as described"},
        {"id": "id2", "result": "not bought"},
    )
    (outcome,), _ = read_outcomes(file, ROWS, WEIGHTS)
    assert (outcome.id, outcome.bad) == ("id1", True)


@pytest.mark.parametrize(
    "line",
    ["{", "[]", '"x"', '{"id": "id1"}', '{"id": "nobody", "result": "a copy"}',
     '{"id": "id1", "result": "superb"}', '{"id": "id1", "result": "a copy", "price": "NaN"}',
     '{"id": ["id1"], "result": "a copy"}', "[" * 5000],
)  # fmt: skip
def test_a_line_that_is_no_outcome_is_named_and_the_rest_goes_on(tmp_path, line):
    file = write(tmp_path / "o.jsonl", line, {"id": "id2", "result": "as described"})
    outcomes, problems = read_outcomes(file, ROWS, WEIGHTS)
    assert len(outcomes) == 1
    assert "line 1" in problems[0].what


def test_a_missing_file_is_the_users_to_mend(tmp_path):
    with pytest.raises(UserError, match="cannot read"):
        read_outcomes(tmp_path / "none", ROWS, WEIGHTS)


@pytest.fixture
def measured(tmp_path):
    lines = [
        {
            "id": f"id{n}",
            "result": "misdescribed" if n % 3 == 0 else "as described",
            "points": {"nose_pads": n % 5 > 0},
        }
        for n in range(1, 40)
    ]
    return measure_run(RUN, Settings(outcomes=write(tmp_path / "o.jsonl", *lines)))


@pytest.fixture
def page(measured):
    return make_page(measured.evaluation)


def test_the_terminal_is_told_the_figures(measured):
    lines = figure_lines(measured.evaluation)
    assert lines[0] == "39 outcomes, 13 not as described"
    assert any(line.startswith("ROC AUC") for line in lines)
    assert any(line.startswith("With --gain") for line in lines)
    assert all(len(line) <= 80 for line in lines)


def test_with_random_looks_the_figures_for_all_listings_stand_beside(tmp_path):
    lines = [
        {"id": f"id{n}", "result": "misdescribed" if n % 3 == 0 else "as described"}
        | ({"probability": 0.1} if n > 30 else {})
        for n in range(1, 40)
    ]
    told = Settings(outcomes=write(tmp_path / "o.jsonl", *lines))
    made = measure_run(RUN, told).evaluation
    lines = figure_lines(made)
    assert any(line.split() == ["these", "pieces", "all", "listings"] for line in lines)
    assert all(len(line) <= 80 for line in lines)
    assert "9 pieces drawn by lot" in " ".join(lines)
    assert make_page(made).count('scope="col" class="number">all listings') == 1


@pytest.mark.parametrize("chance", [0, -0.5, 1.5, 7])
def test_a_chance_that_is_none_is_no_outcome(tmp_path, chance):
    line = {"id": "id1", "result": "a copy", "probability": chance}
    outcomes, (problem,) = read_outcomes(write(tmp_path / "o.jsonl", line), ROWS, WEIGHTS)
    assert outcomes == ()
    assert "probability is no chance" in problem.what


def test_what_is_learned_is_written_with_its_card_and_can_be_used(measured, tmp_path):
    file = tmp_path / "model.json"
    said = learn_from(measured, file)
    model = load_model(file, WEIGHTS)
    assert "39 outcomes" in said
    assert model.card["outcomes"] == 39
    assert model.coefficients != starting_model(WEIGHTS).coefficients


def test_lots_are_drawn_with_a_logged_chance_and_stay_the_same():
    lines = draw_lots(RUN, 3)
    assert "0.077" in lines[0]  # 3 of 39
    assert len(lines) == 4
    assert draw_lots(Run("f", RUN.rows[::-1]), 3) == lines
    assert draw_lots(Run("empty"), 3) == ()


LISTING = {"id": "a", "title": "Orlenza Merrin", "description": "Seven-barrel hinges."}


@pytest.mark.slow
def test_a_folder_is_evaluated_learned_from_and_ranked_anew(tmp_path, capsys):
    folder = tmp_path / "saved"
    folder.mkdir()
    write(folder / "l.jsonl", LISTING, LISTING | {"id": "b", "description": "Round rivets."})
    outcomes = write(
        tmp_path / "o.jsonl",
        {"id": "a", "result": "as described"},
        {"id": "b", "result": "misdescribed"},
    )
    common = ["--quiet", "--no-cache", "--workers", "1"]
    model, page = tmp_path / "model.json", tmp_path / "page.html"
    told = ["--outcomes", str(outcomes), "--learn", str(model), "--report", str(page)]
    assert main(["evaluate", str(folder), *told, *common]) == 0
    assert "2 outcomes, 1 not as described" in capsys.readouterr().out
    assert page.read_text("utf-8").startswith("<!DOCTYPE html>")
    rank = ["rank", str(folder), "--format", "jsonl", *common]
    assert main(rank) == 0
    before = capsys.readouterr().out
    assert main([*rank, "--model", str(model)]) == 0
    after = capsys.readouterr().out
    assert "not measured, moved by 2 outcomes" in after
    assert "moved by" not in before


def test_an_empty_memory_says_that_nothing_is_measured(tmp_path, capsys):
    assert main(["evaluate", "--quiet", "--memory", str(tmp_path / "m.sqlite3")]) == 0
    assert "No outcome is recorded yet" in capsys.readouterr().out


def test_outcomes_in_a_file_need_their_folder(tmp_path, capsys):
    assert main(["evaluate", "--quiet", "--outcomes", str(tmp_path / "o.jsonl")]) == 2
    assert "folder" in capsys.readouterr().err


@pytest.mark.parametrize("option", ["--resale", "--return-chance"])
def test_a_share_above_one_is_told(tmp_path, option, capsys):
    (tmp_path / "l.jsonl").write_text(json.dumps(LISTING), "utf-8")
    given = ["rank", str(tmp_path), option, "1.5", "--quiet", "--no-cache", "--workers", "1"]
    assert main(given) == 2
    assert option in capsys.readouterr().err


def test_the_page_shows_every_figure_and_plot(page):
    assert page.count("<svg") >= 3
    for title in ("ROC AUC", "Average precision", "Lift", "Work saved", "Brier", "calibration"):
        assert title in page
    assert "nose pads" in page
    assert "What a change of your figures would do" in page


def test_the_page_is_self_contained_and_escapes_everything(page):
    assert "default-src &#39;none&#39;" in page
    assert not re.search(r"<script|https?://|<img|url\((?!#)", page)
    assert "&lt;ref&gt;" in page
    assert "<ref>" not in page


def test_the_page_names_no_seller(page):
    assert not re.search(r"\bs[0-6]\b", page)


@pytest.mark.parametrize(
    "outcomes",
    [(), (Outcome("a", {}, False),), (Outcome("a", {}, True), Outcome("b", {}, True))],
    ids=["none", "one", "only bad ones"],
)
def test_a_page_of_little_is_a_page_still(outcomes):
    page = make_page(evaluate(WEIGHTS, outcomes))
    assert page.rstrip().endswith("</html>")
    assert "nan" not in page.lower().replace("finance", "")


def test_few_outcomes_carry_no_figure_and_what_does_not_count_is_told(tmp_path):
    lines = [
        {"id": "id1", "result": "a copy"},
        {"id": "id2", "result": "as described"},
        {"id": "id3", "result": "returned", "reason": "too small"},
    ]
    measured = measure_run(RUN, Settings(outcomes=write(tmp_path / "o.jsonl", *lines)))
    told = "\n".join(figure_lines(measured.evaluation))
    assert "ROC AUC                    too few outcomes to say" in told
    assert "1.00" not in told
    assert "returned, too small (1)" in uncounted_line(measured.uncounted)
    assert make_page(measured.evaluation).count("too few outcomes to say") >= 8


def test_an_empty_ranking_leaves_the_last_one_in_mind(tmp_path, capsys):
    full, empty = tmp_path / "full", tmp_path / "empty"
    for folder in (full, empty):
        folder.mkdir()
    write(full / "l.jsonl", LISTING)
    (empty / "l.txt").write_bytes(b"")
    common = ["--cache", str(tmp_path / "cache"), "--workers", "1", "--quiet"]
    assert main(["rank", str(full), *common]) == 0
    capsys.readouterr()
    assert main(["rank", str(empty), *common]) == 1
    assert capsys.readouterr().out == ""
    assert main(["explain", "1", *common]) == 0
