"""What the numbers of a calibration round say, in one sentence each, for a director and for the assessor."""

from __future__ import annotations

from collections.abc import Callable

from assess.agreement.rasch_words import in_levels
from assess.agreement.results import Estimate
from assess.agreement.results.raters import Effect, EffectName
from assess.agreement.results.rounds import Chances

__all__ = ["chances_sentence", "effect_sentence", "look_words", "number_sentence"]

_CHANCE = "more than chance makes likely"
_MAYBE = "which may be chance, looked at with all the rest"
_NOTHING = "which may be nothing"


def number_sentence(estimate: Estimate, who: str) -> str:
    """One number of an assessor: `A2: 41 of 64 scores are the panel's level; 52 to 75 of 100 fit (12 lessons).`."""
    value, ends = estimate.estimate, estimate.ci95
    if value is None:
        return f"{who}: cannot be said, because {estimate.undefined}."
    rests = _many(estimate.n_candidates, "lesson")
    if estimate.name in ("distance", "severity"):
        between = f"anything from {ends[0]:+.2f} to {ends[1]:+.2f} fits" if ends else "how sure cannot be said"
        if estimate.name == "distance":
            between = between.replace("+", "")
            return f"{who}: a score is {value:.2f} levels from the panel's on average; {between} ({rests})."
        return f"{who}: {_way(value)} ({value:+.2f} levels; {between}; {rests})."
    said = {"exact": "are the panel's level", "within_one": "are the panel's level or the next one", "line":
        "are on the panel's side of the pass line"}[estimate.name]  # fmt: skip
    what = "sheets" if estimate.name == "line" else "scores"
    between = f"; {100 * ends[0]:.0f} to {100 * ends[1]:.0f} of 100 fit" if ends else ""
    return f"{who}: {round(value * estimate.n)} of {estimate.n} {what} {said}{between} ({rests})."


def effect_sentence(effect: Effect) -> str:
    """One sentence about a habit that was judged."""
    if effect.estimate is None:
        said = f"{_HEADINGS[effect.name]}: cannot be said, because {effect.undefined}"
    else:
        said = _SENTENCES[effect.name](effect) + _end(effect)
    return said[0].upper() + said[1:] + "."


def _end(effect: Effect) -> str:
    rests = _many(effect.n_candidates, "lesson")
    times, digits = (100, 0) if effect.name == "central" else (1, 2)
    low, high = (f"{times * end:+.{digits}f}" for end in effect.ci95 or (0.0, 0.0))
    ends = f"anything from {low} to {high} fits" if effect.ci95 else ""
    told = f" ({'; '.join(part for part in (ends, rests) if part)})"
    if effect.verdict == "too few":
        return f"{told}; too few to say more: {effect.undefined}"
    if effect.verdict == "look":
        return f", {_CHANCE}{told}"
    if effect.p == 1.0:
        return told
    clear = effect.ci95 is not None and (effect.ci95[0] > 0 or effect.ci95[1] < 0)
    return f", {_MAYBE if clear else _NOTHING}{told}"


def _way(value: float) -> str:
    if abs(value) < 0.05:
        return "marks as the panel does"
    return f"marks {in_levels(value)} {'milder' if value > 0 else 'harder'} than the panel"


def _drift(effect: Effect) -> str:
    value = effect.estimate or 0.0
    if abs(value) < 0.005:
        return "from lesson to lesson gives neither more nor less"
    return f"with each lesson marked gives {abs(value):.2f} of a level {'more' if value > 0 else 'less'}"


def _spread(effect: Effect) -> str:
    return f"on a sheet the levels lie {effect.own or 0.0:.2f} apart, the panel's {effect.others or 0.0:.2f}"


def _central(effect: Effect) -> str:
    own, others = 100 * (effect.own or 0.0), 100 * (effect.others or 0.0)
    return f"{own:.0f} of 100 scores lie on two neighbouring levels, of the panel's {others:.0f}"


def _repeat(effect: Effect) -> str:
    own, others = effect.own or 0.0, effect.others or 0.0
    said = f"of two scores of the same thing each is off by {own:.2f} of a level, the panel's by {others:.2f}"
    if effect.p is None or effect.p == 1.0:
        return said
    return f"{said}; of 100 markers like the panel {_hundred(effect.p)} would be as far from themselves"


_HEADINGS: dict[EffectName, str] = {
    "severity": "beside the panel", "drift": "from lesson to lesson", "spread": "spread within a sheet",
    "central": "levels used", "repeat": "the same lesson twice",
}  # fmt: skip
_SENTENCES: dict[EffectName, Callable[[Effect], str]] = {
    "severity": lambda effect: _way(effect.estimate or 0.0), "drift": _drift, "spread": _spread, "central": _central,
    "repeat": _repeat,
}  # fmt: skip


def look_words(effect: Effect) -> str:
    """A habit to look at in two or three words, for a list."""
    more = (effect.estimate or 0.0) > 0
    return {
        "severity": "milder than the panel" if more else "harder than the panel",
        "drift": "gives more and more" if more else "gives less and less",
        "spread": "flat sheets",
        "central": "few levels used",
        "repeat": "differs from itself",
    }[effect.name]


def chances_sentence(chances: Chances) -> str:
    """What a rule does to 100 such markers: `Of 100 good markers ... the rule makes 94 current, 6 mark again.`."""
    error = f"scores are off by {chances.error:.2f} levels as a rule"
    what = {
        "good": f"good markers (no habit, {error})",
        "severe": f"markers {abs(chances.severity):.2f} levels too hard, otherwise good,",
        "drifting": f"markers who give {abs(chances.drift):.2f} of a level less with every lesson, otherwise good,",
        "flat": "markers who give one level on a whole sheet, otherwise good,",
    }[chances.marker]
    words = {"current": "be current", "mark-again": "mark again", "train": "train"}
    told = [f"{_hundred(share)} would {words[result]}" for result, share in chances.shares]
    return f"Of 100 {what} {', '.join(told)}."


def _hundred(share: float) -> str:
    """In 100; never 0 or 100 where it is not."""
    if 0 < share < 0.005:
        return "fewer than 1"
    if 0.995 < share < 1:
        return "more than 99"
    return f"{100 * share:.0f}"


def _many(n: int, what: str) -> str:
    return f"{n} {what}{'' if n == 1 else 's'}"
