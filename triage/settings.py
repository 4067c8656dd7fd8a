"""Every option of the tool, declared once.

The command line, the keys of a settings file (TOML) and the table in README are made from the
fields of `Settings`; nothing else in the project holds a default that a user may want to change.
"""

# ruff: noqa: RUF009 - `_option` makes the dataclass field that the rule asks for

from __future__ import annotations

import argparse
import math
import os
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any, Literal, cast

import platformdirs

from extractors.errors import UserError

Kind = Literal["flag", "int", "float", "path", "text", "paths", "texts"]
Format = Literal["table", "jsonl", "csv"]

STAGES = ("read", "evidence", "photos", "rank", "review")
RANKING = ("rank", "review", "explain", "evaluate")
ALL = (*STAGES, "explain", "evaluate", "sheet")
DESK = "decisions"  # the commands that enter what the buyer decided (desk.py)


def _option(
    kind: Kind,
    default: Any,
    help_text: str,
    *,
    commands: tuple[str, ...] = ALL,
    metavar: str = "",
    choices: tuple[str, ...] = (),
    unit: str = "",
    least: float | None = None,
    most: float | None = None,
) -> Any:
    metadata = {
        "kind": kind,
        "help": help_text,
        "commands": commands,
        "metavar": metavar,
        "choices": choices,
        "unit": unit,
        "least": least,
        "most": most,
    }
    return field(default=default, metadata=metadata)


@dataclass(frozen=True, slots=True)
class Settings:
    """The values in force for one run; one field, one option."""

    format: Format = _option(
        "text",
        "table",
        "how records are printed",
        commands=STAGES,
        choices=("table", "jsonl", "csv"),
    )
    output: Path | None = _option(
        "path",
        None,
        "write the records to FILE, whole or not at all, instead of standard output",
        commands=(*STAGES, "sheet"),
        metavar="FILE",
    )
    problems: Path | None = _option(
        "path", None, "write what could not be read to FILE (JSON Lines)", metavar="FILE"
    )
    report: Path | None = _option(
        "path",
        None,
        "write a self-contained report to FILE (HTML)",
        commands=("rank", "review", "evaluate", "sheet"),
        metavar="FILE",
    )
    leave_out: tuple[str, ...] = _option(
        "texts",
        (),
        "leave out of the report: 'people' drops sellers, places, links, contacts and photos,"
        " for a report that travels",
        commands=("rank", "review"),
        choices=("people",),
    )
    sheets: tuple[Path, ...] = _option(
        "paths",
        (),
        "a folder of your own reference sheets; may be repeated",
        commands=(*RANKING, "sheet"),
        metavar="FOLDER",
    )
    catalogue: tuple[Path, ...] = _option(
        "paths",
        (),
        "a folder of catalogue pictures that you know, kept apart from listings; may be repeated",
        commands=RANKING,
        metavar="FOLDER",
    )
    weights: Path | None = _option(
        "path",
        None,
        "your own starting weights, in the shape of models/data/starting_weights.toml",
        commands=RANKING,
        metavar="FILE",
    )
    model: Path | None = _option(
        "path",
        None,
        "weights learned from outcomes, as written by 'triage evaluate --learn'",
        commands=RANKING,
        metavar="FILE",
    )
    outcomes: Path | None = _option(
        "path",
        None,
        "what became of pieces (JSON Lines with id and result), instead of what the memory holds",
        commands=("evaluate",),
        metavar="FILE",
    )
    learn: Path | None = _option(
        "path",
        None,
        "write weights learned from the outcomes to FILE (JSON)",
        commands=("evaluate",),
        metavar="FILE",
    )
    gain: float = _option(
        "float",
        0.35,
        "what a piece as described is worth beyond its price",
        commands=RANKING,
        metavar="SHARE",
        unit="of the price",
        least=0,
    )
    resale: float = _option(
        "float",
        0.35,
        "what a piece not as described still fetches",
        commands=RANKING,
        metavar="SHARE",
        unit="of the price",
        least=0,
    )
    return_chance: float = _option(
        "float",
        0.4,
        "how often such a piece can be given back",
        commands=RANKING,
        metavar="SHARE",
        least=0,
    )
    look_cost: float = _option(
        "float",
        0.03,
        "what a close look costs you in time",
        commands=RANKING,
        metavar="SHARE",
        unit="of the price",
        least=0,
    )
    looks: int = _option(
        "int",
        0,
        "close looks you have time for: they go where they are worth most money",
        commands=RANKING,
        metavar="N",
        least=0,
    )
    random_looks: int = _option(
        "int",
        0,
        "listings to draw by lot for a close look, so that outcomes also tell of the rest",
        commands=("rank", "review"),
        metavar="N",
        least=0,
    )
    all: bool = _option(
        "flag", False, "every pair of photos looked at, with its score", commands=("photos",)
    )
    workers: int = _option(
        "int",
        max(1, min(4, os.cpu_count() or 1)),
        "processes that read and decode files",
        metavar="N",
        least=1,
        most=64,
    )
    worker_memory: int = _option(
        "int", 450, "most memory of one such process", metavar="MIB", unit="MiB", least=96
    )
    patience: float = _option(
        "float",
        25.0,
        "longest time for one file before it is given up",
        metavar="SECONDS",
        unit="s",
        least=0.1,
        most=3600,
    )
    memory: Path = _option(
        "path",
        Path(platformdirs.user_data_dir("frame-triage", appauthor=False), "memory.sqlite3"),
        "the file that keeps weeks, decisions and outcomes",
        commands=("photos", "rank", "review", "explain", "evaluate", DESK),
        metavar="FILE",
    )
    calendar: Path | None = _option(
        "path",
        None,
        "write what is due or ends to FILE, for a calendar (RFC 5545)",
        commands=("review",),
        metavar="FILE",
    )
    prices: Path | None = _option(
        "path",
        None,
        "write asked, sold and paid prices by reference to FILE (CSV)",
        commands=("review",),
        metavar="FILE",
    )
    cache: Path = _option(
        "path",
        Path(platformdirs.user_cache_dir("frame-triage", appauthor=False)),
        "folder for results kept between runs; may be deleted at any time",
        commands=(*ALL, DESK),
        metavar="FOLDER",
    )
    no_cache: bool = _option("flag", False, "keep no results and use none")
    report_photos: float = _option(
        "float",
        12.0,
        "most room for pictures in the report",
        commands=("rank", "review"),
        metavar="MB",
        unit="MB",
        least=0,
    )
    quiet: bool = _option("flag", False, "no progress bar and no summary")


@dataclass(frozen=True, slots=True)
class Option:
    """One option as the command line, the settings file and README see it."""

    name: str
    kind: Kind
    default: Any
    help: str
    commands: tuple[str, ...]
    metavar: str
    choices: tuple[str, ...]
    unit: str
    least: float | None
    most: float | None

    @property
    def flag(self) -> str:
        """The spelling on the command line."""
        return "--" + self.name.replace("_", "-")

    @property
    def key(self) -> str:
        """The spelling in a settings file."""
        return self.name.replace("_", "-")


OPTIONS: tuple[Option, ...] = tuple(
    Option(name=f.name, default=f.default, **cast("dict[str, Any]", dict(f.metadata)))
    for f in fields(Settings)
)


def add_options(
    parser: argparse.ArgumentParser, command: str, only: Collection[str] | None = None
) -> None:
    """Give a command's parser the options that belong to it (or those of them named by `only`).

    Options that are not given stay unset.
    """
    for option in OPTIONS:
        if command in option.commands and (only is None or option.name in only):
            parser.add_argument(option.flag, **_arguments(option))


def reading_options() -> tuple[str, ...]:
    """Names of the options of every command that reads listings."""
    return tuple(option.name for option in OPTIONS if set(ALL) <= set(option.commands))


def _arguments(option: Option) -> dict[str, Any]:
    text = option.help + _default_text(option)
    common: dict[str, Any] = {"dest": option.name, "default": argparse.SUPPRESS, "help": text}
    if option.kind == "flag":
        return {**common, "action": "store_true"}
    if option.kind in ("paths", "texts"):
        common["action"] = "append"
    if option.choices:
        common["choices"] = option.choices
    else:
        common["metavar"] = option.metavar
    return common


def _default_text(option: Option) -> str:
    if (
        option.kind in ("flag", "paths", "texts")
        or option.default is None
        or option.name in ("cache", "memory")
    ):
        return ""
    unit = f" {option.unit}" if option.unit else ""
    return f" (default {option.default}{unit})"


def make_settings(given: Mapping[str, Any], file: Path | None = None) -> Settings:
    """Settings from a settings file (if any), overlaid by what the command line gave.

    Raises UserError on an unknown key, a wrong type or a value out of its range.
    """
    values = dict(_read_file(file)) if file else {}
    values.update({key: value for key, value in given.items() if key in _BY_NAME})
    return Settings(**{name: _convert(_BY_NAME[name], value) for name, value in values.items()})


_BY_NAME = {option.name: option for option in OPTIONS}


def _read_file(file: Path) -> Mapping[str, Any]:
    try:
        table = tomllib.loads(_settings_text(file))
    except OSError as error:
        raise UserError(
            f"The settings file {file} cannot be read: {error.strerror}.", "Check its name."
        ) from error
    except (ValueError, RecursionError) as error:  # of TOML, of UTF-8, of a number's length
        raise UserError(
            f"The settings file {file} is not valid TOML: {error}.", "Correct it, or leave it out."
        ) from error
    known = {option.key: option.name for option in OPTIONS}
    unknown = sorted(set(table) - set(known))
    if unknown:
        raise UserError(
            f"The settings file {file} has an unknown key: {unknown[0]}.",
            "Known keys: " + ", ".join(sorted(known)) + ".",
        )
    return {known[key]: value for key, value in table.items()}


_LARGEST = 20_000  # bytes of a settings file; a file of every option has some hundred


def _settings_text(file: Path) -> str:
    if not file.is_file():
        raise UserError(f"The settings file {file} is no file.", "Name a TOML file.")
    with file.open("rb") as opened:
        data = opened.read(_LARGEST + 1)
    if len(data) > _LARGEST:
        raise UserError(f"The settings file {file} is too long.", "It holds one line an option.")
    return data.decode("utf-8-sig")


def _convert(option: Option, value: Any) -> Any:
    try:
        converted = _CONVERTERS[option.kind](value)
    except (TypeError, ValueError, OverflowError, RuntimeError) as error:
        raise _bad_value(option, value) from error
    chosen = converted if isinstance(converted, tuple) else (converted,)
    if option.choices and not set(chosen) <= set(option.choices):
        raise _bad_value(option, value)
    # "not >=" rather than "<", so that a NaN is refused too
    if option.least is not None and not converted >= option.least:
        raise _bad_value(option, value)
    if option.most is not None and converted > option.most:
        raise _bad_value(option, value)
    return converted


def _bad_value(option: Option, value: Any) -> UserError:
    if option.choices:
        wanted = "one of: " + ", ".join(option.choices)
    else:
        wanted = _WANTED[option.kind]
        if option.least is not None:
            wanted += f", at least {option.least:g}"
        if option.most is not None:
            wanted += f", at most {option.most:g}"
    return UserError(
        f"The option {option.flag} cannot be {_short(value)}.", f"It takes {wanted}. {option.help}."
    )


def _short(value: Any) -> str:
    try:
        text = repr(value)
    except ValueError:  # a number of more digits than Python writes out
        return "so long a number"
    return text if len(text) <= 80 else f"{text[:80]}..."


def _strict_bool(value: Any) -> bool:
    if not isinstance(value, bool):
        raise TypeError(value)
    return value


def _strict_int(value: Any) -> int:
    if isinstance(value, bool | float):
        raise TypeError(value)
    return int(value)


def _strict_float(value: Any) -> float:
    if isinstance(value, bool):
        raise TypeError(value)
    number = float(value)
    if math.isinf(number):
        raise ValueError(value)
    return number


def _strict_text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return value


def _path(value: Any) -> Path | None:
    if value is None:
        return None
    path = Path(value).expanduser()
    if "\0" in str(path):
        raise ValueError(value)
    return path


_CONVERTERS: dict[Kind, Any] = {
    "flag": _strict_bool,
    "int": _strict_int,
    "float": _strict_float,
    "text": _strict_text,
    "path": _path,
    "paths": lambda values: tuple(_path(_strict_path(value)) for value in _many(values)),
    "texts": lambda values: tuple(_strict_text(value) for value in _many(values)),
}
_WANTED: dict[Kind, str] = {
    "flag": "true or false",
    "int": "a whole number",
    "float": "a number",
    "text": "text",
    "path": "a file name",
    "paths": "folder names",
    "texts": "a list of words",
}


def _strict_path(value: Any) -> str | Path:
    if not isinstance(value, str | Path):
        raise TypeError(value)
    return value


def _many(values: Any) -> tuple[Any, ...]:
    return tuple(values) if isinstance(values, list | tuple) else (values,)


def settings_table() -> str:
    """The table of options for README, in Markdown; the cache folder's default is in words."""
    lines = ["| Option | Key | For | Default | What it does |", "| --- | --- | --- | --- | --- |"]
    for option in OPTIONS:
        shown = f"{option.flag} {option.metavar}".strip()
        if option.choices:
            shown = f"{option.flag} {'/'.join(option.choices)}"
        commands = "all" if set(ALL) <= set(option.commands) else ", ".join(option.commands)
        lines.append(
            f"| `{shown}` | `{option.key}` | {commands} | {_default_cell(option)} | {option.help} |"
        )
    return "\n".join(lines) + "\n"


def _default_cell(option: Option) -> str:
    if option.name == "cache":
        return "the user's cache folder"
    if option.name == "memory":
        return "`memory.sqlite3` in the user's data folder"
    if option.name == "workers":
        return "one per processor, at most 4"
    if option.kind == "flag" or option.default in (None, ()):
        return "off" if option.kind == "flag" else "none"
    return f"{option.default} {option.unit}".strip()
