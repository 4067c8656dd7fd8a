"""What is kept of a photo to find it again: words, features, region vectors, a small grey copy.

A fingerprint is made once per photo and recipe and can be stored; it holds nothing but what can be
made again from the photo.
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass
from typing import Any

import cv2
import imagehash
import numpy as np
import numpy.typing as npt
from PIL import Image

from extractors.photos.decode import PhotoError, Pixels, decode, shrink
from extractors.photos.features import Floats, find_features
from extractors.photos.regions import describe_regions, find_regions
from extractors.photos.stripes import without_stripes
from extractors.photos.threads import keep_memory, one_thread
from extractors.photos.words import find_words

RECIPE = "photo-6"  # change it whenever a stored fingerprint would come out different
SIDE = 512
FEATURES = 600
_LEAST_SIDE = 24
_COLOURS = 16
_THUMB_QUALITY = 75
_FRACTION = 64.0  # places are kept in 1/64 px
_MAGIC = b"PFP1"
_LEAST_FEATURES = 12
_TEXTURED_SPREAD = 4.0
_SUM = np.ones(16, np.float32)

cv2.setNumThreads(1)  # workers share the machine; results must not depend on threads


@dataclass(frozen=True, slots=True, eq=False)
class Fingerprint:
    """One photo: sizes in px, n local features, m regions.

    `grey_jpeg` is the upright grey picture of at most 512 px a side; `points` (n, 2) are its px.
    `angles` (n,) in 1/256 turns, `levels` (n,) pyramid level, `packed` (n, 64) descriptors, two
    numbers a byte, `words` (n, 4). `boxes` (m, 4) and `vectors` (m, 64) belong to regions.py.
    `colours` (16, 16, 3) RGB. `texture` is the share of the picture that is not plain, 0 to 1.
    """

    width: int
    height: int
    format: str
    texture: float
    phash: str
    grey_jpeg: bytes | memoryview
    points: Floats
    angles: npt.NDArray[np.uint8]
    levels: npt.NDArray[np.uint8]
    packed: npt.NDArray[Any]
    words: npt.NDArray[np.uint16]
    boxes: npt.NDArray[np.int16]
    vectors: npt.NDArray[np.int8]
    colours: npt.NDArray[Any]
    size: tuple[int, int]  # width, height of the grey picture
    striped: bool  # stripes of a screen were taken out of the grey picture

    @property
    def is_comparable(self) -> bool:
        """False for an almost empty or one-colour picture: it is like too many others."""
        return len(self.points) >= _LEAST_FEATURES

    def to_bytes(self) -> bytes:
        """Compact bytes for a cache, with the recipe; `from_bytes` reads them."""
        return _pack(self)


def grey_of(fingerprint: Fingerprint) -> Pixels:
    """The small grey picture (h, w) uint8."""
    flat = np.frombuffer(fingerprint.grey_jpeg, np.uint8)
    return np.asarray(cv2.imdecode(flat, cv2.IMREAD_GRAYSCALE))


def fingerprint(data: bytes) -> Fingerprint:
    """Make the fingerprint of a photo from its stored bytes; raises PhotoError."""
    keep_memory()
    decoded = decode(data, SIDE, colour=True, rough=True)
    if min(decoded.pixels.shape[:2]) < _LEAST_SIDE:
        raise PhotoError("photo is too small to compare", "save the photo in a larger size")
    seen = shrink(np.asarray(cv2.cvtColor(decoded.pixels, cv2.COLOR_RGB2GRAY)), SIDE)
    grey = without_stripes(seen)
    with one_thread():
        features = find_features(grey, FEATURES)
        words = find_words(features.descriptors)
        texture = _texture(grey)
    boxes = find_regions(grey)
    return Fingerprint(
        width=decoded.width,
        height=decoded.height,
        format=decoded.format,
        texture=texture,
        phash=_phash(grey),
        grey_jpeg=_jpeg(grey),
        points=np.rint(features.points * _FRACTION) / np.float32(_FRACTION),
        angles=features.angles,
        levels=features.levels,
        packed=features.descriptors[:, 0::2] | (features.descriptors[:, 1::2] << 4),
        words=words,
        boxes=np.array(boxes, np.int16),
        vectors=describe_regions(grey, boxes).reshape(-1, 64),
        colours=_colours(decoded.pixels),
        size=(grey.shape[1], grey.shape[0]),
        striped=grey is not seen,
    )


def _phash(grey: Pixels) -> str:
    """256 bits as hex, from a picture of 128 px: enough for the 16 lowest frequencies."""
    small = cv2.resize(grey, (128, 128), interpolation=cv2.INTER_AREA)
    return str(imagehash.phash(Image.fromarray(np.asarray(small)), hash_size=16))


def _jpeg(grey: Pixels) -> bytes:
    done, encoded = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, _THUMB_QUALITY])
    if not done:
        raise PhotoError("photo cannot be kept small", "leave the photo out")
    return bytes(encoded.tobytes())


def _colours(pixels: Pixels) -> Pixels:
    """(16, 16, 3): the picture in few colours, from every fourth pixel."""
    whole = pixels.view("V3")[::4, ::4]  # three bytes at a time are copied twice as fast as one
    few = np.ascontiguousarray(whole).view(np.uint8)
    return np.asarray(cv2.resize(few, (_COLOURS, _COLOURS), interpolation=cv2.INTER_AREA))


def _texture(grey: Pixels) -> float:
    """The share of 16 px cells whose grey levels spread by more than 4."""
    height, width = (side // 16 * 16 for side in grey.shape)
    if not height or not width:
        return 0.0
    values = grey[:height, :width].astype(np.float32)
    mean, square = (_sum_of_cells(part) / np.float32(256) for part in (values, values * values))
    spread = np.sqrt(np.maximum(square - mean**2, 0))
    return round(float((spread > _TEXTURED_SPREAD).mean()), 4)


def _sum_of_cells(values: Floats) -> Floats:
    """(h / 16, w / 16) sums over cells of 16 px; exact: none needs more bits than there are."""
    rows = _SUM @ values.reshape(-1, 16, values.shape[1])
    return np.asarray((rows.reshape(-1, 16) @ _SUM).reshape(-1, values.shape[1] // 16))


def _pack(made: Fingerprint) -> bytes:
    arrays = (
        np.rint(made.points * _FRACTION).astype(np.uint16),
        made.angles,
        made.levels,
        made.packed,
        made.words,
        made.boxes,
        made.vectors,
        made.colours,
    )
    facts = {
        "recipe": RECIPE,
        "facts": [made.width, made.height, made.format, made.texture, made.phash, *made.size],
        "striped": made.striped,
        "counts": [len(made.points), len(made.boxes), len(made.grey_jpeg)],
    }
    head = json.dumps(facts, separators=(",", ":")).encode()
    body = b"".join(np.ascontiguousarray(array).tobytes() for array in arrays)
    return _MAGIC + struct.pack("<I", len(head)) + head + body + bytes(made.grey_jpeg)


def from_bytes(stored: bytes | memoryview) -> Fingerprint | None:
    """Read what `to_bytes` wrote; None if it is damaged or of another recipe.

    The arrays are views of `stored`, so that a mapped file is shared between processes.
    """
    if stored[:4] != _MAGIC or len(stored) < 8:
        return None
    end = 8 + struct.unpack_from("<I", stored, 4)[0]
    try:
        facts = json.loads(bytes(stored[8:end]))
        n, m, jpeg_size = facts["counts"]
    except (ValueError, KeyError):
        return None
    shapes: tuple[tuple[tuple[int, ...], type], ...] = (
        ((n, 2), np.uint16),
        ((n,), np.uint8),
        ((n,), np.uint8),
        ((n, 64), np.uint8),
        ((n, 4), np.uint16),
        ((m, 4), np.int16),
        ((m, 64), np.int8),
        ((_COLOURS, _COLOURS, 3), np.uint8),
    )
    needed = sum(int(np.prod(shape)) * np.dtype(kind).itemsize for shape, kind in shapes)
    if facts["recipe"] != RECIPE or len(stored) != end + needed + jpeg_size:
        return None
    arrays: list[npt.NDArray[Any]] = []
    for shape, kind in shapes:
        count = int(np.prod(shape))
        arrays.append(np.frombuffer(stored, kind, count, end).reshape(shape))
        end += count * np.dtype(kind).itemsize
    points, angles, levels, packed, words, boxes, vectors, colours = arrays
    width, height, kind_name, texture, phash, *size = facts["facts"]
    return Fingerprint(
        width=width,
        height=height,
        format=kind_name,
        texture=texture,
        phash=phash,
        grey_jpeg=stored[end:],
        points=points.astype(np.float32) / np.float32(_FRACTION),
        angles=angles,
        levels=levels,
        packed=packed,
        words=words,
        boxes=boxes,
        vectors=vectors,
        colours=colours,
        size=(int(size[0]), int(size[1])),
        striped=bool(facts["striped"]),
    )
