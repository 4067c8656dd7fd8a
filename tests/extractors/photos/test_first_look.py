"""The cheap looks before two photos are compared in full."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.photos.agreement import (
    Laid,
    Picture,
    compare,
    compare_settled,
    lay_over,
    settled,
)
from extractors.photos.align import Alignment, Fit, begin, begin_with, first_matches, refine
from extractors.photos.candidates import (
    Candidate,
    Index,
    _ends_before,
    build_index,
    find_candidates,
)
from extractors.photos.fingerprint import Fingerprint, fingerprint, grey_of
from extractors.photos.first_look import (
    aligned_figures,
    all_figures,
    begun_figures,
    first_figures,
    laid_figures,
    laid_odds,
    odds,
    seen_figures,
)
from extractors.photos.gates import load_gate
from extractors.photos.search import _ROOM_OF_SMOOTH, _room, most_copies
from tests.extractors.photos.made_pictures import encode, scene

CUT = np.array([[1.0, 0, -40], [0, 1, -30], [0, 0, 1]])


@pytest.fixture(scope="module")
def copy() -> tuple[Fingerprint, Fingerprint]:
    """A picture, and the same cut by 40 px at the left and 30 px at the top."""
    whole = scene(61)
    cut = np.ascontiguousarray(whole[30:, 40:])
    return fingerprint(encode(whole)), fingerprint(encode(cut))


def _aligned(a: Fingerprint, b: Fingerprint) -> Alignment:
    scale = np.diag([b.size[0] / b.width, b.size[1] / b.height, 1.0])
    back = np.diag([a.width / a.size[0], a.height / a.size[1], 1.0])
    begun = begin(a, b, scale @ CUT @ back, mirrored=False)
    assert begun is not None
    alignment = refine(a, b, begun, 1.0)
    assert alignment is not None
    return alignment


def _laid(a: Fingerprint, b: Fingerprint, alignment: Alignment) -> Laid:
    laid = lay_over(Picture(grey_of(a)), Picture(grey_of(b)), alignment.matrix)
    assert laid is not None
    return laid


def _candidate(query: Fingerprint, other: Fingerprint) -> Candidate:
    least = {"floor": 0.5, "least": -20.0}
    found = find_candidates(build_index([other, query]), query, 1, budget=9999, most=9, **least)
    return found[0]


def _all_figures(a: Fingerprint, b: Fingerprint) -> dict[str, np.ndarray]:
    """What each gate weighs of two photos laid over each other."""
    candidate = _candidate(a, b)
    first = first_matches(a, b, candidate.matrix, candidate.mirrored)
    begun = begin_with(a, b, first, candidate.mirrored)
    assert begun is not None
    alignment = refine(a, b, begun, candidate.votes)
    assert alignment is not None
    laid = _laid(a, b, alignment)
    of_first = first_figures(candidate, first)
    of_begun = begun_figures(candidate, of_first, begun)
    of_all = all_figures(of_begun, alignment)
    return {
        "shared": candidate.figures,
        "first": of_first,
        "begun": of_begun,
        "all": of_all,
        "seen": seen_figures(of_all, alignment, laid),
        "aligned": np.array(aligned_figures(alignment)),
        "laid": laid_figures(alignment, laid),
    }


def test_every_gate_weighs_as_many_figures_as_there_are(
    copy: tuple[Fingerprint, Fingerprint],
) -> None:
    counts = {name: len(figures) for name, figures in _all_figures(*copy).items()}
    assert counts == {name: load_gate(name).figures for name in counts}


def test_a_copy_passes_every_gate(copy: tuple[Fingerprint, Fingerprint]) -> None:
    for name, figures in _all_figures(*copy).items():
        assert odds(name, figures) > max(0, load_gate(name).least), name


def test_a_copy_passes_the_look_at_the_pixels_and_another_picture_does_not(
    copy: tuple[Fingerprint, Fingerprint],
) -> None:
    alignment = _aligned(*copy)
    other = fingerprint(encode(scene(62)))
    least = load_gate("laid").least
    assert laid_odds(alignment, _laid(*copy, alignment)) > 0
    hardly = replace(alignment, matches=25, tight=10, fit=Fit(0.92, 4, 8.0, 6))
    assert laid_odds(hardly, _laid(*copy, alignment)) > least
    assert laid_odds(hardly, _laid(other, copy[1], alignment)) < least


def test_step_by_step_gives_what_comparing_at_once_gives(
    copy: tuple[Fingerprint, Fingerprint],
) -> None:
    alignment = _aligned(*copy)
    laid = _laid(*copy, alignment)
    stepwise = compare_settled(settled(laid))
    at_once = compare(grey_of(copy[0]), grey_of(copy[1]), alignment.matrix)
    assert stepwise is not None
    assert at_once is not None
    assert np.array_equal(stepwise.matrix, at_once.matrix)
    assert np.array_equal(stepwise.coarse, at_once.coarse)


def test_settling_never_makes_the_cells_agree_less(copy: tuple[Fingerprint, Fingerprint]) -> None:
    alignment = _aligned(*copy)
    laid = _laid(*copy, alignment)
    assert settled(laid).seen.worth >= laid.seen.worth - 0.001


def test_a_picture_cut_but_not_resized_lies_at_its_scale(
    copy: tuple[Fingerprint, Fingerprint],
) -> None:
    a, b = copy
    laid = _laid(a, b, _aligned(a, b))
    assert laid.lie.scale() == pytest.approx(b.size[0] / b.width * a.width / a.size[0], rel=0.02)


@given(
    st.lists(st.lists(st.integers(0, 30), max_size=12).map(sorted), min_size=1, max_size=8),
    st.integers(0, 31),
)
def test_lists_end_where_later_photos_begin(lists: list[list[int]], query: int) -> None:
    ends = np.cumsum([len(one) for one in lists])
    starts = ends - [len(one) for one in lists]
    photo = np.array([number for one in lists for number in one], np.int32)
    empty = np.zeros(0, np.uint8)
    index = Index(
        starts=np.append(starts, ends[-1]),
        photo=photo,
        angle=empty,
        level=empty,
        place=np.zeros((0, 2), np.uint16),
        owner=np.zeros(0, np.intp),
        region=np.zeros(0, np.intp),
        vectors=np.zeros((0, 64), np.float32),
        hashes=np.zeros((0, 4), np.uint64),
        sizes=np.zeros((0, 3), np.int32),
    )
    wanted = [start + sum(n < query for n in one) for start, one in zip(starts, lists, strict=True)]
    assert _ends_before(index, starts, ends, query).tolist() == wanted


def test_smooth_pictures_have_less_room_for_what_third_photos_suggest(
    copy: tuple[Fingerprint, Fingerprint],
) -> None:
    smooth = replace(copy[0], points=copy[0].points[:12])
    assert _room(smooth) == _ROOM_OF_SMOOTH
    assert _room(copy[0]) == most_copies(copy[0]) > _ROOM_OF_SMOOTH
