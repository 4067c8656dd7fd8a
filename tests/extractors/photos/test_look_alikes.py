"""Goods of one design on two grounds are no copies, however alike; an edited photo still is."""

from __future__ import annotations

from typing import cast

import cv2
import numpy as np
import pytest

from extractors.photos.evidence import FIGURES
from extractors.photos.fingerprint import fingerprint
from extractors.photos.model import load_model
from extractors.photos.pairs import find_pairs
from tests.demo.render import FrameLook, Ground, Scene, View, photograph
from tests.evaluation.photo_benchmark.families import FAMILIES
from tests.evaluation.photo_benchmark.train_pairs import FALLING, FREE
from tests.extractors.photos.made_pictures import Pixels, encode

LOOK = FrameLook("square", 50, 40, 19, 140, 5.0, "black", (70, 74, 70), 0.8, hinge_barrels=3)


def _shot(view: str, ground: str, seed: int) -> Pixels:
    scene = Scene(ground=cast(Ground, ground), seed=seed, turn=seed % 5, zoom=1 + seed % 7 / 50)
    return np.asarray(photograph(LOOK, cast(View, view), scene))


def _answer(one: Pixels, other: Pixels) -> str | None:
    made = {"a": fingerprint(encode(one)), "b": fingerprint(encode(other))}
    return next((pair.answer for pair in find_pairs(made)), None)


@pytest.mark.parametrize(
    ("view", "grounds"),
    [
        ("hinge", ("slate", "white")),
        ("hinge", ("linen", "wood")),
        ("front", ("linen", "white")),
        ("front", ("paper", "paper")),
        ("inscription", ("felt", "slate")),
    ],
)
def test_one_design_on_two_grounds_is_no_copy(view: str, grounds: tuple[str, str]) -> None:
    assert _answer(_shot(view, grounds[0], 11), _shot(view, grounds[1], 23)) != "copy"


@pytest.mark.parametrize("ground", ["slate", "linen"])
def test_the_same_shot_made_smaller_and_darker_is_a_copy(ground: str) -> None:
    shot = _shot("hinge", ground, 11)
    small = cv2.resize(shot, None, fx=0.6, fy=0.6, interpolation=cv2.INTER_AREA)
    assert _answer(shot, (small * 0.8).astype(np.uint8)) == "copy"


@pytest.mark.parametrize("seed", range(4))
def test_drawings_of_different_frames_on_one_plain_ground_are_no_copies(seed: int) -> None:
    drawings = FAMILIES["drawn"](np.random.default_rng(seed))
    made = {number: fingerprint(encode(drawing)) for number, drawing in enumerate(drawings)}
    assert [pair for pair in find_pairs(made) if pair.answer == "copy"] == []


def test_a_drawing_made_smaller_and_mirrored_is_a_copy() -> None:
    drawing = FAMILIES["drawn"](np.random.default_rng(5))[0]
    small = cv2.resize(drawing, None, fx=0.7, fy=0.7, interpolation=cv2.INTER_AREA)
    assert _answer(drawing, np.ascontiguousarray(small[:, ::-1])) == "copy"


def test_no_figure_speaks_against_its_own_meaning() -> None:
    rng = np.random.default_rng(3)
    figures = rng.uniform(0, 1, (200, len(FIGURES))).astype(np.float32)
    before = load_model().log_odds(figures)
    for column, name in enumerate(FIGURES):
        if name in FREE:
            continue
        more = figures.copy()
        more[:, column] += rng.uniform(0, 1, len(more))
        change = load_model().log_odds(more) - before
        assert ((-change if name in FALLING else change) > -1e-3).all(), name
