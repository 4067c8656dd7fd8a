"""From one parsed TOML file to a ReferenceSheet, forgiving in form and exact about what is wrong.

A value may be written as a number, a text ("46 mm ± 1", "46-48", "about 46") or a table; a list
may be a single text; keys have the everyday synonyms of `SYNONYMS`. What cannot be understood is
noted with its key and the fix; only a sheet without a usable name is refused.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal, cast

from models.point_words import is_known_point, main_point, point_of_phrase
from models.sheet_records import (
    INSCRIPTIONS,
    LENGTHS,
    Combination,
    Condition,
    Dimension,
    EditionSheet,
    Inscription,
    LookAlike,
    Picture,
    ReferenceSheet,
    Rule,
    Sizes,
    Sure,
    Years,
)

# ISO 12870, dimensional tolerance clause (from memory): printed lens and bridge +-0.5, side +-2
_PRINTED_TOLERANCE = {"lens_width": 0.5, "lens_height": 0.5, "bridge": 0.5, "temple_length": 2.0}
# own choice, wider than the standard: what an honest ruler on an old frame repeats to
_RULER_TOLERANCE = {"temple_length": 3.0, "frame_width": 2.0, "temple_to_bend": 3.0}
_RULER_DEFAULT = 1.0

SYNONYMS = {
    "model": "name", "title": "name", "brand": "maker", "also_known_as": "aliases",
    "alias": "aliases", "names": "aliases", "production_years": "years", "year": "years",
    "made": "years", "made_in": "country", "countries": "country", "size": "sizes",
    "dimensions": "sizes", "points": "point", "editions": "edition", "look_alikes": "look_alike",
    "lookalike": "look_alike", "lookalikes": "look_alike", "siblings": "look_alike",
    "sibling": "look_alike", "faults": "usual_faults", "pictures": "picture", "note": "notes",
    "certainty": "sure", "confidence": "sure", "mark": "marks", "reissues": "look_alike",
    "sizes_complete": "complete", "also": "aliases", "aka": "aliases", "also_called": "aliases",
    "other_names": "aliases", "nicknames": "aliases", "origin": "country", "made_where": "country",
    "from": "country", "dates": "years", "produced": "years", "period": "years", "era": "years",
    "sources": "source", "seen": "source", "remarks": "notes", "comment": "notes",
    "confused_with": "look_alike", "similar": "look_alike", "measurements": "sizes",
    "photos": "picture", "defects": "usual_faults",
}  # fmt: skip
_POINT_SYNONYMS = {
    "point": "name", "value": "always", "values": "always", "is": "always", "must_be": "always",
    "not": "never", "often": "usually", "mostly": "usually", "method": "how", "made": "how",
    "place": "where", "position": "where", "location": "where", "alignment": "aligned",
    "aligned_with": "aligned", "if": "when", "condition": "when", "only_when": "when",
    "cue_words": "cues", "words": "cues", "certainty": "sure", "confidence": "sure",
    "reason": "why", "note": "why", "notes": "why", "ask": "question", "picture": "photo",
    "harmless_wear": "harmless", "tol": "tolerance", "times": "how_often", "count": "how_often",
    "never_where": "not_where", "inscription": "text", "topics": "topic", "part": "topic",
}  # fmt: skip
_TOP_KEYS = {
    "id", "name", "maker", "aliases", "years", "country", "sizes", "point", "edition",
    "look_alike", "marks", "usual_faults", "picture", "source", "sure", "notes", "complete",
}  # fmt: skip
_POINT_KEYS = {
    "name", "always", "never", "usually", "when", "otherwise", "text", "how", "where",
    "not_where", "aligned", "numerals", "how_often", "wear", "harmless", "tolerance", "unit",
    "basis", "source", "sure", "why", "question", "photo", "cues", "topic",
}  # fmt: skip
_EDITION_KEYS = {
    "name", "aliases", "known_by", "years", "sizes", "point", "source", "notes", "complete"
}  # fmt: skip


@dataclass
class Notes:
    """Collects what is wrong in one sheet: (key, what, fix)."""

    found: list[tuple[str, str, str]] = field(default_factory=list)

    def add(self, key: str, what: str, fix: str) -> None:
        """Note one thing that had to be left out."""
        self.found.append((key, what, fix))


def read_sheet(data: Mapping[str, Any], file: str, stem: str, notes: Notes) -> ReferenceSheet:
    """Turn a parsed file into a sheet; raises ValueError where there is no usable name."""
    data = _points_gathered(data, SYNONYMS, _TOP_KEYS | set(LENGTHS))
    top = _rename(data, SYNONYMS, _TOP_KEYS | set(LENGTHS), "", notes)
    name = top.get("name")
    if not isinstance(name, str) or not name.strip():
        raise ValueError("name is missing")
    source, sure = _text(top.get("source")), _sure(top.get("sure"), "sure", notes)
    sizes, fixed = _sizes(top, source, sure, notes)
    rules, lengths = _points(top.get("point", []), "point", source, sure, notes)
    return ReferenceSheet(
        id=_text(top.get("id")) or slug(stem),
        name=" ".join(name.split()),
        maker=_text(top.get("maker")) or name.split()[0],
        aliases=_texts(top.get("aliases"), "aliases", notes),
        years=_years(top.get("years"), "years", notes),
        country=_texts(top.get("country"), "country", notes),
        sizes=sizes,
        fixed=fixed + lengths,
        rules=rules,
        editions=tuple(_editions(top.get("edition", []), rules, source, sure, notes)),
        look_alikes=tuple(_look_alikes(top.get("look_alike", []), [r.point for r in rules], notes)),
        marks_belong=_marks(top.get("marks"), ("belong", "yes", "allowed", "always"), notes),
        marks_never=_marks(top.get("marks"), ("never", "cannot", "not"), notes),
        usual_faults=_texts(top.get("usual_faults"), "usual_faults", notes),
        pictures=tuple(_pictures(top.get("picture", []), notes)),
        source=source,
        sure=sure,
        notes=_text(top.get("notes")),
        file=file,
    )


def _rename(
    data: Mapping[str, Any], synonyms: Mapping[str, str], known: set[str], where: str, notes: Notes
) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for raw, value in data.items():
        key = raw.strip().lower().replace("-", "_").replace(" ", "_")
        key = key if key in known else synonyms.get(key, key)
        if key in known:
            result[key] = _joined(key, result[key], value) if key in result else value
            continue
        near = difflib.get_close_matches(key, known, 1)
        fix = (
            f"did you mean '{near[0]}'?" if near else f"keys known here: {', '.join(sorted(known))}"
        )
        notes.add(raw, f"unknown key '{where + raw}', left out", fix)
    return result


def _points_gathered(
    table: Mapping[str, Any], synonyms: Mapping[str, str], known: set[str]
) -> dict[str, Any]:
    """A point's name as a key (hinge_barrels = 7) stands for a point of that name."""
    rest: dict[str, Any] = {}
    points: dict[str, Any] = {}
    for key, value in table.items():
        name = point_name(key)
        is_point = name not in known and name not in synonyms and is_known_point(name)
        (points if is_point else rest)[key] = value
    if not points:
        return rest
    for spelling in ("point", "points"):
        if spelling in rest:
            rest["point"] = [*_plain_rows(rest.pop(spelling)), *_plain_rows(points)]
            return rest
    return {**rest, "point": points}


def _joined(key: str, first: Any, second: Any) -> Any:
    """Two spellings of one list ("points", "point") are one list; else the first counts."""
    if key not in ("point", "edition", "look_alike", "picture"):
        return first
    return [*_plain_rows(first), *_plain_rows(second)]


def _plain_rows(value: Any) -> list[Any]:
    return value if isinstance(value, list) else list(_rows(value, "", Notes()))


def _text(value: object) -> str:
    return " ".join(str(value).split()) if isinstance(value, (str, int, float)) else ""


def _texts(value: object, key: str, notes: Notes) -> tuple[str, ...]:
    """A text or a list of texts, as a tuple; a number is taken as its text."""
    if value is None:
        return ()
    items = value if isinstance(value, list) else [value]
    good = tuple(_text(item) for item in items if _text(item))
    if len(good) < len(items):
        notes.add(
            key, f"'{key}' holds something that is not a text", f'write {key} = ["...", "..."]'
        )
    return good


def _sure(value: object, key: str, notes: Notes) -> Sure:
    if value is None:
        return "certain"
    word = str(value).strip().lower()
    if word in ("certain", "sure", "yes", "high"):
        return "certain"
    if word in ("likely", "probable", "probably", "medium", "fairly"):
        return "likely"
    if word not in ("guess", "unsure", "low", "perhaps", "unconfirmed"):
        notes.add(
            key, f"'{value}' is no degree of sureness", 'write "certain", "likely" or "guess"'
        )
    return "guess"


def slug(text: str) -> str:
    """Small letters and digits, dashes between: the id that a name or a file's name gives."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


_YEAR = re.compile(r"\b(1[5-9]\d\d|20\d\d)(s?)\b")


def _years(value: object, key: str, notes: Notes) -> Years:
    """[1958, 1964], "1958-1964", "from 1958", "until 1964", "1960s", 1961, {from, to}."""
    if value is None:
        return Years()
    if isinstance(value, dict):
        first, last = (value.get(k) for k in ("from", "to"))
        first = first if first is not None else value.get("first")
        last = last if last is not None else value.get("last")
        return _ordered(first, last, key, notes)
    if isinstance(value, list) and 1 <= len(value) <= 2:
        return _ordered(value[0] or None, value[-1] or None, key, notes)
    if isinstance(value, (int, str)):
        return _years_of_text(str(value), key, notes)
    notes.add(key, f"'{key}' is not understood", f"write {key} = [1958, 1964]")
    return Years()


def _years_of_text(text: str, key: str, notes: Notes) -> Years:
    # "1955-62" is until 1962
    text = re.sub(r"\b(\d\d)(\d\d)(\s*[-–—/]\s*)(\d\d)(?!\d)", r"\1\2\3\1\4", text)
    found = [(int(year), bool(decade)) for year, decade in _YEAR.findall(text)]
    if not found:
        notes.add(key, f"no year in '{text}'", f"write {key} = [1958, 1964]")
        return Years()
    first, last = found[0][0], found[-1][0] + (9 if found[-1][1] else 0)
    if re.search(r"\b(since|from|after)\b|[-–—]\s*$", text) and len(found) == 1:
        return Years(first, None)
    if re.search(r"\b(until|till|to|before|up to)\b|^\s*[-–—]", text) and len(found) == 1:
        return Years(None, last)
    return _ordered(first, last, key, notes)


def _ordered(first: object, last: object, key: str, notes: Notes) -> Years:
    try:
        low = int(str(first)) if first is not None else None
        high = int(str(last)) if last is not None else None
    except ValueError:
        notes.add(key, f"'{first}' to '{last}' are not years", f"write {key} = [1958, 1964]")
        return Years()
    if low is not None and high is not None and low > high:
        notes.add(
            key, f"{low} comes after {high}; taken the other way round", "put the first year first"
        )
        return Years(high, low)
    return Years(low, high)


# --- lengths -------------------------------------------------------------------------------

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_RANGE = re.compile(rf"{_NUMBER}\s*(?:mm|cm)?\s*(?:-|–|—|to|bis|à)\s*{_NUMBER}")
_PLUS_MINUS = re.compile(rf"(?:±|\+\s*/?\s*-|\+-|plus or minus)\s*{_NUMBER}")
_FIRST = re.compile(_NUMBER)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def number_range(value: object) -> tuple[float, float, float | None] | None:
    """(low, high, tolerance or None) of a number, a text or a table; None where there is none.

    >>> number_range("46 mm ± 1"), number_range("46-48"), number_range([46, 48])
    ((46.0, 46.0, 1.0), (46.0, 48.0, None), (46.0, 48.0, None))
    """
    if isinstance(value, bool):
        return None
    if isinstance(value, (int, float)):
        return float(value), float(value), None
    if isinstance(value, list) and value and all(isinstance(v, (int, float)) for v in value):
        return float(min(value)), float(max(value)), None
    if not isinstance(value, str):
        return None
    scale = 10.0 if re.search(r"\bcm\b|\dcm\b", value) else 1.0
    plus_minus = _PLUS_MINUS.search(value)
    tolerance = _number(plus_minus.group(1)) * scale if plus_minus else None
    body = value[: plus_minus.start()] if plus_minus else value
    if pair := _RANGE.search(body):
        low, high = sorted((_number(pair.group(1)) * scale, _number(pair.group(2)) * scale))
        return low, high, tolerance
    if single := _FIRST.search(body):
        return _number(single.group(1)) * scale, _number(single.group(1)) * scale, tolerance
    return None


_BASES = {
    "printed": "printed", "print": "printed", "marked": "printed", "stamped": "printed",
    "engraved": "printed", "ruler": "ruler", "measured": "ruler", "rule": "ruler",
    "caliper": "ruler", "calipers": "ruler", "overall": "overall",
    "hinge_to_hinge": "hinge_to_hinge", "to_bend": "to_bend",
}  # fmt: skip


def _basis(value: object, notes: Notes) -> str | None:
    """How a size was taken; a word that is none of the known ones is noted and left out."""
    word = point_name(_text(value))
    if word and word not in _BASES:
        fix = 'write basis = "printed" (on the frame) or basis = "ruler"'
        notes.add("basis", f"basis = '{value}' is not known, left out", fix)
    return _BASES.get(word)


def _dimension(
    quantity: str, value: object, basis: str | None, tolerances: Mapping[str, Any], source: str,
    notes: Notes,
) -> Dimension | None:  # fmt: skip
    tolerance: float | None = None
    if isinstance(value, dict):
        inner = _rename(value, _POINT_SYNONYMS, _POINT_KEYS, f"{quantity}.", notes)
        basis = _basis(inner.get("basis"), notes) or basis
        source = _text(inner.get("source")) or source
        given = number_range(inner.get("tolerance"))
        tolerance = given[0] if given else None
        value = inner.get("always", inner.get("usually"))
    span = number_range(value)
    if span is None or not 1 <= span[0] <= 400:
        notes.add(quantity, f"{quantity} = {value!r} is no length in mm", f"write {quantity} = 46")
        return None
    shared = number_range(tolerances.get(quantity, tolerances.get("all")))
    chosen = span[2] if span[2] is not None else tolerance
    chosen = chosen if chosen is not None else (shared[0] if shared else None)
    if chosen is None:
        chosen = default_tolerance(quantity, basis)
    return Dimension(quantity, span[0], span[1], chosen, basis, source)


def default_tolerance(quantity: str, basis: str | None) -> float:
    """Tolerance in mm where the sheet gives none: ISO 12870 for prints, a ruler's otherwise."""
    if basis == "printed" and quantity in _PRINTED_TOLERANCE:
        return _PRINTED_TOLERANCE[quantity]
    return _RULER_TOLERANCE.get(quantity, _RULER_DEFAULT)


_SIZE_SETTINGS = {
    "complete", "basis", "tolerance", "combinations", "source", "sure", "question", "photo",
    "notes", "why", "name",
}  # fmt: skip
_SIZE_SYNONYMS = {
    "list": "combinations", "sizes": "combinations", "combination": "combinations",
    "all": "combinations", "tolerances": "tolerance", "how": "basis", "measured": "basis",
    "closed": "complete", "width": "lens_width", "lens": "lens_width", "eye": "lens_width",
    "height": "lens_height", "temple": "temple_length", "temples": "temple_length",
    "arm": "temple_length", "dbl": "bridge", "front": "frame_width", "overall": "frame_width",
    "frame": "frame_width", "bridge_width": "bridge", "nose": "bridge", "arms": "temple_length",
    "sides": "temple_length", "temple_lengths": "temple_length", "rim_w": "rim_width",
    "rim_h": "rim_height", "total_width": "frame_width", "front_width": "frame_width",
}  # fmt: skip
_PRINT = re.compile(r"^\s*(\d\d)\s*[^\d\s.,]{0,2}\s*(\d\d)(?:\s*[^\d\s.,]{0,2}\s*(1\d\d))?\s*$")


def _sizes(
    top: Mapping[str, Any], source: str, sure: Sure, notes: Notes
) -> tuple[Sizes, tuple[Dimension, ...]]:
    raw = top.get("sizes")
    table: dict[str, Any] = {}
    if isinstance(raw, dict):
        table = dict(raw)
    elif isinstance(raw, (list, str)):
        table = {"combinations": raw}
    elif raw is not None:
        notes.add("sizes", f"sizes = {raw!r} is not understood", 'write sizes = ["44-20-135"]')
    table |= {key: top[key] for key in LENGTHS if key in top}
    table = _paired(table)
    known = _SIZE_SETTINGS | set(LENGTHS)
    table = _rename(table, _SIZE_SYNONYMS, known, "sizes.", notes)
    raw_list = table.get("combinations", [])
    raw_list = raw_list if isinstance(raw_list, list) else [raw_list]
    basis = _basis(table.get("basis"), notes)
    tolerances = _tolerances(table.get("tolerance"))
    source = _text(table.get("source")) or source
    pack = (basis, tolerances, source, notes)
    combos = tuple(c for n, row in enumerate(raw_list, 1) if (c := _combination(row, n, *pack)))
    fixed = tuple(d for q in LENGTHS if q in table and (d := _dimension(q, table[q], *pack)))
    if fixed and not combos and table.get("complete"):
        combos, fixed = (Combination("only", fixed),), ()
    sure = _sure(table["sure"], "sure", notes) if "sure" in table else sure
    # one size and no word on others: it is the size
    complete = table.get("complete", top.get("complete", len(combos) == 1))
    return Sizes(
        combos, complete in (True, "yes", "true"), source, sure,
        _text(table.get("question")), _text(table.get("photo")),
    ), fixed  # fmt: skip


_PAIR = re.compile(rf"^\s*{_NUMBER}\s*(?:mm)?\s*(?:x|×|by|\*)\s*{_NUMBER}\s*(?:mm)?\s*$")
_WIDEST_BRIDGE = 30  # mm
# width and height, by ruler over the rim, then bridge and temple
_OVER = re.compile(
    rf"^\s*{_NUMBER}\s*(?:mm)?\s*[x×]\s*{_NUMBER}(?:\s*(?:mm)?\s*[-–/]\s*{_NUMBER})?"
    rf"(?:\s*(?:mm)?\s*[-–/]\s*{_NUMBER})?\s*(?:mm)?\s*$"
)
_PAIRED = {
    "rim": ("rim_width", "rim_height"), "rims": ("rim_width", "rim_height"),
    "lens": ("lens_width", "lens_height"), "lenses": ("lens_width", "lens_height"),
    "eye": ("lens_width", "lens_height"), "frame": ("frame_width", "frame_height"),
    "front": ("frame_width", "frame_height"),
}  # fmt: skip


def _paired(table: Mapping[str, Any]) -> dict[str, Any]:
    """ "62 x 52" under rim, lens or front is a width and a height."""
    found: dict[str, Any] = {}
    for key, value in table.items():
        names = _PAIRED.get(key.strip().lower())
        pair = _PAIR.match(value) if names and isinstance(value, str) else None
        if names and pair:
            found |= dict(zip(names, map(_number, pair.groups()), strict=True))
        else:
            found[key] = value
    return found


def _tolerances(value: object) -> dict[str, Any]:
    return dict(value) if isinstance(value, dict) else {"all": value} if value is not None else {}


def _written_size(text: str, basis: str | None) -> object:
    """A size as one writes it: "46-22-140", or "61x51-22-140" with what lies over the rim."""
    over = _OVER.match(text)
    if over and float(over[2].replace(",", ".")) > _WIDEST_BRIDGE:
        part = "lens" if basis == "printed" else "rim"
        names = (f"{part}_width", f"{part}_height", "bridge", "temple_length")
        return {n: v for n, v in zip(names, over.groups(), strict=True) if v}
    if printed := _PRINT.match(text):
        three = ("lens_width", "bridge", "temple_length")
        return {n: v for n, v in zip(three, printed.groups(), strict=True) if v}
    return text


def _combination(
    row: object, number: int, basis: str | None, tolerances: Mapping[str, Any], source: str,
    notes: Notes,
) -> Combination | None:  # fmt: skip
    if isinstance(row, str):
        row = _written_size(row, basis)
    if not isinstance(row, dict):
        fix = 'write "46-22-140", or "61x51-22-140" with the width and height over the rim'
        notes.add("combinations", f"size {number} ({row}) cannot be read", fix)
        return None
    known = set(LENGTHS) | {"name", "basis", "source", "tolerance", "complete"}
    table = _rename(_paired(row), _SIZE_SYNONYMS, known, "sizes.combinations.", notes)
    basis = _basis(table.get("basis"), notes) or basis
    tolerances = {**tolerances, **_tolerances(table.get("tolerance"))}
    pack = (basis, tolerances, _text(table.get("source")) or source, notes)
    dims = tuple(d for q in LENGTHS if q in table and (d := _dimension(q, table[q], *pack)))
    return Combination(_text(table.get("name")) or f"size {number}", dims) if dims else None


# --- points --------------------------------------------------------------------------------


def _rows(value: object, key: str, notes: Notes) -> Iterator[dict[str, Any]]:
    """Rows of [[key]], or of [key.NAME] tables, NAME then being the row's name."""
    if isinstance(value, list):
        for row in value:
            if isinstance(row, dict):
                yield row
            else:
                notes.add(
                    key, f"an entry of '{key}' is no table", f"write [[{key}]] and keys below"
                )
    elif isinstance(value, dict):
        for name, inner in value.items():
            for row in inner if isinstance(inner, list) else [inner]:
                yield {"name": name, **(row if isinstance(row, dict) else {"always": row})}


def _points(
    value: object, key: str, source: str, sure: Sure, notes: Notes
) -> tuple[tuple[Rule, ...], tuple[Dimension, ...]]:
    rules: list[Rule] = []
    lengths: list[Dimension] = []
    for row in (r for whole in _rows(value, key, notes) for r in _by_value(whole)):
        table = _rename(row, _POINT_SYNONYMS, _POINT_KEYS, f"{key}.", notes)
        name = point_name(_text(table.get("name")))
        if not name:
            notes.add(
                key, f"a [[{key}]] has no name", 'add name = "hinge_barrels" (or another point)'
            )
        elif name in LENGTHS:
            dimension = _dimension(name, table, None, {}, source, notes)
            lengths += [dimension] if dimension else []
        else:
            rules.append(_rule(name, table, source, sure, rules, notes))
    return tuple(rules), tuple(lengths)


def _by_value(row: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """{ black = "black frames", clear = "all others" } is one rule a value, each with its when."""
    rest = {k: v for k, v in row.items() if k != "name"}
    known = _POINT_KEYS | set(_POINT_SYNONYMS)
    conditions = len(rest) > 1 and all(isinstance(v, str) for v in rest.values())
    if not conditions or any(point_name(key) in known for key in rest):
        yield row
        return
    for value, when in sorted(rest.items(), key=lambda pair: _is_rest(pair[1])):
        ruled: dict[str, Any] = {"otherwise": True} if _is_rest(when) else {"when": when}
        yield {"name": row.get("name"), "always": value, **ruled}


def _is_rest(text: str) -> bool:
    return re.search(r"\b(other|others|otherwise|rest|else)\b", text.lower()) is not None


def point_name(text: str) -> str:
    """The plain form of a point's name: "Nose pads" is nose_pads."""
    name = re.sub(r"[^a-z0-9]+", "_", text.lower()).strip("_")
    return re.sub(r"(?<![a-z])color(?![a-z])", "colour", name)


def _rule(
    name: str, table: Mapping[str, Any], source: str, sure: Sure, before: list[Rule], notes: Notes
) -> Rule:
    often = _how_often(table)
    if often and often not in table:
        table = {**table, often: "any" if often == "never" else "present"}
    always, never = (
        _values(table.get("always"), name, notes),
        _values(table.get("never"), name, notes),
    )
    usually = _values(table.get("usually"), name, notes)
    if "none" in always or "no" in always:
        always, never = (), (*never, "any")
    never = tuple("any" if v in ("present", "any", "anything") else v for v in never)
    span = None if isinstance(table.get("always"), bool) else number_range(table.get("always"))
    tolerance = number_range(table.get("tolerance"))
    inscription = _inscription(name, table, notes)
    numeric = span is not None and _is_number(table.get("always")) and inscription is None
    return Rule(
        point=name,
        values=always or usually,
        force="always" if always or (never and not usually) else "usually",
        never=never,
        usual=usually if always else (),
        low=span[0] if span and numeric else None,
        high=span[1] if span and numeric else None,
        tolerance=(tolerance[0] if tolerance else (span[2] or 0.0 if span else 0.0)),
        unit=_text(table.get("unit")),
        when=_when(name, table, before, notes),
        inscription=inscription,
        wear=_wear(table, notes),
        harmless=_texts(table.get("harmless"), "harmless", notes),
        source=_text(table.get("source")) or source,
        sure=_sure(table["sure"], "sure", notes) if "sure" in table else sure,
        why=_text(table.get("why")),
        question=_text(table.get("question")),
        photo=_text(table.get("photo")),
        cues=_cues(table.get("cues"), notes),
        topic=_texts(table.get("topic"), "topic", notes),
    )


def _is_number(value: object) -> bool:
    if isinstance(value, str):
        return (
            re.fullmatch(r"[\d\s.,±+/°-]*(mm|deg(rees)?|to)?[\d\s.,]*(mm|deg(rees)?|°)?", value)
            is not None
        )
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _values(value: object, name: str, notes: Notes) -> tuple[str, ...]:
    if isinstance(value, bool):
        return ("present",) if value else ("none",)
    return tuple(text.lower() for text in _texts(value, name, notes))


def _inscription(name: str, table: Mapping[str, Any], notes: Notes) -> Inscription | None:
    keys = ("text", "how", "where", "not_where", "aligned", "numerals", "how_often")
    written = any(key in table for key in ("text", "how", "numerals"))
    if name not in INSCRIPTIONS and not written:
        return None
    if name == "badge" and not any(key in table for key in keys):
        return None
    often = number_range(table.get("how_often"))
    if table.get("how_often") is not None and often is None and _how_often(table) is None:
        fix = 'write how_often = "always", "usually" or a number of places'
        notes.add("how_often", f"how_often = '{table['how_often']}' is not understood", fix)
    numerals = _text(table.get("numerals")).lower()
    if numerals not in ("", "roman", "arabic"):
        notes.add("numerals", f"'{numerals}' is no kind of numeral", 'write "roman" or "arabic"')
        numerals = ""
    return Inscription(
        text=_texts(table.get("text"), "text", notes),
        how=tuple(t.lower() for t in _texts(table.get("how"), "how", notes)),
        where=tuple(t.lower() for t in _texts(table.get("where"), "where", notes)),
        not_where=tuple(t.lower() for t in _texts(table.get("not_where"), "not_where", notes)),
        aligned=_text(table.get("aligned")),
        numerals=cast("Literal['roman', 'arabic', '']", numerals),
        how_often=int(often[0]) if often else None,
    )


def _how_often(table: Mapping[str, Any]) -> str | None:
    """ "always", "usually", "never" where an inscription's how_often is given in words."""
    word = _text(table.get("how_often")).lower()
    if word in ("always", "every time", "on all", "all", "every piece"):
        return "always"
    if word in ("usually", "mostly", "often", "sometimes", "rarely", "seldom"):
        return "usually"
    return "never" if word == "never" else None


def _wear(table: Mapping[str, Any], notes: Notes) -> Literal["stays", "can vanish"] | None:
    value = table.get("wear", table.get("can_wear_off"))
    if value is None:
        return None
    word = str(value).lower()
    if re.search(r"\bstay|remain|never|\bno\b|false|cannot", word):
        return "stays"
    if not re.search(r"vanish|rub|wear|fade|can|yes|true", word):
        notes.add("wear", f"wear = '{value}' is not understood", 'write "stays" or "can vanish"')
    return "can vanish"


def _cues(value: object, notes: Notes) -> dict[str, tuple[str, ...]]:
    if value is None:
        return {}
    if not isinstance(value, dict):
        notes.add("cues", "cues must be a table", 'write cues = { lozenge = ["little diamonds"] }')
        return {}
    return {
        key.lower(): tuple(t.lower() for t in _texts(v, "cues", notes)) for key, v in value.items()
    }


_IS = re.compile(
    r"^\s*(?:the\s+)?(.+?)\s+(is\s+not|isn't|are\s+not|not|is|are|=|!=|:)\s+(.+?)\s*$", re.I
)


def read_condition(text: str) -> Condition | None:
    """ "colour is not black or red" -> Condition; None where the text has no such shape.

    >>> read_condition("colour is not black, red or opaque")
    Condition(subject='colour', values=('black', 'red', 'opaque'), negated=True)
    """
    match = _IS.match(text)
    if not match:
        return None
    subject = point_name(match.group(1))
    values = tuple(v.strip().lower() for v in re.split(r",|\bor\b|\band\b", match.group(3)))
    negated = "not" in match.group(2).lower() or match.group(2) in ("isn't", "!=")
    return Condition(_subject(subject), tuple(v for v in values if v), negated)


def _subject(name: str) -> str:
    if name in ("frame", "front", "color", "frame_color", "frame_colour", "front_colour", "colour"):
        return "colour"
    return name


def _when(
    name: str, table: Mapping[str, Any], before: list[Rule], notes: Notes
) -> tuple[Condition, ...]:
    value = table.get("when")
    if table.get("otherwise") or value in ("otherwise", "else"):
        others = [c for rule in before if rule.point == name for c in rule.when]
        return tuple(replace(c, negated=not c.negated) for c in others)
    if value is None:
        return ()
    return tuple(_conditions(value, "when", notes))


def _conditions(value: object, key: str, notes: Notes) -> Iterator[Condition]:
    """A text, a list of texts, or a table {colour = "black"} / {colour_not = ["black"]}."""
    if isinstance(value, dict):
        for name, inner in value.items():
            subject = point_name(name)
            negated = subject.endswith("_not") or subject.startswith("not_")
            plain = subject.removesuffix("_not").removeprefix("not_")
            values = tuple(t.lower() for t in _texts(inner, key, notes))
            yield Condition(_subject(plain), values, negated)
        return
    for text in _texts(value, key, notes):
        for piece in re.split(r"\bexcept (?:on|for|when)\b", text):
            condition = read_condition(piece) or _of_phrase(piece) or _bare_condition(text)
            if condition:
                yield condition
                break
        else:
            fix = f'write {key} = "colour is black" or {key} = "colour is not black"'
            notes.add(key, f"{key} = '{text}' is not understood", fix)


def _of_phrase(text: str) -> Condition | None:
    """ "gold rivets", "seven barrels": a value and its part."""
    found = point_of_phrase(text)
    return Condition(found[0], (found[1],)) if found else None


def _bare_condition(text: str) -> Condition | None:
    """ "black frames", "except black": a colour alone is a condition on the frame's colour."""
    words = re.sub(r"\b(on|for|the|all|frames?|fronts?|colou?rs?|others?)\b", " ", text.lower())
    negated = bool(re.search(r"\b(not|except|other than|no)\b", words))
    words = re.sub(r"\b(not|except|other than|no)\b", " ", words)
    values = tuple(v for v in (p.strip() for p in re.split(r",|\bor\b|\band\b", words)) if v)
    return Condition("colour", values, negated) if values and len(values[0].split()) <= 2 else None


# --- the rest ------------------------------------------------------------------------------


def _editions(
    value: object, base: tuple[Rule, ...], source: str, sure: Sure, notes: Notes
) -> Iterator[EditionSheet]:
    for row in _rows(value, "edition", notes):
        known = _EDITION_KEYS | set(LENGTHS)
        synonyms = SYNONYMS | {"known": "known_by", "tell_by": "known_by"}
        row = _points_gathered(row, synonyms, known)
        table = _rename(row, synonyms, known, "edition.", notes)
        name = _text(table.get("name"))
        if not name:
            notes.add("edition", "an [[edition]] has no name", 'add name = "..."')
            continue
        source = _text(table.get("source")) or source
        sizes, fixed = _sizes(table, source, sure, notes)
        rules, lengths = _points(table.get("point", []), "edition.point", source, sure, notes)
        told = (
            tuple(_conditions(table["known_by"], "known_by", notes)) if "known_by" in table else ()
        )
        yield EditionSheet(
            name,
            _texts(table.get("aliases"), "aliases", notes),
            told,
            _years(table["years"], "years", notes) if "years" in table else None,
            sizes if sizes.combinations else None,
            fixed + lengths,
            (*(_heir(rule, base) for rule in rules), *_rules_known_by(told, rules, base)),
        )


def _heir(rule: Rule, base: tuple[Rule, ...]) -> Rule:
    """An edition's point takes the words for part and values from the model's own."""
    for other in base:
        if other.point == rule.point:
            cues = {**other.cues, **rule.cues}
            return replace(
                rule, cues=cues, topic=rule.topic or other.topic, unit=rule.unit or other.unit
            )
    return rule


_NO_POINT = {"colour", "edition", "size", "country", "lens"}


def _rules_known_by(
    known: tuple[Condition, ...], own: tuple[Rule, ...], base: tuple[Rule, ...]
) -> Iterator[Rule]:
    """What an edition is known by is its own value of that point, where it gives no other."""
    taken = {rule.point for rule in own}
    for condition in known:
        point = condition.subject
        if condition.negated or point in _NO_POINT or point in {*taken, *LENGTHS, *INSCRIPTIONS}:
            continue
        like = next((r for r in base if r.point == point), Rule(point))
        if like.inscription is None:
            numbers = [r[0] for v in condition.values if (r := number_range(v))]
            yield replace(
                like,
                values=condition.values,
                force="always",
                never=tuple(v for v in like.never if v not in (*condition.values, "any")),
                usual=(),
                low=min(numbers, default=None) if like.low is not None else None,
                high=max(numbers, default=None) if like.low is not None else None,
                when=(),
            )


def _told_point(text: str, points: Sequence[str]) -> str:
    """A point as the sheet names it: "barrels" is its hinge_barrels, "temples" temple_length."""
    name = point_name(text)
    if name in points:
        return name
    length = _SIZE_SYNONYMS.get(name, "")
    same = (p for p in points if main_point(p) == main_point(name))
    return next(same, length if length in LENGTHS else main_point(name))


def _look_alikes(value: object, points: Sequence[str], notes: Notes) -> Iterator[LookAlike]:
    rows = (
        [{"reference": v} if isinstance(v, str) else v for v in value]
        if isinstance(value, list)
        else value
    )
    synonyms = dict.fromkeys(("id", "sheet", "name"), "reference")
    synonyms |= dict.fromkeys(("points", "telling_points", "told_by"), "tell_by")
    synonyms |= dict.fromkeys(("why", "note", "notes"), "how")
    for row in _rows(rows, "look_alike", notes):
        table = _rename(row, synonyms, {"reference", "how", "tell_by"}, "look_alike.", notes)
        reference = _text(table.get("reference"))
        if not reference:
            notes.add("look_alike", "a [[look_alike]] names no reference", 'add reference = "..."')
            continue
        told = tuple(_told_point(t, points) for t in _texts(table.get("tell_by"), "tell_by", notes))
        yield LookAlike(reference, _text(table.get("how")), told)


def _marks(value: object, keys: tuple[str, ...], notes: Notes) -> tuple[str, ...]:
    if value is None:
        return ()
    if not isinstance(value, dict):
        if "never" in keys:
            notes.add(
                "marks", "marks must be a table", 'write [marks] belong = ["..."] never = ["CE"]'
            )
        return ()
    return tuple(t for key in keys for t in _texts(value.get(key), f"marks.{key}", notes))


def _pictures(value: object, notes: Notes) -> Iterator[Picture]:
    for row in _rows(value, "picture", notes):
        places = tuple(
            (float(p.get("x", 0)), float(p.get("y", 0)), _text(p.get("text")))
            for p in _list_of(row.get("places"))
            if isinstance(p, dict) and all(_is_plain(p.get(k, 0)) for k in ("x", "y"))
        )
        file = _text(row.get("file"))
        if file:
            yield Picture(file, _text(row.get("shows")), places)
        else:
            notes.add("picture", "a [[picture]] names no file", 'add file = "known_piece.jpg"')


def _list_of(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _is_plain(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
