"""The quick ways of a fingerprint's steps give what the plain ways give."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from extractors.photos.features import _GRID, _describe, _spread, find_features
from extractors.photos.fingerprint import _colours, _texture
from extractors.photos.regions import _blank_rows, _cuts
from tests.extractors.photos.made_pictures import scene

GREY = scene(3)[:, :, 1].copy()


def _plainly_spread(cell: list[int], responses: list[float], wanted: int) -> list[int]:
    """The best of every cell, then the second of every cell, and so on."""
    if len(cell) <= wanted:
        return list(range(len(cell)))
    best_first = sorted(range(len(cell)), key=lambda i: (-responses[i], i))
    seen: dict[int, int] = {}
    ranked = []
    for i in best_first:
        ranked.append((seen.get(cell[i], 0), -responses[i], i))
        seen[cell[i]] = seen.get(cell[i], 0) + 1
    return [i for *_, i in sorted(ranked)[:wanted]]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1), st.lists(st.integers(0, 90), min_size=1, max_size=4))
def test_corners_are_spread_over_the_cells_of_each_level(seed: int, counts: list[int]) -> None:
    rng = np.random.default_rng(seed)
    quota = rng.integers(1, 40, len(counts))
    cells = [rng.integers(0, 5, count) for count in counts]
    responses = [(rng.integers(1, 9, count) / 8e4).astype(np.float32) for count in counts]
    expected, start = [], 0
    for own, response, wanted in zip(cells, responses, quota.tolist(), strict=True):
        plain = _plainly_spread(own.tolist(), response.tolist(), wanted)
        expected += [start + i for i in plain]
        start += len(own)
    of_level = np.repeat(np.arange(len(counts)), counts)
    cell = np.concatenate(cells) + of_level * _GRID * _GRID
    chosen = _spread(cell, np.concatenate(responses), np.array(counts), quota)
    assert chosen.tolist() == expected


def test_features_lie_in_the_picture_and_come_from_many_levels() -> None:
    found = find_features(GREY, 300)
    height, width = GREY.shape
    assert 150 < len(found.points) <= 303  # a level's share is rounded
    assert (found.points >= 0).all()
    assert (found.points < (width, height)).all()
    assert len(set(found.levels.tolist())) >= 5


def test_a_patch_is_described_alike_alone_and_among_others() -> None:
    rng = np.random.default_rng(8)
    patches = rng.integers(0, 255, (150, 18, 18)).astype(np.float32)
    together = _describe(patches).astype(int)
    alone = np.concatenate([_describe(patches[i : i + 1]) for i in range(len(patches))])
    assert np.abs(together - alone).max() <= 1  # the last bit of a sum may round another way
    assert (together != alone).mean() < 1e-3


@pytest.mark.parametrize("size", [(600, 800), (375, 500), (61, 43), (24, 25)])
def test_colours_are_those_of_every_fourth_pixel(size: tuple[int, int]) -> None:
    pixels = np.zeros((*size, 3), np.uint8)
    pixels[::4, ::4] = (200, 100, 50)
    assert (_colours(pixels) == (200, 100, 50)).all()


def test_texture_is_the_share_of_cells_that_vary() -> None:
    grey = np.full((64, 70), 90, np.uint8)
    grey[:16, :16:2] = 120
    grey[32:48, 16:32:2] = 97  # varies by 3.5 only
    assert _texture(grey) == round(1 / 16, 4)


@pytest.mark.parametrize("seed", range(4))
def test_blank_rows_vary_by_less_than_five(seed: int) -> None:
    rng = np.random.default_rng(seed)
    spread = np.linspace(0, 10, 200)[:, None]
    part = np.clip(np.rint(120 + spread * rng.standard_normal((200, 250))), 0, 255)
    assert np.array_equal(_blank_rows(part.astype(np.uint8)), part.std(1) < 5)


def test_cuts_are_in_gutters_and_at_long_edges() -> None:
    rng = np.random.default_rng(2)
    part = np.tile(rng.integers(0, 25, 100), (120, 1)).astype(np.uint8)
    part[40:47] = 12  # no step of more than 12 from any pixel above
    part[80:] += 120
    assert _cuts(part) == [43, 80]
