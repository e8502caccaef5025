"""How often a written rule passes who should not and refuses who should pass, and what that costs in markings.

Seeded courses like the sample one: 10 candidates, 4 assessors in pairs that change from task to task, 6 tasks of 4
criteria, levels 1 to 6, the line at 3.5, the sample rubric's own rules. A candidate's true value in a module is what
no end of tasks and assessors would give. A mark is that, plus what the candidate is better by in this task and on this
criterion of it, plus the assessor's severity, the sheet's halo and the error of the mark, rounded to a level. All ways
to decide see the same performances and the same marks, so that they differ by the way alone. Outcomes come from the
rules of `assess.marking` themselves. Variances as found in the sample course: candidate x task .20, error of a sheet
value about .48 and of a score about .63, severity included.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache

import numpy as np

from assess.agreement.rater_chance import patterns_of
from assess.agreement.rater_partners import partners_of
from assess.agreement.rater_slopes import severity
from assess.agreement.scores import Floats, Ints
from assess.agreement.sheets import MarkedSheet, sheets_of
from assess.marking.case import ModuleCase, SlotCase
from assess.marking.reach import decide
from assess.marking.results import EntryRef, Mark, Sheet
from assess.marking.rule import module_rule
from assess.marking.values import CountedSheet, counted_sheets
from assess.records.rubric import Rubric
from tests.marking.sample import MODULES, TASKS, sample_rules

__all__ = ["Course", "Rates", "Way", "drawn", "passes", "rows", "simulated", "ways"]

CANDIDATES, LINE, NEAR = 10, 3.5, 0.25
MEAN, COMMON, MODULE, TASK, CRITERION = 3.9, 0.5, 0.35, 0.20**0.5, 0.2
SEVERITY, HALO, ERROR = 0.3, 0.3, 0.38
PAIRS = {"T1": "01", "T6": "01", "T2": "02", "T4": "02", "T3": "03", "T5": "03"}
"""Of every task the assessors of its first pair; the others are its second."""
NAMES = ("A1", "A2", "A3", "A4")


@dataclass(frozen=True, eq=False)
class Course:
    """true: (candidates, modules). levels: (performances, candidates, assessors, criteria); the second half of the
    performances are the tasks once more. seats: (performances, candidates, 4), who marks first, second, ...
    """

    true: Floats
    levels: Ints
    seats: Ints

    @property
    def severity(self) -> Floats:
        """Least squares on the sheet values of both first markers, in levels; the program's own."""
        made = [
            MarkedSheet(f"C{c}", task, NAMES[a], (1.0,), float(self.levels[t, c, a].mean()))
            for t, task in enumerate(TASKS)
            for c in range(CANDIDATES)
            for a in self.seats[t, c, :2]
        ]
        question = severity(partners_of(sheets_of(made, (1.0,))))
        return np.asarray(question.numbers(patterns_of(question).total())[0, 0])


def drawn(number: int) -> Course:
    """Course `number`."""
    rng = np.random.default_rng([number, 7])
    modules, tasks = list(MODULES), 2 * list(TASKS)
    true = MEAN + rng.normal(0, COMMON, (CANDIDATES, 1)) + rng.normal(0, MODULE, (CANDIDATES, len(modules)))
    of_task = [next(i for i, held in enumerate(MODULES.values()) if task in held) for task in tasks]
    shape = (len(tasks), CANDIDATES, len(NAMES), 4)
    own = true[:, of_task].T[:, :, None, None] + rng.normal(0, TASK, (*shape[:2], 1, 1))
    own = own + rng.normal(0, CRITERION, (*shape[:2], 1, 4)) + rng.normal(0, SEVERITY, (len(NAMES), 1))
    sheet = own + rng.normal(0, HALO, (*shape[:3], 1))
    levels = np.clip(np.rint(sheet + rng.normal(0, ERROR, shape)), 1, 6).astype(np.int64)
    seats = np.stack([_seated(rng, task) for task in tasks])
    return Course(true, levels, seats)


def _seated(rng: np.random.Generator, task: str) -> Ints:
    """Half of the candidates with each pair of the task; who of the pair is first, and who comes third, by chance."""
    first = [int(a) for a in PAIRS[task]]
    pairs = [first, [a for a in range(4) if a not in first]]
    mine = rng.permutation(np.repeat([0, 1], CANDIDATES // 2))
    return np.array([[*rng.permutation(pairs[p]), *rng.permutation(pairs[1 - p])] for p in mine])


@dataclass(frozen=True)
class Way:
    """A way to decide. rules: of the rubric. markers: of every task. look: a third look where the rules ask for it.

    twice: every task is done twice. adjusted: the estimated severity is taken out of every mark.
    """

    name: str
    rules: Rubric
    markers: int
    look: bool = False
    twice: bool = False
    adjusted: bool = False


@cache
def ways() -> tuple[Way, ...]:
    """By the mean alone, then by the whole written rule; the band is read only where a third look may follow."""
    whole = sample_rules()
    mean = whole.model_copy(update={"rule": "compensatory"})
    made: list[Way] = []
    for named, rules in (("mean", mean), ("rule", whole)):
        plain = rules.model_copy(update={"band": None})
        made += [
            Way(f"{named}: one assessor", plain, 1),
            Way(f"{named}: two", plain, 2),
            Way(f"{named}: two, third looks", rules, 2, look=True),
            Way(f"{named}: three for everybody", plain, 3),
            Way(f"{named}: two, severity taken out", plain, 2, adjusted=True),
            Way(f"{named}: one, twice the performances", plain, 1, twice=True),
        ]
    return tuple(made)


def passes(way: Way, course: Course, candidate: int, module: str, taken: Sequence[Fraction]) -> tuple[bool, int]:
    """Whether this way passes the candidate in the module, and how many sheets it took.

    taken: what is taken out of each assessor's marks. A difference that is due for moderation is kept as it is.
    """
    case = _case(way, course, candidate, module, 0)
    rule = module_rule(way.rules, module)
    sheets = _read(case, way, taken)
    found = decide(sheets, case, rule)
    if way.look and found.outcome == "third_look":
        case = _case(way, course, candidate, module, 1)
        sheets = _read(case, way, taken)
        found = decide(sheets, case, rule)
    elif found.outcome == "third_look":
        # Without a band this is one value alone that fails: nobody looks again, so that it is not passed.
        return False, len(sheets)
    return found.outcome == "passed", len(sheets)


def _case(way: Way, course: Course, candidate: int, module: str, third: int) -> ModuleCase:
    names = list(TASKS)
    slots = []
    for task in MODULES[module]:
        for again in range(2 if way.twice else 1):
            at = names.index(task) + again * len(names)
            seats = [int(a) for a in course.seats[at, candidate]]
            slot = task if again == 0 else f"{task}-2"
            made = [_sheet(course, at, slot, task, candidate, a) for a in seats[: way.markers + third]]
            slots.append(
                SlotCase(
                    slot, f"C{candidate}", tuple(s.assessor for s in made[: way.markers]),
                    sheets=tuple(made[: way.markers]), third=tuple(made[way.markers :]),
                )
            )  # fmt: skip
    return ModuleCase(way.rules, module, f"C{candidate}", tuple(slots), third_look="closed" if third else "none")


def _sheet(course: Course, at: int, slot: str, task: str, candidate: int, assessor: int) -> Sheet:
    marks = tuple(
        Mark(criterion, "scored", int(level), None, 1, EntryRef("simulated", n), "")
        for n, (criterion, level) in enumerate(
            zip(TASKS[task], course.levels[at, candidate, assessor], strict=True), start=1
        )
    )
    return Sheet(slot, f"C{candidate}", NAMES[assessor], "", marks=marks, locked=True)


def _read(case: ModuleCase, way: Way, taken: Sequence[Fraction]) -> list[CountedSheet]:
    sheets = list(counted_sheets(case))
    if not way.adjusted:
        return sheets
    return [_without(sheet, taken[NAMES.index(sheet.assessor)]) for sheet in sheets]


def _without(sheet: CountedSheet, more: Fraction) -> CountedSheet:
    levels = {criterion: level - more for criterion, level in sheet.levels.items()}
    return replace(sheet, levels=levels, value=sheet.value - more)


@dataclass
class Rates:
    """Per course: below the line and passed, below; on or above and refused, on or above; the same near; sheets."""

    rows: list[tuple[float, ...]] = field(default_factory=list)

    def ratio(self, top: Sequence[int], under: Sequence[int]) -> tuple[float, float]:
        """Sums of columns over sums of columns, with the standard error of a ratio whose cases are courses."""
        table = np.array(self.rows)
        a, b = table[:, list(top)].sum(axis=1), table[:, list(under)].sum(axis=1)
        found, n = float(a.sum() / b.sum()), len(table)
        return found, float(np.sqrt(((a - found * b) ** 2).sum() * n / max(1, n - 1)) / b.sum())


COLUMNS: tuple[tuple[str, tuple[int, ...], tuple[int, ...], float], ...] = (
    ("false passes", (0,), (1,), 100),
    ("false refusals", (2,), (3,), 100),
    ("wrong", (0, 2), (1, 3), 100),
    ("near: passes", (4,), (5,), 100),
    ("near: refusals", (6,), (7,), 100),
    ("near: wrong", (4, 6), (5, 7), 100),
    ("sheets", (8,), (1, 3), 1),
)


def simulated(sets: int) -> dict[str, Rates]:
    """Every way on the same courses; for the third looks also as many third markers given out by chance."""
    found: dict[str, Rates] = defaultdict(Rates)
    for number in range(sets):
        for name, row in _one_course(number).items():
            found[name].rows.append(row)
    for kind in ("mean", "rule"):
        two, three, looks = (found[f"{kind}: {what}"] for what in ("two", "three for everybody", "two, third looks"))
        # As many sheets more as the third looks took, among all.
        share = (looks.ratio((8,), (1, 3))[0] - two.ratio((8,), (1, 3))[0]) / (
            three.ratio((8,), (1, 3))[0] - two.ratio((8,), (1, 3))[0]
        )
        mixed = (1 - share) * np.array(two.rows) + share * np.array(three.rows)
        found[f"{kind}: two, as many thirds by chance"].rows.extend(tuple(map(float, row)) for row in mixed)
    return found


def _one_course(number: int) -> dict[str, tuple[float, ...]]:
    course = drawn(number)
    taken = [Fraction(round(100 * float(more)), 100) for more in course.severity]
    sums: dict[str, Floats] = {way.name: np.zeros(9) for way in ways()}
    for candidate in range(CANDIDATES):
        for place, module in enumerate(MODULES):
            true = course.true[candidate, place]
            above, near = true >= LINE, abs(true - LINE) <= NEAR
            for way in ways():
                passed, sheets = passes(way, course, candidate, module, taken)
                wrong = passed != above
                row = np.zeros(9)
                row[2 * above], row[2 * above + 1] = wrong, 1
                row[4:8] = row[:4] * near
                row[8] = sheets
                sums[way.name] += row
    return {name: tuple(map(float, row)) for name, row in sums.items()}


def order(found: dict[str, Rates]) -> Iterator[str]:
    """Names as they are shown: the mixture after the third looks it costs as much as."""
    for kind in ("mean", "rule"):
        names = [way.name for way in ways() if way.name.startswith(kind)]
        names.insert(3, f"{kind}: two, as many thirds by chance")
        yield from (name for name in names if name in found)


def rows(sets: int = 500) -> Iterator[str]:
    """A line for each way to decide: rates in 100 with their standard errors, near the line apart, and sheets."""
    yield f"decisions, {sets} courses of {CANDIDATES} candidates and 3 modules; in brackets the standard error"
    yield (
        "false passes: in 100 below the line; false refusals: in 100 on or above; wrong: in 100 of all; near: true"
        f" value within {NEAR} of the line; sheets: per candidate and module"
    )
    yield f"{'':38}" + "".join(f"{name:>16}" for name, *_ in COLUMNS)
    found = simulated(sets)
    for name in order(found):
        told = [_cell(found[name].ratio(top, under), times) for _, top, under, times in COLUMNS]
        yield f"{name:38}" + "".join(f"{text:>16}" for text in told)


def _cell(pair: tuple[float, float], times: float) -> str:
    return f"{times * pair[0]:.{1 if times > 1 else 2}f} ({times * pair[1]:.{1 if times > 1 else 2}f})"
