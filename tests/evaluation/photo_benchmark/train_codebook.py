"""Make the codebook of extractors/photos/words.py anew from folders of photographs.

python -m tests.evaluation.photo_benchmark.train_codebook codebook.json FOLDER...

Both halves of every descriptor (the lower one read mirrored) are clustered together by k-means.
Another codebook makes other words: change RECIPE in fingerprint.py and train the pair model again.
"""

from __future__ import annotations

import argparse
import base64
import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
from sklearn.cluster import MiniBatchKMeans

from extractors.photos.decode import PhotoError, decode
from extractors.photos.features import LEVELS_OF_DESCRIPTOR, MIRROR, find_features
from extractors.photos.fingerprint import FEATURES, SIDE
from tests.evaluation.photo_benchmark.make import photo_files

ENTRIES = 512
_HALF = 64
_STEPS = 16  # a centre is kept in sixteenths of a step of a descriptor


def main() -> None:
    """Run as the module docstring says."""
    parser = argparse.ArgumentParser(description="Make the codebook of photo words anew.")
    parser.add_argument("out", type=Path)
    parser.add_argument("folders", nargs="*", type=Path)
    options = parser.parse_args()
    files = photo_files(options.folders, kept_back=False)
    descriptors = np.concatenate(list(_descriptors(files)))
    card = f"k-means centres of descriptor halves of {len(files)} photographs, see the script"
    options.out.write_text(json.dumps({"card": card, **cluster(descriptors)}) + "\n", "utf-8")


def _descriptors(files: list[Path]) -> Iterator[npt.NDArray[np.uint8]]:
    for path in files:
        try:
            grey = decode(path.read_bytes(), SIDE).pixels
        except PhotoError:
            continue
        yield find_features(grey, FEATURES).descriptors


def cluster(descriptors: npt.NDArray[np.uint8], entries: int = ENTRIES) -> dict[str, object]:
    """(n, 128) descriptors -> `steps` and `entries` as words.py reads them."""
    upper, lower = descriptors[:, :_HALF], descriptors[:, MIRROR][:, :_HALF]
    halves = np.concatenate([upper, lower]).astype(np.float32)
    found = MiniBatchKMeans(entries, batch_size=4096, n_init=1, max_iter=60, random_state=0).fit(
        halves
    )
    steps = np.clip(np.rint(found.cluster_centers_ * _STEPS), 0, LEVELS_OF_DESCRIPTOR * _STEPS)
    kept = steps.astype(np.uint8).tobytes()
    return {"steps": _STEPS, "entries": base64.b64encode(kept).decode("ascii")}


if __name__ == "__main__":
    main()
