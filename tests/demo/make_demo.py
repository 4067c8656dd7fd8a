"""Write demo_listings from the scenario: `python -m tests.demo.make_demo [FOLDER]`."""

from __future__ import annotations

import io
import shutil
import sys
import zlib
from dataclasses import replace
from pathlib import Path
from typing import cast

from PIL import Image, ImageDraw, ImageOps

from tests.demo import carriers
from tests.demo.carriers import Saved
from tests.demo.render import Ground, Scene, photograph
from tests.demo.scenario import INLINED, OFFERS, SAVED_AGAIN, ZIPPED, Offer

_SATURDAY = "Sat, 14 Nov 2026 18:05:00 +0000"
_NEXT_SATURDAY = "Sat, 21 Nov 2026 17:40:00 +0000"


def _jpeg(image: Image.Image, quality: int = 68) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=quality)
    return out.getvalue()


def _scene(offer: Offer, number: int) -> Scene:
    seed = zlib.crc32(f"{offer.key}-{number}".encode())
    spread = lambda low, high, shift: low + (high - low) * ((seed >> shift) % 256) / 255  # noqa: E731
    plain = offer.ground == "white"
    return Scene(
        ground=cast(Ground, offer.ground),
        seed=seed % 100_000,
        turn=0 if plain else spread(-14, 14, 0),
        lean=0 if plain else spread(-0.08, 0.14, 4),
        zoom=spread(0.92, 1.12, 8),
        shift=(spread(-0.05, 0.05, 12), spread(-0.05, 0.05, 16)),
        light_from=spread(60, 150, 6),
        exposure=spread(0.86, 1.08, 10),
        warmth=spread(-0.6, 0.8, 14),
        blur=spread(0.6, 1.5, 18),
        noise=spread(2.5, 6.0, 20),
    )


def _shoot(offer: Offer) -> tuple[bytes, ...]:
    return tuple(
        _jpeg(photograph(offer.look, view, _scene(offer, number)))
        for number, view in enumerate(offer.views)
    )


def _borrow(photos: tuple[bytes, ...], edit: str) -> tuple[bytes, ...]:
    return tuple(_EDITS[edit](Image.open(io.BytesIO(photo))) for photo in photos)


def _mirror_crop(image: Image.Image) -> bytes:
    w, h = image.size
    return _jpeg(ImageOps.mirror(image).crop((w // 12, h // 14, w - w // 20, h - h // 10)))


def _banner_small(image: Image.Image) -> bytes:
    image = image.resize((image.width * 3 // 4, image.height * 3 // 4))
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, image.height - 34, image.width, image.height), fill=(28, 30, 60))
    draw.text((14, image.height - 26), "top deal - fast post - top deal", fill="white")
    return _jpeg(image, 60)


def _grey_turn(image: Image.Image) -> bytes:
    return _jpeg(
        image.convert("L").convert("RGB").rotate(4, expand=False, fillcolor=(128, 128, 128))
    )


def _again(image: Image.Image) -> bytes:
    return _jpeg(image, 74)


_EDITS = {
    "mirror-crop": _mirror_crop,
    "banner-small": _banner_small,
    "grey-turn": _grey_turn,
    "again": _again,
}


def _saved(offer: Offer, photos: tuple[bytes, ...]) -> Saved:
    return Saved(
        offer.key, offer.title, offer.text, offer.price, offer.currency, offer.seller, offer.listed,
        _SATURDAY, photos, offer.language, offer.specifics, offer.kind, offer.feedback,
        offer.location, offer.shipping,
    )  # fmt: skip


def _with_similar(saved: dict[str, Saved]) -> dict[str, Saved]:
    """Give every listing two others of its market as "similar items", with their pictures."""
    result = {}
    for key, one in saved.items():
        others = [
            o for o in saved.values() if o.language == one.language and o.seller != one.seller
        ]
        picked = [o for o in others if o.photos][zlib.crc32(key.encode()) % 5 :][:2]
        cards = tuple((o.title, f"{o.price} {o.currency}", o.photos[0]) for o in picked)
        result[key] = replace(one, similar=cards)
    return result


def make(folder: Path) -> None:
    """Write the whole demo into `folder`, replacing what is there."""
    if folder.exists():
        shutil.rmtree(folder)
    photos: dict[str, tuple[bytes, ...]] = {}
    for offer in OFFERS:
        source = photos[offer.of] if offer.of else ()
        taken = source[: len(offer.views)] if offer.of else ()
        photos[offer.key] = _borrow(taken, offer.edit) if offer.edit else _shoot(offer)
    saved = _with_similar({o.key: _saved(o, photos[o.key]) for o in OFFERS})
    _write(folder, saved)


def _write(folder: Path, saved: dict[str, Saved]) -> None:
    pages, texts, exports = folder / "saved pages", folder / "noted by hand", folder / "exports"
    for place in (pages, texts, exports, folder / "mail"):
        place.mkdir(parents=True)
    by_form: dict[str, list[Saved]] = {}
    for offer in OFFERS:
        by_form.setdefault(offer.form, []).append(saved[offer.key])
        form, _, facts = offer.form.partition(" ")
        one = saved[offer.key]
        if offer.key == INLINED:
            carriers.write_inlined(one, facts, pages)
        elif form == "page":
            carriers.write_page(one, facts, pages)
        elif form == "mhtml":
            carriers.write_mhtml(one, facts, pages)
        elif form == "folder":
            carriers.write_folder(one, texts)
        elif form == "loose":
            carriers.write_loose(one, texts)
        elif form == "mail":
            carriers.write_mail([one], one.key, folder / "mail")
    carriers.write_csv(by_form["export csv"], "watchlist", exports)
    half = len(by_form["export json"]) // 2
    carriers.write_json(by_form["export json"][:half], "alerts", exports, lines=True)
    carriers.write_json(by_form["export json"][half:], "search", exports, lines=False)
    _write_again(folder, saved)
    _zip(texts)


def _write_again(folder: Path, saved: dict[str, Saved]) -> None:
    later = folder / "saved a week later"
    later.mkdir()
    for key, changed in SAVED_AGAIN.items():
        again = replace(saved[key], saved=_NEXT_SATURDAY, **changed)
        carriers.write_mhtml(again, "microdata", later)


def _zip(texts: Path) -> None:
    bundle = texts / "from the laptop"
    bundle.mkdir()
    for key in ZIPPED:
        shutil.move(texts / key, bundle / key)
    carriers.zip_up(bundle)


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path("demo_listings"))
