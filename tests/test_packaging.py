"""A wheel is made on every machine: with compiled text extractors where it can, else without."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from extractors.catalogue import is_compiled

ROOT = Path(__file__).parent.parent
HOOK = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["hatch"]["build"][
    "targets"
]["wheel"]["hooks"]["custom"]


@pytest.fixture(scope="module")
def compiling() -> ModuleType:
    spec = importlib.util.spec_from_file_location("compiling", ROOT / HOOK["path"])
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _made(compiling: ModuleType, version: str) -> tuple[dict[str, Any], list[str]]:
    """Run the hook; give what it asks of the wheel, and what it says."""
    said: list[str] = []
    app = SimpleNamespace(display_warning=said.append)
    hook = compiling.CompileHook(str(ROOT), HOOK, None, None, "", "wheel", app=app)
    asked: dict[str, Any] = {"force_include": {}, "pure_python": True, "infer_tag": False}
    hook.initialize(version, asked)
    hook.finalize(version, asked, "")
    return asked, said


def test_modules_that_stay_plain_exist() -> None:
    assert {*HOOK["plain"]} <= {path.stem for path in (ROOT / "extractors").glob("*.py")}


@pytest.mark.parametrize(
    ("name", "value", "why"),
    [
        ("FRAME_TRIAGE_PLAIN", "1", "FRAME_TRIAGE_PLAIN is set"),
        ("CC", "no-such-compiler -pthread", "no C compiler (no-such-compiler)"),
    ],
)
def test_without_a_compiler_the_wheel_is_plain_and_says_why(
    compiling: ModuleType, monkeypatch: pytest.MonkeyPatch, name: str, value: str, why: str
) -> None:
    monkeypatch.setenv(name, value)
    asked, said = _made(compiling, "standard")
    assert asked == {"force_include": {}, "pure_python": True, "infer_tag": False}
    assert said == [f"the text extractors stay plain Python: {why}"]


@pytest.mark.parametrize(
    ("stops", "why"),
    [
        (subprocess.CompletedProcess([], 1, "", "x.c:1: no such file\ncc failed\n"), "cc failed"),
        (subprocess.CompletedProcess([], 1, "", ""), "mypyc stopped"),
        (subprocess.TimeoutExpired([], 900), "compiling took longer than 900 seconds"),
    ],
)
def test_a_compiler_that_fails_leaves_a_plain_wheel(
    compiling: ModuleType, monkeypatch: pytest.MonkeyPatch, stops: object, why: str
) -> None:
    def run(*_: object, **__: object) -> object:
        if isinstance(stops, Exception):
            raise stops
        return stops

    monkeypatch.setattr(compiling, "what_is_lacking", lambda: "")
    monkeypatch.setattr(compiling.subprocess, "run", run)
    asked, said = _made(compiling, "standard")
    assert asked["force_include"] == {}
    assert said == [f"the text extractors stay plain Python: {why}"]


def test_what_was_compiled_is_named_to_the_wheel(
    compiling: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    def run(command: list[str], cwd: Path, **_: object) -> object:
        for name in command[3:]:
            (cwd / name).with_suffix(".cpython.so").touch()
        (cwd / "frame_triage__mypyc.so").touch()
        return subprocess.CompletedProcess(command, 0, "", "")

    monkeypatch.setattr(compiling, "what_is_lacking", lambda: "")
    monkeypatch.setattr(compiling.subprocess, "run", run)
    asked, said = _made(compiling, "standard")
    sources = {path.stem for path in (ROOT / "extractors").glob("*.py")} - {*HOOK["plain"]}
    named = {f"extractors/{name}.cpython.so" for name in sources} | {"frame_triage__mypyc.so"}
    assert {*asked["force_include"].values()} == named
    assert (asked["pure_python"], asked["infer_tag"]) == (False, True)
    assert not said


def test_an_editable_installation_is_never_compiled(compiling: ModuleType) -> None:
    asked, said = _made(compiling, "editable")
    assert asked == {"force_include": {}, "pure_python": True, "infer_tag": False}
    assert not said


def test_the_tool_says_which_modules_run() -> None:
    asked = [sys.executable, "-c", "from triage.cli import main; main()", "--version"]
    told = subprocess.run(asked, capture_output=True, text=True, check=True, cwd=ROOT).stdout
    assert told.strip().endswith(
        "(texts are read by compiled modules)"
        if is_compiled()
        else "(texts are read by plain Python)"
    )
