"""Every test has its own state, cache, data and runtime folders: nothing of the person's own is read or written."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings


@pytest.fixture(autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("ASSESS_STATE_DIR", str(home / "state"))
    monkeypatch.setenv("ASSESS_CACHE_DIR", str(home / "cache"))
    monkeypatch.setenv("ASSESS_DATA_DIR", str(home / "data"))
    monkeypatch.setenv("ASSESS_RUNTIME_DIR", str(home / "run"))
    monkeypatch.delenv("ASSESS_PASSPHRASE_FD", raising=False)
    monkeypatch.setenv("HOME", str(home))
    return home


# How long drawing or one example takes says how busy the machine is, nothing about the program.
settings.register_profile("house", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("house")
