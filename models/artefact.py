"""A learned model as a JSON file with its card; inspected before anything of it is used.

The file holds numbers and names only. It is refused when it was learned on other starting weights,
names a code nobody knows, or holds a weight outside its bounds; nothing stored is ever run.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from extractors.errors import UserError
from models import calibrate, trees
from models.outcomes import Outcome
from models.risk import Model, say_learned, starting_model
from models.weights import Weights

FORMAT = "risk model of frame-triage"
VERSION = 2
LARGEST_BYTES = 20_000_000
ALLOWED = frozenset(
    {
        *("format", "version", "card", "intercept", "coefficients", "covariance", "habit_spread"),
        *("trees", "calibration"),
    }
)
HINT = "learn it anew from the outcomes"


def digest_of(outcomes: Sequence[Outcome]) -> str:
    """SHA-256 (hex) of the outcomes a model was learned from, whatever their order."""
    rows = [asdict(outcome) for outcome in sorted(outcomes, key=lambda outcome: outcome.id)]
    return sha256(json.dumps(rows, sort_keys=True, default=dict).encode()).hexdigest()


def make_card(
    weights: Weights,
    outcomes: Sequence[Outcome],
    made: str,
    metrics: Mapping[str, float],
    remarks: Sequence[str],
) -> dict[str, object]:
    """The card: what the model is for, what it saw, what it reached, what to beware of."""
    return {
        "purpose": "probability that a listed frame, bought and inspected, is not as described",
        "not_for": "judging a person, or saying that a piece is genuine",
        "made": made,
        "outcomes": len(outcomes),
        "not_as_described": sum(outcome.bad for outcome in outcomes),
        "data_digest": digest_of(outcomes),
        "weights_digest": weights.digest,
        "features": list(weights.rows),
        "metrics": dict(metrics),
        "remarks": list(remarks),
    }


def save_model(path: Path, model: Model, card: Mapping[str, object]) -> None:
    """Write model and card whole or not at all."""
    table: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "card": dict(card),
        "intercept": model.intercept,
        "coefficients": dict(model.coefficients),
        "habit_spread": model.habit_spread,
        "covariance": [[a, b, v] for (a, b), v in (model.covariance or {}).items() if a <= b],
        "trees": trees.to_table(model.trees) if model.trees else None,
        "calibration": calibrate.to_table(model.calibrate) if model.calibrate else None,
    }
    beside = path.with_name(path.name + ".part")
    beside.write_text(json.dumps(table, allow_nan=False, indent=1), encoding="utf-8")
    beside.replace(path)


def load_model(path: Path, weights: Weights) -> Model:
    """Read a stored model after inspecting it; raises UserError saying what is wrong with it."""
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise UserError(f"{path.name} is too large to be a risk model", HINT)
        table = json.loads(path.read_bytes(), parse_constant=_refuse)
    except OSError as error:
        raise UserError(f"cannot read the model {path}: {error.strerror}") from error
    except (ValueError, RecursionError) as error:
        raise UserError(f"{path.name} is not a stored model: {error}", HINT) from error
    return read_model(table, weights)


def _refuse(constant: str) -> float:
    raise ValueError(f"{constant} is no figure")


def read_model(table: Any, weights: Weights) -> Model:
    """Build the model from a parsed file, refusing everything that learning could not have made."""
    if not isinstance(table, dict) or table.get("format") != FORMAT:
        raise UserError("this is not a stored risk model", HINT)
    if table.get("version") != VERSION:
        raise UserError(f"the stored model has version {table.get('version')}, not {VERSION}", HINT)
    if set(table) != ALLOWED:
        raise UserError("this is not a stored risk model", HINT)
    card = table["card"]
    if not isinstance(card, dict) or card.get("weights_digest") != weights.digest:
        raise UserError("the stored model was learned on other starting weights", HINT)
    grown, last = table["trees"], table["calibration"]
    return replace(
        starting_model(weights),
        intercept=_figure(table["intercept"], "intercept", -20.0, 20.0),
        coefficients=_coefficients(table["coefficients"], weights),
        habit_spread=_figure(table["habit_spread"], "habit_spread", 0.0, 10.0),
        covariance=_covariance(table["covariance"], weights),
        trees=trees.from_table(grown, tuple(weights.rows)) if grown else None,
        calibrate=calibrate.from_table(last) if last else None,
        note=say_learned(_count(card, "outcomes"), _count(card, "not_as_described")),
        card=card,
    )


def _count(card: Mapping[str, Any], name: str) -> int:
    return int(_figure(card.get(name), name, 0.0, 1e9))


def _figure(value: Any, name: str, low: float, high: float) -> float:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not math.isfinite(value) or not low - 1e-9 <= value <= high + 1e-9:
        raise UserError(f"the stored model is damaged: {name} is {value!r}", HINT)
    return float(value)


def _coefficients(table: Any, weights: Weights) -> dict[str, float]:
    if not isinstance(table, dict) or set(table) != set(weights.rows):
        raise UserError("the stored model and the weights file name different findings", HINT)
    return {
        code: _figure(table[code], code, max(-20.0, row.at_least), min(20.0, row.at_most))
        for code, row in weights.rows.items()
    }


def _covariance(rows: Any, weights: Weights) -> dict[tuple[str, str], float] | None:
    names = {"", *weights.rows}
    out: dict[tuple[str, str], float] = {}
    if not isinstance(rows, list):
        raise UserError("the stored model is damaged: covariance", HINT)
    for row in rows:
        if not isinstance(row, list) or len(row) != 3 or not {row[0], row[1]} <= names:
            raise UserError("the stored model is damaged: covariance", HINT)
        value = _figure(row[2], "covariance", -1e3, 1e3)
        out[row[0], row[1]] = out[row[1], row[0]] = value
    return out or None
