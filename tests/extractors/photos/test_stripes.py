"""Stripes of a screen are taken out; what belongs to the picture stays."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage import data

from extractors.photos.decode import Pixels, shrink
from extractors.photos.features import Floats
from extractors.photos.fingerprint import fingerprint, from_bytes
from extractors.photos.pairs import find_pairs
from extractors.photos.stripes import find_stripes, without_stripes
from tests.extractors.photos.made_pictures import encode, scene

HEIGHT, WIDTH = 384, 512


def _goods() -> Pixels:
    """A round frame on light ground, with shade and noise."""
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    picture = 215 - 25 * y / HEIGHT
    for middle in (170, 340):
        away = np.hypot(x - middle, y - 190)
        picture = np.where(abs(away - 70) < 7, 60 + 20 * np.sin(x / 9), picture)
    noise = np.random.default_rng(1).normal(0, 1.5, (HEIGHT, WIDTH))
    return np.asarray(np.clip(cv2.GaussianBlur(picture, (0, 0), 1.0) + noise, 0, 255), np.uint8)


def _waves(down: float, across: float, swing: float, bent: float = 0.0) -> Floats:
    """Stripes of so many cycles in 256 px; bent, they lie closer on the right than on the left."""
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    phase = (down * y + across * x) / 256 + bent * (x / WIDTH) ** 2
    return np.asarray(swing * np.sin(2 * np.pi * phase), np.float32)


def _with(picture: Pixels, waves: Floats) -> Pixels:
    return np.asarray(np.clip(np.rint(picture + waves), 0, 255), np.uint8)


def _off(one: Pixels, other: Pixels) -> float:
    """Root mean square of the difference, the outermost px left out."""
    inner = (slice(16, -16), slice(16, -16))
    return float(np.sqrt(np.mean((one[inner].astype(np.float32) - other[inner]) ** 2)))


@given(
    apart=st.floats(7.0, 14.0),
    way=st.floats(0.0, np.pi),
    swing=st.floats(9.0, 12.0),
    bent=st.floats(-0.5, 0.5),
)
@settings(max_examples=30, deadline=None)
def test_stripes_of_a_screen_are_found_and_taken_out(
    apart: float, way: float, swing: float, bent: float
) -> None:
    goods = _goods()
    down, across = 256 / apart * np.sin(way), 256 / apart * np.cos(way)
    striped = _with(goods, _waves(down, across, swing, bent))
    found = find_stripes(striped)
    assert found
    sign = 1 if found[0].across * across + found[0].down * down > 0 else -1
    assert abs(found[0].down - sign * down) <= 2
    assert abs(found[0].across - sign * across) <= 3
    assert found[0].swing == pytest.approx(swing, rel=0.6)
    assert _off(without_stripes(striped), goods) < 0.6 * _off(striped, goods)


def test_two_grids_at_once() -> None:
    goods = _goods()
    striped = _with(goods, _waves(20, 11, 6) + _waves(-9, 24, 5))
    assert len(find_stripes(striped)) >= 2
    assert _off(without_stripes(striped), goods) < 0.4 * _off(striped, goods)


def test_nothing_is_done_to_a_picture_without_stripes() -> None:
    goods = _goods()
    assert find_stripes(goods) == ()
    assert without_stripes(goods) is goods


@pytest.mark.parametrize(
    # pictures of scikit-image: woven, laid and written all over, and photographs
    "name",
    ["brick", "grass", "gravel", "page", "text", "coins", "moon", "coffee", "chelsea", "rocket"],
)
def test_textures_and_lines_of_text_are_left_alone(name: str) -> None:
    picture = getattr(data, name)()
    grey = cv2.cvtColor(picture[..., :3], cv2.COLOR_RGB2GRAY) if picture.ndim == 3 else picture
    grey = shrink(np.ascontiguousarray(grey), 512)
    assert without_stripes(grey) is grey


def test_lines_of_print_are_left_alone() -> None:
    page = np.full((HEIGHT, WIDTH), 235, np.uint8)
    rng = np.random.default_rng(3)
    for y in range(20, HEIGHT, 13):
        words = " ".join("".join("abcdefghknorstuv"[i] for i in rng.integers(0, 16, n))
                         for n in rng.integers(2, 9, 9))  # fmt: skip
        cv2.putText(page, words, (8, y), cv2.FONT_HERSHEY_SIMPLEX, 0.36, 60, 1, cv2.LINE_AA)
    assert without_stripes(page) is page


def test_a_picture_of_stripes_keeps_them() -> None:
    """A rolled shutter, ribbed glass: there is nothing else to know it by."""
    ribbed = np.full((HEIGHT, WIDTH), 128.0) + _waves(0, 22, 10)
    noise = np.random.default_rng(5).normal(0, 1.0, ribbed.shape)
    picture = np.asarray(np.clip(ribbed + noise, 0, 255), np.uint8)
    assert without_stripes(picture) is picture


@pytest.mark.parametrize("size", [(24, 24), (24, 512), (130, 60), (256, 256), (511, 383)])
def test_any_size_and_an_even_picture(size: tuple[int, int]) -> None:
    even = np.full(size, 200, np.uint8)
    assert without_stripes(even) is even
    noisy = np.random.default_rng(2).integers(0, 255, size, dtype=np.uint8)
    assert without_stripes(noisy).shape == size


@pytest.mark.parametrize("seed", [3, 8])
def test_a_photo_of_a_striped_screen_is_found_and_said_to_be_one(seed: int) -> None:
    picture = scene(seed, (HEIGHT, WIDTH))
    corners = np.array([[0, 0], [WIDTH, 0], [WIDTH, HEIGHT], [0, HEIGHT]], np.float32)
    aslant = corners + np.array([[9, 14], [-12, 5], [-6, -11], [15, -7]], np.float32)
    striped = np.clip(picture.astype(np.float32) * (1 + _waves(14, 19, 0.07))[..., None], 0, 255)
    matrix = cv2.getPerspectiveTransform(corners, aslant)
    seen = cv2.warpPerspective(striped.astype(np.uint8), matrix, (WIDTH, HEIGHT), borderValue=30)
    made = {"a": fingerprint(encode(picture)), "b": fingerprint(encode(np.asarray(seen)))}
    stored = from_bytes(made["b"].to_bytes())
    assert stored is not None
    assert (made["a"].striped, made["b"].striped, stored.striped) == (False, True, True)
    (pair,) = find_pairs(made)
    assert pair.answer == "copy"
    assert any(word.startswith("striped") for word in pair.changes)
