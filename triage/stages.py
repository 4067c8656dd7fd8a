"""Records out: JSON Lines, CSV or a table, printed, or in a file that is whole or absent."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import IO, Any

from extractors.errors import UserError
from extractors.records import Problem
from triage.columns import COLUMNS, record
from triage.settings import Format


def render(stage: str, rows: Sequence[Any], form: Format) -> str:
    """The records of a stage as one text, in the form asked for."""
    if form == "jsonl":
        return "".join(json_line(record(COLUMNS[stage], row)) for row in rows)
    if form == "csv":
        return _csv_text(stage, rows)
    return _table_text(stage, rows)


def json_line(value: Any) -> str:
    r"""One value as one line of JSON; no other character in it ends a line.

    >>> json_line({"a": "x\u2028y"})
    '{"a": "x\\u2028y"}\n'
    """
    line = json.dumps(value, ensure_ascii=False, allow_nan=False)
    return (
        re.sub(r"[\x7f-\x9f\u2028\u2029\ud800-\udfff\u202a-\u202e\u2066-\u2069]", _escape, line)
        + "\n"
    )


def _escape(match: re.Match[str]) -> str:
    return f"\\u{ord(match[0]):04x}"


def problem_line(problem: Problem) -> str:
    """One problem as a line of JSON."""
    keys = ("source", "member", "what", "do")
    return json_line({key: getattr(problem, key) for key in keys})


def _csv_text(stage: str, rows: Iterable[Any]) -> str:
    columns = [column for column in COLUMNS[stage] if column.key]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([column.key for column in columns])
    for row in rows:
        writer.writerow([csv_cell(column.value(row)) for column in columns])
    return out.getvalue()


def csv_cell(value: Any) -> str:
    """A value as a cell that no spreadsheet takes for a formula; lists and objects as JSON.

    Text that would start one gets an apostrophe before it, numbers of our own stay numbers.

    >>> csv_cell("=1+1"), csv_cell(-1.5), csv_cell(None), csv_cell([1])
    ("'=1+1", '-1.5', '', '[1]')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return str(value)
    text = value if isinstance(value, str) else json_line(value).rstrip("\n")
    text = _ACTS_ON_A_TERMINAL.sub("\N{REPLACEMENT CHARACTER}", text)
    return "'" + text if _FORMULA.match(text) else text


# control characters but tab and line ends, and those that turn the direction of what follows
_ACTS_ON_A_TERMINAL = re.compile(
    r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\u202a-\u202e\u2066-\u2069]"
)

# a spreadsheet skips white space and unseen characters first, and takes the wide forms too
_FORMULA = re.compile(r"[\s\ufeff\u200b-\u200f\u2060\x00-\x20]*[=+\-@|%＝＋－＠−]|[\t\r\n]")


def _table_text(stage: str, rows: Sequence[Any]) -> str:
    from triage.table import make_console, print_table  # rich is loaded for people only

    out = io.StringIO()
    print_table(make_console(out, 80), stage, rows)
    return re.sub(r" +$", "", out.getvalue(), flags=re.MULTILINE)


def write_whole(file: Path, text: str) -> None:
    """Write a file whole or not at all; an older file of that name stays until the new one is done.

    Raises UserError if it cannot be written.
    """
    try:
        if file.exists() and not file.is_file():
            _write_special(file, text)
        else:
            _replace(file, text)
    except OSError as error:
        raise UserError(
            f"{file} cannot be written: {error.strerror or error}.",
            "Name a file in a folder that exists and that you may write to.",
        ) from error


def _write_special(file: Path, text: str) -> None:
    """Write to a pipe or device, which cannot be replaced."""
    with file.open("w", encoding="utf-8", newline="") as out:
        out.write(text)


def _replace(file: Path, text: str) -> None:
    number, name = tempfile.mkstemp(prefix=f".{file.name}.", dir=file.parent)
    try:
        with os.fdopen(number, "w", encoding="utf-8", errors="replace", newline="") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        os.chmod(name, 0o666 & ~_umask())
        os.replace(name, file)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _umask() -> int:
    now = os.umask(0)
    os.umask(now)
    return now


def write_records(
    stage: str, rows: Sequence[Any], form: Format, output: Path | None, stdout: IO[str]
) -> None:
    """Print the records, or put them into `output`."""
    if output is not None:
        write_whole(output, render(stage, rows, form))
    elif form == "table" and stdout.isatty():
        from triage.table import make_console, print_table

        print_table(make_console(stdout), stage, rows)
    else:
        stdout.write(render(stage, rows, form))


def write_problems(file: Path, problems: Iterable[Problem]) -> None:
    """Write the problems as JSON Lines; an empty file says that there were none."""
    write_whole(file, "".join(map(problem_line, problems)))
