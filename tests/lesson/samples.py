"""The shipped catalogue and practice lessons, read once, and copies of a lesson with something changed."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from assess.lesson.drill_fit import Aims, fitted
from assess.lesson.results import FittedDrill
from assess.lesson.technique import technique
from assess.records.catalogue import Catalogue
from assess.records.practice import GivenDrill, LearnerReference, Lesson, LessonSafety, Named, Scenario, TimeSplit
from assess.store.catalogue_folder import load_catalogue
from assess.store.practice_file import read_practice
from tests.courses import ROOT

__all__ = [
    "ABILITY", "PRACTICE", "catalogue", "changed", "fit_of", "given", "learner", "lesson", "named", "safety",
    "scenario", "scenarios", "split", "with_parts",
]  # fmt: skip

PRACTICE = ROOT / "sample_sessions" / "practice" / "alpine-ski.yaml"
ABILITY = 5.0


@lru_cache
def catalogue() -> Catalogue:
    return load_catalogue(ROOT / "rubrics" / "alpine-ski" / "catalogue").catalogue


@lru_cache
def scenarios() -> tuple[Scenario, ...]:
    return read_practice(PRACTICE).practice.scenarios


def scenario(name: str) -> Scenario:
    """`S3`, or the scenario of a lesson: `S3-good`."""
    return next(item for item in scenarios() if item.id == name.partition("-")[0])


def lesson(name: str) -> Lesson:
    return next(item for item in scenario(name).lessons if item.id == name)


def learner(name: str) -> LearnerReference:
    return scenario(name).reference.target_learner


def changed(name: str, **changes: Any) -> Lesson:
    """The lesson with whole fields replaced, checked again."""
    return Lesson.model_validate({**dict(lesson(name)), **changes})


def given(drill: str, slope: float, snow: str = "packed", n: float = 100, **more: Any) -> GivenDrill:
    """A drill done in full: shown, checked, with specific feedback; `n` is cut to the largest dose."""
    entry = catalogue().drill_by_id.get(drill)
    values = {
        "id": drill, "slope": float(slope), "snow": snow, "n": float(min(n, entry.dose.max) if entry else n),
        "practice_min": None, "demo": True, "fb": "specific", "check": True, "success": None, "tired": None, **more,
    }  # fmt: skip
    return GivenDrill.model_validate(values)


def named(*names: str, learner: str, role: str = "root") -> tuple[Named, ...]:
    return tuple(Named.model_validate({"fault": name, "role": role, "learner": learner}) for name in names)


def safety(**states: str) -> LessonSafety:
    """Everything done, but for `states` (`look_up="missed"`)."""
    items = dict.fromkeys(LessonSafety.model_fields, "done")
    return LessonSafety.model_validate({**items, **states})


def split(talk: float, practise: float, wait: float, lift: float) -> TimeSplit:
    return TimeSplit.model_validate(
        {"talk": float(talk), "practise": float(practise), "wait": float(wait), "lift": float(lift)}
    )


def with_parts(**parts: Any) -> Catalogue:
    """The shipped catalogue with whole parts replaced (`drills`, `settings`), put together anew."""
    return Catalogue(**{name: parts.get(name, getattr(catalogue(), name)) for name in Catalogue.model_fields})


def fit_of(one: GivenDrill, aims: Aims, *before: GivenDrill, using: Catalogue | None = None) -> FittedDrill:
    """The fit of a drill done after `before`."""
    known = using or catalogue()
    done = technique((*before, one), aims.ability, known).drills
    return fitted(done[-1], aims, known)
