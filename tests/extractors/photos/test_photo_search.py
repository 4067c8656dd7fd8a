"""The steps of the search: what is shared between processes, and what comes first."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest
from threadpoolctl import threadpool_info

from extractors.photos import threads
from extractors.photos.album import read_album, write_album
from extractors.photos.candidates import (
    Candidate,
    build_index,
    find_candidates,
    load_index,
    save_index,
)
from extractors.photos.fingerprint import Fingerprint, fingerprint
from tests.extractors.photos.made_pictures import encode, scene


@pytest.fixture(scope="module")
def made() -> list[Fingerprint]:
    cut = np.ascontiguousarray(scene(41)[30:, 40:])
    mirrored = np.ascontiguousarray(scene(43)[:, ::-1])
    pictures = [*(scene(seed) for seed in range(41, 47)), cut, mirrored]
    return [fingerprint(encode(picture)) for picture in pictures]


def _candidates(made: list[Fingerprint], query: int, least: float = -3.5) -> list[Candidate]:
    index = build_index(made)
    return find_candidates(
        index, made[query], query, budget=10_000, floor=1.2, least=least, most=50
    )


def test_a_cut_copy_comes_first_and_is_laid_where_it_was_cut(made: list[Fingerprint]) -> None:
    first = _candidates(made, 6)[0]
    assert (first.other, first.mirrored) == (0, False)
    moved = first.matrix @ np.array([0, 0, 1.0])
    scale = np.array(made[0].size) / (made[0].width, made[0].height)
    assert np.abs(moved[:2] - np.array([40, 30]) * scale).max() < 4


def test_a_mirrored_copy_is_found_mirrored(made: list[Fingerprint]) -> None:
    first = _candidates(made, 7)[0]
    assert (first.other, first.mirrored) == (2, True)
    assert np.linalg.det(first.matrix[:2, :2]) < 0


def test_candidates_are_ordered_by_promise_and_none_is_below_the_least(
    made: list[Fingerprint],
) -> None:
    promises = [one.promise for one in _candidates(made, 7, least=-9.0)]
    assert promises == sorted(promises, reverse=True)
    assert all(one.promise >= 0 for one in _candidates(made, 7, least=0.0))


def test_only_earlier_photos_are_candidates(made: list[Fingerprint]) -> None:
    assert _candidates(made, 0) == []
    assert all(one.other < 6 for one in _candidates(made, 6, least=-9.0))


def test_an_album_gives_back_what_was_written(made: list[Fingerprint], tmp_path: Path) -> None:
    stored = [one.to_bytes() for one in made]
    assert write_album(tmp_path / "album", [*stored, b"damaged"]) == len(made) + 1
    *read, last = read_album(tmp_path / "album")
    assert [one.to_bytes() for one in read if one is not None] == stored
    assert last is None


def test_an_empty_album_holds_nothing(tmp_path: Path) -> None:
    write_album(tmp_path / "album", [])
    assert list(read_album(tmp_path / "album")) == []


def test_a_saved_index_is_the_same(made: list[Fingerprint], tmp_path: Path) -> None:
    index = build_index(made)
    save_index(index, tmp_path)
    read = load_index(tmp_path)
    for field in fields(index):
        assert np.array_equal(getattr(index, field.name), getattr(read, field.name)), field.name


def test_linear_algebra_uses_one_thread_inside() -> None:
    def blas() -> set[int]:
        return {one["num_threads"] for one in threadpool_info() if one["user_api"] == "blas"}

    threads._libraries.cache_clear()  # of those that were loaded when it was first asked
    before = blas()
    with threads.one_thread():
        assert blas() <= {1}
    assert blas() == before
