"""The bits of a W3C Bitstring Status List 1.0: one for each place, packed, and told apart again.

The first place is the leftmost bit; the bits are packed by gzip and written in base64url behind a `u` (Multibase).
"""

from __future__ import annotations

import gzip
import io
import zlib
from collections.abc import Collection

from assess.records.key_list import public_bytes
from assess.store.signatures import to_base64url

__all__ = ["FEWEST", "MOST", "bit_at", "packed"]

FEWEST, MOST = 131_072, 1 << 26
"""So many bits a list has at least, for the privacy of those in it; more than the second number are not unpacked."""


def packed(places: Collection[int], size: int) -> str:
    """A list of `size` bits (a multiple of 8) with those at the places set; the same places give the same text."""
    bits = bytearray(size // 8)
    for place in places:
        bits[place // 8] |= 0x80 >> place % 8
    into = io.BytesIO()
    with gzip.GzipFile(filename="", mode="wb", compresslevel=9, fileobj=into, mtime=0) as file:
        file.write(bits)
    return f"u{to_base64url(into.getvalue())}"


def bit_at(text: str, place: int) -> bool:
    """Whether the bit at a place is set. Raises ValueError for no such list, or a place that is not in it."""
    if not text.startswith("u"):
        raise ValueError("a status list is in base64url behind a `u`")
    unpack = zlib.decompressobj(wbits=31)
    try:
        bits = unpack.decompress(public_bytes(text[1:]), MOST // 8 + 1)
    except zlib.error as trouble:
        raise ValueError("a status list is packed by gzip") from trouble
    if not unpack.eof or unpack.unused_data or not FEWEST <= len(bits) * 8 <= MOST:
        raise ValueError(f"a status list has {FEWEST} to {MOST} bits")
    if not 0 <= place < len(bits) * 8:
        raise ValueError("the place is not in the list")
    return bool(bits[place // 8] & 0x80 >> place % 8)
