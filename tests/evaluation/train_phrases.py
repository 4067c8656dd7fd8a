"""Train the second opinion on key phrases and print how good it is on listings it has not seen.

    python -m tests.evaluation.train_phrases FILE... [--write]

FILE: annotated listings (JSON Lines); with them go the sentences of
`extractors/data/phrase_examples.csv`. Logistic regression, one class against the rest, on words,
beginnings of words and pairs (`extractors.second_opinion.features_of`) and on ideas and pairs of
them (`extractors.phrase_ideas`). The table is of grouped
cross-validation: sentences of one listing, or one example, never stand on both sides. `--write`
writes `extractors/data/phrase_weights.json`. The same input gives the same file.
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy.sparse import csr_matrix
from sklearn.feature_extraction import DictVectorizer
from sklearn.linear_model import LogisticRegression
from sklearn.model_selection import GroupKFold

import extractors
from extractors.lexicon import read_rows
from extractors.phrase_ideas import named_ideas
from extractors.phrases import CLASSES, listed_phrases
from extractors.reading import Reading, prepare
from extractors.second_opinion import features_of

INVERSE_PENALTY = 3.0
WEIGHT_OF_PHRASES = 3.0  # sentences with a phrase are few
LEAST_CHANCE = 0.78
SMALLEST = 0.06  # log-odds; what adds less is left out of the file
FOLDS = 5
OF_IDEAS = "ideas: "  # before the names of those features
PLACE = Path(extractors.__file__).with_name("data") / "phrase_weights.json"


class Sentence(NamedTuple):
    """One sentence: its features, the classes it holds, those the list finds, its group."""

    features: dict[str, int]
    classes: frozenset[str]
    listed: frozenset[str]
    group: str


def sentence_of(
    reading: Reading, first: int, last: int, classes: frozenset[str], group: str
) -> Sentence:
    start, end = reading.starts[first], reading.ends[last - 1]
    listed = frozenset(
        phrase.phrase_class
        for phrase in listed_phrases(reading)
        if phrase.quoted[0].start < end and start < phrase.quoted[0].end
    )
    keys = reading.keys[first:last]
    names = {name: 1 for _, name in features_of(keys)}
    names |= {f"{OF_IDEAS}{name}": 1 for name in named_ideas(keys)}
    return Sentence(names, classes, listed, group)


def of_examples() -> Iterator[Sentence]:
    """The project's own sentences."""
    for number, row in enumerate(read_rows("phrase_examples")):
        reading = prepare(row["text"])
        classes = frozenset({row["class"]}) - {"none"}
        yield sentence_of(reading, 0, len(reading.keys), classes, f"example {number}")


def of_listings(path: Path) -> Iterator[Sentence]:
    """The sentences of annotated listings."""
    for line in path.read_text("utf-8").splitlines():
        case = json.loads(line)
        if case["gold"].get("key_phrases") is None:
            continue
        reading = prepare(case["text"])
        for first, last in reading.sentences:
            if first == last:
                continue
            start, end = reading.starts[first], reading.ends[last - 1]
            classes = frozenset(
                phrase["class"]
                for phrase in case["gold"]["key_phrases"]
                if phrase["start"] < end and start < phrase["end"]
            )
            yield sentence_of(reading, first, last, classes, f"{path.name} {case['id']}")


def fit(table: csr_matrix, classes: list[frozenset[str]], name: str) -> LogisticRegression:
    labels = np.array([name in held for held in classes])
    model = LogisticRegression(
        C=INVERSE_PENALTY, class_weight={False: 1.0, True: WEIGHT_OF_PHRASES}, max_iter=1_000
    )
    return model.fit(table, labels)


def cross_validated(sentences: list[Sentence]) -> dict[str, np.ndarray]:
    """The log-odds of each sentence for each class by models that did not see its group."""
    groups = [sentence.group for sentence in sentences]
    found = {name: np.zeros(len(sentences)) for name in CLASSES}
    for train, test in GroupKFold(FOLDS).split(sentences, groups=groups):
        vectors = DictVectorizer()
        table = vectors.fit_transform([sentences[n].features for n in train])
        held = [sentences[n].classes for n in train]
        asked = vectors.transform([sentences[n].features for n in test])
        for name in CLASSES:
            found[name][test] = fit(table, held, name).decision_function(asked)
    return found


def show(sentences: list[Sentence]) -> None:
    """Print right, wrong and missed for the list alone and with the second opinion."""
    odds = cross_validated(sentences)
    least = math.log(LEAST_CHANCE / (1 - LEAST_CHANCE))
    print(f"{'class':22} {'held':>5}   list alone         with second opinion")
    sums = np.zeros(6, int)
    for name in CLASSES:
        counts = np.zeros(6, int)
        for number, sentence in enumerate(sentences):
            held, listed = name in sentence.classes, name in sentence.listed
            both = listed or odds[name][number] >= least
            counts += [held & listed, listed & ~held, held & ~listed,
                       held & both, both & ~held, held & ~both]  # fmt: skip
        print(f"{name:22} {counts[0] + counts[2]:5}   {scores(*counts[:3])}  {scores(*counts[3:])}")
        sums += counts
    print(f"{'all':22} {sums[0] + sums[2]:5}   {scores(*sums[:3])}  {scores(*sums[3:])}")


def scores(right: int, wrong: int, missed: int) -> str:
    precision, recall = right / max(right + wrong, 1), right / max(right + missed, 1)
    f1 = 2 * right / max(2 * right + wrong + missed, 1)
    return f"P {precision:.2f} R {recall:.2f} F {f1:.2f}"


def write(sentences: list[Sentence]) -> None:
    """Fit on all and write the weights."""
    vectors = DictVectorizer()
    table = vectors.fit_transform([sentence.features for sentence in sentences])
    held = [sentence.classes for sentence in sentences]
    models = {name: fit(table, held, name) for name in CLASSES}
    features: dict[str, dict[str, float]] = {}
    of_ideas: dict[str, dict[str, float]] = {}
    for column, feature in enumerate(vectors.feature_names_):
        row = {name: round(float(models[name].coef_[0][column]), 3) for name in CLASSES}
        row = {name: weight for name, weight in row.items() if abs(weight) >= SMALLEST}
        if row and feature.startswith(OF_IDEAS):
            of_ideas[feature.removeprefix(OF_IDEAS)] = row
        elif row:
            features[feature] = row
    data = {
        "starts": {name: round(float(models[name].intercept_[0]), 3) for name in CLASSES},
        "least": round(math.log(LEAST_CHANCE / (1 - LEAST_CHANCE)), 3),
        "features": features,
        "ideas": of_ideas,
    }
    PLACE.write_text(json.dumps(data, ensure_ascii=False, indent=0, sort_keys=True) + "\n", "utf-8")
    print(f"{len(features)} features of {len(sentences)} sentences written")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path, nargs="+")
    parser.add_argument("--write", action="store_true")
    given = parser.parse_args()
    sentences = [*of_examples()]
    for path in given.file:
        sentences += of_listings(path)
    show(sentences)
    if given.write:
        write(sentences)


if __name__ == "__main__":
    main()
