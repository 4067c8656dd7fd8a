"""Web addresses of listings and sellers: canonical form, and the ids that stand in them."""

from __future__ import annotations

import itertools
import re
import tomllib
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any
from urllib.parse import parse_qsl, unquote, urlencode, urljoin, urlsplit, urlunsplit


@cache
def _data() -> dict[str, Any]:
    return tomllib.loads(files("triage.readers").joinpath("data/addresses.toml").read_text("utf-8"))


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


def seller_in(address: str) -> str | None:
    """Read the seller's id out of the address of a profile or shop page.

    >>> seller_in("https://m.example/usr/old_frames?tab=items"), seller_in("https://m.example/x")
    ('old_frames', None)
    """
    return _after_step(address, "seller")


def item_in(address: str) -> str | None:
    """Read the listing's id out of its address; None unless it holds a figure.

    >>> item_in("https://m.example/itm/brown-frame-48-20/334455667788?x=1")
    '334455667788'
    >>> item_in("https://m.example/listing/88231-round-frame"), item_in("https://m.example/sale/today")
    ('88231', None)
    """
    found = _after_step(address, "item")
    steps = [s for s in _steps(address) if s]
    candidates = [found, *reversed(steps)]
    return next((i for c in candidates if c and (i := _id_in(c)) is not None), None)


def _id_in(step: str) -> str | None:
    """The id in one step of a path: a run of figures at an end of it, or a code with figures."""
    step = re.sub(r"\.(html?|php|aspx?)$", "", step)
    match = re.match(r"(\d{4,})(?:[-_]|$)", step) or re.search(r"(?:^|[-_.])(\d{4,})$", step)
    if match:
        return match[1]
    code = re.search(r"(?:^|[-_])((?=[A-Za-z0-9]*\d{2})[A-Za-z0-9]{5,24})$", step)
    return code[1] if code else (step if re.fullmatch(r"[A-Z]{1,4}-?\d{2,}", step) else None)


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
    for before, step in itertools.pairwise(steps):
        if before.casefold() in names["steps"]:
            return step.removeprefix("@") or None
    if kind == "seller" and steps and re.fullmatch(r"[@~].+", steps[-1]):
        return steps[-1][1:]
    return next((v for k, v in query if k.casefold() in names["parameters"] and v), None)


def file_name(address: str) -> str:
    """The last step of an address, percent-decoded, without the query."""
    return unquote(re.split(r"[?#]", address)[0].rstrip("/").rsplit("/", 1)[-1])


IMAGE_ENDING = re.compile(
    r"\.(?:jpe?g|png|webp|gif|avif|heic|tiff?|bmp|jfif)(?:\(\d+\))?(?:[?#]|$)", re.I
)
_PHOTO_STEP = re.compile(r"/(?:photo|image|picture|foto|bild|media|gallery|zoom)s?(?:/|$)", re.I)


def leads_away(href: str, page_url: str | None) -> bool:
    """Say whether a link opens another page rather than a picture or this page.

    >>> leads_away("/itm/2", "https://m.example/itm/1"), leads_away("big.jpg", None)
    (True, False)
    """
    if not href or href.startswith(("#", "javascript:", "data:", "about:", "mailto:", "tel:")):
        return False
    if IMAGE_ENDING.search(href):
        return False
    if page_url is None:
        is_page = re.search(r"\.(?:html?|php)(?:[?#]|$)", href) is not None
        return "://" in href or is_page or href.startswith("/")
    host, own = _place_of(page_url)
    address = re.split(r"[?#]", href, maxsplit=1)[0]
    other, path = _place_of(address) if "//" in address[:9] else (host, address)
    if _PHOTO_STEP.search(path) or not path:
        return False
    if not path.startswith("/"):  # relative to the page's own folder
        path = f"{own.rpartition('/')[0]}/{path.removeprefix('./')}"
    return (other, path) != (host, own) and not (other == host and path.startswith(own + "/"))


@lru_cache(maxsize=512)
def _place_of(address: str) -> tuple[str, str]:
    """Host and path of a web address, without taking it all apart (pages hold thousands)."""
    rest = re.split(r"[?#]", address.partition("//")[2], maxsplit=1)[0]
    host, _, path = rest.partition("/")
    return host.lower(), "/" + path.rstrip("/")
