"""The photos of a listing: its gallery in order, each picture once, in its best stored form.

Addresses of one picture come from its link, <picture>, srcset, data-* and src; thumbnails are
merged with what they are thumbnails of by markup, by name, and last by looking at both. Icons,
avatars, placeholders and links to other listings are left out.
"""

from __future__ import annotations

import io
import itertools
import operator
import re
import warnings
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from statistics import correlation
from urllib.parse import parse_qsl, urlsplit

from PIL import Image, UnidentifiedImageError

from extractors.records import Photo
from triage.readers.addresses import (
    IMAGE_ENDING,
    file_name,
    leads_away,
    shows_picture,
    srcset_candidates,
)
from triage.readers.markup import HtmlElement, select
from triage.readers.pictures import picture_kind
from triage.readers.schema_facts import AWAY
from triage.readers.source import Asset, Place, Resources, Unreadable
from triage.readers.words import flat_text
from triage.readers.zones import HEADINGS, heading_zone, is_named, zones_of

SMALLEST = 60  # pixels of the longer side: below, a thing is an icon
LOOSE_SMALLEST = 120  # the same, for pictures outside of a gallery
MOST = 200  # pictures of one listing
LEAST_BYTES = 200  # of a picture that cannot be opened: below, it is what holds a place
FRAME_ATTRIBUTE = "data-saved-frame"

# what a damaged picture may raise while it is opened
_DAMAGED = (
    UnidentifiedImageError,
    OSError,
    ValueError,
    SyntaxError,
    Image.DecompressionBombError,
)


@dataclass(frozen=True)
class Gallery:
    """The listing's photos in order, those named but not stored, and the files taken."""

    photos: tuple[Photo, ...] = ()
    missing: tuple[str, ...] = ()
    used: frozenset[Place] = frozenset()
    origin: str = ""


@dataclass(frozen=True, eq=False)
class Stored:
    """Bytes of a picture as stored."""

    asset: Asset
    address: str

    @cached_property
    def size(self) -> tuple[int, int]:
        """Width and height by the file's header; (0, 0) if it has none that can be read."""
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                with Image.open(io.BytesIO(self.asset.data)) as image:
                    return image.size
        except _DAMAGED:
            return (0, 0)

    def grey(self, shape: float | None) -> tuple[int, ...] | None:
        """A 24 x 24 grey copy, of the middle in a given shape, for comparison only."""
        if shape not in self._greys:
            self._greys[shape] = self._make_grey(shape)
        return self._greys[shape]

    @cached_property
    def _greys(self) -> dict[float | None, tuple[int, ...] | None]:
        return {}

    def _make_grey(self, shape: float | None) -> tuple[int, ...] | None:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                with Image.open(io.BytesIO(self.asset.data)) as image:
                    if image.size[0] * image.size[1] > 60_000_000:
                        return None
                    image.draft("L", (96, 96))
                    small = _cut(image.convert("L"), shape)
                    return tuple(small.resize((24, 24), Image.Resampling.BOX).tobytes())
        except _DAMAGED:
            return None


@dataclass(frozen=True, eq=False)
class Picture:
    """One picture of the page: its addresses, the best first, and what of it is stored."""

    addresses: tuple[str, ...]
    stored: tuple[Stored, ...]
    element: HtmlElement | None = field(default=None, repr=False)
    is_gallery: bool = False
    is_clone: bool = False
    is_zoomed: bool = False  # a link leads from it to a larger form

    @property
    def best(self) -> Stored | None:
        return max(self.stored, key=lambda s: s.size[0] * s.size[1], default=None)

    @cached_property
    def keys(self) -> frozenset[str]:
        return frozenset(k for a in self.addresses if (k := picture_key(a)) is not None)

    def with_other(self, other: Picture) -> Picture:
        known = {s.asset.sha256 for s in self.stored}
        more = tuple(s for s in other.stored if s.asset.sha256 not in known)
        addresses = tuple(dict.fromkeys(self.addresses + other.addresses))
        gallery = self.is_gallery or other.is_gallery
        zoomed = self.is_zoomed or other.is_zoomed
        stored = self.stored + more
        return Picture(addresses, stored, self.element, gallery, self.is_clone, zoomed)


# --- which picture is it ------------------------------------------------------------------------

_SIZE_WORDS = (
    r"(?:thumb(?:nail)?s?|tn|th|small|sml|sm|medium|med|md|large|lrg|lg|xl|xxl|full(?:size)?"
    r"|zoom(?:ed)?|orig(?:inal)?|big|mini|preview|micro|square|hires|lowres|hd|hq|max|detail"
    r"|vollbild|klein|gross|groß|petit|grand|[tsmlz])"
)
_SIZES = (
    r"\d{2,4}x\d{0,4}|x\d{2,4}|[wh](?:idth|eight)?[-_]?\d{2,4}|\d{2,4}(?:w|px|h)|[1-4]x"
    r"|scaled|q\d{2,3}"
)
_SIZE_TAIL = re.compile(rf"(?:[-_.@](?:{_SIZE_WORDS}|{_SIZES}))+$", re.I)
_SIZE_HEAD = re.compile(rf"^(?:(?:{_SIZE_WORDS}|\d{{2,4}}x\d{{0,4}}|[wh]\d{{2,4}})[-_.])+", re.I)
_SIZE_MARK = re.compile(r"\._[a-z]{2}[a-z0-9,_-]*_$|[-_.]?(?:\{|%7b)\w*(?:\}|%7d)$")
_ONLY_SIZE = re.compile(rf"(?:s-)?(?:{_SIZE_WORDS}|[a-z]{{0,2}}\d{{2,4}}(?:x\d{{2,4}})?)", re.I)
_SIZE_STEP = re.compile(rf"(?:{_SIZE_WORDS}|[sw]?\d{{2,4}}x\d{{0,4}}|[whs]_?\d{{2,4}})", re.I)
_SIZE_PARAMETERS = frozenset(
    [
        "w",
        "h",
        "width",
        "height",
        "size",
        "s",
        "sz",
        "q",
        "quality",
        "format",
        "fm",
        "auto",
        "fit",
        "crop",
        "dpr",
        "set_id",
        "wid",
        "hei",
        "resize",
        "scale",
        "strip",
        "v",
        "rule",
        "impolicy",
        "imwidth",
    ]
)


def picture_key(address: str) -> str | None:
    """A name that all sizes of one picture share; None where its address has none.

    >>> picture_key("a_files/frame-3_thumb.jpg") == picture_key("https://i.example/l/frame-3.jpg?w=900")
    True
    >>> picture_key("https://i.example/g/aXk3/s-l64.jpg"), picture_key("x_files/s-l64(2).jpg")
    ('axk3', None)
    """
    if address[:5].lower() == "data:":
        return None
    name = file_name(address)
    stem, dot, ending = name.rpartition(".")
    stem = (stem if dot and len(ending) <= 5 else name).casefold()
    bare = re.sub(r"\(\d+\)$", "", stem)
    if _ONLY_SIZE.fullmatch(bare):
        return _folder_key(address) if bare == stem else None
    short = _SIZE_HEAD.sub("", _SIZE_TAIL.sub("", _SIZE_MARK.sub("", stem))) or stem
    return short + _identity_query(address)


def _folder_key(address: str) -> str | None:
    """For names that say only a size, the folder above says which picture it is."""
    steps = [s for s in re.split(r"[?#]", address)[0].split("/")[:-1] if s not in ("", ".", "..")]
    steps = [s for s in steps if not s.endswith(":")]
    for step in reversed(steps):
        if step.endswith(("_files", "_file", "-Dateien", "_fichiers", "_archivos")) or "." in step:
            return None
        if not _SIZE_STEP.fullmatch(step):
            return str(step.casefold())
    return None


def _identity_query(address: str) -> str:
    try:
        query = parse_qsl(urlsplit(address).query)
    except ValueError:
        return ""
    kept = [f"{k}={v}" for k, v in query if k.casefold() not in _SIZE_PARAMETERS]
    is_script = (
        re.search(r"\.(?:php|aspx?|ashx|cgi|jsp)$", re.split(r"[?#]", address)[0]) is not None
    )
    return "?" + "&".join(kept) if kept and is_script else ""


# --- addresses in markup ------------------------------------------------------------------------

_FULL_NAMES = (
    "zoom",
    "full",
    "large",
    "hires",
    "high",
    "big",
    "original",
    "orig",
    "max",
    "xl",
    "magnify",
    "super",
    "download",
)
_FORGET = (
    "data-fallback",
    "data-error",
    "data-placeholder",
    "data-blank",
    "data-avatar",
    "data-icon",
)


def addresses_of(image: HtmlElement) -> list[str]:
    """The addresses that one <img> (or box with a background) gives, the fullest first."""
    found: list[tuple[float, str]] = []
    link = next((a for a in list(image.iterancestors())[:4] if a.tag == "a"), None)
    holders = [image]
    if link is not None and _is_sole_image(link):
        holders.append(link)
        if IMAGE_ENDING.search(link.get("href", "")) or link.get("href", "")[:4] == "cid:":
            found.append((3000.5, link.get("href", "")))
    parent = image.getparent()
    if parent is not None and parent.tag == "picture":
        for source in parent.iter("source"):
            found += srcset_candidates(source.get("srcset") or source.get("data-srcset") or "")
    elif parent is not None and _is_sole_image(parent):
        holders.append(parent)
    for holder in holders:
        found += _data_addresses(holder)
    for name in ("srcset", "data-srcset", "data-lazy-srcset"):
        found += srcset_candidates(image.get(name, ""))
    if image.get("src"):
        found.append((1.0, image.get("src", "")))
    found += _background(image)
    ordered = sorted(found, key=lambda f: -f[0])
    return list(dict.fromkeys(a.strip() for _, a in ordered if a.strip()))


def _is_sole_image(element: HtmlElement) -> bool:
    return sum(1 for _ in element.iter("img")) <= 1


def _data_addresses(element: HtmlElement) -> Iterator[tuple[float, str]]:
    for name in map(str, element.keys()):
        if not name.startswith("data-") or name in _FORGET or name.endswith("srcset"):
            continue
        value = element.get(name, "")
        is_source = _SOURCE_NAME.search(name) is not None and ("/" in value or ":" in value)
        if len(value) > 4000 or not (IMAGE_ENDING.search(value) or is_source):
            continue
        if re.search(r"[\s{}\"]", value.strip()) and not value.startswith("data:"):
            continue
        yield (2000.0 if any(w in name for w in _FULL_NAMES) else 500.0), value


# attributes that name a picture, whatever its address ends with
_SOURCE_NAME = re.compile(
    r"(?:src|img|image|photo|picture|hires|zoom|full|original)(?:-?(?:src|url))?$"
)


def _background(element: HtmlElement) -> Iterator[tuple[float, str]]:
    style = element.get("style", "")
    match = (
        re.search(
            r"(?:background(?:-image)?|--[\w-]+)\s*:[^;]*?url\(\s*(['\"]?)(.+?)\1\s*\)", style
        )
        if "url(" in style
        else None
    )
    if match:
        yield 0.5, match[2]


# --- finding the pictures -----------------------------------------------------------------------


def find_gallery(
    body: HtmlElement,
    resources: Resources,
    frames: Sequence[Asset | None],
    stated: Sequence[str],
    page_url: str | None,
    description: HtmlElement | None,
) -> Gallery:
    """Find the listing's photos.

    `stated` are the image addresses of the page's structured data, in order; `frames` the assets
    of the frames grafted into `body` (by number in their data attribute).
    """
    found = _without_shared(list(_pictures(body, resources, frames, page_url, description)))
    gallery = [p for p in found if p.is_gallery]
    named = [_stated_picture(a, resources, found) for a in stated[:MOST]]
    chosen = gallery if gallery else _loose(found, named)
    if len({k for p in gallery for k in p.keys or {id(p)}}) == 1:
        chosen = [p for p in found if p in gallery or p in _loose(found, named)]
    chosen = [p for p in chosen if _is_big(p, SMALLEST)]
    merged = _with_larger(merge_sizes(_without_clones(chosen)), found)
    pictures = _with_stated(merged, named)
    return _gallery(pictures, "page gallery" if chosen else "structured data")


def _with_larger(chosen: list[Picture], found: list[Picture]) -> list[Picture]:
    """Small pictures of a gallery with their larger forms from elsewhere in the page."""
    others = [p for p in found if p.stored and not p.is_gallery]
    if not others or not all(_may_have_larger(p) for p in chosen):
        return chosen
    result = []
    for picture in chosen:
        larger = (o for o in others if _is_larger(o, picture) and _is_same(picture, o))
        other = next(larger, None)
        result.append(picture if other is None else picture.with_other(other))
    return result


def _may_have_larger(picture: Picture) -> bool:
    return picture.best is not None and 0 < max(picture.best.size) <= 500


def _is_larger(other: Picture, picture: Picture) -> bool:
    a, b = other.best, picture.best
    return a is not None and b is not None and max(a.size) > 1.3 * max(b.size)


def _without_shared(pictures: list[Picture]) -> list[Picture]:
    """Pictures without what is stored for several under one address: it stands in for them all."""
    shown = Counter(
        digest
        for p in pictures
        for digest in {s.asset.sha256 for s in p.stored if len(p.addresses) > 1}
    )
    result = []
    for picture in pictures:
        own = tuple(s for s in picture.stored if shown[s.asset.sha256] < 3 or not _is_tiny(s))
        named = any(not a.startswith("data:") for a in picture.addresses)
        result.append(replace(picture, stored=own) if named and own != picture.stored else picture)
    return result


def _is_tiny(stored: Stored) -> bool:
    return max(stored.size) < SMALLEST


def _pictures(
    body: HtmlElement,
    resources: Resources,
    frames: Sequence[Asset | None],
    page_url: str | None,
    description: HtmlElement | None,
) -> Iterator[Picture]:
    in_description = set(description.iter()) if description is not None else set()
    many_names = _shared_names(body)
    under: str | None = None  # what the last heading announced
    for element in select(body, _CANDIDATES):
        if element.tag in HEADINGS:
            under = heading_zone(flat_text(element)[:81])
            continue
        if _is_foreign(element, page_url, resources):
            continue
        in_gallery = element not in in_description and _in_gallery(element)
        is_image = element.tag in ("img", "amp-img", "input")
        is_aside = under in ("other", "similar") and element not in in_description
        if not in_gallery and (is_aside or not (is_image or _is_bare(element))):
            continue
        addresses = _without_stand_ins(addresses_of(element))
        within = _frame_of(element, frames)
        stored = tuple(_stored(_with_beside(addresses, many_names), resources, within))
        if not stored and not any(_may_be_photo(a) for a in addresses):
            continue
        is_clone = any(
            re.search(r"clone|duplicate", a.get("class", ""))
            for a in [element, *list(element.iterancestors())[:4]]
        )
        kind = in_gallery and element not in in_description
        yield Picture(tuple(addresses), stored, element, kind, is_clone, _is_zoomed(element))


def _is_zoomed(element: HtmlElement) -> bool:
    """Say whether a picture alone stands in a link to a picture, or to a page about pictures."""
    link = next((a for a in itertools.islice(element.iterancestors(), 3) if a.tag == "a"), None)
    if link is None or not _is_sole_image(link) or flat_text(link):
        return False
    href = link.get("href") or ""
    return IMAGE_ENDING.search(href) is not None or shows_picture(href)


_CANDIDATES = (
    "descendant::img | descendant::amp-img | descendant::input[@type='image']"
    " | descendant::*[contains(@style, 'url(')]"
    " | descendant::h2 | descendant::h3 | descendant::h4"
)


def _is_bare(element: HtmlElement) -> bool:
    """Say whether a box shows its background alone, one of several made alike."""
    parent = element.getparent()
    if len(element) or (element.text or "").strip() or parent is None:
        return False
    alike = (e for e in parent if (e.tag, e.get("class")) == (element.tag, element.get("class")))
    return sum("url(" in e.get("style", "") for e in itertools.islice(alike, 3)) > 1


def _holds_address(attribute: str) -> bool:
    return attribute == "src" or attribute.startswith("data-")


def _shared_names(body: HtmlElement) -> frozenset[str]:
    """File names that several addresses of the page end with: they say nothing about a file."""
    ends: dict[str, str] = {}
    shared: set[str] = set()
    links = [link.get("href", "") for link in body.iter("a")]
    images = [str(v) for i in body.iter("img") for n, v in i.items() if _holds_address(str(n))]
    for address in [*images, *links]:
        if "/" in address and not address.startswith("data:"):
            name = file_name(address)
            if ends.setdefault(name, address) != address and "://" in address:
                shared.add(name)
    return frozenset(shared)


def _with_beside(addresses: list[str], shared: frozenset[str]) -> list[str]:
    """The addresses, and under each remote one the file of that name beside a local one."""
    local = next((a for a in addresses if "/" in a and ":" not in a.partition("/")[0]), None)
    if local is None or local.startswith("//"):
        return addresses
    folder = local.rsplit("/", 1)[0]
    found: list[str] = []
    for address in addresses:
        found.append(address)
        name = file_name(address)
        if (
            "://" in address
            and name not in shared
            and not _ONLY_SIZE.fullmatch(name.rpartition(".")[0].casefold())
        ):
            found.append(f"{folder}/{name}")
    return found


def _without_stand_ins(addresses: list[str]) -> list[str]:
    """Leave out what stands for a picture until it is loaded; all pictures of a page share it."""
    real = [a for a in addresses if a.startswith("data:") or _may_be_photo(a)]
    return real if any(not a.startswith("data:") for a in real) else addresses


def _may_be_photo(address: str) -> bool:
    return not address.startswith("data:") and not re.search(
        r"(?i)(?:blank|spacer|placeholder|loading|lazy|pixel|transparent|1x1|grey|spinner|noimage|no-image|default)[\w-]*\.(?:gif|png|svg|jpe?g|webp)|\.svg(?:[?#]|$)|^about:|^javascript:|^$",
        address,
    )


def _frame_of(element: HtmlElement, frames: Sequence[Asset | None]) -> Asset | None:
    for ancestor in element.iterancestors():
        number = ancestor.get(FRAME_ATTRIBUTE)
        if number is not None and number.isdigit() and int(number) < len(frames):
            return frames[int(number)]
    return None


def _stored(
    addresses: Iterable[str], resources: Resources, within: Asset | None
) -> Iterator[Stored]:
    seen: set[str] = set()
    for address in addresses:
        asset = resources.find(address, within)
        if asset is None:
            continue
        try:
            if picture_kind(asset.data[:256]) is None or asset.sha256 in seen:
                continue
        except (Unreadable, OSError):
            continue
        seen.add(asset.sha256)
        stored = Stored(asset, address)
        is_damaged = stored.size == (0, 0) and len(asset.data) >= LEAST_BYTES
        if max(stored.size) > 2 or is_damaged:
            yield stored


def _is_foreign(element: HtmlElement, page_url: str | None, resources: Resources) -> bool:
    """Say whether an image is an icon, an avatar, or stands for another listing."""
    near = [element, *list(element.iterancestors())[:3]]
    if any(is_named(e, "icon") for e in near[:2]) or _is_of_another(element):
        return True
    if re.search(
        r"(?i)\b(logo|icon|avatar|badge|sprite|flag|rating|stars?|maps?|staticmap|qr|qrcode|banner|payments?)\b",
        file_name(element.get("src", "")).replace("_", " ").replace("-", " "),
    ):
        return True
    if any(is_named(e, "seller") for e in near) and not _in_gallery(element):
        return True
    for name in ("width", "height"):
        value = re.match(r"\d+", element.get(name, ""))
        if value and int(value[0]) <= 32 and not _in_gallery(element):
            return True
    link = next(
        (a for a in list(element.iterancestors())[:6] if a.tag == "a" and a.get("href")), None
    )
    href = link.get("href", "") if link is not None else ""
    return leads_away(href, page_url) and not _is_saved_picture(href, resources)


_OTHER_TYPES = re.compile(r"/(?:Person|Organization|\w*Store|Brand|Review|Comment)\s*$")


def _is_of_another(element: HtmlElement) -> bool:
    """Say whether microdata gives a picture to a seller, a review or a listed thing (HTML, 5.2.2).

    A listed thing with the page's heading in it is what the page is about.
    """
    item = next((a for a in element.iterancestors() if "itemscope" in a.attrib), None)
    if item is None:
        return False
    if AWAY & set((item.get("itemprop") or "").split()):
        return next(item.iter("h1"), None) is None
    return _OTHER_TYPES.search(item.get("itemtype") or "") is not None


def _is_saved_picture(address: str, resources: Resources) -> bool:
    """Say whether a link leads to a picture saved with the page: the larger form of this one."""
    asset = resources.find(address)
    try:
        return asset is not None and picture_kind(asset.data[:256]) is not None
    except (Unreadable, OSError):
        return False


def _in_gallery(element: HtmlElement) -> bool:
    if {"image", "associatedMedia", "photo", "contentUrl"} & set(
        (element.get("itemprop") or element.get("property") or "").replace("schema:", "").split()
    ):
        return True
    for count, ancestor in enumerate(element.iterancestors()):
        if count > 7 or ancestor.tag in ("body", "main", "html"):
            return False
        if "gallery" in zones_of(ancestor) or ancestor.tag == "figure":
            return True
        prop = ancestor.get("itemprop") or ancestor.get("property") or ""
        if {"image", "associatedMedia", "schema:image"} & set(prop.split()):
            return True
    return is_named(element, "gallery")


def _is_big(picture: Picture, least: int) -> bool:
    best = picture.best
    if best is None:
        return True
    return max(best.size) >= least or best.size == (0, 0)


def _loose(found: list[Picture], named: Sequence[Picture]) -> list[Picture]:
    """Without a gallery: the pictures that structured data names, else all that are big enough."""
    keys = {k for p in named for k in p.keys}
    known = [p for p in found if p.keys & keys] if len(named) > 1 else []
    if known:
        return known
    large = [p for p in found if p.stored and _is_photo_like(p)]
    strip = _strip_of(found, large)
    shown = [p for p in found if p in large or p in strip]
    return [p for p in shown if not _is_of_a_person(p, shown)]


def _strip_of(found: list[Picture], large: list[Picture]) -> list[Picture]:
    """Small pictures side by side, one of which is the small form of a large one."""
    small = [p for p in found if _small_sizes(p)]
    held: dict[HtmlElement, list[Picture]] = {}
    for picture in small:
        above = picture.element.iterancestors() if picture.element is not None else ()
        for ancestor in itertools.islice(above, 4):
            held.setdefault(ancestor, []).append(picture)
    strips = [s for s in held.values() if len(s) > 1 and set.intersection(*map(_small_sizes, s))]
    return max(
        (s for s in strips if any(_is_same(p, q) for p in s for q in large)), key=len, default=[]
    )


def _small_sizes(picture: Picture) -> set[tuple[int, int]]:
    """The sizes of a picture's forms that are small, but no icon's."""
    return {s.size for s in picture.stored if SMALLEST <= max(s.size) < LOOSE_SMALLEST}


def _is_of_a_person(picture: Picture, others: list[Picture]) -> bool:
    """Say whether a small square picture stands alone beside words, as a person's face does."""
    best, element = picture.best, picture.element
    if best is None or element is None or picture.is_zoomed or best.size == (0, 0):
        return False
    short, long = sorted(best.size)
    largest = max((max(p.best.size) for p in others if p.best is not None), default=0)
    if long > 200 or short < 0.9 * long or largest < 2 * long:
        return False
    for box in itertools.islice(element.iterancestors(), 2):
        if sum(1 for _ in box.iter("img")) > 1:
            return False
        if flat_text(box):
            return True
    return False


def _is_photo_like(picture: Picture) -> bool:
    """By size and shape: logos, banners and buttons are small or long strips."""
    best = picture.best
    if picture.is_zoomed:
        return _is_big(picture, SMALLEST)
    if best is None or best.size == (0, 0):
        return _is_big(picture, LOOSE_SMALLEST)
    short, long = sorted(best.size)
    return long >= LOOSE_SMALLEST and short >= SMALLEST and long <= 3 * short


def _without_clones(pictures: list[Picture]) -> list[Picture]:
    """Leave out the copies of slides that endless carousels add, if their originals are there."""
    originals = [p for p in pictures if not p.is_clone]
    keys = {k for p in originals for k in p.keys}
    hashes = {s.asset.sha256 for p in originals for s in p.stored}
    return (
        [
            p
            for p in pictures
            if not p.is_clone or not (p.keys & keys or {s.asset.sha256 for s in p.stored} & hashes)
        ]
        if originals
        else pictures
    )


# --- merging ------------------------------------------------------------------------------------


def merge_sizes(pictures: list[Picture]) -> list[Picture]:
    """Make one picture of all its sizes; order as in the longest run without a repeat."""
    groups: list[Picture] = []
    sequence: list[int] = []
    beside = _row_by_row(pictures)
    for place, picture in enumerate(pictures):
        number = next((n for n, g in enumerate(groups) if _is_same(g, picture)), None)
        if number is None and place in beside:
            number = sequence[beside[place]]
        if number is None:
            groups.append(picture)
            number = len(groups) - 1
        else:
            groups[number] = groups[number].with_other(picture)
        sequence.append(number)
    run = _longest_run(_main_sequence(pictures, sequence))
    start = min(map(sequence.index, run), default=0)
    order = [n for n in dict.fromkeys(sequence[:start]) if n not in run] + run
    order += [n for n in range(len(groups)) if n not in order]
    return [groups[n] for n in order]


def _row_by_row(pictures: Sequence[Picture]) -> dict[int, int]:
    """Of small pictures and as many large ones, in the same order: which belongs to which, where
    one at least is seen to and none to another. Places, the later to the earlier.
    """
    longer = [max(p.best.size) if p.best is not None else 0 for p in pictures]
    small = [n for n, length in enumerate(longer) if 0 < length <= _SMALL_FORM]
    large = [n for n, length in enumerate(longer) if length > _SMALL_FORM]
    if len(small) < 2 or len(small) != len(large) or len(pictures) != 2 * len(small):
        return {}
    if min(longer[n] for n in large) < 1.4 * max(longer[n] for n in small):
        return {}
    pairs = list(zip(small, large, strict=True))
    unseen = [(a, b) for a, b in pairs if not _is_same(pictures[a], pictures[b])]
    if not unseen or len(unseen) == len(pairs):
        return {}
    crossed = (_is_same(pictures[a], pictures[b]) for a, _ in unseen for b in large)
    return {} if any(crossed) else {max(pair): min(pair) for pair in unseen}


_SMALL_FORM = 200  # pixels of the longer side


def _main_sequence(pictures: Sequence[Picture], sequence: Sequence[int]) -> list[int]:
    """The numbers in the one part of the page that shows most different pictures.

    A part is the nearest element about a picture that holds another one too, so that the strip
    of thumbnails tells the order, not the large picture that happened to be on show.
    """
    held: dict[HtmlElement, set[int]] = {}
    for picture, number in zip(pictures, sequence, strict=True):
        for ancestor in picture.element.iterancestors() if picture.element is not None else ():
            held.setdefault(ancestor, set()).add(number)
    parts: dict[HtmlElement | None, list[int]] = {}
    for picture, number in zip(pictures, sequence, strict=True):
        above = picture.element.iterancestors() if picture.element is not None else ()
        part = next((a for a in above if len(held[a]) > 1), None)
        parts.setdefault(part, []).append(number)
    return max(parts.values(), key=lambda numbers: len(set(numbers)), default=[])


def _is_same(one: Picture, other: Picture) -> bool:
    hashes = {s.asset.sha256 for s in one.stored}
    if hashes & {s.asset.sha256 for s in other.stored}:
        return True
    a, b = one.best, other.best
    shared = one.keys & other.keys
    if shared and a is not None and b is not None:
        is_plain = all(_PLAIN_KEY.fullmatch(key) for key in shared)
        return not (is_plain or a.size == b.size) or _may_be_sizes(a, b)
    return bool(shared) or (a is not None and b is not None and _looks_like(a, b))


# names that different pictures of a page bear too: "1", "img-02", "foto3"
_PLAIN_KEY = re.compile(
    r"(?:img|image|imagen|immagine|photo|foto|bild|pic|picture|dsc|dscn|file|p|i)?[-_ ]?\d{0,4}"
    r"|[a-z]{1,4}"
)


def _may_be_sizes(a: Stored, b: Stored) -> bool:
    """Of two files under one name: say whether they show one picture, one of them cut or not."""
    if (0, 0) in (a.size, b.size):
        return True
    narrow, wide = sorted((a, b), key=lambda s: s.size[0] / s.size[1])
    shape = narrow.size[0] / narrow.size[1]
    looks = (narrow.grey(None), wide.grey(shape)), (narrow.grey(1 / shape), wide.grey(1 / shape))
    shown = [(x, y) for x, y in looks if x is not None and y is not None]
    return not shown or any(_alike(x, y, 14.0, 0.9) for x, y in shown)


def _looks_like(a: Stored, b: Stored) -> bool:
    """Say whether one is a smaller form of the other; looked at only if the sizes allow it."""
    small, large = sorted((a, b), key=lambda s: s.size[0] * s.size[1])
    if min(small.size) == 0 or max(small.size) > 500 or max(large.size) < 1.4 * max(small.size):
        return False
    shape_a, shape_b = (s.size[0] / s.size[1] for s in (small, large))
    if abs(shape_a - shape_b) > 0.04 * max(shape_a, shape_b):
        return False
    one, two = small.grey(None), large.grey(None)
    return one is not None and two is not None and _alike(one, two, 5.0, 0.96)


def _alike(one: Sequence[int], two: Sequence[int], most: float, least: float) -> bool:
    """Compare two grey copies: by mean distance, and by correlation where they show anything."""
    if sum(map(abs, map(operator.sub, one, two))) / len(one) >= most:
        return False
    if len(set(one)) < 2 or len(set(two)) < 2:
        return True
    return correlation(one, two) >= least


def _cut(image: Image.Image, shape: float | None) -> Image.Image:
    """The middle of a picture in another shape (width to height)."""
    if shape is None:
        return image
    width, height = image.size
    wide, high = min(width, round(height * shape)), min(height, round(width / shape))
    left, top = (width - wide) // 2, (height - high) // 2
    return image.crop((left, top, left + max(wide, 1), top + max(high, 1)))


def _longest_run(sequence: Sequence[int]) -> list[int]:
    """The longest stretch in which nothing comes twice, the earliest of several.

    >>> _longest_run([3, 1, 2, 3, 4])
    [1, 2, 3, 4]
    """
    best: list[int] = []
    start = 0
    last: dict[int, int] = {}
    for position, number in enumerate(sequence):
        if last.get(number, -1) >= start:
            start = last[number] + 1
        last[number] = position
        if position - start + 1 > len(best):
            best = list(sequence[start : position + 1])
    return best


# --- what structured data names -----------------------------------------------------------------


def _stated_picture(address: str, resources: Resources, found: Sequence[Picture]) -> Picture:
    """The picture that structured data names, with what is stored of it under that name."""
    stored = list(_stored([address], resources, None))
    if not stored and "/" in address:
        name = file_name(address)
        folders = {
            s.address.rsplit("/", 1)[0]
            for p in found
            for s in p.stored
            if "/" in s.address and ":" not in s.address
        }
        beside = [f"{folder}/{name}" for folder in sorted(folders)]
        stored = list(_stored(beside, resources, None))[:1]
    return Picture((address,), tuple(stored))


def _with_stated(shown: list[Picture], named: Sequence[Picture]) -> list[Picture]:
    """Join what the page shows with what structured data names.

    All names known in the page: the page's order holds, it shows them. Names beyond those are
    added at the end, unless the page shows at least as many pictures under names of its own.
    """
    named = merge_sizes(
        [p for p in named if _is_big(p, SMALLEST) and any(map(_may_be_photo, p.addresses))]
    )
    extra: list[Picture] = []
    result = list(shown)
    for picture in named:
        number = next((n for n, s in enumerate(result) if _is_same(s, picture)), None)
        if number is None:
            extra.append(picture)
        else:
            result[number] = result[number].with_other(picture)
    unmatched = len(result) - (len(named) - len(extra))
    if len(extra) == len(named) and not any(p.stored for p in extra) and len(result) >= len(extra):
        return result
    unstored = [p for p in extra if not p.stored]
    spare = min(unmatched, len(unstored))
    dropped = set(map(id, unstored[:spare]))
    return [*result, *(p for p in extra if id(p) not in dropped)]


def _gallery(pictures: Sequence[Picture], origin: str) -> Gallery:
    photos: list[Photo] = []
    missing: list[str] = []
    used: set[Place] = set()
    for picture in pictures[:MOST]:
        used |= {s.asset.place for s in picture.stored}
        best = picture.best
        if best is not None:
            photo = best.asset.photo()
            if photo.sha256 not in {p.sha256 for p in photos}:
                photos.append(photo)
        elif picture.addresses:
            named = [a for a in picture.addresses if _may_be_photo(a)] or list(picture.addresses)
            missing.append(named[-1] if picture.element is not None else named[0])
    shown = origin if photos or missing else ""
    return Gallery(tuple(photos), tuple(dict.fromkeys(missing)), frozenset(used), shown)
