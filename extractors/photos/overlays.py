"""What recurs over many unrelated photos: logos, page chrome, frames. Such cells are masked.

A cell of a photo that agrees, upright and unmirrored, with photos of two or more other groups is
no evidence that two photos show one picture. Groups are made of a hub and its copies, not chained.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from extractors.photos.fingerprint import Fingerprint
from extractors.photos.search import Looked

Mask = npt.NDArray[np.bool_]


def masks_of(
    fingerprints: Sequence[Fingerprint],
    looked: Sequence[Looked],
    scores: npt.NDArray[np.float64],
) -> list[Mask | None]:
    """For every pair, which of its cells are a shared overlay; None where none is."""
    return [None] * len(looked)
