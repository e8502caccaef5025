"""What differs between two rubrics, in plain words, and whether outcomes could change by it.

`could_change_outcomes` is False only where the marks, findings and moderated values already on
record would certainly give the same outcomes under both rubrics.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from assess.records.rubric import Rubric

__all__ = ["Change", "Group", "RubricDiff", "diff_rubrics"]

Group = Literal["wording", "rules", "structure"]
_Path = tuple[str, ...]

_GROUPS: tuple[Group, ...] = ("wording", "rules", "structure")
_FILE = ("id", "title", "activity", "language", "replaces", "note")
_ORDER = "(order)"

# Why a change can or cannot change outcomes, by the last column of _PARTS.
_WHY: Mapping[str, tuple[bool, str]] = {
    "file": (False, "it tells about the file; no rule reads it"),
    "words": (False, "the numbers stay; assessors may mark differently from now on"),
    "told": (False, "it explains; no rule reads it"),
    "noted": (False, "it says what must be noted, not what a mark counts"),
    "asked": (False, "marks already given stay; from now on something else is asked"),
    "later": (False, "outcomes of this course stay; coming again is ruled otherwise"),
    "order": (False, "only the order differs"),
    "values": (True, "the same marks can give other values"),
    "judged": (True, "the same values can be judged otherwise"),
    "near": (True, "others can be near the line"),
    "meeting": (True, "other slots can become due, and a value agreed there counts"),
    "breach": (True, "other acts can be a breach, or a breach can close other modules"),
    "counted": (True, "other marks can count, or count elsewhere"),
}

# Place with * for any name; group; words, {0} and {1} the names; why. A place that ends in a name or
# that may be absent as a whole is told as new or gone, with the words in front.
_PARTS: tuple[tuple[str, Group, str, str], ...] = (
    ("id", "wording", "id of the rubric", "file"),
    ("title", "wording", "title of the rubric", "file"),
    ("activity", "wording", "activity", "file"),
    ("language", "wording", "language", "file"),
    ("replaces", "wording", "rubric it replaces", "file"),
    ("note", "wording", "note", "file"),
    ("scale/min", "rules", "lowest level", "counted"),
    ("scale/max", "rules", "highest level", "counted"),
    ("scale/pass_line", "rules", "pass line", "judged"),
    ("scale/words/*", "wording", "scale, level {0}", "words"),
    ("areas/*/title", "wording", "area {0}, title", "words"),
    ("modules/*/area", "structure", "module {0}, area", "counted"),
    ("modules/*/tasks", "structure", "module {0}, tasks", "counted"),
    ("modules/*/title", "wording", "module {0}, title", "words"),
    ("tasks/*/area", "structure", "task {0}, area", "counted"),
    ("tasks/*/title", "wording", "task {0}, title", "words"),
    ("tasks/*/minutes", "structure", "task {0}, minutes", "asked"),
    ("tasks/*/criteria", "structure", "task {0}, criteria", "counted"),
    ("tasks/*/lesson", "structure", "task {0}, is a lesson", "counted"),
    ("tasks/*/learners", "structure", "task {0}, learners", "asked"),
    ("tasks/*/terrain/slope_deg", "structure", "task {0}, slope in degrees", "asked"),
    ("tasks/*/terrain/snow", "structure", "task {0}, snow", "asked"),
    ("tasks/*/terrain/features", "structure", "task {0}, ground", "asked"),
    ("tasks/*/plan_b", "wording", "task {0}, spare plan", "told"),
    ("criteria/*/area", "structure", "criterion {0}, area", "counted"),
    ("criteria/*/label", "wording", "criterion {0}, label", "words"),
    ("criteria/*/text", "wording", "criterion {0}, question", "words"),
    ("criteria/*/levels/*", "wording", "criterion {0}, level {1}", "words"),
    ("criteria/*/observable_from", "structure", "criterion {0}, can be seen from", "noted"),
    ("weights", "rules", "weights", "values"),
    ("weights/*", "rules", "weight of criterion {0}", "values"),
    ("coverage", "rules", "share of the weight that must have been seen", "values"),
    ("evidence_needed/below", "rules", "marks that need something seen, below", "noted"),
    ("evidence_needed/also", "rules", "levels that need something seen in any case", "noted"),
    ("rule", "rules", "kind of rule", "judged"),
    ("minimum/value", "rules", "minimum of a value", "judged"),
    ("minimum/over", "rules", "what the minimum is read on", "judged"),
    ("minimum/inclusive", "rules", "the minimum itself is enough", "judged"),
    ("below_line/*", "rules", "values allowed below the line in module {0}", "judged"),
    ("two_markers/sheet_apart", "rules", "two sheets are due for a meeting when more apart than", "meeting"),
    ("two_markers/other_side_of_line", "rules", "due when on different sides of the line", "meeting"),
    ("two_markers/criterion_apart", "rules", "due when one criterion is so far apart", "meeting"),
    ("band/z", "rules", "z of the band", "near"),
    ("band/sheet_error/*/value", "rules", "sheet_error of module {0}", "near"),
    ("band/sheet_error/*/source", "wording", "sheet_error of module {0}, source", "told"),
    ("band/sheet_error/*/date", "wording", "sheet_error of module {0}, date", "told"),
    ("band/sheet_error/*/n_pairs", "wording", "sheet_error of module {0}, pairs", "told"),
    ("band/sheet_error/*/ci95", "wording", "sheet_error of module {0}, interval", "told"),
    ("third_look/slot_value", "rules", "how a third sheet joins", "values"),
    ("third_look/median_if_apart", "rules", "median when two sheets are more apart than", "values"),
    ("third_look/after", "rules", "after a third look", "judged"),
    ("minimum_evidence/scores", "rules", "least marks on a criterion", "judged"),
    ("minimum_evidence/viewpoints", "rules", "least viewpoints of a criterion", "judged"),
    ("minimum_evidence/tasks", "rules", "least tasks of a criterion", "judged"),
    ("runs/*", "rules", "runs of task {0}", "values"),
    ("passes/*", "rules", "how the runs of task {0} become one mark", "values"),
    ("rerun_reasons", "rules", "reasons for another run", "asked"),
    ("must_nots/*/text", "rules", "must-not {0}", "breach"),
    ("must_nots/*/closes", "rules", "must-not {0} closes", "breach"),
    ("breach/standard", "rules", "standard before a breach is confirmed", "breach"),
    ("breach/confirmer_not", "rules", "who may not confirm a breach", "breach"),
    ("resit/within_months", "rules", "resit, within months", "later"),
    ("resit/max_tries", "rules", "resit, tries at most", "later"),
    ("resit/new_assessors_at_least", "rules", "resit, new assessors at least", "later"),
    ("resit/carried_months", "rules", "resit, months a passed module is carried", "later"),
    ("safety_list/*/text", "wording", "safety list item {0}", "noted"),
    ("questions/*/text", "wording", "question {0}", "noted"),
    ("*/(order)", "structure", "order of {0}", "order"),
)
_THINGS: tuple[tuple[str, Group, str, str], ...] = (
    ("areas/*", "structure", "area {0}", "counted"),
    ("modules/*", "structure", "module {0}", "counted"),
    ("tasks/*", "structure", "task {0}", "counted"),
    ("tasks/*/terrain", "structure", "the terrain of task {0}", "asked"),
    ("criteria/*", "structure", "criterion {0}", "counted"),
    ("minimum", "rules", "the minimum", "judged"),
    ("band", "rules", "the band", "near"),
    ("band/sheet_error/*", "rules", "the sheet_error of module {0}", "near"),
    ("must_nots/*", "rules", "must-not {0}", "breach"),
    ("breach", "rules", "the breach standard", "breach"),
    ("resit", "rules", "the resit", "later"),
    ("safety_list/*", "structure", "safety list item {0}", "noted"),
    ("questions/*", "structure", "question {0}", "noted"),
)


@dataclass(frozen=True, slots=True)
class Change:
    """One difference. `path`: its dotted place; `areas`: whose marks it concerns, none for lines about the file."""

    path: str
    group: Group
    areas: tuple[str, ...]
    text: str
    could_change_outcomes: bool
    why: str


@dataclass(frozen=True, slots=True)
class RubricDiff:
    """Every difference between two rubrics: wording first, then rules, then structure, each in file order.

    old, new: the ids. all_areas: the areas of both. False in a condition when nothing differs.
    """

    old: str
    new: str
    all_areas: tuple[str, ...]
    changes: tuple[Change, ...]

    def __bool__(self) -> bool:
        return bool(self.changes)

    @property
    def could_change_outcomes(self) -> bool:
        """True when one of the differences could give another outcome for the same marks."""
        return any(change.could_change_outcomes for change in self.changes)

    @property
    def areas(self) -> tuple[str, ...]:
        """The areas at least one difference concerns."""
        return tuple(area for area in self.all_areas if self.of_area(area))

    def of_group(self, group: Group) -> tuple[Change, ...]:
        """The differences of one group."""
        return tuple(change for change in self.changes if change.group == group)

    def of_area(self, area: str) -> tuple[Change, ...]:
        """The differences that concern an area, those of the whole rubric included."""
        return tuple(change for change in self.changes if area in change.areas)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What the differences come to, most important first."""
        touched, other = self.areas, [area for area in self.all_areas if area not in self.areas]
        told = f"Touched: {', '.join(touched)}." + (f" Not touched: {', '.join(other)}." if other else "")
        return (self._verdict(), told) if touched else (self._verdict(),)

    def _verdict(self) -> str:
        if not self.changes:
            return "Nothing differs."
        if all(change.path in _FILE for change in self.changes):
            return "Only lines about the file itself differ: no mark and no outcome is touched."
        if self.could_change_outcomes:
            able = sum(change.could_change_outcomes for change in self.changes)
            of_all = f"{able} of {len(self.changes)} differences can do that"
            return f"Marks already given could lead to other outcomes: {of_all}."
        if all(change.group == "wording" for change in self.changes):
            same = "the numbers of marks already given would lead to the same outcomes"
            return f"Wording only: {same}; assessors may mark differently."
        return "Marks already given would lead to the same outcomes; what is asked, noted or offered changes."


def diff_rubrics(old: Rubric, new: Rubric) -> RubricDiff:
    """Every difference between two rubrics; no changes exactly when they are equal."""
    before, after = dict(_leaves(old)), dict(_leaves(new))
    paths: dict[_Path, None] = {}
    for path in (*before, *after):
        if before.get(path) != after.get(path):
            there = after if path in before else before
            paths.setdefault(path if path in before and path in after else _thing(path, there))
    changes = [*(_change(path, before, after, old, new) for path in paths), *_weights(old, new), *_orders(old, new)]
    areas = tuple(dict.fromkeys((*old.areas, *new.areas)))
    parts = list(type(old).model_fields)
    changes.sort(key=lambda change: (_GROUPS.index(change.group), parts.index(change.path.split(".")[0])))
    return RubricDiff(old.id, new.id, areas, tuple(changes))


def _leaves(value: Any, path: _Path = ()) -> Iterator[tuple[_Path, Any]]:
    """Every written value with its place, weights apart; parts left out (None) have none."""
    fields = getattr(type(value), "model_fields", None)
    if path == ("weights",) or value is None:
        return
    if fields is not None:
        for name in fields:
            yield from _leaves(getattr(value, name), (*path, name))
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _leaves(item, (*path, str(key)))
    elif isinstance(value, tuple) and value and hasattr(value[0], "id"):
        for key, item in _by_id(value).items():
            yield from (leaf for leaf in _leaves(item, (*path, key)) if leaf[0][-1] != "id")
    elif not (value == () and path in _LISTS):
        yield path, value


_LISTS = (("must_nots",), ("safety_list",), ("questions",))


def _by_id(items: tuple[Any, ...]) -> dict[str, Any]:
    """Items by their id; by their number where two have the same."""
    ids = [item.id for item in items]
    twice = len(set(ids)) < len(ids)
    return {f"{at + 1} ({item.id})" if twice else item.id: item for at, item in enumerate(items)}


def _thing(path: _Path, others: Mapping[_Path, Any]) -> _Path:
    """The largest thing of _THINGS around a path that the other rubric does not have at all, or the path itself."""
    for length in range(1, len(path)):
        part = path[:length]
        if _described(part, _THINGS) and not any(other[:length] == part for other in others):
            return part
    return path


def _described(path: _Path, table: tuple[tuple[str, Group, str, str], ...]) -> tuple[Group, str, str] | None:
    for place, group, words, why in table:
        parts = place.split("/")
        if len(parts) == len(path) and all(part in ("*", name) for part, name in zip(parts, path, strict=True)):
            names = [name for part, name in zip(parts, path, strict=True) if part == "*"]
            return group, words.format(*names), why
    return None


def _change(path: _Path, before: Mapping[_Path, Any], after: Mapping[_Path, Any], old: Rubric, new: Rubric) -> Change:
    thing = _described(path, _THINGS) if path not in before and path not in after else None
    # A place without words of its own is told by its path and held able to change outcomes.
    group, words, why = thing or _described(path, _PARTS) or ("structure", ".".join(path), "counted")
    if thing:
        gone = any(other[: len(path)] == path for other in before)
        text = f"{words} is {'gone' if gone else 'new'}{_named(path, before if gone else after, gone=gone)}"
    else:
        was, now = before.get(path), after.get(path)
        text = f"{words}: was {_shown(was, group, path[-1])}, is now {_shown(now, group, path[-1])}"
        if isinstance(was, tuple) and isinstance(now, tuple) and path[-1] != "ci95" and sorted(was) == sorted(now):
            why = "order"
    return Change(".".join(path), group, _areas_of(path, old, new), text, *_WHY[why])


def _named(path: _Path, leaves: Mapping[_Path, Any], *, gone: bool) -> str:
    name = next((leaves[(*path, key)] for key in ("title", "label", "text") if leaves.get((*path, key))), None)
    return "" if name is None else f': {"it was " if gone else ""}"{name}"'


def _weights(old: Rubric, new: Rubric) -> list[Change]:
    """A change for every criterion that weighs otherwise; one without areas when only the writing differs."""
    if old.weights == new.weights:
        return []
    written = {name for rubric in (old, new) if isinstance(rubric.weights, dict) for name in rubric.weights}
    names = dict.fromkeys((*old.criteria, *new.criteria, *sorted(written)))
    paths = {("weights", name): (old.weight(name), new.weight(name)) for name in names}
    found = [_change(path, {path: was}, {path: now}, old, new) for path, (was, now) in paths.items() if was != now]
    text = "weights: written in another way, every criterion weighs what it did"
    return found or [Change("weights", "rules", (), text, *_WHY["file"])]


def _orders(old: Rubric, new: Rubric) -> list[Change]:
    """A change for every list with ids whose common items stand in another order."""
    found = []
    for name in ("must_nots", "safety_list", "questions"):
        was, now = (tuple(item.id for item in getattr(rubric, name)) for rubric in (old, new))
        kept = tuple(item for item in was if item in now), tuple(item for item in now if item in was)
        if kept[0] != kept[1]:
            path = (name, _ORDER)
            found.append(_change(path, {path: kept[0]}, {path: kept[1]}, old, new))
    return found


def _areas_of(path: _Path, old: Rubric, new: Rubric) -> tuple[str, ...]:
    """The areas a place concerns in either rubric, in their order; none for lines about the file."""
    known = dict.fromkeys((*old.areas, *new.areas))
    if path[0] in _FILE:
        return ()
    named = {area for rubric in (old, new) for area in _areas_named(path, rubric)}
    return tuple(area for area in known if area in named) + tuple(sorted(named - known.keys())) or tuple(known)


def _areas_named(path: _Path, rubric: Rubric) -> Iterator[str]:
    """The areas a place of one rubric belongs to; nothing where it concerns all of them."""
    first, name = path[0], path[-1] if path[0] == "below_line" else next(iter(path[1:]), "")
    modules = [path[2]] if path[:2] == ("band", "sheet_error") else [name] if first in ("modules", "below_line") else []
    if first == "must_nots":
        modules = [module for key, rule in _by_id(rubric.must_nots).items() for module in rule.closes if key == name]
    if first == "areas":
        yield name
    elif first in ("criteria", "weights") and name in rubric.criteria:
        yield rubric.criteria[name].area
    elif first in ("tasks", "runs", "passes") and name in rubric.tasks:
        yield rubric.tasks[name].area
    elif first in ("safety_list", "questions"):
        yield from (task.area for task in rubric.tasks.values() if task.lesson)
    yield from (rubric.modules[module].area for module in modules if module in rubric.modules)


def _shown(value: Any, group: Group, name: str = "") -> str:
    if value is None or value == ():
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Fraction):
        return f"{float(value):.12g}"
    if isinstance(value, tuple):
        between = {"slope_deg": "-", "ci95": " to "}.get(name, ", ")
        return between.join(_shown(item, "rules") for item in value)
    if isinstance(value, str):
        return f'"{value}"' if group == "wording" or " " in value or not value else value
    return str(value)
