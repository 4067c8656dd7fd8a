"""What is laid over one of two copies is found however small, and nothing where nothing is."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import pytest

from extractors.photos.decode import Pixels
from extractors.photos.overprint import overprint_place
from tests.extractors.photos.made_pictures import scene

HEIGHT, WIDTH = 384, 512
WHOLE = np.array([[0, 0], [WIDTH, 0], [WIDTH, HEIGHT], [0, HEIGHT]], np.float32)


def _picture(seed: int = 3) -> Pixels:
    return np.asarray(cv2.cvtColor(scene(seed, (HEIGHT, WIDTH)), cv2.COLOR_RGB2GRAY))


def _squeezed(picture: Pixels, quality: int = 70) -> Pixels:
    _, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_GRAYSCALE))


def _stamped(picture: Pixels) -> Pixels:
    out = picture.copy()
    cv2.rectangle(out, (376, 340), (486, 362), 250, -1)
    cv2.putText(out, "12 04 2019", (380, 357), cv2.FONT_HERSHEY_SIMPLEX, 0.55, 20, 2, cv2.LINE_AA)
    return out


def test_a_stamp_in_a_corner_is_found_there() -> None:
    picture = _picture()
    place = overprint_place(_squeezed(_stamped(picture)), picture, np.eye(3), WHOLE)
    assert place is not None
    assert place == pytest.approx((0.84, 0.915), abs=0.03)
    # the other way round it is the same thing, at the same place
    other = overprint_place(picture, _squeezed(_stamped(picture)), np.eye(3), WHOLE)
    assert other == pytest.approx(place, abs=0.01)


def test_it_is_found_through_a_crop() -> None:
    """The place is told in the second picture."""
    cut = _stamped(_picture())[84:, 112:]
    matrix = np.array([[1.0, 0, 112], [0, 1, 84], [0, 0, 1]])
    part = np.array([[112, 84], [WIDTH, 84], [WIDTH, HEIGHT], [112, HEIGHT]], np.float32)
    place = overprint_place(cut, _picture(), matrix, part)
    assert place == pytest.approx((0.84, 0.915), abs=0.03)


def _gamma(picture: Pixels) -> Pixels:
    return np.asarray(255 * (picture / 255.0) ** 1.6, np.uint8)


@pytest.mark.parametrize(
    "edit",
    [
        lambda p: _squeezed(p, 35),
        _gamma,
        lambda p: cv2.GaussianBlur(p, (5, 5), 1.2),
        lambda p: cv2.resize(cv2.resize(p, (256, 192)), (WIDTH, HEIGHT)),
        lambda p: np.full_like(p, 180),
    ],
    ids=["squeezed", "gamma", "blurred", "saved small", "nothing in common"],
)
@pytest.mark.parametrize("seed", [3, 8])
def test_nothing_is_found_where_nothing_was_laid_over(
    edit: Callable[[Pixels], Pixels], seed: int
) -> None:
    picture = _picture(seed)
    assert overprint_place(np.asarray(edit(picture)), picture, np.eye(3), WHOLE) is None


def test_a_small_common_part_says_nothing() -> None:
    few = WHOLE / 40
    assert overprint_place(_stamped(_picture()), _picture(), np.eye(3), few) is None
