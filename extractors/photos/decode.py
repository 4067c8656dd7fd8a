"""Stored bytes of a photo -> upright grey or colour pixels, bounded in pixels.

EXIF turns are applied here and nowhere else; alpha is laid on white; 16 bit is scaled, not clipped;
of an animation the first frame is read. JPEG is decoded at a reduced scale (libjpeg "draft").
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
import pillow_heif
from PIL import Image, ImageFile, UnidentifiedImageError

Pixels = npt.NDArray[Any]  # uint8, (h, w) or (h, w, 3)

FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP", "AVIF", "HEIF")
MAX_PIXELS = 120_000_000
_ORIENTATION = 0x0112
_DECODER_ERRORS = (
    OSError,
    ValueError,
    SyntaxError,
    IndexError,
    KeyError,
    TypeError,
    OverflowError,
    EOFError,
    RuntimeError,
    MemoryError,
    struct.error,
    zlib.error,
    Image.DecompressionBombError,
)

pillow_heif.register_heif_opener()


class PhotoError(Exception):
    """The bytes are not a photo that can be used: `what` is wrong, and what to `do`."""

    def __init__(self, what: str, do: str) -> None:
        super().__init__(what)
        self.what = what
        self.do = do


@dataclass(frozen=True, slots=True)
class Decoded:
    """Pixels (h, w) or (h, w, 3) uint8, upright; `width`, `height` of the full picture, upright."""

    pixels: Pixels
    width: int
    height: int
    format: str


def decode(
    data: bytes,
    side: int,
    *,
    colour: bool = False,
    rough: bool = False,
    max_pixels: int = MAX_PIXELS,
) -> Decoded:
    """Decode so that the longer side has at most `side` pixels (smaller pictures stay as they are).

    With `rough`, JPEGs keep the next larger size that costs nothing. Raises PhotoError for anything
    that is not a readable photo within `max_pixels`.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # Pillow warns of odd metadata and big files; we limit
        image = _open(data, max_pixels)
        full = image.size
        kind = image.format or ""
        try:
            pixels = _load(image, side, colour)
            orientation = _orientation(image)
        except _DECODER_ERRORS as error:
            raise _unreadable(error) from error
    small = pixels if rough and max(pixels.shape) <= 2 * side else shrink(pixels, side)
    upright = _turn(small, orientation)
    width, height = full if orientation < 5 else full[::-1]
    return Decoded(np.ascontiguousarray(upright), width, height, kind)


def _unreadable(error: BaseException) -> PhotoError:
    reason = str(error).split("\n")[0][:120] or type(error).__name__
    return PhotoError(
        f"photo cannot be decoded ({reason})", "save the photo again, or leave it out"
    )


def _open(data: bytes, max_pixels: int) -> ImageFile.ImageFile:
    if not data:
        raise PhotoError("photo file is empty", "save the photo again")
    try:
        image = Image.open(io.BytesIO(data), formats=FORMATS)
    except UnidentifiedImageError as error:
        raise PhotoError(
            "not a photo in a known format", f"use one of {', '.join(FORMATS)}"
        ) from error
    except _DECODER_ERRORS as error:
        raise _unreadable(error) from error
    width, height = image.size
    if width * height > max_pixels:
        raise PhotoError(
            f"photo has {width} x {height} pixels, more than the limit of {max_pixels}",
            "save a smaller copy of the photo",
        )
    return image


def _load(image: ImageFile.ImageFile, side: int, colour: bool) -> Pixels:
    """Load at the cheapest scale not below `side`, as L or RGB."""
    mode = "RGB" if colour else "L"
    full = image.size
    if image.format == "JPEG":
        image.draft(mode, _fitted(full, side))
    image.load()
    flat = _flatten(image, mode)
    return _cut_draft_edge(np.asarray(flat), full)


def _fitted(full: tuple[int, int], side: int) -> tuple[int, int]:
    scale = min(1.0, side / max(full))
    return max(1, round(full[0] * scale)), max(1, round(full[1] * scale))


def _cut_draft_edge(pixels: Pixels, full: tuple[int, int]) -> Pixels:
    """Drop the last row or column of a draft whose size is no multiple of its scale.

    libjpeg fills that line from padding beyond the picture.
    """
    height, width = pixels.shape[:2]
    scale = round(full[0] / width)
    if scale < 2 or min(height, width) < 8:
        return pixels
    return pixels[: height - (full[1] % scale > 0), : width - (full[0] % scale > 0)]


def _flatten(image: Image.Image, mode: str) -> Image.Image:
    """Bring any mode to L or RGB: 16 bit and float scaled, alpha on white."""
    if image.mode.startswith(("I", "F")):
        return Image.fromarray(_eight_bits(image)).convert(mode)
    if image.mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in image.info:
        rgba = image.convert("RGBA")
        ground = Image.new("RGBA", rgba.size, "white")
        return Image.alpha_composite(ground, rgba).convert(mode)
    if image.mode == mode:
        return image
    if image.mode not in ("L", "RGB", "YCbCr"):
        image = image.convert("RGB")
    return image.convert(mode)


def _eight_bits(image: Image.Image) -> Pixels:
    values = np.nan_to_num(np.asarray(image).astype(np.float64))
    top = float(values.max(initial=0.0))
    if image.mode.startswith("F") and top <= 1.0:
        factor = 255.0
    else:
        factor = 1.0 if top <= 255 and image.mode != "I;16" else 255.0 / max(65535.0, top)
    return np.clip(np.rint(values * factor), 0, 255).astype(np.uint8)


def _orientation(image: Image.Image) -> int:
    value = image.getexif().get(_ORIENTATION, 1)
    return int(value) if isinstance(value, int) and 1 <= value <= 8 else 1


def _turn(pixels: Pixels, orientation: int) -> Pixels:
    """Apply an EXIF orientation (values 1 to 8 of EXIF 2.3, tag 0x0112)."""
    turned = pixels
    if orientation in (5, 6, 7, 8):
        turned = turned.swapaxes(0, 1)
    if orientation in (2, 3, 6, 7):
        turned = turned[:, ::-1]
    if orientation in (3, 4, 7, 8):
        turned = turned[::-1]
    return turned


def shrink(pixels: Pixels, side: int) -> Pixels:
    """The picture with its longer side at most `side`."""
    height, width = pixels.shape[:2]
    if max(height, width) <= side:
        return pixels
    size = _fitted((width, height), side)
    way = cv2.INTER_AREA if max(height, width) > 1.7 * side else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(np.ascontiguousarray(pixels), size, interpolation=way))


def thumbnail(data: bytes, side: int, *, quality: int = 80) -> bytes:
    """A small upright JPEG of the photo without any of its metadata; raises PhotoError."""
    decoded = decode(data, side, colour=True)
    out = io.BytesIO()
    Image.fromarray(decoded.pixels).save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()
