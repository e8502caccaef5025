"""A terminal with colours, whatever the one outside says."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def colours(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
