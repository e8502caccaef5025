"""What severities say, in sentences a director reads: how much in levels, how sure, and what not to do with it."""

from __future__ import annotations

import numpy as np

from assess.agreement.rasch_model import Model
from assess.agreement.results import Measure, Severity
from assess.agreement.scores import Scores

__all__ = ["NEVER", "assessor_sentence", "beside_warning", "in_levels", "sentences", "warnings_of"]

NEVER = "Never a sanction from one number: a reason to look together, and to talk when the next course shows the same."
_FEW_CANDIDATES, _FEW_ASSESSORS = 10, 4
_SMALL_COURSE = 30
_APART = 0.05
_PARTS = (
    (0.1, "a tenth of a level"), (0.2, "a fifth of a level"), (0.25, "a quarter of a level"),
    (0.333, "a third of a level"), (0.4, "two fifths of a level"), (0.5, "half a level"),
    (0.6, "three fifths of a level"),
    (0.667, "two thirds of a level"), (0.75, "three quarters of a level"), (1.0, "a level"),
)  # fmt: skip


def in_levels(size: float) -> str:
    """A number of levels in words: `about a third of a level`; numbers from one and a half on."""
    size = abs(size)
    if size < _APART:
        return "less than a tenth of a level"
    if size > 1.15:
        return f"about {size:.1f} levels"
    return "about " + min(_PARTS, key=lambda part: abs(part[0] - size))[1]


def assessor_sentence(measure: Measure, flagged: bool) -> str:
    """One sentence about one assessor; flagged: the difference is more than chance, looked at with all the others."""
    name, n = measure.id, measure.n_candidates
    if measure.value is None or measure.levels is None:
        return f"{name}: {measure.undefined}."
    few = "too few shared candidates to say more" if n < _FEW_CANDIDATES else "these scores do not say more"
    met = f"{measure.n} score{'' if measure.n == 1 else 's'} of {n} candidate{'' if n == 1 else 's'}"
    if abs(measure.levels) < _APART:
        sure = few if n < _FEW_CANDIDATES else met
        return f"{name} marks like the group, within a tenth of a level; {sure}."
    way = "harder" if measure.levels > 0 else "milder"
    size = in_levels(measure.levels)
    if not flagged:
        return f"{name} seems {size} {way} than the group, which may be chance ({met}); {few}."
    end = f"; {few}" if n < _FEW_CANDIDATES else ""
    return f"{name} marks {size} {way} than the group, more than chance makes likely ({met}){end}."


def sentences(found: Severity) -> tuple[str, ...]:
    """Too little data first; then each assessor; then how the scores sit with the model."""
    told = []
    if found.n_candidates < _FEW_CANDIDATES or found.n_assessors < _FEW_ASSESSORS:
        told.append(
            f"This rests on {found.n_candidates} candidates and {found.n_assessors} assessors: too few to say more than"
            " roughly. Read the intervals before the numbers."
        )
    told += [measure.sentence for measure in found.assessors]
    told += [*_equal(found), *_sheets(found), *_together(found)]
    told.append(NEVER)
    return tuple(told)


def _equal(found: Severity) -> list[str]:
    if found.equal_seen is None or found.equal_foreseen is None:
        return []
    seen, foreseen = 100 * found.equal_seen, 100 * found.equal_foreseen
    told = f"Two assessors gave equal scores {seen:.0f} times in 100; the model foresees {foreseen:.0f}"
    if seen > foreseen + 10:
        return [f"{told}. That many more are equal can mean that assessors talked, or that ties were broken together."]
    return [f"{told}."]


def _sheets(found: Severity) -> list[str]:
    whole = [m for m in found.assessors if m.within_sheet is not None and m.within_sheet.foreseen > 0]
    if not whole:
        return []
    low = [m.id for m in whole if m.within_sheet and m.within_sheet.little]
    if not low:
        return ["Criteria of one sheet are as far apart as their difficulty and chance make them, up to chance."]
    or_task = ", or candidates do better in one task than in another" if len(found.tasks) > 1 else ""
    return [
        f"Criteria of one sheet are closer together than foreseen with {', '.join(low)}: one impression may colour the"
        f" whole sheet (halo){or_task}. In logits severities then come out smaller than they are, in levels they do"
        " not: go by the levels. The intervals count candidates, not single scores."
    ]


def _together(found: Severity) -> list[str]:
    flagged = [pair for pair in found.interactions if pair.flagged and pair.value is not None]
    if not flagged:
        return []
    most = sorted(flagged, key=lambda pair: (-abs(pair.value or 0.0), pair.assessor, pair.other))[:5]
    told = ", ".join(
        f"{pair.assessor} on {pair.other} ({'harder' if (pair.value or 0.0) > 0 else 'milder'})" for pair in most
    )
    more = f" and {len(flagged) - len(most)} more" if len(flagged) > len(most) else ""
    return [f"Beyond that, and beyond chance among all pairs looked at: {told}{more}."]


def beside_warning(joint: Severity) -> tuple[str, ...]:
    """What to make of the joint estimate beside the marginal one, where assessors are loosely joined."""
    if joint.undefined is not None:
        return (f"no joint estimate can be set beside: {joint.undefined[0].lower()}{joint.undefined[1:]}",)
    return (
        "because they are loosely joined, the joint estimates stand beside: they take nothing for granted about the"
        " candidates, and are less certain. Go by those unless chance decided who marks whom; that somebody differs is"
        " said here only where both ways say so",
    )


def warnings_of(found: Severity, model: Model, scores: Scores) -> tuple[str, ...]:
    """What to be careful about: what was left out, what was not seen, and what makes differences look larger."""
    told = [*_left_out(model), *_not_used(model), *model.warnings]
    if not scores.declared:
        told.append("no scale was named: only the levels seen are known")
    if found.sd is not None and found.sd < 1e-3:
        told.append("candidates cannot be told apart at all: every difference is within what chance makes")
    return (*told, *_too_large(found, model))


def _left_out(model: Model) -> list[str]:
    told = []
    for extreme in model.usable.extreme:
        end = "highest" if extreme.top else "lowest"
        kind = "" if extreme.facet == "assessor" else f"{extreme.facet} "
        what = "has no ability with this method" if extreme.facet == "candidate" else "has no finite value"
        told.append(
            f"{kind}{extreme.id}: only the {end} level in use ({extreme.n} scores); {what}, its scores are left out"
        )
    return told


def _not_used(model: Model) -> list[str]:
    low, high = float(model.values[0]), float(model.values[-1])
    told = []
    for level in model.usable.unused:
        if low < level < high:
            below, above = model.values[model.values < level][-1], model.values[model.values > level][0]
            told.append(
                f"nobody used level {level:g}: it has no chance in this model, and one step leads from {below:g} to"
                f" {above:g}; the other levels keep their distance"
            )
        else:
            end = high if level > high else low
            told.append(f"nobody used level {level:g}: the scale ends at {end:g} in this model")
    return told


def _too_large(found: Severity, model: Model) -> list[str]:
    pairs = np.unique(model.candidate * model.n_cells + model.facets[0].of_cell[model.cell])
    each = len(pairs) / max(1, int((model.n_each > 0).sum()))
    told = []
    if found.method == "joint":
        told.append(
            "in logits joint maximum likelihood makes differences larger than they are: by about 8 % with 24"
            " candidates, 4 assessors and 5 criteria, by about 15 % with 60 candidates marked by 2 of 8 assessors"
            " (simulated); in levels it does not"
        )
    if found.n_candidates < _SMALL_COURSE and each <= 0.5 * found.n_assessors + 1e-9:
        told.append(
            f"a small, loosely linked course ({found.n_candidates} candidates, each marked by {each:.1f} of"
            f" {found.n_assessors} assessors): in logits differences in severity come out too large, by about 13 %"
            " with 10 candidates and 2 of 4 assessors (simulated); in levels they do not"
        )
    return told
