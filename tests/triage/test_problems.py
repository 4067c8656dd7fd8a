"""What could not be read, told in a few lines: where, what is wrong, what to do."""

from __future__ import annotations

import pytest

from extractors.records import Problem
from triage.progress import problem_lines
from triage.run import problem_groups


def test_troubles_of_one_kind_stand_together_with_their_files_and_lines() -> None:
    problems = (
        Problem("a.html", None, "is empty", "save it again"),
        Problem("week.csv", None, "line 3: price cannot be read: 'abc'", "correct it"),
        Problem("week.csv", None, "line 9: price cannot be read: 'abc'", "correct it"),
        Problem("b.zip", "c.csv", "line 2: price cannot be read: 'abc'", "correct it"),
    )
    assert problem_groups(problems) == [
        ("price cannot be read: 'abc'", "correct it", ("week.csv:3, 9", "b.zip!c.csv:2")),
        ("is empty", "save it again", ("a.html",)),
    ]
    assert problem_lines(problems) == [
        "4 problems:",
        "  week.csv:3, 9, b.zip!c.csv:2: price cannot be read: 'abc'; correct it",
        "  a.html: is empty; save it again",
    ]


@pytest.mark.parametrize(
    ("count", "told"), [(5, "1, 2, 3, 4, 5"), (8, "1, 2, 3, 4, 5 and 3 more lines")]
)
def test_many_lines_of_a_file_are_counted(count: int, told: str) -> None:
    problems = [Problem("w.csv", None, f"line {n}: is odd", "mend it") for n in range(1, count + 1)]
    assert problem_groups(problems) == [("is odd", "mend it", (f"w.csv:{told}",))]


def test_no_problem_tells_nothing() -> None:
    assert problem_lines(()) == []
