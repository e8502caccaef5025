"""The rubric is parsed once for all screen tests; every test has a course of its own."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def parsed_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(autouse=True)
def one_cache(own_folders: Path, parsed_once: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ASSESS_CACHE_DIR", str(parsed_once))
    monkeypatch.delenv("NO_COLOR", raising=False)
