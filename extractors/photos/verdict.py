"""From score and figures to the answer: copy, same_piece, alike or shared_overlay."""

from __future__ import annotations

from typing import Literal

from extractors.photos.evidence import FIGURES
from extractors.photos.features import Floats
from extractors.photos.model import PairModel

Answer = Literal["copy", "same_piece", "alike", "shared_overlay"]

_MASKED = 0.35  # share of the texture that recurs over unrelated photos
_LEAST_ROOM = 0.5  # share of a photo that is not plain: goods on white have less
_SURE_MATCHES = 3.2  # log of the matches within 2 px: 24
_SMOOTH = 0.06  # share of a photo that is not plain: blurred grounds, gradients, soft blobs
_FEW_MATCHES = 2.6  # log of the matches within 2 px: 12
_NEARLY_WHOLE = 0.9  # share of each photo that the other shows


def answer_of(
    score: float,
    figures: Floats,
    texture: float,
    masked: float,
    shares: tuple[float, float],
    model: PairModel,
) -> tuple[Answer, bool]:
    """The answer, and whether the tool stands behind it.

    `texture` is the smaller of both photos' (see Fingerprint), `masked` the share of the pair's
    texture that recurs over unrelated photos, `shares` how much of each photo the other shows.
    Below the threshold for a copy the answers are rules of thumb: what agrees in one part only and
    is straight is an overlay, what matches on an uneven ground is the same piece and place, on a
    plain ground only alike.
    """
    value = dict(zip(FIGURES, figures.tolist(), strict=True))
    if score >= model.threshold:
        fits_anything = _is_part_of_smooth(value["tight"], texture, shares)
        return ("alike", False) if fits_anything else ("copy", True)
    matched = value["tight"] > _SURE_MATCHES and value["match_share"] > 0.12
    if masked > _MASKED or (value["high_quarter"] > 0.97 and value["disagree"] > 0.3):
        return "shared_overlay", value["agreeing"] > 1.0 and value["tight"] > 2.5
    if matched and texture > _LEAST_ROOM and value["mean_coarse"] > 0.35:
        return "same_piece", True
    return "alike", matched and value["mean_coarse"] > 0.45


def _is_part_of_smooth(tight: float, texture: float, shares: tuple[float, float]) -> bool:
    """Whether a part of a smooth picture is all that fits: it fits many another smooth picture.

    Smooth pictures that fit as a whole, or by matches of features, can be copies.
    """
    return texture < _SMOOTH and tight < _FEW_MATCHES and min(shares) < _NEARLY_WHOLE
