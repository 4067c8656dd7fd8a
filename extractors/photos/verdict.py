"""From score and figures to the answer: copy, same_piece, alike or shared_overlay."""

from __future__ import annotations

from collections.abc import Mapping
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
_NO_COPY = 0.05  # score
_OWN_SPECKS = 2  # that each photo has and the other lacks: another shot, however alike
_MOSTLY_OTHER = 0.5  # of the texture is off, though the whole pictures lie over each other: pages
_LITTLE = 2.2  # log of the texture that agrees: less than eight full cells
# drawn, like a chart: no noise between the lines (log of grey levels), all tones and hardly any
# cell off, but too few cells that agree as two copies of one drawing do
_NO_NOISE, _ALL_TONES, _HARDLY_OFF, _MOST_AGREES, _LESS_THAN_SAME = -2.8, 0.97, 0.05, 0.7, 0.85


def answer_of(
    score: float,
    figures: Floats,
    texture: float,
    masked: float,
    shares: tuple[float, float],
    own_specks: float,
    model: PairModel,
) -> tuple[Answer, bool, float]:
    """The answer, whether the tool stands behind it, and the score (a low one where a rule of thumb
    says that no copy can be told).

    `texture` is the smaller of both photos' (see Fingerprint), `masked` the share of the pair's
    texture that recurs over unrelated photos, `shares` how much of each photo the other shows,
    `own_specks` how many specks each has that the other lacks.
    Below the threshold for a copy the answers are rules of thumb: what agrees in one part only and
    is straight is an overlay, what matches on an uneven ground is the same piece and place, on a
    plain ground only alike.
    """
    value = dict(zip(FIGURES, figures.tolist(), strict=True))
    if _is_one_form(value, shares):
        form: Answer = "shared_overlay" if texture > _LEAST_ROOM else "alike"
        return form, texture > _LEAST_ROOM, min(score, _NO_COPY)
    if _is_part_of_smooth(value, texture, shares):
        return "alike", False, min(score, _NO_COPY)
    if own_specks >= _OWN_SPECKS:
        return (*_answer_below(value, texture, masked), min(score, _NO_COPY))
    if score >= model.threshold:
        pages = min(shares) > _NEARLY_WHOLE and value["disagree"] > _MOSTLY_OTHER
        return ("shared_overlay", False, _NO_COPY) if pages else ("copy", True, score)
    return (*_answer_below(value, texture, masked), score)


def _answer_below(value: Mapping[str, float], texture: float, masked: float) -> tuple[Answer, bool]:
    """The answer about what is no copy."""
    matched = value["tight"] > _SURE_MATCHES and value["match_share"] > 0.12
    if masked > _MASKED or (value["high_quarter"] > 0.97 and value["disagree"] > 0.3):
        return "shared_overlay", value["agreeing"] > 1.0 and value["tight"] > 2.5
    if matched and texture > _LEAST_ROOM and value["mean_coarse"] > 0.35:
        return "same_piece", True
    return "alike", matched and value["mean_coarse"] > 0.45


def _is_one_form(value: Mapping[str, float], shares: tuple[float, float]) -> bool:
    """Whether two drawings (size charts, tables) have their lines in common, but not what is
    written: cells agree all over, and too few agree well.
    """
    drawn = value["noise_spread"] < _NO_NOISE and min(shares) > _NEARLY_WHOLE
    alike = value["disagree"] < _HARDLY_OFF and value["tone"] > _ALL_TONES
    well = value["agree_well"]
    return drawn and alike and value["agree"] > _MOST_AGREES and well < _LESS_THAN_SAME


def _is_part_of_smooth(
    value: Mapping[str, float], texture: float, shares: tuple[float, float]
) -> bool:
    """Whether a part of a smooth or almost empty picture is all that fits: it fits many another.

    Smooth pictures that fit as a whole, or by matches of features and in many cells, can be copies.
    """
    if texture >= _SMOOTH or min(shares) >= _NEARLY_WHOLE:
        return False
    empty = value["agreeing"] < _LITTLE and value["noise_spread"] < _NO_NOISE
    return value["tight"] < _FEW_MATCHES or empty
