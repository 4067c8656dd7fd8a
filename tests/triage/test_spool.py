"""Results put aside in a file come back by their keys."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from triage.spool import Spool, in_parts


@given(st.lists(st.dictionaries(st.text(max_size=4), st.binary(max_size=40), max_size=5)))
def test_what_is_put_in_comes_back(parts: list[dict[str, bytes]]) -> None:
    spool, every = Spool(), {}
    for part in parts:
        fresh = {key: value for key, value in part.items() if key not in spool}
        spool.add(fresh)
        every |= fresh
    if any(every.values()):
        assert {key: bytes(view) for key, view in spool.views().items()} == every
    else:
        assert spool.views() == {}


def test_keys_come_in_parts() -> None:
    assert list(in_parts("abcde", 2)) == [["a", "b"], ["c", "d"], ["e"]]
