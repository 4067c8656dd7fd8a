"""Photos in JSON exports: the addresses in an object, in order, each picture in its best size."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from triage.readers.field_names import field_of, key_of
from triage.readers.fields import split_names
from triage.readers.json_amounts import plain_number
from triage.readers.json_names import Object, is_kind, named, words_of

MOST_PHOTOS = 200


def with_photos(value: Object) -> Object:
    """Put all photos of an object under one name, in order, each in its best size."""
    named = [(k, v) for k, v in value.items() if is_photos(k, v)]
    main = [one for one in named if _is_first(one[0])]
    rest = [one for one in named if one not in main and not is_small(one[0])]
    small = [one for one in named if one not in main and one not in rest]
    found = [a for key, inner in (*main, *rest) for a in _addresses(inner)]
    found = found or [a for key, inner in small for a in _addresses(inner)]
    if not found:
        return value
    taken = {k for k, _ in named}
    made = {k: v for k, v in value.items() if k not in taken}
    return {**made, "photos": list(dict.fromkeys(found))[:MOST_PHOTOS]}


def is_photos(key: str, value: Any) -> bool:
    if not isinstance(value, str | list | dict):
        return False
    told = {w.rstrip("0123456789") for w in words_of(key)}
    is_named = not told.isdisjoint(named("photos", "words")) or field_of(key) == "photos"
    if is_named:
        return True
    listed = isinstance(value, list) and bool(value) and all(map(_is_file, value))
    return listed or not told.isdisjoint(named("photos", "small"))


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
    if "/" not in text or len(text) > 500 or " " in text.strip():
        return False
    told = {w.rstrip("s") for w in words_of(key)}
    is_folder = text.endswith(("/", "=")) and bool(
        told & {"base", "prefix", "root", "folder", "dir", "path", "host", "cdn", "url"}
    )
    is_named = bool(told & {w.rstrip("s") for w in named("photos", "words")}) or bool(
        told & {"template", "pattern", "format", "base", "prefix", "cdn"}
    )
    return is_named and (is_folder or _HOLE.search(text) is not None)


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
    >>> _filled("https://i.example/{size}/{id}.jpg", "77"), _filled("media/", "/a.jpg")
    ('https://i.example/large/77.jpg', 'media/a.jpg')
    """
    holes = _HOLE.findall(pattern)
    if not holes:
        return pattern + name.lstrip("/")
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
        names = split_names(value)
        return [n for n in names if "/" in n or "." in n or n.startswith("data:")]
    if depth > 5:
        return []
    if isinstance(value, list):
        return [a for one in _in_place(value[:MOST_PHOTOS]) for a in _addresses(one, depth + 1)]
    if not isinstance(value, dict):
        return []
    if value and all(re.fullmatch(r"\D{0,12}\d{1,3}", str(k)) for k in value):
        return [a for one in value.values() for a in _addresses(one, depth + 1)]
    for key, inner in value.items():
        if isinstance(inner, list) and is_kind(key, "photos", "lists"):
            return _addresses(inner, depth + 1)
        if isinstance(inner, dict) and key_of(str(key)) in ("node", "attributes", "fields"):
            return _addresses(inner, depth + 1)
    best = _best(value)
    return [best] if best else []


def _in_place(photos: list[Any]) -> list[Any]:
    """Photos in the order that they state, else as they stand."""
    places = []
    for photo in photos:
        stated = next(
            (v for k, v in photo.items() if is_kind(k, "photos", "place")), None
        ) if isinstance(photo, dict) else None  # fmt: skip
        if stated is None or not re.fullmatch(r"\d{1,6}", str(stated)):
            return photos
        places.append(int(stated))
    return [photo for _, photo in sorted(zip(places, photos, strict=True), key=lambda p: p[0])]


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
            if _may_be_address(str(key), inner):
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
