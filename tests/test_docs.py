"""README and DEVELOPERS stay true: commands run; settings, fields and places are the code's."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from triage.columns import COLUMNS
from triage.settings import settings_table

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def _blocks(mark: str) -> list[str]:
    return re.findall(rf"<!-- {mark} -->\n```sh\n(.*?)```", README, re.DOTALL)


COMMANDS = [line for block in _blocks("run") for line in block.splitlines()]


def test_every_command_of_readme_stands_in_a_marked_block() -> None:
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    marked = _blocks("run") + _blocks("demo") + _blocks("tests")
    assert sorted(blocks) == sorted(marked)
    assert len(COMMANDS) >= 15


@pytest.mark.slow
def test_commands_of_readme_run_in_their_order(tmp_path: Path) -> None:
    """The demo and test commands need a fresh environment; the continuous run executes those."""
    shutil.copytree(ROOT / "demo_listings", tmp_path / "demo_listings")
    shutil.copytree(ROOT / "models/reference_sheets", tmp_path / "models/reference_sheets")
    places = {"PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": str(tmp_path / "cache")}
    for command in [*_blocks("demo")[0].splitlines()[1:], *COMMANDS]:
        words = shlex.split(command)
        assert words[0].rsplit("/", 1)[-1] == "triage"
        done = subprocess.run(
            [sys.executable, "-m", "triage", *words[1:]],
            cwd=tmp_path,
            env=os.environ | places | {"COLUMNS": "80"},
            capture_output=True,
            text=True,
            timeout=300,
        )
        assert done.returncode in (0, 1), f"{command}\n{done.stderr}"
        assert "Traceback" not in done.stderr, command
    assert {p.name for p in tmp_path.glob("*.html")} >= {"ranking.html", "to-send.html"}


def test_settings_table_is_that_of_the_code() -> None:
    assert settings_table().strip() in README, "put the output of settings_table() into README"


@pytest.mark.parametrize("stage", ["read", "evidence", "photos", "rank", "review"])
def test_fields_of_a_stage_are_described(stage: str) -> None:
    (line,) = re.findall(rf"^\* \*\*{stage}\*\*: (.*)$", README, re.MULTILINE)
    described = set(re.findall(r"`(\w+)`", line))
    assert {column.key for column in COLUMNS[stage] if column.key} <= described


def test_finding_codes_are_described() -> None:
    from models.checks.catalogue import FINDING_CODES

    checks = {check for check, _, _ in FINDING_CODES}
    assert {check for check in checks if f"`{check}`" not in DEVELOPERS} == set()


def test_places_that_developers_names_exist() -> None:
    named = set(re.findall(r"`((?:extractors|models|triage|tests)/[\w./]+)`", DEVELOPERS))
    assert {path for path in named if not (ROOT / path).exists()} == set()
    assert len(named) > 10
    modules = set(re.findall(r"`python -m (tests[\w.]+)", DEVELOPERS))
    places = {m: ROOT / m.replace(".", "/") for m in modules}
    missing = {
        module
        for module, place in places.items()
        if not (place.with_suffix(".py").exists() or (place / "__main__.py").exists())
    }
    assert missing == set()


def test_house_words_stay_out_of_what_is_shipped() -> None:
    """A rank is no verdict: no text that a user sees calls a piece or a person false."""
    words = re.compile(
        r"\b(fake|fraud\w*|scam\w*|counterfeit\w* seller|fake seller)\b", re.IGNORECASE
    )
    shown = [
        *(ROOT / "triage").rglob("*.html"),
        *(ROOT / "models/data").glob("*.toml"),
        ROOT / "README.md",
    ]
    assert not [p for p in shown if words.search(_without_cues(p))]


def _without_cues(path: Path) -> str:
    """The file's text without lists of words to be heard in what sellers write."""
    text = path.read_text(encoding="utf-8")
    return re.sub(r"(?m)^(cues|words|heard)\s*=.*$", "", text)
