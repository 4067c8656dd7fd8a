"""Small pictures made for the tests: textured, different for each seed, encoded as asked."""

from __future__ import annotations

import io

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

Pixels = npt.NDArray[np.uint8]


def scene(seed: int, shape: tuple[int, int] = (360, 480)) -> Pixels:
    """A picture of shapes and letters on an uneven ground, (h, w, 3) RGB."""
    rng = np.random.default_rng(seed)
    height, width = shape
    coarse = rng.uniform(60, 200, (9, 12, 3)).astype(np.float32)
    ground = cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC)
    image = np.clip(ground + rng.normal(0, 4, ground.shape), 0, 255).astype(np.uint8)
    for _ in range(45):
        colour = rng.integers(0, 255, 3).tolist()
        x, y = int(rng.integers(0, width)), int(rng.integers(0, height))
        if rng.random() < 0.5:
            end = (x + int(rng.integers(10, 70)), y + int(rng.integers(10, 70)))
            cv2.rectangle(image, (x, y), end, colour, -1, cv2.LINE_AA)
        else:
            cv2.circle(image, (x, y), int(rng.integers(5, 30)), colour, -1, cv2.LINE_AA)
        letters = "".join(chr(65 + int(v)) for v in rng.integers(0, 26, 3))
        cv2.putText(image, letters, (x, y), cv2.FONT_HERSHEY_SIMPLEX, 0.6, colour[::-1], 2)
    return image


def blobs(seed: int, shape: tuple[int, int] = (360, 480)) -> Pixels:
    """Four soft blobs of light on a plain ground, (h, w, 3): hardly any texture."""
    rng = np.random.default_rng(seed)
    height, width = shape
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    image = np.zeros((height, width, 3), np.float32) + rng.uniform(20, 235, 3)
    for _ in range(4):
        light = rng.uniform(-90, 90, 3)
        away = (x - rng.uniform(0, width)) ** 2 + (y - rng.uniform(0, height)) ** 2
        image += light * np.exp(-away / (2 * rng.uniform(20, 90) ** 2))[..., None]
    return np.clip(image, 0, 255).astype(np.uint8)


def encode(pixels: Pixels, kind: str = "JPEG", **options: object) -> bytes:
    """Bytes of a picture in a Pillow format."""
    out = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(pixels)).save(out, kind, **options)
    return out.getvalue()
