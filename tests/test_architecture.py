"""The house rules that a reader relies on: arrows of import, empty package files, names."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
MAY_IMPORT = {
    "extractors": {"extractors"},
    "models": {"models", "extractors"},
    "triage": {"triage", "models", "extractors"},
}
MODULES = sorted(path for package in MAY_IMPORT for path in (ROOT / package).rglob("*.py"))


def _imports(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names.add(node.module or "")
    return names


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_imports_follow_the_arrows(path: Path) -> None:
    package = path.relative_to(ROOT).parts[0]
    ours = {name.split(".")[0] for name in _imports(path)} & set(MAY_IMPORT)
    assert ours <= MAY_IMPORT[package]


@pytest.mark.parametrize(
    "path",
    [path for path in MODULES if path.name == "__init__.py"],
    ids=lambda p: p.relative_to(ROOT).as_posix(),
)
def test_package_files_hold_only_a_docstring_and_version(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert ast.get_docstring(tree)
    rest = tree.body[1:]
    assert all(isinstance(node, ast.Assign) for node in rest), f"{path} does more than name itself"


def test_no_import_cycles() -> None:
    names = {".".join(p.relative_to(ROOT).with_suffix("").parts): p for p in MODULES}
    edges = {
        name: {used for used in _top_level_imports(path) if used in names}
        for name, path in names.items()
    }
    done: set[str] = set()

    def walk(name: str, above: tuple[str, ...]) -> None:
        assert name not in above, " -> ".join([*above, name])
        if name not in done:
            for used in edges[name]:
                walk(used, (*above, name))
            done.add(name)

    for name in names:
        walk(name, ())


def _top_level_imports(path: Path) -> set[str]:
    names = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


def test_module_names_say_what_is_in_them() -> None:
    vague = {"utils", "helpers", "common", "misc", "util", "helper"}
    assert not [path for path in MODULES if path.stem in vague]


def test_every_module_says_what_it_is_for() -> None:
    silent = [p for p in MODULES if not ast.get_docstring(ast.parse(p.read_text(encoding="utf-8")))]
    assert not silent
