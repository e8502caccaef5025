"""Did they find it: the candidate's names for one learner against the panel's reference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assess.lesson.credit import CreditTable, Earned, Names, names_for
from assess.lesson.diagnosis_words import diagnosis_sentences
from assess.lesson.ranking import normalised_gain
from assess.lesson.results import Basis, ConfusionPair, DiagnosisReading, Guess
from assess.records.catalogue import Catalogue
from assess.records.practice import LearnerReference, Named
from assess.records.reading_settings import Settings

__all__ = ["Scored", "read_diagnosis", "score_names"]

NO_GUESS = Guess(None, None, None, ())
NO_PANEL = "nobody on the panel diagnosed this learner, so there is nothing to compare with"
ERROR = "no error is known for one list of names; compare with what a guess, the stock answer and the panel itself get"


@dataclass(frozen=True, slots=True)
class Scored:
    """A list of names, scored: what it earned, its parts 0 to 1, and the counted names that would do harm."""

    earned: Earned
    recall: float
    ndcg: float
    precision: float
    harmful: tuple[str, ...]
    score: float


def score_names(names: Sequence[str], table: CreditTable, settings: Settings) -> Scored:
    """Score names, each once, in order and already cut to those that count.

    score = w_found recall + w_order ndcg + w_ground precision - harm x number of harmful names, never below 0.
    """
    earned = table.earned(names)
    order = normalised_gain(earned.gains, tuple(table.weights.values()))
    harmful = tuple(name for name in names if name in table.harmful)
    merit = settings.w_found * earned.recall + settings.w_order * order + settings.w_ground * earned.precision
    score = max(0.0, merit - settings.harm * len(harmful))
    return Scored(earned, earned.recall, order, earned.precision, harmful, score)


def confusion_pairs(alarms: Sequence[str], table: CreditTable, catalogue: Catalogue) -> tuple[ConfusionPair, ...]:
    """False alarms that the catalogue knows to be taken for something on this learner's chains."""
    here = table.on_chains | table.weights.keys()
    return tuple(
        ConfusionPair(name, other)
        for name in alarms
        if name in catalogue.fault_by_id
        for other in catalogue.fault_by_id[name].look_alike
        if other in here
    )


def read_diagnosis(
    named: Sequence[Named],
    reference: LearnerReference,
    catalogue: Catalogue,
    *,
    guess: Guess = NO_GUESS,
    ceiling: float | None = None,
) -> DiagnosisReading:
    """The reading for the learner of `reference`. Void when nobody on the panel diagnosed this learner.

    guess: from `guessing.guess_for`. ceiling: from `panel.read_panel`, when the panel's own answers are known.
    """
    settings = catalogue.settings
    names = names_for(named, reference.id, settings)
    if not reference.roots:
        return _void(names, reference.id, NO_PANEL)
    table = CreditTable(reference, settings)
    scored = score_names(names.counted, table, settings)
    links = table.on_chains - table.weights.keys() - table.symptoms
    return DiagnosisReading(
        learner=reference.id,
        void=None,
        score=scored.score,
        recall=scored.recall,
        ndcg=scored.ndcg,
        precision=scored.precision,
        counted=names.counted,
        later=names.later,
        ruled_out=names.ruled_out,
        targets_found=len(scored.earned.targets_named),
        links_explained=sum(name in links for name in names.counted),
        symptoms_seen=sum(name in table.symptoms for name in names.counted),
        false_alarms=scored.earned.false_alarms,
        harmful=scored.harmful,
        confusions=confusion_pairs(scored.earned.false_alarms, table, catalogue),
        deeper=tuple(name for name in names.counted if any(credit.steps < 0 for credit in table.credits(name))),
        chance_mean=guess.chance_mean,
        chance_p95=guess.chance_p95,
        stock_answer=guess.stock_answer,
        beyond_stock=_beyond(scored.score, guess.stock_answer),
        ceiling=ceiling,
        why=diagnosis_sentences(names, scored.earned, scored.harmful, table, catalogue, guess, ceiling),
        basis=_basis(names),
    )


def _beyond(score: float, stock: float | None) -> float | None:
    return (score - stock) / (1 - stock) if stock is not None and stock < 1 else None


def _basis(names: Names) -> Basis:
    said = len(names.counted) + len(names.later)
    return Basis(len(names.counted), "names", len(names.counted) / said if said else 0.0, ERROR)


def _void(names: Names, learner: str, reason: str) -> DiagnosisReading:
    return DiagnosisReading(
        learner=learner, void=reason, score=None, recall=None, ndcg=None, precision=None, counted=names.counted,
        later=names.later, ruled_out=names.ruled_out, targets_found=0, links_explained=0, symptoms_seen=0,
        false_alarms=(), harmful=(), confusions=(), deeper=(), chance_mean=None, chance_p95=None, stock_answer=None,
        beyond_stock=None, ceiling=None, why=(reason,), basis=_basis(names),
    )  # fmt: skip
