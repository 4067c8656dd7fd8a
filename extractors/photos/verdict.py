"""From score and figures to the answer: copy, same_piece, alike or shared_overlay."""

from __future__ import annotations

from typing import Literal

from extractors.photos.evidence import FIGURES
from extractors.photos.features import Floats
from extractors.photos.model import PairModel
from extractors.photos.search import Looked

Answer = Literal["copy", "same_piece", "alike", "shared_overlay"]


def answer_of(
    score: float, figures: Floats, looked: Looked, model: PairModel
) -> tuple[Answer, bool]:
    """The answer, and whether the tool stands behind it."""
    if score >= model.threshold:
        return "copy", True
    value = dict(zip(FIGURES, figures.tolist(), strict=True))
    if value["masked"] > 0.4 or (value["agree_well"] > 0.2 and value["disagree"] > 0.3):
        return "shared_overlay", value["agreeing_cells"] > 1.5
    matched = value["tight"] > 3.0 and value["match_share"] > 0.15
    if matched and value["mean_coarse"] > 0.5:
        return "same_piece", True
    return "alike", matched
