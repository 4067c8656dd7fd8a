"""Photos in JSON exports: the addresses in an object, in order, each picture in its best size."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from operator import itemgetter
from typing import Any

from triage.readers.addresses import srcset_candidates
from triage.readers.field_names import field_of, key_of
from triage.readers.fields import split_names
from triage.readers.json_amounts import plain_number
from triage.readers.json_names import Object, is_elsewhere, is_kind, named, words_of

MOST_PHOTOS = 200


def with_photos(value: Object) -> Object:
    """Put all photos of an object under one name, in order, each in its best size."""
    parts = [(k, v) for k, v in value.items() if is_photos(k, v)]
    main = [one for one in parts if _is_first(one[0])]
    rest = [one for one in parts if one not in main and not is_small(one[0])]
    small = [one for one in parts if one not in main and one not in rest]
    told = [_addresses(inner) for _, inner in (*main, *rest)]
    found = _stored(told) or [a for _, inner in small for a in _addresses(inner)]
    if not found and not (found := _deeper(value)):
        return value
    taken = {k for k, _ in parts}
    made = {k: v for k, v in value.items() if k not in taken}
    return {**made, "photos": list(dict.fromkeys(found))[:MOST_PHOTOS]}


def _stored(told: list[list[str]]) -> list[str]:
    """All addresses; files instead of the web addresses that they were stored from."""
    files = [one for one in told if one and not any(_WEB.match(a) for a in one)]
    web = [one for one in told if one and all(_WEB.match(a) for a in one)]
    doubled = [one for one in web if len(one) in {len(f) for f in files}]
    return [a for one in told if one not in doubled for a in one]


_WEB = re.compile(r"(?i)(?:https?:)?//")


def _deeper(value: Object) -> list[str]:
    """The photos inside an object that holds nothing but such ("assets", "media" ...)."""
    inside = (
        held
        for key, inner in value.items()
        if isinstance(inner, dict) and field_of(key) is None and not is_elsewhere(key)
        for name, held in inner.items()
        if is_photos(str(name), held) and not is_small(str(name))
    )
    return next((found for held in inside if (found := _addresses(held))), [])


def is_photos(key: str, value: Any) -> bool:
    if not isinstance(value, str | list | dict):
        return False
    told = {w.rstrip("0123456789") for w in words_of(key)}
    is_named = not told.isdisjoint(named("photos", "words")) or field_of(key) == "photos"
    if is_named:
        return True
    if isinstance(value, str):
        return _is_file(value) and (_is_first(key) or is_small(key))
    listed = isinstance(value, list) and bool(value) and all(map(_shows, value))
    return listed or not told.isdisjoint(named("photos", "small"))


def _shows(value: object) -> bool:
    """Say whether one of a list under any name is a picture: a file, or little beside one."""
    if not isinstance(value, dict):
        return _is_file(value)
    fields = {field_of(str(k)) for k in value}
    is_thing = bool(fields & {"title", "price", "url", "seller_name", "description"})
    return (
        not is_thing and len(value) <= 8 and (best := _best(value)) is not None and _is_file(best)
    )


def _is_file(value: object) -> bool:
    return isinstance(value, str) and _PICTURE.search(value) is not None


_PICTURE = re.compile(r"\.(?:jpe?g|jfif|png|webp|gif|tiff?|bmp|avif|hei[cf])(?:[?#].*)?$", re.I)


def with_whole_addresses(value: Mapping[str, Any]) -> Object:
    """Make addresses of pictures that are told in parts: numbers, and a pattern or a folder."""
    made: Object = {}
    patterns = {k: v for k, v in value.items() if isinstance(v, str) and _is_pattern(str(k), v)}
    for key, inner in value.items():
        if isinstance(inner, dict) and is_photos(str(key), inner):
            parts = [(k, v) for k, v in inner.items() if isinstance(v, str)]
            own = {k: v for k, v in parts if _is_pattern(str(k), v)} or patterns
            listed = next((v for v in inner.values() if isinstance(v, list)), None)
            made[key] = _in_pattern(listed, own) if listed and own else inner
        elif isinstance(inner, list) and patterns and is_photos(str(key), inner):
            made[key] = _in_pattern(inner, patterns)
        elif key not in patterns:
            made[key] = inner
    return made


_HOLE = re.compile(r"\$?\{[^{}]*\}|%[sd@]|:(?:id|name|file|hash|key)\b|<[a-z_]+>")


_OF_A_PICTURE = (
    "id", "key", "hash", "name", "file", "uuid", "imageid", "photoid", "token", "code",
    "filename", "ref", "path",
)  # fmt: skip


def _is_pattern(key: str, text: str) -> bool:
    """Say whether a text is an address of pictures with a hole, or the folder they lie in."""
    if len(text) > 500 or not text.strip() or (_PICTURE.search(text) and not _HOLE.search(text)):
        return False
    told = {w.rstrip("s") for w in words_of(key)}
    is_folder = (text.endswith(("/", "=")) and bool(told & _BASES)) or bool(told & _FOLDERS)
    is_named = bool(told & {w.rstrip("s") for w in named("photos", "words")}) or bool(
        told & {"template", "pattern", "format", "base", "prefix", "cdn", *_FOLDERS}
    )
    return is_named and (is_folder or _HOLE.search(text) is not None)


_BASES = {"base", "prefix", "root", "path", "host", "cdn", "url"}
_FOLDERS = {
    "folder", "dir", "directory", "ordner", "verzeichnis", "dossier", "répertoire", "cartella",
    "carpeta", "pasta", "mapp", "mappe",
}  # fmt: skip


def _in_pattern(pictures: list[Any], patterns: Mapping[str, str]) -> list[Any]:
    """Each picture's number or name put where the pattern has its hole; others as they are."""
    pattern = max(patterns.values(), key=len)
    found = []
    for picture in pictures[:MOST_PHOTOS]:
        name = picture
        if isinstance(picture, dict):
            told = {key_of(str(k)): v for k, v in picture.items()}
            name = next((told[k] for k in _OF_A_PICTURE if k in told), None)
        is_part = isinstance(name, str | int) and not re.match(r"https?:|data:", str(name))
        found.append(_filled(pattern, str(name)) if is_part else picture)
    return found


def _filled(pattern: str, name: str) -> str:
    """
    >>> _filled("https://i.example/{size}/{id}.jpg", "77"), _filled("media", "a.jpg")
    ('https://i.example/large/77.jpg', 'media/a.jpg')
    """
    holes = _HOLE.findall(pattern)
    if not holes:
        between = "" if pattern.endswith(("/", "=")) else "/"
        return name if "/" in name else pattern + between + name
    bare = [key_of(hole) for hole in holes]
    own = next((h for h, b in zip(holes, bare, strict=True) if b in _OF_A_PICTURE), holes[-1])
    filled = pattern.replace(own, name)
    return _HOLE.sub("large", filled)


def _is_first(key: str) -> bool:
    return any(w in named("photos", "first") for w in words_of(key))


def is_small(key: str) -> bool:
    return any(w in named("photos", "small") for w in words_of(key))


def _addresses(value: Any, depth: int = 0) -> list[str]:
    """The addresses of photos in a value, the best of each photo."""
    if isinstance(value, str):
        return _in_text(value)
    if depth > 6:
        return []
    if isinstance(value, list):
        return [a for one in _in_place(value[:MOST_PHOTOS]) for a in _addresses(one, depth + 1)]
    if not isinstance(value, dict):
        return []
    if value and all(re.fullmatch(r"\D{0,12}\d{1,3}", str(k)) for k in value):
        return [a for one in value.values() for a in _addresses(one, depth + 1)]
    if (many := _several(value, depth)) is not None:
        return many
    best = _best(value)
    return [best] if best else []


_MARKUP = re.compile(r"""(?i)<img[^>]+src\s*=\s*["']([^"']+)|!\[[^\]]*\]\(([^)\s]+)""")


def _in_text(text: str) -> list[str]:
    """The names in one text: one, many with something between, or in markup."""
    if (marked := _MARKUP.findall(text)) != []:
        return [html or plain for html, plain in marked]
    names = split_names(text)
    return [n for n in names if "/" in n or "." in n or n.startswith("data:")]


def _several(value: Mapping[str, Any], depth: int) -> list[str] | None:
    """The photos in an object of many; None for one that is a photo itself.

    It holds a list, or one per size; the first apart; another object alone; or one per view.
    """
    lists = [(str(k), v) for k, v in value.items() if isinstance(v, list) and _holds_files(v)]
    if lists and not is_kind(lists[0][0], "photos", "sets"):
        ranks = {_rank(k) for k, _ in lists}
        best = max(ranks)
        kept = [(k, v) for k, v in lists if _rank(k) == best]
        first = [v for k, v in value.items() if _is_first(str(k)) and not isinstance(v, list)]
        return [a for v in (*first, *(v for _, v in kept)) for a in _addresses(v, depth + 1)]
    inner = [(str(k), v) for k, v in value.items() if isinstance(v, dict)]
    texts = [(str(k), v) for k, v in value.items() if isinstance(v, str) and _is_file(v)]
    if len(inner) == 1 and not texts and not is_kind(inner[0][0], "photos", "sets"):
        is_wrap = key_of(inner[0][0]) in _WRAPS or not _sizes_told(inner[0][1])
        return _addresses(inner[0][1], depth + 1) if is_wrap else None
    views = [v for k, v in texts if _rank(k) == 0 and key_of(k) not in ("url", "src", "href")]
    return views if len(views) > 1 and len(views) == len(texts) else None


_WRAPS = ("node", "attributes", "fields", "data", "image", "photo", "picture", "content")


def _sizes_told(value: Mapping[str, Any]) -> bool:
    """Say whether an object tells sizes of one picture."""
    return len(value) > 1 and any(_rank(str(k)) for k in value)


def _holds_files(value: list[Any]) -> bool:
    """Say whether a list may hold pictures: names of files, addresses, or objects."""
    return any(isinstance(v, dict | list) or (isinstance(v, str) and _in_text(v)) for v in value)


def _in_place(photos: list[Any]) -> list[Any]:
    """Photos in the order that they state, the main one first; else as they stand."""
    if not all(isinstance(photo, dict) for photo in photos):
        return photos
    places = [place for photo in photos if (place := _place(photo)) is not None]
    if len(places) != len(photos):
        return sorted(photos, key=lambda photo: not _is_main(photo))
    return [photo for _, photo in sorted(zip(places, photos, strict=True), key=lambda p: p[0])]


def _place(photo: Mapping[str, Any]) -> int | None:
    stated = next((v for k, v in photo.items() if is_kind(k, "photos", "place")), None)
    is_place = stated is not None and re.fullmatch(r"\d{1,6}", str(stated))
    return int(str(stated)) if is_place else None


def _is_main(photo: Mapping[str, Any]) -> bool:
    """Say whether a picture is marked as the first ({"is_primary": true})."""
    return any(_is_first(str(k)) and str(v).casefold() == "true" for k, v in photo.items())


def _best(value: Mapping[str, Any]) -> str | None:
    """The address of one photo's best size; None for what is no photo."""
    kind = str(value.get("type") or value.get("kind") or value.get("mime") or "")
    if "video" in kind.casefold():
        return None
    found: list[tuple[float, str]] = sorted(_sizes(value, 0.0), key=lambda one: -one[0])
    return found[0][1] if found else None


def _sizes(value: Any, rank: float, depth: int = 0) -> Iterator[tuple[float, str]]:
    """Addresses of one photo, each with how large or near the picture there is."""
    if isinstance(value, list):
        for one in value[:50]:
            yield from _sizes(one, rank, depth + 1)
        return
    if not isinstance(value, dict) or depth > 4:
        return
    sides = [n for k, v in value.items() if _is_side(k) and (n := plain_number(v)) is not None]
    wide = float(max(sides, default=0)) if depth else 0.0
    for key, inner in value.items():
        own = rank + _rank(str(key)) + wide
        if isinstance(inner, str):
            if re.search(r"\s\d+(?:w|(?:\.\d+)?x)(?:,|$)", inner):
                yield own, max(srcset_candidates(inner), key=itemgetter(0))[1]
            elif _may_be_address(str(key), inner):
                yield own, inner
        else:
            yield from _sizes(inner, own, depth + 1)


def _is_side(key: object) -> bool:
    return key_of(str(key)) in ("width", "height", "w", "h", "size", "breite", "largeur", "ancho")


def _rank(key: str) -> float:
    told = (*words_of(key), key_of(key))
    if any(w in named("photos", "files") for w in told):
        return 100_000.0
    if any(w in named("photos", "small") for w in told):
        return -50_000.0
    if any(w in named("photos", "large") for w in told):
        return 10_000.0 - 10.0 * min(named("photos", "large").get(w, 99) for w in told)
    if any(w in named("photos", "middle") for w in told):
        return 1_000.0
    sides = re.findall(r"\d{2,4}", key)
    return float(max(map(int, sides))) if sides else 0.0


def _may_be_address(key: str, text: str) -> bool:
    if _PICTURE.search(text):
        return True
    plain = key_of(key)
    is_named = field_of(f"photos.{key}") == "photos" or plain in ("url", "src", "href")
    return (is_named or _rank(key) != 0) and ("/" in text or text.startswith("data:"))
