"""What an answer needs beside a high score."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from extractors.photos.evidence import FIGURES
from extractors.photos.fingerprint import fingerprint
from extractors.photos.model import load_model
from extractors.photos.pairs import find_pairs
from extractors.photos.verdict import answer_of
from tests.extractors.photos.made_pictures import Pixels, encode, scene

WHOLE = (1.0, 1.0)
COPY = {
    "tight": 4.5,
    "match_share": 0.5,
    "agree": 0.98,
    "agree_well": 0.97,
    "tone": 0.99,
    "agreeing": 3.5,
    "noise_spread": -1.0,
    "mean_coarse": 0.98,
    "cells": 4.5,
}
CHART = {**COPY, "agree": 0.93, "agree_well": 0.68, "noise_spread": -2.9}
DISC = {**COPY, "agreeing": 1.7, "noise_spread": -2.95}


@pytest.mark.parametrize(
    ("figures", "texture", "shares", "answer", "certain"),
    [
        (COPY, 0.5, WHOLE, "copy", True),
        (COPY, 0.03, (0.5, 0.9), "copy", True),  # a crop of small goods on a plain ground
        (CHART, 0.65, WHOLE, "shared_overlay", True),
        (CHART, 0.2, WHOLE, "alike", False),  # drawn goods
        ({**CHART, "agree_well": 0.95}, 0.65, WHOLE, "copy", True),  # the same chart
        ({**CHART, "noise_spread": -1.0}, 0.65, WHOLE, "copy", True),  # blurred, but a photo
        ({**CHART, "disagree": 0.2}, 0.65, WHOLE, "copy", True),  # an edit is off somewhere
        ({**COPY, "disagree": 0.4}, 0.5, WHOLE, "copy", True),  # a large logo
        ({**COPY, "disagree": 0.6}, 0.5, WHOLE, "shared_overlay", False),  # two pages of one app
        ({**COPY, "disagree": 0.6}, 0.5, (0.4, 0.9), "copy", True),  # a tile of a collage
        (DISC, 0.03, (0.2, 1.0), "alike", False),
        (DISC, 0.03, WHOLE, "copy", True),
        (DISC, 0.2, (0.2, 1.0), "copy", True),
    ],
)
def test_a_high_score_is_a_copy_only_where_enough_can_be_told(
    figures: dict[str, float],
    texture: float,
    shares: tuple[float, float],
    answer: str,
    certain: bool,
) -> None:
    row = np.array([figures.get(name, 0.0) for name in FIGURES], np.float32)
    said, stands, score = answer_of(0.999, row, texture, 0.0, shares, 0, load_model())
    assert (said, stands) == (answer, certain)
    assert (score == 0.999) == (answer == "copy")


@pytest.mark.parametrize(("own", "answer"), [(0, "copy"), (1, "copy"), (2, "alike")])
def test_photos_that_each_have_dust_of_their_own_are_no_copies(own: int, answer: str) -> None:
    row = np.array([COPY.get(name, 0.0) for name in FIGURES], np.float32)
    assert answer_of(0.999, row, 0.3, 0.0, WHOLE, own, load_model())[0] == answer


def _chart(seed: int) -> Pixels:
    """A table of sizes, black on white."""
    rng = np.random.default_rng(seed)
    page = np.full((600, 460, 3), 255, np.uint8)
    for row in range(12):
        y = 40 + row * 45
        cv2.line(page, (20, y + 14), (440, y + 14), (60, 60, 60), 1)
        for column in range(5):
            word = f"{rng.integers(18, 150)}" if row and column else f"no. {row}{column}"
            cv2.putText(page, word, (24 + column * 86, y), 0, 0.6, (0, 0, 0), 1, cv2.LINE_AA)
    return page


def _app_page(seed: int) -> Pixels:
    """A page of a phone: the picture in its upper third, else buttons and lines of text."""
    page = np.full((700, 380, 3), 255, np.uint8)
    page[:50] = (32, 60, 96)
    cv2.putText(page, "wares nearby", (90, 34), 0, 0.8, (255, 255, 255), 2)
    page[50:270] = cv2.resize(scene(seed), (380, 220), interpolation=cv2.INTER_AREA)
    for row, word in enumerate(("price on request", "delivered or fetched", "ask the owner")):
        cv2.putText(page, word, (20, 320 + row * 50), 0, 0.8, (20, 20, 20), 2)
    cv2.rectangle(page, (20, 480), (360, 540), (200, 90, 20), -1)
    cv2.putText(page, "make an offer", (90, 518), 0, 0.8, (255, 255, 255), 2)
    cv2.rectangle(page, (20, 570), (360, 630), (200, 90, 20), 2)
    cv2.putText(page, "write a note", (100, 608), 0, 0.8, (200, 90, 20), 2)
    return page


@pytest.mark.parametrize(("draw", "count"), [(_chart, 5), (_app_page, 6)])
def test_one_form_or_page_around_other_contents_makes_no_copies(draw: object, count: int) -> None:
    assert callable(draw)
    photos = {number: fingerprint(encode(draw(number))) for number in range(count)}
    assert [pair for pair in find_pairs(photos) if pair.answer == "copy"] == []


def test_two_pages_of_one_app_are_no_copies_either() -> None:
    photos = {number: fingerprint(encode(_app_page(number))) for number in range(2)}
    assert [pair for pair in find_pairs(photos) if pair.answer == "copy"] == []


@pytest.mark.parametrize("draw", [_chart, _app_page])
def test_the_same_form_or_page_saved_again_is_a_copy(draw: object) -> None:
    assert callable(draw)
    whole = cv2.resize(draw(3), None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    smaller = cv2.resize(whole, None, fx=0.8, fy=0.8, interpolation=cv2.INTER_AREA)
    photos = {"a": fingerprint(encode(whole)), "b": fingerprint(encode(smaller, quality=80))}
    assert [pair.answer for pair in find_pairs(photos)] == ["copy"]
