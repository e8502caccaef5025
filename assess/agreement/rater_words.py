"""What each effect says, in one sentence for a director or for the assessor; never more than the numbers allow.

Something is called more than chance only with the verdict "look". Everything else says what may be nothing, and how
wide a range of values fits the sheets.
"""

from __future__ import annotations

from collections.abc import Callable

from assess.agreement.rasch_words import NEVER, in_levels
from assess.agreement.results.raters import Effect, EffectName, Rater

__all__ = ["NAMES", "NEVER", "look_words", "rater_sentence", "sentence_of"]

NAMES: dict[EffectName, str] = {
    "severity": "beside the group", "drift": "along the running order", "days": "from day to day",
    "flat": "one digit across a sheet", "spread": "spread within a sheet", "central": "range of levels",
    "contrast": "after the candidate before", "repeat": "the same performance twice", "line": "at the pass line",
}  # fmt: skip
"""Every effect in plain words, as a heading."""
_CHANCE = "more than chance makes likely"
_MAYBE = "which may be chance, looked at with all the rest"
_MIRROR = "which is not shown without {who} further out on the other side"
_NOTHING = "which may be nothing"


class _Voice:
    """Somebody spoken of, or to."""

    def __init__(self, effect: Effect, *, you: bool) -> None:
        self.you, self.who = you, "you" if you else effect.assessor
        self.gives = "you give" if you else f"{effect.assessor} gives"
        self.marks = "you mark" if you else f"{effect.assessor} marks"
        self.own = "your" if you else f"{effect.assessor}'s"


def sentence_of(effect: Effect, n_assessors: int, *, you: bool = False) -> str:
    """One sentence about an effect that was judged; you: said to the assessor."""
    voice = _Voice(effect, you=you)
    if effect.estimate is None:
        said = f"{NAMES[effect.name]}: cannot be said, because {_spoken(effect.undefined, effect, you)}"
        if effect.name == "line" and effect.own is not None:
            said = f"{_line_share(effect, voice)}; {_spoken(effect.undefined, effect, you)}"
    else:
        said = _SENTENCES[effect.name](effect, voice, n_assessors)
        if effect.verdict == "too few":
            said += f"; too few to say more: {_spoken(effect.undefined, effect, you)}"
    return said[0].upper() + said[1:] + "."


def _spoken(reason: str | None, effect: Effect, you: bool) -> str:
    told = reason or "it does not exist with these sheets"
    if not you:
        return told
    return told.replace(f"{effect.assessor}'s", "your").replace(f"{effect.assessor} marked", "you marked").replace(
        f"without {effect.assessor}", "without you").replace(f"one of {effect.assessor}", "one of yours").replace(
        f"sheets of {effect.assessor}", "sheets of yours")  # fmt: skip


def _range(effect: Effect, show: Callable[[float], str]) -> str:
    """`anything from 0.13 less to 0.02 more fits; 27 sheets, 10 candidates`; what makes an interval stands apart."""
    rests = f"{_many(effect.n, _COUNTED.get(effect.name, 'sheet'))}, {_many(effect.n_candidates, 'candidate')}"
    if effect.ci95 is None:
        return f"how far it could move cannot be said; {rests}"
    return f"anything from {show(effect.ci95[0])} to {show(effect.ci95[1])} fits; {rests}"


_COUNTED: dict[EffectName, str] = dict.fromkeys(("drift", "days", "contrast", "line", "repeat"), "comparison")


def _many(n: int, what: str) -> str:
    return f"{n} {what}{'' if n == 1 else 's'}"


def _signed(value: float) -> str:
    return f"{value:+.2f}" if round(value, 2) != 0 else "0.00"


def _hundred(share: float) -> str:
    return f"{100 * share:.0f}"


def _points(value: float) -> str:
    return f"{100 * value:+.0f}" if round(100 * value) != 0 else "0"


def _less(value: float) -> str:
    size = f"{abs(value):.2f}"
    return "0.00" if float(size) == 0 else f"{size} {'more' if value > 0 else 'less'}"


def _severity(effect: Effect, voice: _Voice, n_assessors: int) -> str:
    value = effect.estimate or 0.0
    group = "the group" if n_assessors > 2 else "the mean of the two"
    told = f"({_signed(value)} levels; {_range(effect, _signed)})"
    if abs(value) < 0.05 and effect.verdict != "look":
        return f"{voice.marks} about as {group} does {told}"
    way = f"{in_levels(value)} {'milder' if value > 0 else 'harder'} than {group}"
    if effect.verdict == "look":
        return f"{voice.marks} {way}, {_CHANCE} {told}"
    return f"{voice.marks} {way}{_not_flagged(effect, ', ', you=voice.you)} {told}"


def _not_flagged(effect: Effect, before: str, *, you: bool) -> str:
    """What is said of an effect that is no reason to look: by its own range it may be nothing, or by all the rest."""
    if effect.verdict != "nothing to say":
        return ""
    if effect.mirror_of:
        # No assessor is told of another.
        return before + _MIRROR.format(who="somebody" if you else f"{effect.mirror_of},")
    clear = effect.ci95 is not None and (effect.ci95[0] > 0 or effect.ci95[1] < 0)
    return before + (_MAYBE if clear else _NOTHING)


def _slope(what: str) -> Callable[[Effect, _Voice, int], str]:
    def told(effect: Effect, voice: _Voice, n_assessors: int) -> str:
        value = effect.estimate or 0.0
        size = _less(value)
        gives = f"{voice.gives} {'neither more nor less' if size == '0.00' else size.replace(' ', ' of a level ')}"
        end = f", {_CHANCE}" if effect.verdict == "look" else _not_flagged(effect, ", ", you=voice.you)
        if size == "0.00" and end == f", {_NOTHING}":
            end = ""  # neither more nor less is nothing
        return f"{what} {gives} than partners lead one to expect{end} ({_range(effect, _less)})"

    return told


def _flat(effect: Effect, voice: _Voice, n_assessors: int) -> str:
    own, others = effect.own or 0.0, effect.others or 0.0
    said = f"one digit for everything stands on {round(own * effect.n)} of {voice.own} {_many(effect.n, 'sheet')}"
    return f"{said}, and on {_hundred(others)} of 100 of partners' on the same performances{_one_sided(effect, voice)}"


def _spread(effect: Effect, voice: _Voice, n_assessors: int) -> str:
    said = f"within a sheet {voice.own} marks lie {effect.own or 0.0:.2f} of a level apart"
    return f"{said}, partners' on the same performances {effect.others or 0.0:.2f}{_one_sided(effect, voice)}"


def _central(effect: Effect, voice: _Voice, n_assessors: int) -> str:
    said = f"{_hundred(effect.own or 0.0)} of 100 of {voice.own} marks lie on two neighbouring levels"
    return f"{said}, {_hundred(effect.others or 0.0)} of partners' on theirs{_one_sided(effect, voice)}"


def _repeat(effect: Effect, voice: _Voice, n_assessors: int) -> str:
    said = f"of two sheets of the same performance each of {voice.own} is off by {effect.own or 0.0:.2f} of a level"
    return f"{said}, of the others' by {effect.others or 0.0:.2f}{_one_sided(effect, voice)}"


def _line_share(effect: Effect, voice: _Voice) -> str:
    share = effect.own or 0.0
    same = f"{round(share * effect.n)} of {_many(effect.n, 'comparison')}"
    ends = effect.own_ci95
    between = f", from {_hundred(ends[0])} to {_hundred(ends[1])} of 100" if ends is not None else ""
    return f"{voice.who} and the partner stood on the same side of the pass line in {same}{between}"


def _line(effect: Effect, voice: _Voice, n_assessors: int) -> str:
    others = f"pairs without {voice.who} in {_hundred(effect.others or 0.0)} of 100"
    return f"{_line_share(effect, voice)}; {others}{_one_sided(effect, voice)}"


def _one_sided(effect: Effect, voice: _Voice) -> str:
    """The end of a sentence about a difference that harms on one side only."""
    whole = effect.name in ("flat", "central", "line")
    show = _points if whole else _signed
    told = f"(difference {show(effect.estimate or 0.0)}; {_range(effect, show)})"
    if effect.verdict == "look":
        return f": {_CHANCE} {told}"
    if effect.p == 1.0:
        return f": nothing to look at {told}"
    return f"{_not_flagged(effect, ', ', you=voice.you)} {told}"


_SENTENCES: dict[EffectName, Callable[[Effect, _Voice, int], str]] = {
    "severity": _severity, "drift": _slope("with each place further back"), "days": _slope("with each later day"),
    "flat": _flat, "spread": _spread, "central": _central,
    "contrast": _slope("for each level the candidate before was given"), "repeat": _repeat, "line": _line,
}  # fmt: skip


def look_words(effect: Effect) -> str:
    """An effect to look at in two or three words, for a list."""
    if effect.name == "severity":
        return "milder than the group" if (effect.estimate or 0.0) > 0 else "harder than the group"
    return NAMES[effect.name]


def rater_sentence(rater: Rater, n_assessors: int, *, you: bool = False) -> str:
    """The one sentence of a list: beside the group, and what to look at; you: said to the assessor."""
    effect = rater.effect("severity")
    looks = [look_words(other) for other in rater.effects if other.verdict == "look" and other.name != "severity"]
    also = f" To look at: {', '.join(looks)}." if looks else ""
    if effect.estimate is None:
        return f"Beside the group: cannot be said, because {_spoken(effect.undefined, effect, you)}.{also}"
    group = "the group" if n_assessors > 2 else "the mean of the two"
    if abs(effect.estimate) < 0.05:
        said = f"About as {group}"
    else:
        said = f"{in_levels(effect.estimate)} {'milder' if effect.estimate > 0 else 'harder'} than {group}"
    end = {
        "look": f", {_CHANCE}", "nothing to say": _not_flagged(effect, ", ", you=you),
        "too few": "; too few shared candidates to say more",
    }[effect.verdict]  # fmt: skip
    if abs(effect.estimate) < 0.05 and effect.verdict == "nothing to say":
        end = ""
    return f"{said[0].upper()}{said[1:]}{end}.{also}"
