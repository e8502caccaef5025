"""Property tests are judged by what they find, not by the clock of the machine they run on."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
