"""Every kind of page in headless Chromium: axe-core at WCAG 2.2 AA, light and dark, and no reflow sideways at 320 px.

A machine finds a part of what is wrong only; what people have to look at stands in DEVELOPERS.md.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from assess.reports.card_page import cards_html
from assess.reports.cards import CardSize
from assess.reports.document import Document
from assess.reports.page import as_html
from tests.reports.page_samples import all_cards, letter

HERE = Path(__file__).resolve().parent
CHROMIUM = shutil.which("chromium")


def there() -> bool:
    folders = [Path(folder) for folder in os.environ.get("NODE_PATH", "").split(os.pathsep) if folder]
    packages = all(any((folder / name).is_dir() for folder in folders) for name in ("axe-core", "playwright-core"))
    return shutil.which("node") is not None and CHROMIUM is not None and packages


pytestmark = [
    pytest.mark.needs_browser,
    pytest.mark.skipif(not there(), reason="chromium, or node with axe-core and playwright-core, is not there"),
]


def checked(files: list[Path]) -> list[dict[str, Any]]:
    words = ["node", str(HERE / "check_pages.js"), str(CHROMIUM), *map(str, files)]
    ran = subprocess.run(words, capture_output=True, text=True, check=False, timeout=300)
    assert ran.returncode == 0, ran.stderr
    found: list[dict[str, Any]] = json.loads(ran.stdout)
    return found


def test_every_kind_of_page_is_for_everybody(documents: dict[str, Document], tmp_path: Path) -> None:
    files = []
    for name, document in documents.items():
        files.append(tmp_path / f"{name}.html")
        files[-1].write_text(as_html(document), encoding="utf-8")
    files.append(tmp_path / "letter.html")
    files[-1].write_bytes(letter(tmp_path)["en"])
    sizes: tuple[CardSize, ...] = ("a6", "a5")
    for size in sizes:
        files.append(tmp_path / f"cards-{size}.html")
        files[-1].write_text(cards_html(all_cards(tmp_path, size), "de"), encoding="utf-8")
    found = checked(files)
    assert [(one["file"], one["scheme"]) for one in found] == [(str(f), s) for s in ("light", "dark") for f in files]
    for one in found:
        where = (Path(one["file"]).stem, one["scheme"])
        assert one["passes"] >= 10, where
        assert (one["violations"], one["own"]) == ([], []), where
        assert one["reflow"] <= 320, where


def test_a_bad_page_is_found_out() -> None:
    light, dark = checked([HERE / "bad_page.html"])
    for one in (light, dark):
        assert {"color-contrast", "document-title", "html-has-lang", "image-alt", "label"} <= {
            violation["id"] for violation in one["violations"]
        }
        assert {said.split(":")[0] for said in one["own"]} == {
            "not one h1", "a level of headings is skipped", "a table without caption", "a th without scope",
        }  # fmt: skip
        assert one["reflow"] > 320
