"""The reasons of a diagnosis reading in plain words, and what would have changed it."""

from __future__ import annotations

from assess.lesson.credit import CreditTable, Earned, Names
from assess.lesson.results import Guess
from assess.lesson.rounding import rounded
from assess.records.catalogue import Catalogue

__all__ = ["diagnosis_sentences"]


def diagnosis_sentences(
    names: Names,
    earned: Earned,
    harmful: tuple[str, ...],
    table: CreditTable,
    catalogue: Catalogue,
    guess: Guess,
    ceiling: float | None,
) -> tuple[str, ...]:
    """One sentence per name that counted, per target that was missed, and per line beside the reading."""
    return (
        *_about_names(names, earned, table, catalogue),
        *(
            f"treating {catalogue.words(name)} would make this learner worse: {catalogue.settings.harm:g} is taken off"
            for name in harmful
        ),
        *_about_missed(names, earned, table, catalogue),
        *_about_the_rest(names, table, catalogue),
        *_beside(guess, ceiling, catalogue),
    )


def _about_names(names: Names, earned: Earned, table: CreditTable, catalogue: Catalogue) -> list[str]:
    if not names.counted:
        return ["no fault was named for this learner; naming one of the panel's causes would have counted"]
    told = []
    for place, name in enumerate(names.counted, start=1):
        words = catalogue.words(name)
        known = "" if name in catalogue.names else " (not in the catalogue)"
        told.append(f"{place}. {words}{known}: {_about(name, earned, table, catalogue)}")
    return told


def _about(name: str, earned: Earned, table: CreditTable, catalogue: Catalogue) -> str:
    if name in table.weights:
        return f"one of the panel's causes, {_percent(table.weights[name])} of what mattered: full credit"
    if name == earned.other and earned.other_credit:
        credit = earned.other_credit
        away = _steps(abs(credit.steps))
        share = f"{_percent(credit.credit)} of its credit"
        cause = catalogue.words(credit.target)
        if credit.steps < 0:
            return f"{away} above the panel's cause {cause}: {share}; a deeper cause, for the panel to look at"
        return f"{away} below the panel's cause {cause}: {share}; naming the cause itself would have been full credit"
    if name in earned.neutral:
        if name in table.tolerated:
            return "real but minor: neither earns nor costs anything"
        if all(credit.target in earned.targets_named for credit in table.credits(name)):
            return "follows from a cause that was named: neither earns nor costs anything"
        return (
            "on this learner's chains, but names that are no causes earn once, and another earned more: costs nothing"
        )
    alike = [other for other in _look_alike(name, catalogue) if other in table.on_chains or other in table.weights]
    taken = f"; it is often taken for {catalogue.words(alike[0])}" if alike else ""
    return f"not on this learner's chains: named without ground{taken}; leaving it out would have read better"


def _look_alike(name: str, catalogue: Catalogue) -> tuple[str, ...]:
    fault = catalogue.fault_by_id.get(name)
    return fault.look_alike if fault else ()


def _about_missed(names: Names, earned: Earned, table: CreditTable, catalogue: Catalogue) -> list[str]:
    told = []
    for target in table.weights:
        if target in earned.targets_named:
            continue
        # First among the names, the last of them giving way when there are too many already.
        with_it = (target, *names.counted)[: catalogue.settings.names_counted]
        gain = f"from {_percent(earned.recall)} to {_percent(table.earned(with_it).recall)}"
        told.append(
            f"{catalogue.words(target)} was not named: naming it first would have brought what was found {gain}"
        )
    return told


def _about_the_rest(names: Names, table: CreditTable, catalogue: Catalogue) -> list[str]:
    told = []
    if names.later:
        later = ", ".join(catalogue.words(name) for name in names.later)
        told.append(f"named after the first {len(names.counted)}, so without effect: {later}")
    for name in names.ruled_out:
        wrong = " - though the panel holds it for a cause of this learner" if name in table.weights else ""
        told.append(f"{catalogue.words(name)} was checked and ruled out{wrong}; outside the count")
    return told


def _beside(guess: Guess, ceiling: float | None, catalogue: Catalogue) -> list[str]:
    told = []
    if guess.chance_mean is not None and guess.chance_p95 is not None:
        told.append(
            f"a guess of two names would get {_two(guess.chance_mean)} on average"
            f" and more than {_two(guess.chance_p95)} one time in twenty"
        )
    if guess.stock_answer is not None:
        one = ", ".join(catalogue.words(name) for name in guess.stock_names[0]) if guess.stock_names else "-"
        told.append(
            f"said before looking, what does best on other learners gets {_two(guess.stock_answer)} here: {one}"
        )
    if ceiling is not None:
        told.append(f"the panel's own answers get {_two(ceiling)} against each other")
    return told


def _two(value: float) -> str:
    return f"{rounded(value, 2):.2f}"


def _percent(share: float) -> str:
    return f"{rounded(100 * share, 0):.0f} %"


def _steps(count: int) -> str:
    return "one step" if count == 1 else f"{count} steps"
