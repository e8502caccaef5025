"""What is wrong or doubtful in a rubric, each with its line, in words for the person who wrote it.

A problem makes marks or outcomes meaningless or impossible; a doubt may be meant, but look at it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from difflib import SequenceMatcher
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from assess.records.errors import Problem
from assess.records.ids import base_task

if TYPE_CHECKING:
    from assess.records.rubric import Module, Rubric, Scale, SheetError, Task

__all__ = ["EXPECTED_BEST", "check_rubric"]

# Mean of the largest of n standard normal values (normal order statistics; the tests integrate it).
EXPECTED_BEST: Mapping[int, float] = {2: 0.56, 3: 0.85, 4: 1.03, 5: 1.16, 6: 1.27, 7: 1.35, 8: 1.42, 9: 1.49}

_RERUNS = ("obstructed", "assessor-error", "unsafe-ground")
_FALLS = frozenset({"fall", "falls", "fell", "fallen"})
_LONGEST, _WIDEST, _ALIKE, _MARKERS, _VIEWPOINTS, _MOST = 95, 12, 0.9, 2, 6, 20


def check_rubric(rubric: Rubric, lines: Mapping[str, int], shown: str) -> list[Problem]:
    """Everything wrong or doubtful in a rubric, in file order; empty when there is nothing to say.

    lines: dotted place (`criteria.edging.levels.3`) -> line; a place without one takes the line of
    what it belongs to, or 0. shown: how messages name the file.
    """
    found = _Found(lines, shown)
    _scale(found, rubric.scale)
    if rubric.scale.max - rubric.scale.min > _MOST:  # what follows goes through every level
        return found.problems
    for check in (_criteria, _alike, _modules, _tasks, _weights, _evidence, _rule, _band, _runs, _safety, _resit):
        check(found, rubric)
    return sorted(found.problems)


class _Found:
    """Collects findings; `place` is the dotted path of what a finding is about."""

    def __init__(self, lines: Mapping[str, int], shown: str) -> None:
        self.problems: list[Problem] = []
        self._lines, self._shown = lines, shown

    def problem(self, place: str, what: str, todo: str, *, doubt: bool = False) -> None:
        parts = place.split(".")
        lines = (self._lines.get(".".join(parts[:length]), 0) for length in range(len(parts), 0, -1))
        self.problems.append(Problem(self._shown, next(filter(None, lines), 0), what, todo, doubt))

    def doubt(self, place: str, what: str, todo: str) -> None:
        self.problem(place, what, todo, doubt=True)

    def known(self, place: str, kind: str, name: str, names: Collection[str], owner: str) -> bool:
        if name not in names:
            what = f"there is no {kind} {name}, yet {owner} names it"
            self.problem(place, what, f"use one of {', '.join(names)}, or take it out")
        return name in names

    def filled(self, place: str, text: str, what: str, todo: str = "write it") -> None:
        if not text.strip():
            self.problem(place, what, todo)

    def once(self, place: str, names: Iterable[str], owner: str) -> None:
        listed = list(names)
        for at, name in enumerate(listed):
            if name in listed[:at]:
                self.problem(place.replace("*", str(at)), f"{name} stands twice in {owner}", "rename one")


def _text(number: Fraction) -> str:
    return f"{float(number):.12g}"


def _plain(sentence: str) -> str:
    return " ".join(sentence.casefold().split()).strip(" .;,!?")


def _splits(scale: Scale) -> bool:
    return scale.min < scale.pass_line < scale.max


def _uses(rubric: Rubric, module: Module) -> dict[str, int]:
    """Criterion -> in how many tasks of the module; their sum is the number of task-criterion values."""
    tasks = [set(rubric.tasks[task].criteria) for task in dict.fromkeys(module.tasks) if task in rubric.tasks]
    return {name: count for name in rubric.criteria if (count := sum(name in task for task in tasks))}


def _scale(found: _Found, scale: Scale) -> None:
    low, high, line, place = scale.min, scale.max, scale.pass_line, "scale.pass_line"
    if high <= low:
        found.problem("scale.max", f"a scale from {low} to {high} has not at least two levels", "make max larger")
    if low < 1 or high > 9:
        what = f"a level is one digit key, 0 is the key for not observed, and the scale goes from {low} to {high}"
        found.problem("scale.min" if low < 1 else "scale.max", what, "stay within 1 to 9")
    if line >= high:
        found.problem(place, f"nobody can reach the pass line {_text(line)}", f"put it under {high}")
    elif line <= low:
        found.problem(place, f"every mark is above the pass line {_text(line)}", f"put it over {low}")
    elif line.denominator == 1:
        found.problem(place, f"the pass line {line} is a level itself, not between two", f'write "{line - 1}.5"')
    if high > low and (high - low) % 2 == 0:
        what = f"level {(low + high) // 2} is a middle seat: with it nobody has to choose a side"
        found.doubt("scale.max", what, "take an even number of levels")


def _sentences(found: _Found, scale: Scale, place: str, owner: str, words: Mapping[int, str]) -> None:
    for level in sorted({*scale.levels, *words}):
        at = f"{place}.{level}"
        if level not in scale.levels:
            found.problem(at, f"the scale has no level {level}, yet {owner} describes it", "take it out")
        else:
            found.filled(at, words.get(level, ""), f"level {level} has no sentence in {owner}", "write what one sees")
        if len(words.get(level, "")) > _LONGEST:
            found.doubt(at, f"level {level} of {owner} is longer than {_LONGEST} letters", "shorten it: screens cut it")
    for first, second in combinations([level for level in scale.levels if words.get(level, "").strip()], 2):
        one, two = _plain(words[first]), _plain(words[second])
        at, pair = f"{place}.{second}", f"levels {first} and {second} of {owner} are"
        if one == two:
            found.problem(at, f"{pair} the same sentence", "say what differs, as something one can point at")
        elif (like := SequenceMatcher(None, one, two, autojunk=False)).quick_ratio() >= _ALIKE <= like.ratio():
            found.doubt(at, f"{pair} nearly the same sentence", "say what differs so that nobody overlooks it")


def _criteria(found: _Found, rubric: Rubric) -> None:
    marked = {name for task in rubric.tasks.values() for name in task.criteria}
    _sentences(found, rubric.scale, "scale.words", "the scale", rubric.scale.words)
    for name, criterion in rubric.criteria.items():
        place, owner = f"criteria.{name}", f"criterion {name}"
        found.known(f"{place}.area", "area", criterion.area, rubric.areas, owner)
        found.filled(f"{place}.label", criterion.label, f"{owner} has no label", "write one: it heads a column")
        found.filled(f"{place}.text", criterion.text, f"{owner} asks nothing", "write the question it asks")
        if len(criterion.label) > _WIDEST:
            found.doubt(f"{place}.label", f"the label of {owner} is longer than {_WIDEST} letters", "shorten it")
        if name not in marked:
            found.doubt(place, f"{owner} is in no task, so nobody marks it", "add it to a task or take it out")
        _sentences(found, rubric.scale, f"{place}.levels", owner, criterion.levels)


def _alike(found: _Found, rubric: Rubric) -> None:
    asked: dict[str, str] = {}
    said: dict[str, tuple[str, int]] = {}
    for name, criterion in rubric.criteria.items():
        question = _plain(criterion.text)
        if question and asked.setdefault(question, name) != name:
            found.problem(f"criteria.{name}.text", f"criteria {asked[question]} and {name} ask the same", "merge them")
        for level, sentence in sorted(criterion.levels.items()):
            other, its = said.setdefault(_plain(sentence) or f"{name} {level}", (name, level))
            if other != name:
                what = f"level {level} of criterion {name} is word for word level {its} of criterion {other}"
                found.doubt(f"criteria.{name}.levels.{level}", what, "say what one sees for this criterion")


def _modules(found: _Found, rubric: Rubric) -> None:
    for name, module in rubric.modules.items():
        place, owner = f"modules.{name}.tasks", f"module {name}"
        found.known(f"modules.{name}.area", "area", module.area, rubric.areas, owner)
        found.once(place, module.tasks, owner)
        found.filled(place, "".join(module.tasks), f"{owner} has no task", "name at least one")
        for task in dict.fromkeys(module.tasks):
            known = found.known(place, "task", task, rubric.tasks, owner)
            if known and len({module.area, rubric.tasks[task].area} & rubric.areas.keys()) == 2:
                what = f"task {task} of area {rubric.tasks[task].area} stands in {owner} of area {module.area}"
                found.problem(place, what, "a module counts tasks of its own area")
    for task in rubric.tasks:
        if not rubric.modules_of(task):
            found.problem(f"tasks.{task}", f"task {task} is in no module: its marks decide nothing", "add it to one")
    for area in rubric.areas.keys() - {task.area for task in rubric.tasks.values()}:
        found.doubt(f"areas.{area}", f"area {area} has no task", "add a task or take the area out")


def _tasks(found: _Found, rubric: Rubric) -> None:
    for name, task in rubric.tasks.items():
        place, owner = f"tasks.{name}", f"task {name}"
        first = base_task(name, set(rubric.tasks) - {name})
        if first != name:
            found.problem(place, f"{owner} is named as a second performance of {first} would be", "rename it")
        found.known(f"{place}.area", "area", task.area, rubric.areas, owner)
        found.filled(f"{place}.title", task.title, f"{owner} has no title")
        flat, steep = (task.terrain.slope_deg if task.terrain else None) or (0, 0)
        if not 0 <= flat <= steep <= 60:
            what = f"the slope of {owner} goes from {flat} to {steep} degrees"
            found.problem(f"{place}.terrain.slope_deg", what, "write the flatter one first, both from 0 to 60")
        _task_criteria(found, rubric, name, task)


def _task_criteria(found: _Found, rubric: Rubric, name: str, task: Task) -> None:
    place, owner = f"tasks.{name}.criteria", f"task {name}"
    labels = [rubric.criteria[item].label for item in dict.fromkeys(task.criteria) if item in rubric.criteria]
    found.once(place, task.criteria, owner)
    found.once(place, filter(None, map(_plain, labels)), f"the labels of {owner}")
    found.filled(place, "".join(task.criteria), f"{owner} has no criterion", "name at least one")
    if len(task.criteria) > 6:
        what = f"{owner} has {len(task.criteria)} criteria; above 6 they are filled in by general impression"
        found.doubt(place, what, "keep those that differ")
    for criterion in dict.fromkeys(task.criteria):
        known = found.known(place, "criterion", criterion, rubric.criteria, owner)
        area = rubric.criteria[criterion].area if known else task.area
        if len({area, task.area} & rubric.areas.keys()) == 2:
            what = f"criterion {criterion} of area {area} stands in {owner} of area {task.area}"
            found.problem(place, what, "a task takes criteria of its own area")


def _weights(found: _Found, rubric: Rubric) -> None:
    given = rubric.weights if isinstance(rubric.weights, dict) else {"": rubric.weights}
    for name, weight in given.items():
        place = f"weights.{name}" if name else "weights"
        known = not name or found.known(place, "criterion", name, rubric.criteria, "weights")
        if known and weight <= 0:
            what = f"a weight of {_text(weight)} makes {f'criterion {name}' if name else 'every mark'} count nothing"
            found.problem(place, what, 'write a number above 0, like "1"')
    if any(weight <= 0 for weight in given.values()) or not isinstance(rubric.weights, dict):
        return
    for task_name, task in rubric.tasks.items():
        shares = {name: rubric.weight(name) for name in task.criteria if name in rubric.criteria}
        for name, weight in shares.items() if len(shares) > 1 else ():
            share = weight / sum(shares.values())
            if share < Fraction(1, 20):
                what = f"criterion {name} is {float(100 * share):.1f} % of task {task_name}: no mark on it is felt"
                found.doubt(f"weights.{name}", what, "raise its weight or leave it out of the task")
            elif _splits(rubric.scale) and _decides_alone(rubric.scale, share):
                what = f"criterion {name} alone decides task {task_name}: the others cannot move it over the line"
                found.doubt(f"weights.{name}", what, "lower its weight")


def _decides_alone(scale: Scale, share: Fraction) -> bool:
    """True when a criterion of this share keeps the value on its own side of the line, whatever the others say."""
    above = min(level for level in scale.levels if level >= scale.pass_line)
    below = max(level for level in scale.levels if level < scale.pass_line)
    lowest, highest = share * above + (1 - share) * scale.min, share * below + (1 - share) * scale.max
    return lowest >= scale.pass_line > highest


def _evidence(found: _Found, rubric: Rubric) -> None:
    scale, least = rubric.scale, rubric.minimum_evidence
    for level in set(rubric.evidence_needed.also) - set(scale.levels):
        found.problem("evidence_needed.also", f"the scale has no level {level}, yet it needs evidence", "take it out")
    free = [level for level in scale.levels if not rubric.needs_evidence(level)]
    low = [str(level) for level in free if level < scale.pass_line]
    if scale.levels and not free:
        found.doubt("evidence_needed", "every level needs something seen: 15 seconds are too short", "ask for less")
    elif low and _splits(scale):
        what = f"level {', '.join(low)} is below the line and can be locked with nothing seen behind it"
        found.doubt("evidence_needed", what, f'write below: "{_text(scale.pass_line)}"')
    if not least.scores and not least.tasks:
        found.doubt("minimum_evidence", "a criterion nobody marked does not leave a module open", "write scores: 1")
    uses = [(count, name) for module in rubric.modules.values() for name, count in _uses(rubric, module).items()]
    seen = [(len(set(rubric.criteria[name].observable_from)) or _VIEWPOINTS, name) for _, name in uses]
    for key, wanted, counts in (("tasks", least.tasks, uses), ("viewpoints", least.viewpoints, seen)):
        fewest, name = min(counts, default=(wanted, ""))
        if wanted > fewest:
            what = f"minimum_evidence wants {wanted} {key}, and criterion {name} has {fewest}: always open"
            found.problem(f"minimum_evidence.{key}", what, f"write {fewest} or less")


def _rule(found: _Found, rubric: Rubric) -> None:
    rooms, markers = rubric.below_line, rubric.two_markers
    span = rubric.scale.max - rubric.scale.min
    if not 0 < rubric.coverage <= 1:
        found.problem("coverage", f"coverage {_text(rubric.coverage)} is not a share", 'write it like "0.75"')
    for name in rooms:
        found.known(f"below_line.{name}", "module", name, rubric.modules, "below_line")
    if rubric.rule != "mixed" and (rubric.minimum or rooms):
        found.doubt("rule", f"rule {rubric.rule} does not look at minimum and below_line", "take them out")
    elif rubric.rule == "mixed" and not rubric.minimum and not rooms:
        found.doubt("rule", "rule mixed without minimum and below_line is the mean alone", "write rule: compensatory")
    elif rubric.rule == "mixed":
        _parts_of_mixed(found, rubric)
    if markers.sheet_apart >= span:
        what = f"no two sheets can be more than {_text(markers.sheet_apart)} apart"
        found.doubt("two_markers.sheet_apart", what, f"write a number under {span}")
    if (apart := markers.criterion_apart) > span:
        found.doubt("two_markers.criterion_apart", f"no two marks can be {apart} apart", f"write {span} or less")


def _parts_of_mixed(found: _Found, rubric: Rubric) -> None:
    scale, minimum, place = rubric.scale, rubric.minimum, "minimum.value"
    for name, module in rubric.modules.items():
        room, values = rubric.below_line.get(name), sum(_uses(rubric, module).values())
        if room is None:
            what = f"module {name} has no entry in below_line: all of its {values} values may be below the line"
            found.doubt(f"below_line.{name}", what, "write how many may")
        elif 0 < values <= room:
            what = f"below_line {room} has no effect: module {name} has {values} values"
            found.doubt(f"below_line.{name}", what, f"write a number under {values}")
    if minimum is None:
        return
    value = _text(minimum.value)
    if minimum.value > scale.max or (minimum.value == scale.max and not minimum.inclusive):
        found.problem(place, f"nobody can reach the minimum {value}", f"put it under {scale.max}")
    elif minimum.value < scale.min or (minimum.value == scale.min and minimum.inclusive):
        found.doubt(place, f"the minimum {value} has no effect: nothing can be under it", "raise it or take it out")
    elif minimum.value > scale.pass_line and _splits(scale):
        found.doubt(place, f"the minimum {value} is above the pass line: below_line has no effect", "lower the minimum")


def _band(found: _Found, rubric: Rubric) -> None:
    band, reach = rubric.band, rubric.scale.max - rubric.scale.pass_line
    if rubric.third_look.median_if_apart is not None:
        what = "with median_if_apart raising one mark may lower the outcome; the mean never does that"
        found.doubt("third_look.median_if_apart", what, "write null unless the median is meant")
    if band is None:
        found.doubt("band", "there is no band: nobody near the line is looked at again", "mark a season twice for it")
        return
    if band.z <= 0:
        found.problem("band.z", f"z is {_text(band.z)}, so the band has no width", 'write z: "1"')
    for name, module in rubric.modules.items():
        if name not in band.sheet_error:
            found.problem(f"band.sheet_error.{name}", f"module {name} has no sheet_error, so no band", "write one")
        elif (band.z * band.sheet_error[name].value) ** 2 >= reach**2 * len(set(module.tasks)) * _MARKERS > 0:
            what = f"the band of module {name} reaches over the top of the scale: nobody passes without a third look"
            found.problem(f"band.sheet_error.{name}", what, "lower z or look at this sheet_error again")
    for name, error in band.sheet_error.items():
        if found.known(f"band.sheet_error.{name}", "module", name, rubric.modules, "sheet_error"):
            _sheet_error(found, f"band.sheet_error.{name}", f"sheet_error of module {name}", error)


def _sheet_error(found: _Found, place: str, owner: str, error: SheetError) -> None:
    low, high = error.ci95
    found.filled(f"{place}.source", error.source, f"{owner} has no source", "say which courses it is from")
    if error.value <= 0:
        found.problem(f"{place}.value", f"{owner} is {_text(error.value)}: nobody marks without error", "write it anew")
    elif not low <= error.value <= high:
        what = f"the interval {_text(low)} to {_text(high)} does not hold the value {_text(error.value)}"
        found.problem(f"{place}.ci95", what, "write the lower end first, with the value between the two")
    if error.n_pairs < 30 and "pooled" not in error.source.casefold():
        what = f"{owner} is from {error.n_pairs} pairs, fewer than 30"
        found.doubt(f"{place}.n_pairs", what, 'take the value pooled over modules, with "pooled" in its source')


def _runs(found: _Found, rubric: Rubric) -> None:
    for name, runs in rubric.runs.items():
        place = f"runs.{name}"
        known = found.known(place, "task", name, rubric.tasks, "runs")
        if known and runs > 1 and rubric.tasks[name].lesson:
            found.problem(place, f"task {name} is a lesson and has {runs} runs", "a lesson is given once: write 1")
        elif known and runs > 1 and name not in rubric.passes:
            what = f"task {name} has {runs} runs, and passes does not say how they become one mark"
            found.problem(place, what, f"write under passes {name}: last, median, best or overall")
    for name, fold in rubric.passes.items():
        place, runs = f"passes.{name}", rubric.runs.get(name, 1)
        if not found.known(place, "task", name, rubric.tasks, "passes"):
            continue
        if fold == "best" and name not in rubric.runs:
            gain = f"on average +{EXPECTED_BEST[2]} of the run-to-run noise with 2, +{EXPECTED_BEST[3]} with 3"
            what = f"task {name} takes the best, and runs does not say of how many: it lies too high, {gain}"
            found.doubt(place, what, "write the same number for all under runs")
        elif fold == "best" and runs > 2:
            gain = f"on average +{EXPECTED_BEST[runs]} of the run-to-run noise too high (of 2: +{EXPECTED_BEST[2]})"
            found.doubt(place, f"task {name} takes the best of {runs}, {gain}", "take fewer runs, or last or median")
        elif runs == 1:
            found.doubt(place, f"task {name} has one run, so {fold} has no effect", "write its number under runs")


def _safety(found: _Found, rubric: Rubric) -> None:
    for reason in rubric.rerun_reasons:
        if _FALLS & set(reason.split("-")):
            found.problem("rerun_reasons", f"rerun_reasons has {reason}: a fall buys no run", "take it out")
        elif reason not in _RERUNS:
            found.doubt("rerun_reasons", f"rerun_reasons has {reason}", f"keep to {', '.join(_RERUNS)} if you can")
    for key in ("must_nots", "safety_list", "questions"):
        items = getattr(rubric, key)
        found.once(f"{key}.*", (item.id for item in items), key)
        for at, item in enumerate(items):
            found.filled(f"{key}.{at}.text", item.text, f"{item.id} in {key} has no wording")
    for at, rule in enumerate(rubric.must_nots):
        place, owner = f"must_nots.{at}.closes", f"must-not {rule.id}"
        found.filled(place, "".join(rule.closes), f"{owner} closes no module", "name at least one")
        for module in rule.closes:
            found.known(place, "module", module, rubric.modules, owner)
    if not rubric.must_nots:
        found.doubt("must_nots", "there are no must-nots: any number can outweigh an unsafe act", "write them down")
    elif rubric.breach is None or not rubric.breach.standard.strip():
        found.problem("breach.standard", "there are must-nots and no breach standard", "write how sure one must be")
    barred = rubric.breach.confirmer_not if rubric.breach else ("reporter", "decider")
    for who in [who for who in ("reporter", "decider") if who not in barred]:
        found.doubt("breach.confirmer_not", f"confirmer_not leaves out the {who}, who may then confirm", f"add {who}")
    if not rubric.safety_list and any(task.lesson for task in rubric.tasks.values()):
        found.doubt("safety_list", "there are lessons and no safety list", "write what is looked at in every lesson")


def _resit(found: _Found, rubric: Rubric) -> None:
    resit = rubric.resit
    if resit is None:
        found.doubt("resit", "nothing is said about a resit", "write when, how often and by whom a module is retaken")
        return
    if not resit.max_tries:
        found.doubt("resit.max_tries", "max_tries 0 lets nobody try again", "write 1 or more")
    if not resit.new_assessors_at_least:
        found.doubt("resit.new_assessors_at_least", "the same assessors may mark a resit alone", "write 1 or more")
    if (carried := resit.carried_months) < resit.within_months:
        what = f"passed modules are carried {carried} months, and a resit may come after {resit.within_months}"
        found.doubt("resit.carried_months", what, "carry them at least as long")
