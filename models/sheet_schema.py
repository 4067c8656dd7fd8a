"""The JSON Schema of a sheet file, for editors that complete and check TOML while one types.

It describes the plain form; the loader takes more (see sheet_reading).
"""

from __future__ import annotations

from typing import Any

from models.point_words import known_points
from models.sheet_records import LENGTHS

_TEXTS = {"oneOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}
_VALUES = {
    "oneOf": [
        {"type": ["string", "number", "boolean"]},
        {"type": "array", "items": {"type": ["string", "number"]}},
    ]
}
_YEARS = {
    "oneOf": [
        {"type": "array", "items": {"type": "integer"}, "minItems": 1, "maxItems": 2},
        {"type": ["string", "integer"]},
        {
            "type": "object",
            "properties": {"from": {"type": "integer"}, "to": {"type": "integer"}},
            "additionalProperties": False,
        },
    ]
}
_LENGTH = {
    "description": 'millimetres: 46, "46 ± 1", "46-48", or a table with value and tolerance',
    "oneOf": [
        {"type": ["number", "string"]},
        {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2},
        {"type": "object"},
    ],
}
_SURE = {"enum": ["certain", "likely", "guess"]}


def schema() -> dict[str, Any]:
    """The schema as plain values, ready for json.dump."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Reference sheet",
        "description": "What is known of one model of spectacle frame",
        "type": "object",
        "required": ["name"],
        "properties": _top(),
        "additionalProperties": False,
    }


def _top() -> dict[str, Any]:
    return {
        "id": {"type": "string", "description": "stable name; the file's name if left out"},
        "name": {"type": "string", "description": "maker and model, as sellers write it"},
        "maker": {"type": "string", "description": "the first word of the name if left out"},
        "aliases": _TEXTS,
        "years": _YEARS,
        "country": _TEXTS,
        "source": {"type": "string"},
        "sure": _SURE,
        "notes": {"type": "string"},
        "usual_faults": _TEXTS,
        "sizes": _sizes(),
        "point": {"type": "array", "items": _point()},
        "points": {"type": "object", "description": "the same by name: [points.hinge_barrels]"},
        "edition": {"type": "array", "items": _edition()},
        "look_alike": {"type": "array", "items": _look_alike()},
        "marks": {
            "type": "object",
            "properties": {"belong": _TEXTS, "never": _TEXTS},
            "additionalProperties": False,
        },
        "picture": {"type": "array", "items": {"type": "object", "required": ["file"]}},
    }


def _sizes() -> dict[str, Any]:
    lengths = dict.fromkeys(LENGTHS, _LENGTH)
    combination = {"type": "object", "properties": {"name": {"type": "string"}, **lengths}}
    return {
        "type": "object",
        "properties": {
            "complete": {"type": ["boolean", "string"], "description": "no other size was made"},
            "basis": {"enum": ["printed", "ruler"]},
            "how": {"enum": ["printed", "ruler"]},
            "tolerance": {"type": ["number", "object"]},
            "combinations": {
                "type": "array",
                "items": {"oneOf": [combination, {"type": "string"}]},
            },
            "source": {"type": "string"},
            "sure": _SURE,
            "question": {"type": "string"},
            "photo": {"type": "string"},
            **lengths,
        },
        "additionalProperties": False,
    }


def _point() -> dict[str, Any]:
    names = sorted({*known_points(), *LENGTHS})
    texts = ("why", "question", "photo", "source", "unit", "aligned")
    return {
        "type": "object",
        "required": ["name"],
        "properties": {
            "name": {"type": "string", "examples": names},
            **dict.fromkeys(("always", "never", "usually", "value"), _VALUES),
            **{key: {"type": "string"} for key in texts},
            **dict.fromkeys(("text", "how", "where", "not_where", "harmless", "topic"), _TEXTS),
            "when": {"oneOf": [*_TEXTS["oneOf"], {"type": "object"}]},
            "otherwise": {"type": "boolean"},
            "tolerance": {"type": ["number", "string"]},
            "basis": {"type": "string"},
            "numerals": {"enum": ["roman", "arabic"]},
            "how_often": {"type": ["integer", "string"]},
            "wear": {"enum": ["stays", "can vanish"]},
            "sure": _SURE,
            "cues": {"type": "object", "additionalProperties": _TEXTS},
        },
        "additionalProperties": False,
    }


def _edition() -> dict[str, Any]:
    return {
        "type": "object",
        "required": ["name"],
        "properties": {
            "name": {"type": "string"},
            "aliases": _TEXTS,
            "known_by": {"oneOf": [*_TEXTS["oneOf"], {"type": "object"}]},
            "years": _YEARS,
            "sizes": _sizes(),
            "point": {"type": "array", "items": _point()},
            "source": {"type": "string"},
            "notes": {"type": "string"},
        },
        "additionalProperties": False,
    }


def _look_alike() -> dict[str, Any]:
    return {
        "type": "object",
        "required": ["reference"],
        "properties": {
            "reference": {"type": "string"},
            "how": {"type": "string"},
            "tell_by": _TEXTS,
        },
        "additionalProperties": False,
    }
