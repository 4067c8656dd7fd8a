"""Records come back from plain values as they were; what is no such record is refused."""

from __future__ import annotations

import json
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.codec import UnreadableRecord, from_plain, to_plain


@dataclass(frozen=True)
class Sample:
    """A record with bytes in it."""

    name: str
    content: bytes


@given(st.text(), st.binary(max_size=300))
def test_bytes_come_back_through_json(name: str, content: bytes) -> None:
    sample = Sample(name, content)
    assert from_plain(json.loads(json.dumps(to_plain(sample))), Sample) == sample


@pytest.mark.parametrize("content", ["c{@E;GZ&", "a", "not base 64!", 3, None, ["YQ=="]])
def test_what_is_no_base64_is_refused(content: object) -> None:
    with pytest.raises(UnreadableRecord):
        from_plain({"name": "a", "content": content}, Sample)
