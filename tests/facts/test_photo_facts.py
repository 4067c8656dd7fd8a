"""Published and computed facts about pictures and about objects that give them a scale."""

from __future__ import annotations

import io
from importlib import resources
from pathlib import Path

import imagehash
import pytest
from PIL import Image

from extractors.photos.fingerprint import fingerprint
from extractors.photos.pairs import find_pairs
from extractors.photos.scale import depth_error, known_objects, looks_tilted, mm_of, telling_shape

BUNDLED = Path(str(resources.files("skimage.data")))


def bundled(name: str) -> bytes:
    """A photo of the scikit-image wheel: public domain or CC0 (F185)."""
    return (BUNDLED / name).read_bytes()


def saved_smaller(name: str) -> bytes:
    image = Image.open(io.BytesIO(bundled(name))).convert("RGB")
    out = io.BytesIO()
    image.resize((image.width // 2, image.height // 2)).save(out, "JPEG", quality=50)
    return out.getvalue()


def phash(data: bytes) -> imagehash.ImageHash:
    return imagehash.phash(Image.open(io.BytesIO(data)))


def test_half_size_and_quality_50_hardly_move_the_perceptual_hash() -> None:
    """Computed with imagehash on the photos bundled with scikit-image (F183)."""
    for name, bits in (("astronaut.png", 0), ("camera.png", 0), ("retina.jpg", 2)):
        assert phash(bundled(name)) - phash(saved_smaller(name)) <= bits + 2


@pytest.mark.parametrize("name", ["astronaut.png", "camera.png", "retina.jpg", "coffee.png"])
def test_a_bundled_photo_saved_smaller_is_found(name: str) -> None:
    """Same photos, half size and JPEG quality 50 (F183)."""
    photos = {"a": fingerprint(bundled(name)), "b": fingerprint(saved_smaller(name))}
    assert [pair.answer for pair in find_pairs(photos)] == ["copy"]


def test_a_stereo_pair_is_near_by_hash_and_yet_no_copy() -> None:
    """scikit-image motorcycle, left and right: two photos at pHash distance 4 (F184)."""
    left, right = bundled("motorcycle_left.png"), bundled("motorcycle_right.png")
    assert phash(left) - phash(right) <= 8
    pairs = find_pairs({"l": fingerprint(left), "r": fingerprint(right)})
    assert "copy" not in [pair.answer for pair in pairs]


def test_different_bundled_photos_are_no_pair() -> None:
    """Nine photos of the scikit-image wheel, two of the scikit-learn wheel (F185, F186)."""
    learn = Path(str(resources.files("sklearn.datasets.images")))
    names = "astronaut coffee chelsea camera brick grass gravel rocket retina"
    found = {
        path.stem: fingerprint(path.read_bytes())
        for name in names.split()
        for path in BUNDLED.glob(f"{name}.*")
        if path.suffix in {".png", ".jpg"}
    }
    found |= {
        name: fingerprint((learn / f"{name}.jpg").read_bytes()) for name in ("china", "flower")
    }
    assert len(found) == 11
    assert find_pairs(found) == ()


@pytest.mark.parametrize(
    ("name", "width", "height", "source"),
    [
        ("id1", 85.60, 53.98, "ISO/IEC 7810"),  # F134
        ("id2", 105, 74, "ISO/IEC 7810"),  # F136
        ("id3", 125, 88, "ISO/IEC 7810"),
        ("id000", 25, 15, "ISO/IEC 7810"),
        ("us1c", 19.05, 19.05, "US Mint"),  # F137
        ("us25c", 24.26, 24.26, "US Mint"),
        ("us50c", 30.61, 30.61, "US Mint"),
        ("e1c", 16.25, 16.25, "975/98"),  # F138
        ("e1", 23.25, 23.25, "975/98"),
        ("e2", 25.75, 25.75, "975/98"),
        ("gb1p", 20.3, 20.3, "Royal Mint"),  # F139
        ("gb2", 28.4, 28.4, "Royal Mint"),
        ("aa", 14.5, 50.5, "IEC 60086-2"),  # F141
        ("aaa", 10.5, 44.5, "IEC 60086-2"),
        ("r44", 11.6, 5.4, "IEC 60086-3"),  # F142
        ("cr2032", 20.0, 3.2, "IEC 60086-3"),
        ("a4", 297, 210, "ISO 216"),  # F143
        ("letter", 279.4, 215.9, "ASME Y14.1"),
        ("poker", 88.9, 63.5, "trade"),  # F144
    ],
)
def test_known_objects_have_their_published_sizes(
    name: str, width: float, height: float, source: str
) -> None:
    row = known_objects()[name]
    assert (row.width_mm, row.height_mm) == (width, height)
    assert source in row.source


@pytest.mark.parametrize(
    ("name", "object_px", "length_px", "mm"),
    [
        ("id1", 856, 520, 52.0),  # ISO/IEC 7810 (F134)
        ("us25c", 242.6, 500, 50.0),  # US Mint (F137)
        ("e1", 465, 1000, 50.0),  # Council Regulation (EC) 975/98 (F138)
        ("gb5p", 180, 1400, 140.0),  # Royal Mint (F139)
    ],
)
def test_a_known_object_gives_the_scale(
    name: str, object_px: float, length_px: float, mm: float
) -> None:
    assert mm_of(length_px, known_objects()[name], object_px) == pytest.approx(mm, abs=0.01)


def test_a_card_seen_at_a_slant_gives_no_scale() -> None:
    """ID-1 is 1.5858 to 1 by ISO/IEC 7810; 1.45 is a tilt (F135)."""
    card = known_objects()["id1"]
    assert card.ratio == pytest.approx(1.5858, abs=1e-4)
    assert looks_tilted(card, 1450, 1000)
    assert not looks_tilted(card, 1586, 1000)


def test_ratio_tells_a4_from_letter_and_poker_from_bridge() -> None:
    """ISO 216 against 11 x 8.5 in (F143); trade sizes of playing cards (F144)."""
    assert telling_shape(1414, 1000, ("a4", "letter")) == "a4"
    assert telling_shape(1294, 1000, ("a4", "letter")) == "letter"
    assert telling_shape(1556, 1000, ("poker", "bridge")) == "bridge"


def test_a_longer_battery_than_the_maximum_moves_the_scale_by_its_tolerance() -> None:
    """IEC 60086-2: an AA cell is at most 50.5 mm long (F141)."""
    assert mm_of(505, known_objects()["aa"], 505, side="height") == pytest.approx(50.5)


def test_depth_makes_the_nearer_thing_look_larger() -> None:
    """Pinhole geometry: 20 mm nearer at 400 mm is 5 % too large (F145)."""
    assert depth_error(20, 400) == pytest.approx(0.05)
