"""How well the checks judge: reference, conflicts, agreements and innocent traps, by half.

    python -m tests.evaluation.evaluate_checks [--half writing|kept|both] [--errors] [CASES SHEETS]

A case names its reference, the points that conflict, those that agree and those that look like a
conflict and are none (traps). Half of the cases are kept back: rules are written looking only at
the errors of the other half. Every other conflict found is a false one.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from extractors.catalogue import extract
from extractors.records import Listing
from models.checks.catalogue import run_checks
from models.resolve import resolve
from models.sheets import Sheets, load_sheets

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Outcome:
    """What the checks said of one case, beside what was marked."""

    case: dict[str, Any]
    reference: str | None
    results: dict[str, str]
    why: dict[str, str]

    @property
    def conflicts(self) -> set[str]:
        """Points called a conflict."""
        return {point for point, result in self.results.items() if result == "conflicts"}


def run(cases: Iterable[dict[str, Any]], sheets: Sheets) -> Iterator[Outcome]:
    """Run the real extractors and checks over every case."""
    for case in cases:
        listing = Listing(
            case["id"], "cases", case["title"], case["description"],
            specifics=tuple(case["specifics"].items()),
        )  # fmt: skip
        evidence = extract(listing)
        resolution = resolve(listing, evidence, sheets)
        findings = run_checks(listing, evidence, resolution, sheets)
        yield Outcome(
            case,
            resolution.reference,
            {f.point: f.result for f in findings},
            {f.point: f.why for f in findings},
        )


def measure(outcomes: list[Outcome]) -> dict[str, float]:
    """The figures of the measures, 0 to 1 (false conflicts: per 100 listings without one)."""
    n: Counter[str] = Counter()
    for one in outcomes:
        marked, found = set(one.case["conflicts"]), one.conflicts
        n["reference"] += one.reference == one.case["reference"]
        n["marked"] += len(marked)
        n["found"] += len(found)
        n["right"] += len(marked & found)
        n["agrees"] += len(one.case["agrees"])
        n["agreed"] += sum(one.results.get(p) == "agrees" for p in one.case["agrees"])
        n["traps"] += len(one.case["traps"])
        n["trapped"] += sum(p in found for p in one.case["traps"])
        if not marked:
            n["honest"] += 1
            n["false"] += len(found)
    return {
        "listings": len(outcomes),
        "reference right": n["reference"] / max(1, len(outcomes)),
        "conflicts, recall": n["right"] / max(1, n["marked"]),
        "conflicts, precision": n["right"] / max(1, n["found"]),
        "false conflicts per 100 honest": 100 * n["false"] / max(1, n["honest"]),
        "traps called conflicts": n["trapped"] / max(1, n["traps"]),
        "agreements found": n["agreed"] / max(1, n["agrees"]),
    }


def errors_of(one: Outcome) -> Iterator[str]:
    """What went wrong in one case, a line each."""
    marked = set(one.case["conflicts"])
    if one.reference != one.case["reference"]:
        yield f"reference {one.reference}, should be {one.case['reference']}"
    for point in sorted(marked - one.conflicts):
        yield f"missed {point}: {one.results.get(point)} {one.why.get(point, '')}"
    for point in sorted(one.conflicts - marked):
        yield f"false {point}: {one.why[point]}"
    for point in one.case["agrees"]:
        if one.results.get(point) != "agrees":
            yield f"not agreeing {point}: {one.results.get(point)} {one.why.get(point, '')}"


def main() -> None:
    """Print the table, and the errors where asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cases", nargs="?", type=Path, default=HERE / "check_cases.jsonl")
    parser.add_argument("sheets", nargs="?", type=Path, default=HERE / "check_sheets")
    parser.add_argument("--half", default="both", choices=["writing", "kept", "both"])
    parser.add_argument("--errors", action="store_true")
    args = parser.parse_args()
    cases = [json.loads(line) for line in args.cases.read_text(encoding="utf-8").splitlines()]
    sheets = load_sheets([args.sheets])
    halves = ["writing", "kept"] if args.half == "both" else [args.half]
    for half in halves:
        outcomes = list(run([c for c in cases if c.get("half", half) == half], sheets))
        print(f"\n{half}")
        for name, value in measure(outcomes).items():
            print(
                f"  {name:32} {value:8.3f}" if name != "listings" else f"  {name:32} {value:8.0f}"
            )
        for one in outcomes if args.errors else ():
            for line in errors_of(one):
                print(f"    {one.case['id']} {one.case['title']!r} | {line}")


if __name__ == "__main__":
    main()
