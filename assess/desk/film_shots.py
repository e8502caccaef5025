"""What to film, before a lesson (common practice): a film without the learner at both ends shows no change."""

from __future__ import annotations

__all__ = ["SHOTS"]

SHOTS = (
    "# Before the lesson",
    "Ask everybody who will be seen, a guardian for a child; write down what was agreed (`consents` in people.yaml).",
    "Somebody holds the phone: sideways, sound on, wind at the back. Note place, slope and snow.",
    "# Film, in this order",
    "1  the learner's first six turns, all of the learner in view",
    "2  each task as you explain it, with what you say",
    "3  the learner during each task: the learner, and not you",
    "4  the learner's last six turns: the same place, the same side, the same distance",
    "# After the lesson",
    "Say into the film what you think the fault was, before you look at anything.",
)
"""Lines, headings with `#`."""
