"""Which ranking the buyer was shown last, so that a number means one listing in every command."""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from extractors.errors import UserError
from triage.cache import Cache
from triage.settings import Settings, make_settings

_LAST = "last ranked"
# what moves an order beside the listings; whoever speaks of a number means the same of these
_KEPT = (
    "sheets", "catalogue", "weights", "model",
    "gain", "resale", "return_chance", "look_cost", "looks",
)  # fmt: skip
_UNSET = Settings()


@dataclass(frozen=True, slots=True)
class Shown:
    """A ranking that was shown: its folder, when, what it was made with, and a review's memory."""

    folder: Path
    made_at: str
    kept: Mapping[str, Any]
    memory: Path | None

    def settings(self, settings: Settings) -> Settings:
        """The settings at hand, with those of the ranking where nothing else is given."""
        then = make_settings(self.kept)
        unset = {k: getattr(then, k) for k in _KEPT if getattr(settings, k) == getattr(_UNSET, k)}
        return replace(settings, **unset)


def remember(folder: Path, settings: Settings, memory: Path | None = None) -> None:
    """Keep in mind that a folder was ranked, and in which memory if it was reviewed."""
    place = str(folder.resolve())
    told = {
        "folder": place,
        "made_at": datetime.datetime.now(datetime.UTC).isoformat(),
        "settings": {key: _plain(getattr(settings, key)) for key in _KEPT},
        "memory": str(memory.resolve()) if memory else None,
    }
    text = json.dumps(told).encode()
    cache = Cache(None if settings.no_cache else settings.cache)
    cache.put_many("last", {_LAST: text, place: text})
    cache.close()


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return str(value.resolve()) if isinstance(value, Path) else value


def recall(settings: Settings, folder: Path | None = None) -> Shown | None:
    """The last ranking of a folder, or of all; None if none is known."""
    cache = Cache(None if settings.no_cache else settings.cache)
    kept = cache.get("last", str(folder.resolve()) if folder else _LAST)
    cache.close()
    told = json.loads(kept) if kept else {}
    if "settings" not in told:  # none, or as an earlier release kept it
        return None
    memory = Path(told["memory"]) if told["memory"] else None
    return Shown(Path(told["folder"]), told["made_at"], told["settings"], memory)


def last_shown(settings: Settings) -> Shown:
    """The ranking shown last; UserError if none is known."""
    shown = recall(settings)
    if shown is None:
        raise UserError(
            "No folder was ranked yet.", "Rank one first, or name it: triage explain LISTING FOLDER"
        )
    return shown


def minute_text(moment: str) -> str:
    """A moment (ISO 8601) as day and minute on the buyer's clock."""
    return datetime.datetime.fromisoformat(moment).astimezone().strftime("%Y-%m-%d %H:%M")
