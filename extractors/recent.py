"""What was worked out of texts met of late, for texts that come again; bounded in memory."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

Value = TypeVar("Value")


class Recent(Generic[Value]):
    """Keeps what was worked out of the last texts that came more than once.

    Most texts come once only: of those no more than their letters is kept. Whatever was not met
    while `most` texts or `characters` came by is forgotten, so at most twice as much is held.
    """

    def __init__(self, most: int, characters: int) -> None:
        self._most, self._characters = most, characters
        self._young: dict[str, Value | None] = {}
        self._old: dict[str, Value | None] = {}
        self._held = 0  # characters of the young ones

    def recall(self, text: str, work_out: Callable[[str], Value]) -> Value | None:
        """Give what was worked out of a text; None when it is met for the first time."""
        if text in self._young:
            value = self._young[text]
        elif text in self._old:
            value = self._old[text]
            self._add(text, value)
        else:
            self._add(text, None)
            return None
        if value is None:
            value = self._young[text] = work_out(text)
        return value

    def _add(self, text: str, value: Value | None) -> None:
        """Make a text one of the young; when they are many they become the old ones."""
        if len(self._young) >= self._most or self._held + len(text) > self._characters:
            self._old, self._young, self._held = self._young, {}, 0
        self._young[text] = value
        self._held += len(text)

    def __len__(self) -> int:
        return len(self._young) + len(self._old)

    def clear(self) -> None:
        """Forget all."""
        self._young, self._old, self._held = {}, {}, 0
