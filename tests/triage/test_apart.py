"""“Not the same picture” is kept in the memory, held in later runs, and can be taken back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from extractors.records import Photo
from tests.triage.test_pipeline import photo
from triage.apart import pictures_apart, without_apart
from triage.cli import main
from triage.pipeline import run_stage, screen
from triage.run import PhotoPair
from triage.settings import Settings


@pytest.fixture
def week(tmp_path: Path) -> Path:
    place = tmp_path / "week"
    place.mkdir()
    for name, seller in (("lamp", "ann"), ("sofa", "bob")):
        text = f"Vennerby Halm 52-18-140 {name}\nSeller: {seller}\n\nSeven-barrel hinges."
        (place / f"{name}.txt").write_text(text, encoding="utf-8")
    (place / "lamp_1.jpg").write_bytes(photo(31))
    (place / "sofa_1.jpg").write_bytes(photo(31, quality=60, crop=20))
    return place


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(workers=1, cache=tmp_path / "cache", memory=tmp_path / "memory.db")


def _say(settings: Settings, *words: str) -> int:
    return main([*words, "--memory", str(settings.memory), "--cache", str(settings.cache)])


def test_a_pair_told_apart_is_not_shown_again_until_taken_back(
    week: Path, settings: Settings, capsys: pytest.CaptureFixture[str]
) -> None:
    before = screen(week, settings)
    assert [(p.a, p.b) for p in before.pairs] == [("lamp_1.jpg", "sofa_1.jpg")]
    names = [str(week / name) for name in ("lamp_1.jpg", "sofa_1.jpg")]
    assert _say(settings, "apart", *names) == 0
    batch = capsys.readouterr().err.split("triage undo ")[1].split()[0]
    after = screen(week, settings)
    assert after.pairs == ()
    assert not any(f.check == "photo_reuse" for r in after.rows for f in r.assessment.findings)
    assert run_stage("photos", week, settings).rows == ()
    assert run_stage("photos", week, replace(settings, no_cache=True)).rows == ()
    assert _say(settings, "undo", batch) == 0
    assert screen(week, settings).pairs == before.pairs


def test_photos_are_named_as_the_last_ranking_names_them(
    week: Path, settings: Settings, tmp_path: Path
) -> None:
    out = tmp_path / "out.jsonl"
    given = ["rank", str(week), "--quiet", "--output", str(out), "--workers", "1"]
    assert _say(settings, *given) == 0
    assert _say(settings, "apart", "sofa_1.jpg", "lamp_1.jpg") == 0
    assert len(pictures_apart(settings.memory)) == 1


def test_an_unknown_photo_is_said(
    week: Path, settings: Settings, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _say(settings, "apart", "lamp_9.jpg", str(week / "lamp_1.jpg")) == 2
    assert "no photo lamp_9.jpg in the ranking shown last" in capsys.readouterr().err
    assert _say(settings, "apart", str(week / "lamp_1.jpg"), str(week / "lamp_1.jpg")) == 2
    assert pictures_apart(settings.memory) == frozenset()


def test_only_the_two_photos_named_are_held_apart() -> None:
    photos = [Photo(f"{name}.jpg", None, name) for name in "abc"]
    pairs = [PhotoPair("a.jpg", "b.jpg", 1.0, "copy"), PhotoPair("b.jpg", "c.jpg", 1.0, "copy")]
    apart = frozenset({frozenset({"b", "a"})})
    assert without_apart(pairs, photos, apart) == (pairs[1],)
