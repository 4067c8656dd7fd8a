"""Photos as listings show them: rendered frames of few designs, on grounds, by different hands.

Two photos of one design from one view are the hardest negatives there are: the goods agree, drawn
as they are by the same rules, and only the ground, the grain and the light tell them apart.
"""

from __future__ import annotations

from dataclasses import replace
from typing import cast, get_args

import cv2
import numpy as np

from tests.demo.render import FrameLook, Ground, Scene, Shape, View, photograph
from tests.evaluation.photo_benchmark.goods import Image

_COLOURS = ("black", "tortoise", "honey", "crystal", "wine", "olive", "gold")
_RIVETS = ("round", "lozenge", "oval", "bar", "none")
_WORDS = ("ORVANT", "MIRESSA", "PELLIN 3", "QUARRAN", "DOVELL", "HALMERE", "")
VIEWS = get_args(View)
GROUNDS = get_args(Ground)


def make_look(rng: np.random.Generator) -> FrameLook:
    """An invented design."""
    return FrameLook(
        shape=cast(Shape, str(rng.choice(get_args(Shape)))),
        lens_width=float(rng.integers(44, 58)),
        lens_height=float(rng.integers(36, 50)),
        bridge=float(rng.integers(16, 24)),
        rim=float(rng.uniform(2.2, 6.0)),
        colour=str(rng.choice(_COLOURS)),  # type: ignore[arg-type]
        lens_density=float(rng.choice([0.15, 0.5, 0.8])),
        rivet_shape=str(rng.choice(_RIVETS)),  # type: ignore[arg-type]
        hinge_barrels=int(rng.choice([3, 5, 7])),
        core_wire=bool(rng.random() < 0.5),
        inscription=str(rng.choice(_WORDS)),
    )


def make_scene(rng: np.random.Generator, ground: str, steady: bool) -> Scene:
    """A ground and a hand; `steady` as from a stand: no turn, no lean, hardly another place."""
    loose = 0.15 if steady else 1.0
    return Scene(
        ground=cast(Ground, ground),
        seed=int(rng.integers(0, 10**6)),
        turn=0.0 if steady or ground == "white" else float(rng.uniform(-14, 14)),
        lean=0.0 if steady or ground == "white" else float(rng.uniform(-0.08, 0.14)),
        zoom=float(1 + loose * rng.uniform(-0.09, 0.12)),
        shift=(float(loose * rng.uniform(-0.05, 0.05)), float(loose * rng.uniform(-0.05, 0.05))),
        light_from=float(rng.uniform(60, 150)),
        exposure=float(rng.uniform(0.86, 1.08)),
        warmth=float(rng.uniform(-0.6, 0.8)),
        blur=float(rng.uniform(0.6, 1.5)),
        noise=float(rng.uniform(2.5, 6.0)),
    )


def look_alikes(rng: np.random.Generator) -> list[Image]:
    """One view of one design five times: twice on one kind of ground, on another, on white twice.

    A sixth has another colour on the first ground, as a sibling design would.
    """
    look, view = make_look(rng), cast(View, str(rng.choice(VIEWS)))
    first, second = rng.permutation([name for name in GROUNDS if name != "white"])[:2].tolist()
    steady = bool(rng.random() < 0.5)
    shots = [(look, ground) for ground in (first, first, second, "white", "white")]
    shots.append((replace(look, colour=str(rng.choice(_COLOURS))), first))  # type: ignore[arg-type]
    return [
        np.asarray(photograph(one, view, make_scene(rng, ground, steady))) for one, ground in shots
    ]


def listing(rng: np.random.Generator, photos: int = 5) -> list[Image]:
    """The photos of one listing: views of one piece on one ground."""
    look, ground = make_look(rng), str(rng.choice(GROUNDS))
    views = rng.permutation(VIEWS)[:photos]
    return [
        _drawn_small(look, cast(View, str(view)), make_scene(rng, ground, False)) for view in views
    ]


def _drawn_small(look: FrameLook, view: View, scene: Scene) -> Image:
    """Drawn at half the size and enlarged: drawing thousands takes long."""
    small = photograph(look, view, replace(scene, width=400, height=300))
    return cv2.resize(np.asarray(small), (800, 600), interpolation=cv2.INTER_CUBIC)
