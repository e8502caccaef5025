"""Practice at judging: a written lesson unfolds; one names what one sees, then sees what the panel holds, with reasons.

What is kept is for whoever practises. It is no mark and enters no decision.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.records.errors import Refusal, UsageError

if TYPE_CHECKING:
    from assess.records.catalogue import Catalogue
    from assess.records.practice import Lesson, Scenario

__all__ = [
    "Answer", "Judged", "PracticeLesson", "attempts_of", "chosen_lesson", "history_of", "improvement", "judge",
    "judged_and_kept", "judged_lines", "next_lesson", "practice_lessons",
]  # fmt: skip


@dataclass(frozen=True)
class PracticeLesson:
    """A written lesson with whoever is taught and where, and what it is read with."""

    lesson: Lesson
    scenario: Scenario
    catalogue: Catalogue

    @property
    def unfolding(self) -> tuple[tuple[float, str], ...]:
        """(minute, what happens) in its order; drills by their names."""
        names = {drill.id: drill.name for drill in self.catalogue.drills}
        told = []
        for event in self.lesson.events:
            what = f"{event.do}: {names.get(event.ref, event.ref)}" if event.ref else event.do
            told.append((float(event.t), f"{what}, {event.note}" if event.note else what))
        return tuple(told)

    def choices(self, what: str) -> dict[str, str]:
        """Id -> name of what can be answered: `faults` (and causes outside technique), `drills`, `hazards`."""
        if what == "drills":
            return {drill.id: drill.name for drill in self.catalogue.drills}
        if what == "hazards":
            return {hazard.id: hazard.id.replace("-", " ") for hazard in self.scenario.hazards}
        faults = {fault.id: fault.words for fault in self.catalogue.faults}
        return {**faults, **{cause.id: cause.words for cause in self.catalogue.non_technique_roots}}

    @property
    def scene(self) -> tuple[str, ...]:
        """Who is taught, what for and where, before anything happens."""
        who, place = self.scenario.learner, self.scenario.conditions
        declared = (f"says: {who.declared}",) if who.declared else ()
        return (
            self.scenario.title,
            f"{who.name}, {who.age}, ability {who.ability:g} of 10, {who.days_on_snow} days; {who.mood}",
            f"wants: {who.goal}",
            *declared,
            f"{self.scenario.place}: {place.slope:g} degrees, {place.snow}, {place.vis}, wind {place.wind}, "
            f"{place.temp_c:g} C, traffic {place.traffic}",
        )


@dataclass(frozen=True)
class Answer:
    """What somebody saw: causes ruled out, faults named in order of weight, drills they would take, hazards."""

    ruled_out: tuple[str, ...] = ()
    named: tuple[str, ...] = ()
    drills: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()


@dataclass(frozen=True)
class Judged:
    """An answer beside the panel's reference. score, chance: of the names, 0 to 1; None when they cannot be read."""

    lesson: str
    score: float | None
    chance: float | None
    found: float | None
    why: tuple[str, ...]
    reference: tuple[str, ...]
    drills: tuple[tuple[str, str], ...]
    hazards_missed: tuple[str, ...]
    hazards_share: float | None


def practice_lessons(files: Sequence[Path]) -> tuple[PracticeLesson, ...]:
    """Every lesson of these files, or of the shipped ones. Raises InputError for what cannot be used."""
    from assess.store.practice_file import catalogue_for, read_practice
    from assess.store.shipped import shipped

    paths = list(files) or sorted((shipped("sample_sessions") / "practice").glob("*.yaml"))
    told: list[PracticeLesson] = []
    for path in paths:
        practice = read_practice(path).practice
        catalogue = catalogue_for(practice, path.resolve(), shipped("rubrics")).catalogue
        told += (PracticeLesson(lesson, item, catalogue) for item in practice.scenarios for lesson in item.lessons)
    return tuple(told)


def next_lesson(lessons: Sequence[PracticeLesson], attempts: Sequence[dict[str, Any]]) -> PracticeLesson:
    """The lesson not seen for longest; those never seen first, in their order. Raises Refusal without a lesson."""
    if not lessons:
        raise Refusal("there is no lesson to practise with", todo="name a file of written lessons")
    last = {str(item["lesson"]): str(item["at"]) for item in attempts}
    return min(lessons, key=lambda item: last.get(item.lesson.id, ""))


def judge(item: PracticeLesson, answer: Answer) -> Judged:
    """The answer read like a candidate's diagnosis, beside the panel's reference.

    Raises UsageError for a name the catalogue or the lesson does not have, or one that is named and ruled out.
    """
    from assess.lesson.diagnosis import read_diagnosis
    from assess.lesson.guessing import guess_for
    from assess.records.practice import Named

    _known(item, answer)
    target = item.scenario.reference.target_learner
    names = [Named(fault=name, role="ruled_out", learner=target.id) for name in answer.ruled_out]
    names += [Named(fault=name, role="root", learner=target.id) for name in answer.named]
    read = read_diagnosis(tuple(names), target, item.catalogue, guess=guess_for(target, (), item.catalogue))
    hazards = {hazard.id: hazard.w for hazard in item.scenario.hazards}
    seen = sum(weight for name, weight in hazards.items() if name in answer.hazards)
    whole = sum(hazards.values())
    return Judged(
        lesson=item.lesson.id, score=read.score, chance=read.chance_mean, found=read.recall, why=read.why,
        reference=_reference(item), drills=tuple((name, _treats(item, name)) for name in answer.drills),
        hazards_missed=tuple(name for name in hazards if name not in answer.hazards),
        hazards_share=seen / whole if whole else None,
    )  # fmt: skip


def _known(item: PracticeLesson, answer: Answer) -> None:
    faults = set(item.catalogue.names)
    wrong = [name for name in (*answer.ruled_out, *answer.named) if name not in faults]
    wrong += [name for name in answer.drills if name not in item.catalogue.drill_by_id]
    wrong += [name for name in answer.hazards if name not in {hazard.id for hazard in item.scenario.hazards}]
    if wrong:
        raise UsageError(f"{', '.join(wrong)}: not in the catalogue, or no hazard of this lesson", todo="see --names")
    both = sorted(set(answer.ruled_out) & set(answer.named))
    if both:
        raise UsageError(f"{', '.join(both)} is named and ruled out", todo="decide for one of them")


def _reference(item: PracticeLesson) -> tuple[str, ...]:
    target = item.scenario.reference.target_learner
    words = item.choices("faults")
    told = [f"{words.get(root.id, root.id)} ({root.w:g} of what matters)" for root in target.roots]
    told += [" -> ".join(words.get(name, name) for name in chain) for chain in target.chains]
    told += [f"would make it worse to treat: {words.get(name, name)}" for name in target.harmful]
    return tuple(told) or ("nothing to treat: this learner needs time, not a drill",)


def _treats(item: PracticeLesson, name: str) -> str:
    drill, target = item.catalogue.drill_by_id[name], item.scenario.reference.target_learner
    mattering = {root.id for root in target.roots} | {fault for chain in target.chains for fault in chain}
    hit = [fault for fault in (*drill.addresses, *drill.supports) if fault in mattering]
    low, high = drill.slope
    if not low <= item.scenario.conditions.slope <= high:
        return f"works on {low:g} to {high:g} degrees, here it is {item.scenario.conditions.slope:g}"
    return f"treats {', '.join(hit)}" if hit else "treats nothing that matters here"


def improvement(attempts: Sequence[dict[str, Any]]) -> str:
    """Whether one gets further beyond chance from lesson to lesson, as a sentence with its interval.

    Only first attempts of a lesson count: whoever sees one again remembers the answer.
    """
    from assess.lesson.self_assessment import gap_trend

    first: dict[str, dict[str, Any]] = {}
    for item in attempts:
        if item.get("score") is not None and item.get("chance") is not None:
            first.setdefault(str(item["lesson"]), item)
    gains = [float(item["score"]) - float(item["chance"]) for item in first.values()]
    # One lesson stands for 30 days here: the slope is told per lesson.
    trend = gap_trend([30.0 * number for number in range(len(gains))], gains)
    if trend.per_month is None or trend.ci95 is None:
        seen = "1 lesson" if trend.n == 1 else f"{trend.n} lessons"
        return f"{seen} seen for the first time: too few to say whether your diagnosis improves"
    low, high = trend.ci95
    between = f"{trend.per_month:+.3f} a lesson beyond chance, {low:+.3f} to {high:+.3f}, {trend.n} lessons"
    if low > 0:
        return f"your diagnosis improves ({between})"
    return f"your diagnosis gets worse ({between})" if high < 0 else f"no direction is shown yet ({between})"


def attempts_of(who: str) -> list[dict[str, Any]]:
    """Every attempt of a person on this device, oldest first."""
    from assess.store.practice_results import results_of

    return results_of(_person(who))


def _person(who: str) -> str:
    from assess.records.ids import is_short_id

    if not is_short_id(who):
        raise UsageError(f"{who[:40]} is no id", todo="letters, digits and `-`, at most 16")
    return who


def chosen_lesson(files: Sequence[Path], who: str, lesson: str | None) -> PracticeLesson:
    """The lesson asked for, or the one this person has not seen for longest. Raises UsageError for an unknown id."""
    found = practice_lessons(files)
    if lesson is None:
        return next_lesson(found, attempts_of(who))
    item = next((item for item in found if item.lesson.id == lesson), None)
    if item is None:
        raise UsageError(
            f"there is no lesson {lesson[:40]}", todo=f"one of {', '.join(i.lesson.id for i in found[:8])} ..."
        )
    return item


def judged_and_kept(item: PracticeLesson, answer: Answer, who: str) -> Judged:
    """Judge an answer and keep the attempt on this device. Raises StorageTrouble when it is not kept."""
    from assess.records.times import instant
    from assess.store.clock import Clock
    from assess.store.practice_results import add_result

    found = judge(item, answer)
    attempt = {
        "lesson": found.lesson, "at": instant(Clock().now_ms()), "score": found.score, "chance": found.chance,
        "found": found.found, "hazards_share": found.hazards_share, "named": list(answer.named),
        "ruled_out": list(answer.ruled_out), "drills": list(answer.drills), "hazards": list(answer.hazards),
    }  # fmt: skip
    add_result(_person(who), attempt)
    return found


def judged_lines(found: Judged, item: PracticeLesson) -> Iterator[str]:
    """How it was read, what the panel holds, what the drills treat, which dangers were missed: a line each."""
    if found.score is None:
        yield "nothing was named, so nothing is read"
    else:
        chance = f"; how a guess would do {found.chance:.2f}" if found.chance is not None else ""
        recall = f"{found.found:.2f}" if found.found is not None else "not told"
        yield f"your names: {found.score:.2f} of 1{chance}; found, of what mattered {recall}"
    yield from (f"  {line}" for line in found.why)
    yield "the panel holds:"
    yield from (f"  {line}" for line in found.reference)
    drills, dangers = item.choices("drills"), item.choices("hazards")
    yield from (f"your drill {drills[name]}: {what}" for name, what in found.drills)
    if found.hazards_share is not None:
        names = ", ".join(dangers[name] for name in found.hazards_missed)
        missed = f", missed: {names}" if names else ", none missed"
        yield f"hazards seen, by weight: {100 * found.hazards_share:.0f} of 100{missed}"


def history_of(who: str) -> tuple[str, ...]:
    """A line for each attempt, then whether the diagnosis improves beyond chance."""
    attempts = attempts_of(who)
    lines = [
        f"{item['at'][:10]}  {item['lesson']:<16}"
        + ("nothing named" if item.get("score") is None else f"{item['score']:.2f}, a guess {item['chance'] or 0:.2f}")
        for item in attempts
    ]
    return (*lines, improvement(attempts))
