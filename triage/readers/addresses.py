"""Web addresses of listings and sellers: canonical form, and the ids that stand in them."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from functools import cache, lru_cache
from typing import Any
from urllib.parse import parse_qsl, unquote, urlencode, urljoin, urlsplit, urlunsplit

from triage.readers.tables import table_of


@cache
def _data() -> dict[str, Any]:
    return table_of("addresses.toml")


def canonical_url(address: str, base: str | None = None) -> str | None:
    """Write a web address in one form: absolute, no fragment, no tracking parameters.

    None for anything but http and https. What the remaining parameters say is kept in order.

    >>> canonical_url("HTTPS://Shop.example:443/item/12?utm_source=mail&colour=brown#photos")
    'https://shop.example/item/12?colour=brown'
    >>> canonical_url("/item/12", "https://shop.example/search"), canonical_url("file:///c/x.html")
    ('https://shop.example/item/12', None)
    """
    try:
        parts = urlsplit(urljoin(base or "", address.strip()))
        port = parts.port
    except ValueError:
        return None
    scheme, host = parts.scheme.lower(), (parts.hostname or "").lower()
    if scheme not in ("http", "https") or not host:
        return None
    plain = port is None or port == {"http": 80, "https": 443}[scheme]
    path = re.sub(r";jsessionid=[^/?]*", "", parts.path, flags=re.I) or "/"
    kept = [(k, v) for k, v in parse_qsl(parts.query, keep_blank_values=True) if not is_tracking(k)]
    query = parts.query if len(kept) == parts.query.count("&") + 1 else urlencode(kept)
    return urlunsplit((scheme, host if plain else f"{host}:{port}", path, query, ""))


def is_tracking(parameter: str) -> bool:
    name = parameter.casefold()
    exact, prefixes = _tracking()
    return name in exact or name.startswith(prefixes)


@cache
def _tracking() -> tuple[frozenset[str], tuple[str, ...]]:
    listed: list[str] = _data()["tracking"]["parameters"]
    prefixes = tuple(p[:-1] for p in listed if p.endswith("*"))
    return frozenset(p for p in listed if not p.endswith("*")), prefixes


@lru_cache(maxsize=4096)
def seller_in(address: str) -> str | None:
    """Read the seller's id out of the address of a profile or shop page.

    >>> seller_in("https://m.example/usr/old_frames?tab=items"), seller_in("https://m.example/x")
    ('old_frames', None)
    >>> seller_in("/u/rosa-b/4400"), seller_in("member.php?u=333"), seller_in("/x/dealer.php?d=351")
    ('4400', '333', '351')
    """
    if not _may_name_a_seller(address):
        return None
    return _after_step(address, "seller") or _person_in_query(address)


def owner_in(address: str) -> str | None:
    """Read the seller's id out of the address of a link that is known to be the seller's.

    >>> owner_in("/v/40418"), owner_in("/antiquaires/galerie-du-lac/"), owner_in("list.php?v=77")
    ('40418', 'galerie-du-lac', '77')
    >>> owner_in("/makers/rosa/items"), owner_in("/"), owner_in("mailto:rosa@shop.example")
    ('rosa', None, None)
    """
    if (known := seller_in(address)) is not None:
        return known
    try:
        parts = urlsplit(address)
        query = [v for k, v in parse_qsl(parts.query) if not is_tracking(k)]
    except ValueError:
        return None
    if parts.scheme not in ("", "http", "https") or _after_long_step(address):
        return None
    steps = [s for s in _steps(address) if s and s.casefold() not in _data()["seller"]["behind"]]
    if query and (not steps or _SCRIPT.search(steps[-1])):
        return next((v for v in query if re.search(r"\d", v)), query[0])
    last = _SCRIPT.sub("", steps[-1]) if steps else ""
    return last.lstrip("@~") if 0 < len(last) <= 60 and not IMAGE_ENDING.search(last) else None


def _after_long_step(address: str) -> bool:
    """Say whether a step is there that only listings have, not one letter that people may have."""
    items = {s for s in _data()["item"]["steps"] if len(s) > 2}
    return not items.isdisjoint(s.casefold() for s in _steps(address)[:-1])


@lru_cache(maxsize=8192)
def _may_name_a_seller(address: str) -> bool:
    """Say quickly whether a seller's id may stand in an address; most links hold none."""
    if "%" in address or "/@" in address or "/~" in address:
        return True
    low = address.casefold()
    steps, people, in_query = _seller_marks()
    if not steps.isdisjoint(low.split("/")[:-1]):
        return True
    if "?" not in low and "&" not in low and ";" not in low:
        return False
    before, mark, _ = low.partition("?")
    is_script = bool(mark) and people.search(before.rpartition("/")[2]) is not None
    return is_script or in_query.search(low) is not None


@cache
def _seller_marks() -> tuple[frozenset[str], re.Pattern[str], re.Pattern[str]]:
    """Steps before an id, words for people in a script's name, and both in a query."""
    names = _data()["seller"]
    known = "|".join(map(re.escape, names["parameters"]))
    people = "|".join(map(re.escape, (*names["people"], *names["traders"])))
    query = rf"[?&;](?:(?:{known})=|\w+=(?:{people})\b)"
    return frozenset(names["steps"]), re.compile(people), re.compile(query)


@lru_cache(maxsize=512)
def is_profile(address: str) -> bool:
    """Say whether an address is a person's page rather than a thing's or a shop's.

    >>> is_profile("/members/rosa.12/"), is_profile("member.php?u=3"), is_profile("/shop/frame-12")
    (True, True, False)
    """
    if not _may_name_a_seller(address):
        return False
    steps = [s for s in _steps(address) if s]
    people: list[str] = _data()["seller"]["people"]
    before = {s.casefold() for s in steps[:-1]}
    return not before.isdisjoint(people) or _person_in_query(address) is not None


def _person_in_query(address: str) -> str | None:
    """The number after a script that shows a person: "member.php?u=333"."""
    if "?" not in address:
        return None
    try:
        parts = urlsplit(address)
        query = parse_qsl(parts.query.replace(";", "&"))
    except ValueError:
        return None
    stem = parts.path.rsplit("/", 1)[-1].partition(".")[0].casefold()
    words = {stem, *re.findall(r"[^\W\d_]+", stem), *(v.casefold() for k, v in query if k != "u")}
    if not words.isdisjoint(_data()["seller"]["people"]):
        return next((v for k, v in query if k.casefold() in ("u", "id", "uid", "user") and v), None)
    is_trader = not {stem, *re.findall(r"[^\W\d_]+", stem)}.isdisjoint(_data()["seller"]["traders"])
    return query[0][1] if is_trader and query and re.search(r"\d", query[0][1]) else None


def item_in(address: str, title: str = "") -> str | None:
    """Read the listing's id out of its address; None unless it holds a figure.

    Figures at the end of a step that say a size in the `title` over again are no id.

    >>> item_in("https://m.example/itm/brown-frame-48-20/334455667788?x=1")
    '334455667788'
    >>> item_in("https://m.example/listing/88231-round-frame"), item_in("https://m.example/sale/today")
    ('88231', None)
    >>> item_in("https://m.example/listing/9f0c-77a1"), item_in("https://m.example/frames-1980s")
    ('9f0c-77a1', None)
    >>> item_in("/a/m12345678-zwart-4919"), item_in("/p/round-black-5322", "Round, black 53-22")
    ('m12345678', None)
    """
    found = _after_step(address, "item")
    if found and (_UUID.fullmatch(found) or _is_code(found)):
        return found
    steps = [s for s in _steps(address) if s]
    candidates = [found, *reversed(steps)]
    said = re.sub(r"(?<=\d)\D{1,3}(?=\d)", "", title)
    ids = (_id_in(c) for c in candidates if c)
    return next((i for i in ids if i and not (len(i) < 8 and i.isdigit() and i in said)), None)


_UUID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.I)
# words of a title that hold figures: years and decades, sizes, weights
_NO_ID = re.compile(
    r"(?:1[789]|20)\d\d(?:s|er|ers|ies)?|\d+x\d+(?:mm)?|\d+(?:mm|cm|er|th|kt?|ct|gr?|pcs)", re.I
)


def _is_code(step: str) -> bool:
    """Say whether a step is a code in parts, each with a figure: "9f0c-77a1"."""
    parts = step.split("-")
    if len(parts) < 2 or not re.search(r"[A-Za-z]", step):
        return False
    return all(
        re.fullmatch(r"(?=\w*\d)[0-9A-Za-z]{2,16}", p) and not _NO_ID.fullmatch(p) for p in parts
    )


def _id_in(step: str) -> str | None:
    """The id in one step of a path: a run of figures at an end of it, or a code with figures."""
    step = re.sub(r"\.(html?|php|aspx?)$", "", step)
    if (whole := _UUID.search(step)) is not None:
        return whole[0]
    runs = (
        re.match(r"(\d{4,}|[a-z]{1,2}\d{6,}|[A-Z]{1,4}-?\d{6,})(?:[-_,]|$)", step),
        re.search(r"(?:^|[-_.,])(\d{4,})$", step),
    )
    for match in runs:
        if match and (
            match[1] == step or not (_NO_ID.fullmatch(match[1]) or _is_size(match, step))
        ):
            return match[1]
    code = re.search(r"(?:^|[-_])((?=[A-Za-z0-9]*\d{2})[A-Za-z0-9]{5,24})$", step)
    if code and not _NO_ID.fullmatch(code[1]):
        return code[1]
    return step if re.fullmatch(r"[A-Z]{1,4}-?\d{2,}", step) else None


def _is_size(match: re.Match[str], step: str) -> bool:
    """Say whether four figures after words are a frame's size without its mark: "...-black-4919".

    Lens 36 to 64, bridge 12 to 28 mm: common practice, no source.
    """
    if len(match[1]) != 4 or match.start(1) == 0 or step[: match.start(1)].count("-") < 2:
        return False
    return 36 <= int(match[1][:2]) <= 64 and 12 <= int(match[1][2:]) <= 28


def _steps(address: str) -> list[str]:
    try:
        return [unquote(step) for step in urlsplit(address).path.split("/")]
    except ValueError:
        return []


def _after_step(address: str, kind: str) -> str | None:
    names = _data()[kind]
    try:
        query = parse_qsl(urlsplit(address).query)
    except ValueError:
        return None
    steps = [s for s in _steps(address) if s]
    for place, (before, step) in enumerate(itertools.pairwise(steps)):
        is_script = bool(query) and _SCRIPT.search(step) is not None
        if before.casefold() in names["steps"] and not is_script:
            after = steps[place + 2 :]
            if kind == "seller" and len(after) == 1 and re.fullmatch(r"\d{2,}", after[0]):
                return after[0]
            return step.removeprefix("@") or None
    if kind == "seller" and steps and re.fullmatch(r"[@~].+", steps[-1]):
        return steps[-1][1:]
    return next((v for k, v in query if k.casefold() in names["parameters"] and v), None)


_SCRIPT = re.compile(r"\.(?:php|aspx?|cgi|jsp|pl|html?|do)$", re.I)


def file_name(address: str) -> str:
    """The last step of an address, percent-decoded, without the query; "" for ``data:``."""
    if address[:5].lower() == "data:":
        return ""
    path = address.partition("?")[0].partition("#")[0]
    return unquote(path.rstrip("/").rpartition("/")[2])


IMAGE_ENDING = re.compile(
    r"\.(?:jpe?g|png|webp|gif|avif|heic|tiff?|bmp|jfif)(?:\(\d+\))?(?:[?#]|$)", re.I
)
_PHOTO_STEPS = frozenset(
    ("photo", "image", "picture", "foto", "bild", "media", "gallery", "zoom", "attachment",
     "photos", "images", "pictures", "fotos", "bilds", "medias", "gallerys", "zooms", "attachments")
)  # fmt: skip
_PHOTO_SCRIPT = re.compile(
    r"(?:^|/)(?:view|show|display)?[-_]?(?:attachment|attach|photo|image|picture|foto|bild|zoom|lightbox|img|pic)"
    r"s?[-_]?(?:view|viewer|zoom)?\.(?:php|aspx?|cgi|jsp|pl|do)$",
    re.I,
)


def shows_picture(href: str) -> bool:
    """Say whether an address is that of a script or a folder for pictures.

    >>> shows_picture("attachment.php?a=42"), shows_picture("/item.php?id=42")
    (True, False)
    """
    return _is_of_pictures(re.split(r"[?#]", href)[0])


def _is_of_pictures(path: str) -> bool:
    steps = path.lower().split("/")
    if not _PHOTO_STEPS.isdisjoint(steps):
        return True
    return "." in steps[-1] and _PHOTO_SCRIPT.search(path) is not None


_NO_PAGES = ("#", "javascript:", "data:", "about:", "mailto:", "tel:", "cid:", "mid:", "blob:")


def leads_away(href: str, page_url: str | None) -> bool:
    """Say whether a link opens another page rather than a picture or this page.

    >>> leads_away("/itm/2", "https://m.example/itm/1"), leads_away("big.jpg", None)
    (True, False)
    >>> leads_away("a.php?id=2", "https://m.example/a.php?id=1")
    True
    """
    if not href or href.startswith(_NO_PAGES):
        return False
    if "." in href and IMAGE_ENDING.search(href):
        return False
    if page_url is None:
        is_page = re.search(r"\.(?:html?|php)(?:[?#]|$)", href) is not None
        return "://" in href or is_page or href.startswith("/")
    host, own = _place_of(page_url)
    address = href.partition("#")[0].partition("?")[0]
    other, path = _place_of(address) if "//" in address[:9] else (host, address)
    if not path or _is_of_pictures(path):
        return False
    if not path.startswith("/"):  # relative to the page's own folder
        path = f"{own.rpartition('/')[0]}/{path.removeprefix('./')}"
    if (other, path) == (host, own):
        return "?" in href and "?" in page_url and _item_number(href) != _item_number(page_url)
    return not (other == host and path.startswith(own + "/"))


@lru_cache(maxsize=512)
def _item_number(address: str) -> str | None:
    """What stands in the query for a listing: "page.php?id=1" and "page.php?id=2" are two."""
    query = re.split(r"[?#]", address, maxsplit=2)[1]
    names = _data()["item"]["parameters"]
    return next((v for k, v in parse_qsl(query) if k.casefold() in names), None)


@lru_cache(maxsize=512)
def _place_of(address: str) -> tuple[str, str]:
    """Host and path of a web address, without taking it all apart (pages hold thousands)."""
    rest = re.split(r"[?#]", address.partition("//")[2], maxsplit=1)[0]
    host, _, path = rest.partition("/")
    return host.lower(), "/" + path.rstrip("/")


def srcset_candidates(text: str) -> Iterator[tuple[float, str]]:
    """The candidates of a srcset (WHATWG HTML, 4.8.4.2.1) with their widths or densities."""
    address = ""
    for token in text.split():
        if not address:
            address = token.lstrip(",")
            if address.endswith(","):
                yield 400.0, address.rstrip(",")
                address = ""
            continue
        for part in token.split(","):
            if address:
                match = re.fullmatch(r"([\d.]{1,9})([wx])", part)
                number = float(match[1]) if match and match[1].count(".") < 2 else 1.0
                yield (number if match and match[2] == "w" else 400 * number), address
                address = ""
            elif part:
                address = part
    if address:
        yield 400.0, address
