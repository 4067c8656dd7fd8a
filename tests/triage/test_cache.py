"""The cache speeds things up and never gets in the way."""

import os
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path

import pytest

import triage.cache as cache_module
from triage.cache import Cache, digest_of, manifest


def test_results_are_found_again_in_a_later_run(tmp_path: Path) -> None:
    first = Cache(tmp_path)
    first.put("evidence", "k", b"value")
    first.close()
    assert Cache(tmp_path).get("evidence", "k") == b"value"


def test_kinds_and_keys_are_kept_apart(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.put("evidence", "k", b"value")
    assert cache.get("reading", "k") is None
    assert cache.get_many("evidence", ["k", "other"]) == {"k": b"value"}


def test_a_changed_recipe_finds_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cache = Cache(tmp_path)
    cache.put("evidence", "k", b"value")
    monkeypatch.setattr(cache_module, "recipe", lambda kind: "another")
    assert cache.get("evidence", "k") is None
    cache.tidy()
    monkeypatch.undo()
    assert cache.get("evidence", "k") is None


def test_a_damaged_file_is_started_again(tmp_path: Path) -> None:
    (tmp_path / "kept-results.sqlite3").write_bytes(b"no database at all" * 100)
    cache = Cache(tmp_path)
    cache.put("evidence", "k", b"value")
    assert cache.get("evidence", "k") == b"value"


def test_a_value_that_is_not_as_kept_is_not_found(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.put("evidence", "k", b"value")
    cache.close()
    for wrong in (b"other value", b"", "text", 7):
        with sqlite3.connect(tmp_path / "kept-results.sqlite3") as db:
            db.execute("UPDATE results SET value = ?", (wrong,))
        db.close()
        assert Cache(tmp_path).get("evidence", "k") is None, wrong


def test_the_file_of_another_program_is_left_alone(tmp_path: Path) -> None:
    file = tmp_path / "kept-results.sqlite3"
    with sqlite3.connect(file) as db:
        db.execute("CREATE TABLE results (kind, key, recipe, value, used)")
    db.close()
    before = file.read_bytes()
    Cache(tmp_path).put("evidence", "k", b"value")
    assert file.read_bytes() == before


def test_a_file_of_an_old_layout_is_started_again(tmp_path: Path) -> None:
    before = Cache(tmp_path)
    before.put("evidence", "a", b"kept")
    before.close()
    with closing(sqlite3.connect(tmp_path / "kept-results.sqlite3")) as db, db:
        db.execute("PRAGMA user_version = 0")
    after = Cache(tmp_path)
    assert after.get("evidence", "a") is None
    after.put("evidence", "a", b"kept anew")
    assert after.get("evidence", "a") == b"kept anew"


def test_a_very_deep_folder_has_a_digest(tmp_path: Path) -> None:
    here = os.getcwd()
    os.chdir(tmp_path)
    try:
        for _ in range(1_200):  # deeper than Python calls itself, below the longest path
            os.mkdir("d")
            os.chdir("d")
        os.chdir(here)
        assert len(manifest(tmp_path)) == 64
    finally:
        os.chdir(here)
        # too deep for what removes old folders of tests
        subprocess.run(["rm", "-rf", str(tmp_path / "d")], check=True)


def test_no_folder_or_one_that_cannot_be_made_means_no_cache(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    for cache in (Cache(None), Cache(tmp_path / "file" / "below")):
        cache.put("evidence", "k", b"value")
        cache.tidy()
        assert cache.get("evidence", "k") is None


def test_above_the_largest_size_the_oldest_results_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cache_module, "LARGEST", 100)
    cache = Cache(tmp_path)
    for number in range(4):
        monkeypatch.setattr("time.time", lambda now=number: now)
        cache.put("evidence", str(number), b"x" * 60)
    cache.tidy()
    assert cache.get("evidence", "0") is None
    assert cache.get("evidence", "3") is not None


def test_borders_of_parts_count() -> None:
    assert digest_of("ab", "c") != digest_of("a", "bc")


def test_the_manifest_changes_with_names_sizes_and_times(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    file = tmp_path / "a" / "x.html"
    file.write_text("one")
    seen = {manifest(tmp_path)}
    file.write_text("three")
    seen.add(manifest(tmp_path))
    file.rename(tmp_path / "a" / "y.html")
    seen.add(manifest(tmp_path))
    assert len(seen) == 3
    assert manifest(tmp_path) in seen
