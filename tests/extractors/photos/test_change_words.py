"""What surrounds the common part is named by what it is: tile, border, page, crop, or nothing."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from extractors.photos.changes import _around, _is_tile
from extractors.photos.decode import Pixels
from tests.extractors.photos.made_pictures import scene

Outline = npt.NDArray[np.float32]


def _box(left: float, top: float, right: float, bottom: float) -> Outline:
    return np.array([[left, top], [right, top], [right, bottom], [left, bottom]], np.float32)


def _goods(noise: float = 1.5) -> Pixels:
    """Goods on a nearly white ground, (300, 400)."""
    rng = np.random.default_rng(4)
    picture = np.full((300, 400), 247, np.float32)
    cv2.circle(picture, (130, 150), 60, 60.0, 14, cv2.LINE_AA)
    cv2.circle(picture, (270, 150), 60, 60.0, 14, cv2.LINE_AA)
    return np.clip(picture + rng.normal(0, noise, picture.shape), 0, 255).astype(np.uint8)


def _bordered(picture: Pixels, pad: int, level: int) -> Pixels:
    bordered = cv2.copyMakeBorder(picture, pad, pad, pad, pad, cv2.BORDER_CONSTANT, value=level)
    return np.asarray(bordered, np.uint8)


def _page(picture: Pixels) -> Pixels:
    page = np.full((500, 900), 255, np.uint8)
    page[:40] = 60
    page[60:360, 20:420] = picture
    for line in range(8):
        cv2.putText(page, "abcdef", (460, 90 + 30 * line), cv2.FONT_HERSHEY_SIMPLEX, 0.6, 40, 1)
    return page


def test_a_quarter_that_fills_its_tile_is_part_of_a_collage() -> None:
    none = np.zeros((0, 2), np.float32)
    assert _is_tile((800, 600), _box(400, 0, 800, 300), none, none)
    assert _is_tile((800, 300), _box(0, 0, 400, 300), none, none)
    assert not _is_tile((800, 600), _box(200, 150, 600, 450), none, none)
    assert not _is_tile((800, 600), _box(0, 0, 438, 328), none, none)


def test_a_picture_cut_to_fit_its_tile_is_part_of_a_collage() -> None:
    agreeing = np.array([[20, 20], [380, 280]], np.float32)
    beside = np.array([[430, 100], [440, 180]], np.float32)
    assert _is_tile((800, 300), _box(0, 0, 450, 300), agreeing, beside)


def test_a_cut_that_shows_the_goods_on_bare_ground_is_no_tile() -> None:
    """Goods end before the middle, and beyond them is ground that shows nothing."""
    agreeing = np.array([[20, 20], [380, 280]], np.float32)
    assert not _is_tile((800, 300), _box(0, 0, 450, 300), agreeing, np.zeros((0, 2), np.float32))


@pytest.mark.parametrize(("top", "words"), [(0, "at the bottom"), (50, "at the top")])
def test_a_bar_of_full_width_is_no_page(top: int, words: str) -> None:
    picture = np.full((350, 400), 90, np.uint8)
    picture[top : top + 300] = _goods()
    cv2.putText(picture, "abcdef", (30, 333 - 300 * (top > 0)), cv2.FONT_HERSHEY_SIMPLEX, 0.8, 230)
    around = _around(picture, _box(0, top, 400, top + 300), 0.86, False)
    assert around == f"text bar {words}"


@pytest.mark.parametrize("level", [255, 0])
def test_an_even_margin_of_one_level_is_a_border(level: int) -> None:
    around = _around(_bordered(_goods(), 40, level), _box(40, 40, 440, 340), 0.65, False)
    assert around == "border or frame added"


def test_white_goods_in_a_white_page_are_in_a_screenshot() -> None:
    around = _around(_page(_goods()), _box(20, 60, 420, 360), 0.27, False)
    assert around == "in a screenshot of a page"


def test_where_the_ground_goes_on_it_is_a_crop() -> None:
    assert _around(_goods(), _box(30, 25, 370, 275), 0.71, False) == "cropped to 71 %"
    busy = cv2.cvtColor(scene(7, (300, 400)), cv2.COLOR_RGB2GRAY)
    assert _around(busy, _box(60, 30, 340, 260), 0.54, False) == "cropped to 54 %"


def test_plain_corners_that_a_tilt_leaves_are_not_named() -> None:
    busy = cv2.cvtColor(scene(7, (300, 400)), cv2.COLOR_RGB2GRAY)
    turn = cv2.getRotationMatrix2D((200, 150), 7, 1.0)
    tilted = np.asarray(cv2.warpAffine(busy, turn, (400, 300), borderValue=255), np.uint8)
    corners = np.concatenate([_box(0, 0, 400, 300), np.ones((4, 1), np.float32)], 1) @ turn.T
    outline = np.clip(corners, 0, (400, 300)).astype(np.float32)
    assert _around(tilted, outline, 0.9, True) in {"", "cropped to 90 %"}
