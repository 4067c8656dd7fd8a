"""Saves a made page as browsers and other programs do: complete, in one file, MHTML, zip."""

from __future__ import annotations

import base64
import email.generator
import email.mime.multipart
import email.mime.nonmultipart
import html
import io
import random
import re
import zipfile
from pathlib import Path
from urllib.parse import quote

from tests.evaluation.intake.made import Made

FOLDERS = ("_files", "_files", "-Dateien", "_fichiers", "_archivos", "_file", "_bestanden")


def save(made: Made, folder: Path, name: str, carrier: str, rng: random.Random) -> set[str]:
    """Write one page as a carrier names it; the addresses of what was stored come back."""
    return {"complete": _complete, "one file": _one_file, "mhtml": _mhtml, "zip": _zip}[carrier](
        made, folder, name, rng
    )


def _local_names(addresses: list[str]) -> dict[str, str]:
    """File names as browsers give them: the last step, numbered where taken."""
    taken: dict[str, str] = {}
    for address in addresses:
        stem = re.sub(r"[?#].*", "", address).rstrip("/").rsplit("/", 1)[-1] or "index"
        head, dot, ending = stem.rpartition(".")
        head, ending = (head, dot + ending) if dot else (stem, "")
        name, count = stem, 0
        while name in taken.values():
            count += 1
            name = f"{head}({count}){ending}"
        taken[address] = name
    return taken


def _replace(text: str, mapping: dict[str, str], keep_srcset: bool) -> str:
    """Point src (and background) at the saved files; links stay as they are."""

    def swap(match: re.Match[str]) -> str:
        address = html.unescape(match[3])
        return (
            f"{match[1]}{match[2]}{html.escape(mapping[address])}"
            if address in mapping
            else match[0]
        )

    text = re.sub(r"(?i)(\s(?:src)=)([\"']?)([^\"'\s>]+)", swap, text)
    text = re.sub(r"(url\()(['\"]?)([^'\")]+)", swap, text)
    if not keep_srcset:
        return re.sub(r"\s(?:data-)?srcset=\"[^\"]*\"", "", text)

    def swap_each(match: re.Match[str]) -> str:
        parts = [p.strip().split(" ") for p in html.unescape(match[2]).split(",")]
        swapped = ", ".join(" ".join([mapping.get(p[0], p[0]), *p[1:]]) for p in parts)
        return f'{match[1]}"{html.escape(swapped)}"'

    return re.sub(r"(\s(?:data-)?srcset=)\"([^\"]*)\"", swap_each, text)


def _complete(made: Made, folder: Path, name: str, rng: random.Random) -> set[str]:
    ending = rng.choice(FOLDERS)
    title = rng.choice([name, f"{name} größe & maß"])
    beside = folder / f"{title}{ending}"
    beside.mkdir(parents=True)
    keep_srcset = rng.random() < 0.5 or "data-srcset" in made.html
    stored = made.shown(keep_srcset)
    shown = [a for a in made.assets if a in stored]
    names = _local_names(shown)
    for address in shown:
        (beside / names[address]).write_bytes(made.assets[address])
    mapping = {a: f"./{quote(beside.name)}/{quote(n)}" for a, n in names.items()}
    for n, (address, inner) in enumerate(made.frames.items()):
        file = f"saved_resource({n}).html" if n else "saved_resource.html"
        (beside / file).write_text(inner, encoding="utf-8")
        mapping[address] = f"./{quote(beside.name)}/{file}"
    text = _replace(made.html, mapping, keep_srcset)
    (folder / f"{title}.html").write_bytes(text.encode(made.encoding, "xmlcharrefreplace"))
    return stored


def _data_address(kind: str, data: bytes) -> str:
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"


def _one_file(made: Made, folder: Path, name: str, rng: random.Random) -> set[str]:
    mapping = {a: _data_address("image/jpeg", made.assets[a]) for a in made.shown(False)}
    for address, inner in made.frames.items():
        mapping[address] = _data_address("text/html;charset=utf-8", inner.encode())
    stored = set(mapping) & set(made.assets)
    text = _replace(made.html, mapping, True)
    (folder / f"{name}.html").write_bytes(text.encode(made.encoding, "xmlcharrefreplace"))
    return stored


def _mhtml(made: Made, folder: Path, name: str, rng: random.Random) -> set[str]:
    address = made.gold["url"] or "https://stallrow.example/item/1"
    whole = email.mime.multipart.MIMEMultipart("related", type="text/html")
    whole["Subject"], whole["MIME-Version"] = name, "1.0"
    whole["Snapshot-Content-Location"] = address
    parts = [("text/html", address, made.html.encode(made.encoding, "xmlcharrefreplace"))]
    parts += [("text/html", a, f.encode()) for a, f in made.frames.items()]
    parts += [("image/jpeg", a, made.assets[a]) for a in made.assets if a in made.shown(True)]
    for kind, address, data in parts:
        part = email.mime.nonmultipart.MIMENonMultipart(*kind.split("/"))
        part["Content-Location"] = address
        part["Content-Transfer-Encoding"] = "base64"
        part.set_payload(base64.encodebytes(data).decode())
        whole.attach(part)
    out = io.BytesIO()
    email.generator.BytesGenerator(out, mangle_from_=False, maxheaderlen=0).flatten(whole)
    (folder / f"{name}.mhtml").write_bytes(out.getvalue())
    return made.shown(True)


def _zip(made: Made, folder: Path, name: str, rng: random.Random) -> set[str]:
    inner = folder / f"tmp-{name}"
    inner.mkdir()
    stored = _complete(made, inner, name, rng)
    with zipfile.ZipFile(folder / f"{name}.zip", "w") as archive:
        for file in sorted(inner.rglob("*")):
            if file.is_file():
                archive.write(file, file.relative_to(inner).as_posix())
                file.unlink()
    for below in sorted(inner.rglob("*"), reverse=True):
        below.rmdir()
    inner.rmdir()
    return stored
