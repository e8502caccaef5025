"""What else than a course a folder of ledgers may hold: a calibration round, or a trainee's season.

A frame is read as a course (`as_course`, `as_people`), so that sheets, locks, chains and merging are those of a course.
"""

from __future__ import annotations

from typing import Literal

from assess.records.round import Round
from assess.records.season import Season

__all__ = ["FRAMES", "FolderKind", "Frame"]

Frame = Round | Season
FolderKind = Literal["course", "round", "season"]
FRAMES: dict[FolderKind, type[Round] | type[Season]] = {"round": Round, "season": Season}
"""The kinds of frame, named like their file: `round` stands in `round.yaml`."""
