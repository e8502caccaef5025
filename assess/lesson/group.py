"""What a lesson did for a whole group, beside the reading of the one learner."""

from __future__ import annotations

from assess.lesson.credit import names_for
from assess.lesson.results import GroupReading
from assess.records.catalogue import Catalogue
from assess.records.practice import Lesson, Scenario

__all__ = ["read_attention", "read_group"]


def read_group(lesson: Lesson, scenario: Scenario, catalogue: Catalogue) -> GroupReading | None:
    """Whether the group's target was found, and how many learners were seen alone, spoken to and improved.

    The target is found when it is among the names that count for any one learner. None for a single learner.
    """
    return read_attention(lesson, scenario.learner.group, catalogue, scenario.reference.group_target)


def read_attention(lesson: Lesson, size: int, catalogue: Catalogue, target: str | None = None) -> GroupReading | None:
    """The same for `size` learners, with the fault the whole group needs treated, where a panel named one."""
    if size < 2 and target is None:
        return None
    learners = dict.fromkeys(name.learner for name in lesson.named)
    said = {name for learner in learners for name in names_for(lesson.named, learner, catalogue.settings).counted}
    found = None if target is None else target in said
    seen = lesson.group
    counts = tuple(len(set(ids)) for ids in (seen.seen_alone, seen.spoken_to, seen.improved)) if seen else (None,) * 3
    why = []
    if target is None:
        why.append("the panel gave this group no target of its own")
    else:
        how = "was named" if found else "was not named for anybody; naming it would have counted as found"
        why.append(f"what the whole group needs, {catalogue.words(target)}, {how}")
    if seen is None:
        why.append("who was seen alone, spoken to and improved was not recorded")
    else:
        why.append(f"of {size} learners {counts[0]} seen alone, {counts[1]} spoken to, {counts[2]} improved")
    return GroupReading(target, found, size, counts[0], counts[1], counts[2], tuple(why))
