"""Every test has its own state, data and runtime folders: nothing of the person's own is read or written.

What was read of a YAML file is kept from test to test under the digest of its bytes, as it is from one start of the
program to the next: the shipped rubrics are in nearly every course here, and reading one takes 50 ms. A test that asks
what the cache holds, or damages it, has a folder of its own (`own_cache`).
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from tests.sample.story import Story

# The matrices here are small: a second thread waits more than it works, and a worker may already run on each core.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# How long drawing or one example takes says how busy the machine is, nothing about the program.
settings.register_profile("house", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("house")


@pytest.fixture(scope="session", autouse=True)
def parsed_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The folder of what was read of YAML files; what a module or session makes has its other folders beside it."""
    folder = tmp_path_factory.mktemp("session")
    with pytest.MonkeyPatch.context() as patch:
        _set_folders(patch, folder, folder / "cache")
        yield folder / "cache"


@pytest.fixture(autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch, parsed_once: Path) -> Path:
    home = tmp_path_factory.mktemp("home")
    _set_folders(monkeypatch, home, parsed_once)
    return home


@pytest.fixture(scope="session")
def morning(tmp_path_factory: pytest.TempPathFactory) -> Story:
    """The sample course played to the end of the reserve morning: to look at; `again` gives a copy to go on with."""
    from tests.sample.story import Story

    story = Story(tmp_path_factory.mktemp("morning"))
    story.reserve_morning()
    return story


@pytest.fixture
def own_cache(own_folders: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of this test's own for what was read of YAML files."""
    folder = own_folders / "cache"
    monkeypatch.setenv("ASSESS_CACHE_DIR", str(folder))
    return folder


@pytest.fixture(scope="session")
def _stretched_once() -> Callable[[str, bytes], bytes]:
    from functools import cache

    from assess.store import key_files

    return cache(key_files._stretched)


@pytest.fixture
def known_passphrases(_stretched_once: Callable[[str, bytes], bytes], monkeypatch: pytest.MonkeyPatch) -> None:
    """What is made of a passphrase and a salt, on purpose slowly, is made once for each pair of them."""
    monkeypatch.setattr("assess.store.key_files._stretched", _stretched_once)


def _set_folders(patch: pytest.MonkeyPatch, home: Path, cache: Path) -> None:
    patch.setenv("ASSESS_STATE_DIR", str(home / "state"))
    patch.setenv("ASSESS_CACHE_DIR", str(cache))
    patch.setenv("ASSESS_DATA_DIR", str(home / "data"))
    patch.setenv("ASSESS_RUNTIME_DIR", str(home / "run"))
    patch.delenv("ASSESS_PASSPHRASE_FD", raising=False)
    patch.setenv("HOME", str(home))
