"""Print precision, recall and F1 of the text extractors over annotated listings (JSON Lines).

    python tests/evaluation/evaluate_text.py FILE [--by language|half|category|origin] [--errors]

Each line holds title, description, language and gold annotations. Matching: a measurement by
value within 1 % (repeats of a quantity and value count once); a marking by its text without
case, spaces and punctuation, and by claimed (place by half of the words); an era by its years
and approximate; a feature by kind and claimed; a key phrase by class and overlapping words;
authenticity by label, macro-averaged. Repeats of the same statement count once on both sides.
A gold field that is null is not scored, nor a place that is "?".
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from extractors.catalogue import extract
from extractors.records import Evidence, Listing

LABELS = ("disclaimed", "hedged", "asserted", "none")
UNSAID = "?"  # a place that the annotator left open
Item = Mapping[str, Any]


def plain(text: str) -> str:
    """Drop case, spaces and punctuation; "*" stays."""
    return "*" if text.strip() == "*" else re.sub(r"[\W_]", "", text).casefold()


def words(text: str | None) -> set[str]:
    """Give the words of a place wording."""
    return set(re.findall(r"\w+", (text or "").casefold()))


def same_value(a: Item, b: Item) -> bool:
    """Tell whether both ends of two lengths agree within 1 %."""
    return all(abs(a[k] - b[k]) <= 0.01 * max(abs(a[k]), abs(b[k])) for k in ("low_mm", "high_mm"))


def same_measurement(a: Item, b: Item) -> bool:
    """Compare value and whose size; the quantity only for sizes of the item."""
    if a["of_item"] != b["of_item"] or not same_value(a, b):
        return False
    return not a["of_item"] or bool(a["quantity"] == b["quantity"])


def same_era(a: Item, b: Item) -> bool:
    """Compare the years and whether they are approximate."""
    return all(a[k] == b[k] for k in ("from_year", "to_year", "approximate"))


def same_feature(a: Item, b: Item) -> bool:
    """Compare kind and claimed."""
    return all(a[k] == b[k] for k in ("kind", "claimed"))


def same_marking(a: Item, b: Item) -> bool:
    """Compare literal and claimed."""
    return plain(a["text"]) == plain(b["text"]) and bool(a["claimed"] == b["claimed"])


def same_place(a: Item, b: Item) -> bool:
    """Compare a marking with its place: half of the words shared."""
    if not same_marking(a, b):
        return False
    if a["place"] == UNSAID:
        return True
    first, second = words(a["place"]), words(b["place"])
    if not first or not second:
        return first == second
    return len(first & second) / max(len(first), len(second)) >= 0.5


def same_phrase(a: Item, b: Item) -> bool:
    """Compare class, and whether the words overlap."""
    return bool(a["class"] == b["class"] and a["start"] < b["end"] and b["start"] < a["end"])


def collapse(items: Iterable[Item], same: Callable[[Item, Item], bool]) -> list[Item]:
    """Keep the first of items that are the same."""
    kept: list[Item] = []
    for item in items:
        if not any(same(item, other) for other in kept):
            kept.append(item)
    return kept


FIELDS: dict[str, tuple[str, Callable[[Item], bool], Callable[[Item, Item], bool]]] = {
    "length value": ("measurements", lambda _: True, same_value),
    "quantity+value+of_item": ("measurements", lambda _: True, same_measurement),
    "not of the item": ("measurements", lambda m: not m["of_item"], same_value),
    "marking text+claimed": ("markings", lambda _: True, same_marking),
    "marking absent/unsure": ("markings", lambda m: m["claimed"] != "present", same_marking),
    "marking with place": ("markings", lambda _: True, same_place),
    "era": ("eras", lambda _: True, same_era),
    "feature kind+claimed": ("features", lambda _: True, same_feature),
    "key phrase": ("key_phrases", lambda _: True, same_phrase),
}


def read_evidence(evidence: Evidence) -> dict[str, list[Item]]:
    """Turn evidence into rows like the annotation's, one a mention."""
    found: dict[str, list[Item]] = defaultdict(list)
    for m in evidence.measurements:
        found["measurements"].append(
            {k: getattr(m, k) for k in ("quantity", "low_mm", "high_mm", "of_item")}
        )
    for k in evidence.markings:
        if k.object in ("item", "lens", "sticker"):
            found["markings"].append({"text": k.text, "place": k.place, "claimed": k.claimed})
    for e in evidence.eras:
        found["eras"].append({k: getattr(e, k) for k in ("from_year", "to_year", "approximate")})
    for f in evidence.features:
        found["features"].append({"kind": f.kind, "claimed": f.claimed, "text": f.text})
    for p in evidence.key_phrases:
        for span in p.quoted:
            found["key_phrases"].append(
                {"class": p.phrase_class, "start": span.start, "end": span.end, "text": span.text}
            )
    return found


def match(
    gold: list[Item], found: list[Item], same: Callable[[Item, Item], bool]
) -> tuple[int, list[Item], list[Item]]:
    """Pair gold with found one to one: number of pairs, missed, wrong."""
    left = list(found)
    missed = []
    for item in gold:
        twin = next((other for other in left if same(item, other)), None)
        if twin is None:
            missed.append(item)
        else:
            left.remove(twin)
    return len(gold) - len(missed), missed, left


def listing_of(case: Item) -> Listing:
    """Make a listing from an annotated case."""
    return Listing(case["id"], "evaluation", case["title"], case["description"])


class Table:
    """Counts per group and field."""

    def __init__(self) -> None:
        self.counts: dict[str, dict[str, list[int]]] = defaultdict(
            lambda: defaultdict(lambda: [0, 0, 0])
        )
        self.labels: dict[str, list[tuple[str, str]]] = defaultdict(list)
        self.listings: dict[str, int] = defaultdict(int)

    def add(self, case: Item, groups: Iterable[str], show_errors: bool) -> None:
        """Score one case into the groups it belongs to."""
        evidence = extract(listing_of(case))
        found = read_evidence(evidence)
        for name, (field, wanted, same) in FIELDS.items():
            if case["gold"].get(field) is None:
                continue
            gold_items = collapse(filter(wanted, case["gold"][field]), same)
            found_items = collapse(filter(wanted, found[field]), same)
            pairs, missed, wrong = match(gold_items, found_items, same)
            for group in groups:
                for place, number in enumerate((pairs, len(missed), len(wrong))):
                    self.counts[group][name][place] += number
            if show_errors and (missed or wrong) and name not in _QUIET:
                print(f"{case['id']} {case['language']} {name}: missed {missed} wrong {wrong}")
        for group in groups:
            self.listings[group] += 1
        if case["gold"]["authenticity"] is None:
            return
        for group in groups:
            self.labels[group].append((case["gold"]["authenticity"], evidence.authenticity.label))
        if show_errors and case["gold"]["authenticity"] != evidence.authenticity.label:
            quoted = [span.text for span in evidence.authenticity.quoted]
            print(
                f"{case['id']} authenticity: gold {case['gold']['authenticity']}, "
                f"found {evidence.authenticity.label} {quoted}"
            )

    def rows(self, group: str) -> Iterable[str]:
        """Give the printed lines of one group."""
        for name in FIELDS:
            pairs, missed, wrong = self.counts[group][name]
            precision, recall, f1 = scores(pairs, missed, wrong)
            figures = f"P {precision:.3f}  R {recall:.3f}  F1 {f1:.3f}"
            yield f"  {name:24} {figures}  (n={pairs + missed})"
        yield f"  {'authenticity macro-F1':24} {'':18} F1 {macro_f1(self.labels[group]):.3f}"


_QUIET = ("marking absent/unsure", "marking with place", "length value", "not of the item")


def scores(pairs: int, missed: int, wrong: int) -> tuple[float, float, float]:
    """Give precision, recall and F1; 1 where there is nothing to find and nothing found."""
    precision = pairs / (pairs + wrong) if pairs + wrong else 1.0
    recall = pairs / (pairs + missed) if pairs + missed else 1.0
    total = 2 * pairs + missed + wrong
    return precision, recall, 2 * pairs / total if total else 1.0


def macro_f1(pairs: list[tuple[str, str]]) -> float:
    """Average F1 over the labels that occur in gold or answer."""
    values = []
    for label in LABELS:
        hit = sum(gold == found == label for gold, found in pairs)
        missed = sum(gold == label != found for gold, found in pairs)
        wrong = sum(found == label != gold for gold, found in pairs)
        if hit + missed + wrong:
            values.append(scores(hit, missed, wrong)[2])
    return sum(values) / len(values) if values else 1.0


def main(arguments: list[str] | None = None) -> int:
    """Read the file and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("file", type=Path, nargs="+")
    parser.add_argument(
        "--by", action="append", default=[], help="language, half, category, origin"
    )
    parser.add_argument("--half", choices=("working", "kept_back"), help="only this half")
    parser.add_argument("--errors", action="store_true", help="also print what went wrong")
    options = parser.parse_args(arguments)
    table = Table()
    for path in options.file:
        for line in path.read_text("utf-8").splitlines():
            case = json.loads(line)
            case["half"] = "kept_back" if case.get("kept_back") else "working"
            if options.half and case["half"] != options.half:
                continue
            groups = ["all", *(f"{key}={case.get(key)}" for key in options.by)]
            table.add(case, groups, options.errors)
    for group in sorted(table.listings):
        print(f"{group} ({table.listings[group]} listings)")
        print("\n".join(table.rows(group)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
