"""What the photo benchmark counts: pictures that nobody could tell apart are told separately."""

from __future__ import annotations

import numpy as np
import pytest
from skimage import data

from extractors.photos.decode import Pixels
from tests.evaluation.photo_benchmark.closeups import CLOSEUPS
from tests.evaluation.photo_benchmark.contrasts import CONTRASTS
from tests.evaluation.photo_benchmark.edits import EDITS
from tests.evaluation.photo_benchmark.make import Shot, Task, edited_more, shots_of
from tests.evaluation.photo_benchmark.measure import Truth, measure
from tests.evaluation.photo_benchmark.scenes import SCENES
from tests.evaluation.photo_benchmark.signs import SIGNS
from tests.evaluation.photo_benchmark.telling import is_telling
from tests.evaluation.photo_benchmark.varied import VARIED


def _ribs() -> Pixels:
    across = 90 + 50 * np.sin(np.arange(400) * 0.5)
    return np.tile(across, (300, 1)).astype(np.uint8)


def _weave() -> Pixels:
    pattern = np.indices((512, 512)).sum(0) % 2
    return (80 + 8 * pattern).astype(np.uint8)


@pytest.mark.parametrize("picture", [_ribs(), _weave(), np.full((300, 400), 200, np.uint8)])
def test_ribs_weave_and_emptiness_tell_nothing(picture: Pixels) -> None:
    assert not is_telling(picture)


@pytest.mark.parametrize("picture", [data.camera(), data.coins(), data.moon()])
def test_photographs_tell_themselves(picture: Pixels) -> None:
    assert is_telling(picture)


def _shot(origin: str, edit: str) -> Shot:
    return Shot(b"", frozenset({origin}), edit, frozenset(), "")


def test_recall_is_told_with_and_without_what_cannot_be_told_apart() -> None:
    shots = (_shot("a", "original"), _shot("a", "half"), _shot("b", "original"), _shot("b", "half"))
    figures = measure(Truth(shots), {(1, 0): 0.9}, 0.5, frozenset({"b"}))
    assert figures.recall_of_originals[0] == 0.5
    assert figures.recall_of_telling[0] == 1.0


@pytest.mark.parametrize("name", CONTRASTS)
def test_local_contrast_changes_a_picture_by_its_own_surroundings(name: str) -> None:
    picture = data.astronaut()
    changed = CONTRASTS[name][1](picture, np.random.default_rng(3))
    levels = changed[picture == 90]
    assert changed.shape == picture.shape
    assert levels.std() > 4  # one grey level has become many


def test_pictures_are_made_once_more_with_local_contrast_and_the_originals_stay() -> None:
    tasks = [
        Task("design", 1, 5, None, ((0, ("half",)),)),
        Task("plain", 2, 6),
        Task("look", 3, 7, None, ((1, ("grey",)),)),
    ]
    (again,) = edited_more(tasks, tuple(CONTRASTS), copies=2)
    assert (again.kind, again.number, again.seed) == ("design", 1, 5)
    before, after = shots_of(tasks[0]), shots_of(again)
    kept = [shot for shot in after if shot.edit == "original"]
    assert kept == [shot for shot in before if shot.edit == "original"]
    added = [shot.edit for shot in after if shot.edit != "original"]
    assert len(added) == 2
    assert set(added) <= set(CONTRASTS)


def test_local_contrast_has_names_of_its_own() -> None:
    assert not set(CONTRASTS) & set(EDITS)


@pytest.mark.parametrize("name", VARIED)
def test_edits_of_any_strength_repeat_themselves_and_leave_a_picture(name: str) -> None:
    picture = data.astronaut()
    first, again, other = (
        VARIED[name][1](picture.copy(), np.random.default_rng(seed)) for seed in (3, 3, 4)
    )
    assert np.array_equal(first, again)
    assert first.dtype == np.uint8
    assert first.shape[2] == 3
    assert min(first.shape[:2]) >= 90
    assert first.std() > 10
    assert not np.array_equal(first, other)
    assert name not in {*EDITS, *CONTRASTS, *SIGNS, *SCENES}


@pytest.mark.parametrize("name", CLOSEUPS)
def test_shots_from_far_and_near_differ_and_repeat_themselves(name: str) -> None:
    shots, again = (CLOSEUPS[name](np.random.default_rng(5)) for _ in range(2))
    assert all(np.array_equal(one, other) for one, other in zip(shots, again, strict=True))
    assert {shot.shape for shot in shots} == {(600, 800, 3)}
    for number, shot in enumerate(shots):
        rest = shots[:number] + shots[number + 1 :]
        assert min(np.abs(shot.astype(float) - other).mean() for other in rest) > 3
