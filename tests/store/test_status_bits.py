"""The bits of a status list: told apart again as they were set, the same bytes, and nothing else unpacked."""

from __future__ import annotations

import base64
import gzip

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.store.signatures import to_base64url
from assess.store.status_bits import FEWEST, MOST, bit_at, packed

PLACES = st.sets(st.integers(0, FEWEST - 1), max_size=30)


@given(PLACES, st.integers(0, FEWEST - 1))
def test_a_bit_is_set_where_it_was_set_and_nowhere_else(places: set[int], other: int) -> None:
    text = packed(places, FEWEST)
    assert text == packed(places, FEWEST)
    assert all(bit_at(text, place) for place in places)
    assert bit_at(text, other) == (other in places)


def test_the_first_place_is_the_leftmost_bit_and_the_file_carries_no_time() -> None:
    raw = base64.urlsafe_b64decode(packed({0, 9}, FEWEST)[1:] + "==")
    assert gzip.decompress(raw) == bytes([0x80, 0x40]) + bytes(FEWEST // 8 - 2)
    assert raw[4:8] == bytes(4)


def test_a_list_packed_with_a_time_and_in_another_way_is_read() -> None:
    bits = bytearray(FEWEST // 8)
    bits[100] = 0b0000_0001
    text = "u" + to_base64url(gzip.compress(bytes(bits), mtime=123456))
    assert bit_at(text, 807) and not bit_at(text, 800)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "u",
        "z" + packed(set(), FEWEST)[1:],
        packed(set(), FEWEST)[:-4],
        packed(set(), FEWEST) + "AAAA",
        "u" + to_base64url(b"no gzip at all"),
        packed(set(), FEWEST - 8),
        packed(set(), MOST + 8),
    ],
)
def test_anything_else_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"status list|base64url"):
        bit_at(text, 0)


@pytest.mark.parametrize("place", [-1, FEWEST, 10**9])
def test_a_place_beyond_the_list_is_refused(place: int) -> None:
    with pytest.raises(ValueError, match="not in the list"):
        bit_at(packed(set(), FEWEST), place)
