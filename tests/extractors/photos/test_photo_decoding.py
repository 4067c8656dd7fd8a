"""Every format and mode decodes alike; what cannot be used says so by name."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageOps

from extractors.photos.decode import PhotoError, decode, thumbnail
from tests.extractors.photos.made_pictures import encode, scene

SCENE = scene(1)


def _save(image: Image.Image, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


@pytest.mark.parametrize(
    ("kind", "options", "tolerance"),
    [
        ("PNG", {}, 0.5),
        ("BMP", {}, 0.5),
        ("TIFF", {}, 0.5),
        ("JPEG", {"quality": 92}, 5.0),
        ("WEBP", {"quality": 90}, 5.0),
        ("AVIF", {"quality": 90}, 5.0),
        ("HEIF", {"quality": 90}, 5.0),
        ("GIF", {}, 12.0),  # 256 colours
    ],
)
def test_every_format_decodes_to_the_same_picture(
    kind: str, options: dict[str, object], tolerance: float
) -> None:
    decoded = decode(encode(SCENE, kind, **options), 512, colour=True)
    assert (decoded.width, decoded.height) == (480, 360)
    difference = np.abs(decoded.pixels.astype(float) - SCENE).mean()
    assert difference < tolerance


@pytest.mark.parametrize("mode", ["L", "CMYK", "P", "RGBA", "LA", "1", "YCbCr"])
def test_every_mode_gives_the_same_grey(mode: str) -> None:
    image = Image.fromarray(SCENE).convert(mode)
    data = _save(image, "TIFF" if mode in {"CMYK", "YCbCr", "1"} else "PNG")
    expected = np.asarray(image.convert("RGB").convert("L"), float)
    assert np.abs(decode(data, 512).pixels - expected).mean() < 1.5


def test_cmyk_jpeg_decodes_like_its_rgb_original() -> None:
    data = _save(Image.fromarray(SCENE).convert("CMYK"), "JPEG", quality=95)
    expected = np.asarray(Image.fromarray(SCENE).convert("L"), float)
    assert np.abs(decode(data, 512).pixels - expected).mean() < 4


def test_16_bit_is_scaled_not_clipped() -> None:
    grey = np.asarray(Image.fromarray(SCENE).convert("L"))
    deep = Image.fromarray(grey.astype(np.uint16) * 257)
    assert np.abs(decode(_save(deep, "PNG"), 512).pixels.astype(int) - grey).max() <= 1


def test_transparent_parts_lie_on_white() -> None:
    clear = np.zeros((60, 80, 4), np.uint8)
    clear[20:40, 20:60] = (10, 20, 30, 255)
    pixels = decode(_save(Image.fromarray(clear), "PNG"), 512).pixels
    assert pixels[0, 0] == 255
    assert pixels[30, 40] < 40


def test_transparent_palette_lies_on_white() -> None:
    image = Image.new("P", (60, 60), 0)
    image.putpalette([0, 0, 0, 200, 0, 0])
    pixels = decode(_save(image, "PNG", transparency=0), 512).pixels
    assert (pixels == 255).all()


def test_first_frame_of_an_animation_is_read() -> None:
    frames = [Image.fromarray(scene(seed)) for seed in (1, 2)]
    data = _save(frames[0], "GIF", save_all=True, append_images=frames[1:])
    expected = decode(encode(SCENE, "GIF"), 512).pixels
    assert np.abs(decode(data, 512).pixels.astype(int) - expected).mean() < 8


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_exif_turns_are_applied_once(orientation: int, kind: str) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    data = _save(Image.fromarray(SCENE), kind, exif=exif)
    upright = ImageOps.exif_transpose(Image.open(io.BytesIO(data))).convert("RGB")
    decoded = decode(data, 512, colour=True)
    assert (decoded.width, decoded.height) == upright.size
    assert np.abs(decoded.pixels.astype(int) - np.asarray(upright)).mean() < 3


def test_large_jpeg_is_decoded_small_without_a_wrong_line_at_the_edge() -> None:
    wide = np.asarray(Image.fromarray(SCENE).resize((1601, 1203), Image.Resampling.BICUBIC))
    data = encode(wide, "JPEG", quality=95)
    decoded = decode(data, 512)
    assert (decoded.width, decoded.height) == (1601, 1203)
    assert max(decoded.pixels.shape) <= 512
    size = decoded.pixels.shape[::-1]
    full = np.asarray(Image.fromarray(wide).convert("L").resize(size, Image.Resampling.BOX), int)
    off = np.abs(decoded.pixels.astype(int) - full)
    assert off[-1].mean() < 8
    assert off[:, -1].mean() < 8


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "empty"),
        (b"<html>not found</html>", "not a photo"),
        (b"%PDF-1.7 something", "not a photo"),
        (encode(SCENE, "PNG")[:2000], "cannot be decoded"),
        (encode(SCENE, "WEBP")[:900], "cannot be decoded"),
        (b"\xff\xd8\xff\xe0" + b"\0" * 40, "decoded|not a photo"),
    ],
)
def test_damaged_bytes_raise_a_named_error(data: bytes, what: str) -> None:
    with pytest.raises(PhotoError, match=what) as caught:
        decode(data, 512)
    assert caught.value.do


def test_too_many_pixels_are_refused_before_decoding() -> None:
    with pytest.raises(PhotoError, match="limit"):
        decode(encode(SCENE, "PNG"), 512, max_pixels=1000)


def test_thumbnail_is_small_upright_and_carries_no_metadata() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010E] = "somebody's kitchen"
    data = thumbnail(_save(Image.fromarray(SCENE), "JPEG", exif=exif), 200)
    small = Image.open(io.BytesIO(data))
    assert small.size == (150, 200)
    assert not small.getexif()
    assert b"kitchen" not in data
