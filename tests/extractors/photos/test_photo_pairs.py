"""What is found as one picture, what is not, and that order and processes change nothing."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage import data as bundled

from extractors.photos.fingerprint import Fingerprint, fingerprint, from_bytes
from extractors.photos.pairs import Pair, find_pairs, groups, judge
from extractors.photos.search import content_digest, look_everywhere
from tests.extractors.photos.made_pictures import Pixels, blobs, encode, scene

ORIGINAL = scene(7)


def _answers(pairs: tuple[Pair, ...]) -> dict[tuple[object, object], str]:
    return {(pair.a, pair.b): pair.answer for pair in pairs}


def _compare(one: Pixels, other: Pixels, **options: object) -> tuple[Pair, ...]:
    return find_pairs(
        {"a": fingerprint(encode(one)), "b": fingerprint(encode(other, **options))}  # type: ignore[arg-type]
    )


def _is_copy(one: Pixels, other: Pixels) -> bool:
    return _answers(_compare(one, other)).get(("a", "b")) == "copy"


def _warp(image: Pixels, degrees: float) -> Pixels:
    height, width = image.shape[:2]
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.0)
    return cv2.warpAffine(image, matrix, (width, height), borderValue=(255, 255, 255))


def _page(image: Pixels) -> Pixels:
    page = np.full((700, 1000, 3), 255, np.uint8)
    page[:40] = (40, 60, 90)
    page[90:450, 60:540] = image
    for line in range(9):
        cv2.putText(page, "lorem ipsum dolor", (580, 130 + 40 * line), 0, 0.6, (40, 40, 40), 1)
    return page


EDITS = {
    "small": lambda i: cv2.resize(i, None, fx=0.4, fy=0.4, interpolation=cv2.INTER_AREA),
    "mirrored": lambda i: i[:, ::-1],
    "quarter turn": lambda i: np.rot90(i),
    "half turn": lambda i: np.rot90(i, 2),
    "cropped off centre": lambda i: i[: 8 * i.shape[0] // 10, : 8 * i.shape[1] // 10],
    "cropped hard": lambda i: i[90:290, 110:380],
    "tilted": lambda i: _warp(i, 5),
    "white border": lambda i: cv2.copyMakeBorder(i, 40, 40, 40, 40, 0, value=(255, 255, 255)),
    "grey": lambda i: np.repeat(cv2.cvtColor(i, cv2.COLOR_RGB2GRAY)[..., None], 3, 2),
    "darker": lambda i: (i * 0.6).astype(np.uint8),
    "warmer": lambda i: np.clip(i * [1.1, 1.0, 0.75], 0, 255).astype(np.uint8),
    "text bar": lambda i: np.vstack([i[:310], np.full((50, i.shape[1], 3), 30, np.uint8)]),
    "collage of two": lambda i: np.hstack([i, scene(99)]),
    "collage of four": lambda i: np.vstack(
        [np.hstack([scene(96), i]), np.hstack([scene(97), scene(98)])]
    ),
    "page": _page,
}


@pytest.mark.parametrize("edit", EDITS)
def test_an_edited_picture_is_a_copy(edit: str) -> None:
    assert _is_copy(ORIGINAL, EDITS[edit](ORIGINAL))


@pytest.mark.parametrize(
    ("edit", "word"),
    [
        ("small", "resized to 40 %"),
        ("mirrored", "mirrored"),
        ("quarter turn", "turned by 90 degrees"),
        ("cropped hard", "cropped to 31 %"),
        ("tilted", "tilted by 5 degrees"),
        ("white border", "border or frame added"),
        ("grey", "turned grey"),
        ("warmer", "tinted"),
        ("text bar", "text bar at the bottom"),
        ("page", "in a screenshot of a page"),
        ("collage of four", "part of a collage"),
    ],
)
def test_the_change_is_named(edit: str, word: str) -> None:
    (pair,) = _compare(ORIGINAL, EDITS[edit](ORIGINAL))
    assert word in pair.changes


def test_the_matching_part_is_outlined_in_pixels_of_the_photo() -> None:
    part = ORIGINAL[100:300, 120:400]
    (pair,) = _compare(ORIGINAL, part)
    corners = np.array(pair.area_a)
    assert np.abs(corners.min(0) - (120, 100)).max() < 6
    assert np.abs(corners.max(0) - (400, 300)).max() < 6


@settings(max_examples=12, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    quality=st.integers(40, 95),
    mirror=st.booleans(),
    turns=st.integers(0, 3),
    factor=st.floats(0.5, 1.5),
)
def test_saving_mirroring_turning_and_resizing_keep_the_match(
    seed: int, quality: int, mirror: bool, turns: int, factor: float
) -> None:
    image = scene(seed)
    edited = np.rot90(image[:, ::-1] if mirror else image, turns)
    edited = cv2.resize(np.ascontiguousarray(edited), None, fx=factor, fy=factor)
    pairs = _compare(image, edited, quality=quality)
    assert _answers(pairs) == {("a", "b"): "copy"}


@settings(max_examples=8, deadline=None)
@given(one=st.integers(0, 5000), other=st.integers(5001, 10_000))
def test_different_pictures_are_no_pair(one: int, other: int) -> None:
    assert _compare(scene(one), scene(other)) == ()


def test_two_views_of_a_stereo_camera_are_no_copy() -> None:
    # scikit-image, data.stereo_motorcycle: left and right view, Middlebury 2014 (F184)
    folder = bundled.__path__[0] if hasattr(bundled, "__path__") else ""
    left, right = (
        cv2.cvtColor(cv2.imread(f"{folder}/motorcycle_{side}.png"), cv2.COLOR_BGR2RGB)
        for side in ("left", "right")
    )
    answer = _answers(_compare(left, right)).get(("a", "b"))
    assert answer in {"same_piece", "alike", None}


@pytest.mark.parametrize(
    "shades", [((128, 128, 128),), ((250, 250, 250),), ((20, 30, 200), (240, 240, 240))]
)
def test_empty_and_two_tone_pictures_are_no_copies_of_each_other(
    shades: tuple[tuple[int, int, int], ...],
) -> None:
    picture = np.zeros((300, 400, 3), np.uint8)
    for number, shade in enumerate(shades):
        picture[:, number * 200 :] = shade
    other = np.clip(picture.astype(int) - 6, 0, 255).astype(np.uint8)
    made = fingerprint(encode(picture))
    assert not made.is_comparable
    assert find_pairs({"a": made, "b": fingerprint(encode(other)), "c": made}) == ()


@pytest.mark.parametrize(("one", "other"), [(209, 267), (192, 436), (212, 436), (343, 33)])
def test_a_part_of_a_smooth_picture_that_fits_another_makes_no_copy(one: int, other: int) -> None:
    photos = [
        cv2.imencode(".jpg", blobs(seed), [cv2.IMWRITE_JPEG_QUALITY, 85])[1].tobytes()
        for seed in (one, other)
    ]
    pairs = find_pairs({n: fingerprint(data) for n, data in enumerate(photos)}, everything=True)
    assert [pair.answer for pair in pairs] in ([], ["alike"])  # looked at or not
    assert not any(pair.certain for pair in pairs)


@pytest.mark.parametrize("seed", [33])
def test_a_smooth_picture_saved_smaller_is_a_copy(seed: int) -> None:
    smaller = cv2.resize(blobs(seed), None, fx=0.6, fy=0.6, interpolation=cv2.INTER_AREA)
    assert _is_copy(blobs(seed), np.asarray(smaller, np.uint8))


def test_one_logo_over_different_pictures_makes_no_copies() -> None:
    logo = cv2.resize(scene(50), (130, 130))
    pictures = {}
    for seed in range(60, 65):
        image = scene(seed)
        image[200:330, 330:460] = logo
        pictures[str(seed)] = fingerprint(encode(image))
    assert "copy" not in _answers(find_pairs(pictures)).values()


@pytest.mark.parametrize(
    ("shares", "is_copy"), [((0.05, 0.04), False), ((0.05, 0.6), True), ((0.5, 0.5), True)]
)
def test_a_small_part_of_both_photos_makes_no_copy(
    shares: tuple[float, float], is_copy: bool
) -> None:
    made = [fingerprint(encode(ORIGINAL)), fingerprint(encode(EDITS["darker"](ORIGINAL)))]
    made.sort(key=content_digest)
    (looked,) = look_everywhere(made, 1)
    (judged,) = judge(made, [replace(looked, shares=shares)])
    assert (judged.answer == "copy") is is_copy
    assert judged.certain is is_copy


def test_one_page_around_different_pictures_makes_no_copies() -> None:
    pictures = {str(seed): fingerprint(encode(_page(scene(seed)))) for seed in range(70, 74)}
    assert "copy" not in _answers(find_pairs(pictures)).values()


@pytest.fixture(scope="module")
def folder() -> dict[str, Fingerprint]:
    pictures = [scene(seed, (240, 320)) for seed in range(100, 116)]
    edited = [np.ascontiguousarray(p[10:, ::-1]) for p in pictures]
    return {f"{n:03}": fingerprint(encode(p)) for n, p in enumerate(pictures + edited)}


def test_order_of_files_changes_nothing(folder: dict[str, Fingerprint]) -> None:
    turned = dict(reversed(list(folder.items())))
    assert find_pairs(turned, everything=True) == find_pairs(folder, everything=True)


@pytest.mark.slow
def test_one_process_and_many_give_equal_results(folder: dict[str, Fingerprint]) -> None:
    more = {f"{key}{n}": made for n in range(4) for key, made in folder.items()}
    pictures = [scene(seed, (160, 200)) for seed in range(300, 380)]
    more |= {f"x{n}": fingerprint(encode(p)) for n, p in enumerate(pictures)}
    assert find_pairs(more, processes=2) == find_pairs(more)


def test_everything_contains_the_default(folder: dict[str, Fingerprint]) -> None:
    assert set(find_pairs(folder)) <= set(find_pairs(folder, everything=True))


def test_a_fingerprint_survives_storing() -> None:
    made = fingerprint(encode(ORIGINAL))
    stored = made.to_bytes()
    assert len(stored) < 80_000
    read = from_bytes(stored)
    assert read is not None
    assert read.to_bytes() == stored
    assert find_pairs({"a": made, "b": read})[0].score == 1.0


@pytest.mark.parametrize("damage", [b"", b"PFP1", b"nothing", b"PFP1\xff\xff\xff\xff{"])
def test_damaged_or_foreign_store_is_made_anew(damage: bytes) -> None:
    assert from_bytes(damage) is None


def test_cut_store_is_made_anew() -> None:
    assert from_bytes(fingerprint(encode(ORIGINAL)).to_bytes()[:-7]) is None


def test_a_picture_that_very_many_show_is_paired_with_one_of_them() -> None:
    made = fingerprint(encode(ORIGINAL))
    other = fingerprint(encode(ORIGINAL[:300]))
    many = {f"{n:03}": made for n in range(120)} | {f"cut {n:03}": other for n in range(120)}
    pairs = find_pairs(many)
    assert len(pairs) < 600
    assert {key for pair in pairs for key in (pair.a, pair.b)} == set(many)


def test_groups_have_a_hub_and_are_not_chained() -> None:
    def pair(a: str, b: str) -> Pair:
        return Pair(a, b, 0.9, "copy", (), (), ())

    chain = [pair("a", "b"), pair("b", "c"), pair("c", "d"), pair("d", "e")]
    assert groups(chain) == (("a", "b", "c"), ("d", "e"))
    assert groups([pair("a", "b"), Pair("b", "c", 0.3, "alike", (), (), ())]) == (("a", "b"),)
