"""Invariant 18: the order of merging does not matter, and merging twice changes nothing."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from assess.store.merge import merge
from tests.courses import build_course, open_desk
from tests.store.test_invariant_04_nothing_is_overwritten import files

DEVICES = ("d7h2k", "b3n8x", "k4r9t")


def marked_course(root: Path) -> Path:
    """Two assessors on three devices: some sheets on two devices, one locked, one version that forked."""
    build_course(root)
    for number, device in enumerate(DEVICES):
        for who in ("A1", "A2"):
            desk = open_desk(root, who, device=device)
            for candidate in ("C01", "C02", "C03")[number:]:
                sheet = desk.slot("T1", candidate)
                sheet.score("edging", 4)
                sheet.note("grips late")
            desk.close()
    return root


@given(st.data())
@settings(max_examples=25, deadline=None)
def test_invariant_18_any_split_any_order_and_any_repetition_give_the_same_folder(data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as place:
        whole = marked_course(Path(place) / "whole")
        other = Path(place) / "other"
        shutil.copytree(whole, other)
        # The same ledger went on differently on two copies, and another was damaged on one.
        for root, level in ((whole, 5), (other, 6)):
            desk = open_desk(root, "A2", device=DEVICES[0])
            desk.slot("T1", "C01").score("line", level)
            desk.close()
        damaged = sorted((other / "sheets").iterdir())[0]
        damaged.write_bytes(damaged.read_bytes().replace(b"grips late", b"grips soon"))
        names = sorted({*files(whole), *files(other)})
        parts = []
        for number, source in enumerate((whole, other, whole)):
            part = Path(place) / f"part{number}"
            shutil.copytree(source, part)
            for name in names:
                if (part / name).exists() and number != 2 and data.draw(st.booleans(), label=f"{number} {name}"):
                    (part / name).unlink()
            parts.append(part)
        results = []
        for turn in range(2):
            into = Path(place) / f"into{turn}"
            shutil.copytree(parts[0], into)
            order = data.draw(st.permutations(parts), label=f"order {turn}")
            for part in [*order, data.draw(st.sampled_from(parts), label=f"again {turn}")]:
                merge(into, [part])
            results.append(files(into))
        assert results[0] == results[1]
        everything = Path(place) / "everything"
        shutil.copytree(parts[0], everything)
        merge(everything, parts)
        assert files(everything) == results[0]
