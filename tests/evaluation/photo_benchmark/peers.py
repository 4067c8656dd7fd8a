"""Other ways to find reused pictures, in the same run: global hashes, and plain ORB with RANSAC.

Each returns a score for every pair it can tell apart, higher for more alike.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence

import cv2
import imagehash
import numpy as np
import numpy.typing as npt
from PIL import Image

try:
    import pdqhash
except ImportError:  # a peer only; it is left out where it is not installed
    pdqhash = None

Scores = dict[tuple[int, int], float]
_SIDE = 512


def _picture(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data))
    image.draft("RGB", (_SIDE, _SIDE))
    image = image.convert("RGB")
    image.thumbnail((_SIDE, _SIDE))
    return image


def _by_bits(bits: npt.NDArray[np.float32]) -> Scores:
    """(n, bits) of -1 and 1 -> share of equal bits of every pair that shares four fifths."""
    likeness = (bits @ bits.T / bits.shape[1] + 1) / 2
    later, earlier = np.nonzero(np.tril(likeness > 0.72, -1))
    return {(int(a), int(b)): float(likeness[a, b]) for a, b in zip(later, earlier, strict=True)}


def _hashes(
    make: Callable[[Image.Image], npt.NDArray[np.bool_]],
) -> Callable[[Sequence[bytes]], Scores]:
    def peer(photos: Sequence[bytes]) -> Scores:
        bits = np.stack([make(_picture(data)).ravel() for data in photos])
        return _by_bits(np.where(bits, 1.0, -1.0).astype(np.float32))

    return peer


def _pdq(image: Image.Image) -> npt.NDArray[np.bool_]:
    bits, _ = pdqhash.compute(np.asarray(image))
    return np.asarray(bits, bool)


def orb_ransac(photos: Sequence[bytes], most: int = 300) -> Scores:
    """Inliers of a RANSAC similarity over ORB matches; pairs beyond the first `most` photos have
    no score, and count as not found.
    """
    orb = cv2.ORB_create(500)
    matcher = cv2.BFMatcher(cv2.NORM_HAMMING, crossCheck=True)
    found = [
        orb.detectAndCompute(np.asarray(_picture(d).convert("L")), None) for d in photos[:most]
    ]
    scores: Scores = {}
    for a, (points_a, words_a) in enumerate(found):
        for b, (points_b, words_b) in enumerate(found[:a]):
            if words_a is None or words_b is None:
                continue
            matches = [m for m in matcher.match(words_a, words_b) if m.distance < 64]
            if len(matches) < 6:
                continue
            p = np.array([points_a[m.queryIdx].pt for m in matches], np.float32)
            q = np.array([points_b[m.trainIdx].pt for m in matches], np.float32)
            _, inliers = cv2.estimateAffinePartial2D(p, q, ransacReprojThreshold=4.0)
            scores[a, b] = 0.0 if inliers is None else float(inliers.sum())
    return scores


PEERS: dict[str, Callable[[Sequence[bytes]], Scores]] = {
    "imagehash pHash 64": _hashes(lambda image: imagehash.phash(image).hash),
    "imagehash pHash 256": _hashes(lambda image: imagehash.phash(image, 16).hash),
    "imagehash dHash 64": _hashes(lambda image: imagehash.dhash(image).hash),
    "imagehash dHash 256": _hashes(lambda image: imagehash.dhash(image, 16).hash),
    "ORB + RANSAC": orb_ransac,
    **({"pdqhash 256": _hashes(_pdq)} if pdqhash else {}),
}
