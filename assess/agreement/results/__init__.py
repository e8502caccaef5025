"""What the statistics give back: frozen, without arrays, each number with its interval, its n and a sentence."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "Ability", "Agreement", "Beside", "BlandAltman", "Component", "Dependability", "Estimate", "Measure", "Pair",
    "PassLine", "Planned", "Sem", "Severity", "Step", "Together", "ToldApart", "WithinSheet",
]  # fmt: skip

Interval = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Estimate:
    """One statistic.

    estimate: None when it does not exist; `undefined` then says why. se: its standard error; null_se: the one
    for a test against chance, where the literature has another. ci95: 95 % interval; interval: how it was made.
    n: units counted (a unit is one candidate, task and criterion); the other n say whom they come from.
    sentence: what it says, for a person who decides; warnings: what to be careful about.
    """

    name: str
    estimate: float | None
    se: float | None = None
    ci95: Interval | None = None
    interval: str = ""
    n: int = 0
    n_candidates: int = 0
    n_assessors: int = 0
    n_scores: int = 0
    undefined: str | None = None
    warnings: tuple[str, ...] = ()
    sentence: str = ""
    null_se: float | None = None


@dataclass(frozen=True, slots=True)
class PassLine:
    """Equal side of the pass line. table: [[both below, below and on], [on and below, both on]] over pairs of scores.

    A score equal to the line is on. In the table of more than two assessors every pair counts in both orders.
    """

    agreement: Estimate
    kappa: Estimate
    table: tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True)
class BlandAltman:
    """Differences of two assessors: mean, spread, and the limits 95 % of differences lie within, with intervals.

    limits_ci95: intervals of the lower and the upper limit, made as `interval` says; limits_ci95_1986: the older
    approximation. slope: of the difference on the mean of the two, with p or interval. n: pairs of scores.
    """

    bias: float | None
    sd: float | None
    limits: Interval | None
    limits_ci95: tuple[Interval, Interval] | None
    slope: float | None = None
    undefined: str | None = None
    n: int = 0
    interval: str = ""
    bias_ci95: Interval | None = None
    limits_ci95_1986: tuple[Interval, Interval] | None = None
    slope_p: float | None = None
    slope_ci95: Interval | None = None


@dataclass(frozen=True, slots=True)
class Pair:
    """Two assessors over the n units both scored. table: their scores, a's level by row, b's by column.

    The table is empty on a scale of more than 40 levels. prevalence_index, bias_index: of the two sides of the pass
    line, or of a scale of two levels; else None. interval: how the three intervals at the end were made.
    """

    a: str
    b: str
    n: int
    n_candidates: int
    percent_agreement: float | None
    within_one: float | None
    cohen_kappa: Estimate
    kappa_max: float | None
    prevalence_index: float | None
    bias_index: float | None
    bland_altman: BlandAltman
    spearman: float | None
    kendall_tau_b: float | None
    table: tuple[tuple[int, ...], ...]
    percent_ci95: Interval | None = None
    spearman_ci95: Interval | None = None
    kendall_tau_b_ci95: Interval | None = None
    interval: str = ""
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class Sem:
    """Error of one score in levels: between assessors taken as they come (absolute) or up to severity (consistency).

    mdc95: the smallest difference of two scores that is more than error, for each.
    """

    consistency: float | None
    absolute: float | None
    mdc95_consistency: float | None
    mdc95_absolute: float | None
    undefined: str | None = None


@dataclass(frozen=True, slots=True)
class Agreement:
    """All agreement statistics of one set of scores.

    levels: the declared scale, or the observed values. not_used: scores of units with one score, which say
    nothing about agreement. icc: McGraw & Wong's forms by name. effective_criteria: of how many independent
    criteria the criteria of one candidate are worth.
    """

    n_units: int
    n_candidates: int
    n_assessors: int
    n_scores: int
    levels: tuple[float, ...]
    not_used: int
    percent_agreement: Estimate
    within_one: Estimate
    at_pass_line: PassLine | None
    krippendorff_alpha: Estimate
    fleiss_kappa: Estimate
    conger_kappa: Estimate
    gwet_ac: Estimate
    gwet_form: str
    brennan_prediger: Estimate
    kendall_w: Estimate
    icc: tuple[tuple[str, Estimate], ...]
    sem: Sem
    pairs: tuple[Pair, ...]
    effective_criteria: float | None = None
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Component:
    """A source of variance. variance: as estimated (negative ones of ANOVA are shown and count as 0 elsewhere)."""

    source: str
    variance: float
    ci95: Interval | None = None
    interval: str = ""
    se: float | None = None


@dataclass(frozen=True, slots=True)
class Planned:
    """What so many assessors and tasks would give: dependability relative (g) and absolute (phi), error of a mean."""

    assessors: int
    tasks: int
    g: float | None
    phi: float | None
    sem_relative: float | None
    sem_absolute: float | None
    g_ci95: Interval | None = None
    phi_ci95: Interval | None = None


@dataclass(frozen=True, slots=True)
class Dependability:
    """Where the differences between scores come from, and how far a result would repeat.

    design: sources in words, nested ones named. facet: "task" or "criterion", whichever the second facet is, or "".
    minus_two_restricted_log_likelihood: None with ANOVA. g, phi, sem_*: for the numbers of assessors and tasks
    seen here; phi_at_line needs a line. d_study: other numbers. undefined: why there is no estimate at all.
    n_tasks: levels of the second facet, 0 without one; mean: of all scores, by the model.
    """

    design: str
    method: str
    facet: str
    minus_two_restricted_log_likelihood: float | None
    components: tuple[Component, ...]
    g: Estimate
    phi: Estimate
    phi_at_line: Estimate | None
    sem_relative: float | None
    sem_absolute: float | None
    d_study: tuple[Planned, ...]
    n_candidates: int
    n_assessors: int
    n_scores: int
    sentences: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    undefined: str | None = None
    n_tasks: int = 0
    mean: float | None = None


@dataclass(frozen=True, slots=True)
class WithinSheet:
    """How far apart the criteria of one sheet are (standard deviation, levels): seen, and foreseen from ability.

    Much less than foreseen: one impression colours the whole sheet (halo). n: sheets with several criteria. p: how
    likely so little spread is when scores hang together by ability alone; None where the model leaves no spread.
    little: it is less than chance makes likely, looked at with all the other assessors.
    """

    seen: float
    foreseen: float
    n: int
    p: float | None = None
    little: bool = False


@dataclass(frozen=True, slots=True)
class Beside:
    """Joint maximum likelihood beside the marginal estimate: it takes nothing for granted about the candidates."""

    value: float
    se: float | None
    ci95: Interval | None
    levels: float | None
    levels_ci95: Interval | None


@dataclass(frozen=True, slots=True)
class Measure:
    """Where an assessor (severity), a criterion or a task (difficulty) is, in logits; more is stricter or harder.

    value: None for whoever gives (or gets) one end of the scale alone: `undefined` says so. se: from the full inverse
    information; se_clustered: with candidates as clusters, so that sheets of one candidate are not counted as if they
    were independent; ci95, interval: the interval to go by. levels, levels_ci95: value and interval as levels of the
    scale, for the candidates of this course; a halo makes logits smaller than they are, levels not. infit, outfit:
    mean squares, 1 as the model foresees, and their z. beside: the joint estimate, where assessors are loosely joined.
    """

    id: str
    value: float | None
    se: float | None
    se_clustered: float | None
    ci95: Interval | None
    interval: str
    levels: float | None
    infit: float | None
    outfit: float | None
    infit_z: float | None
    outfit_z: float | None
    n: int
    n_candidates: int
    undefined: str | None = None
    within_sheet: WithinSheet | None = None
    sentence: str = ""
    levels_ci95: Interval | None = None
    beside: Beside | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """Where, for average facets, a level becomes likelier than the one below it. criteria: who has it; () for all."""

    level: float
    threshold: float
    se: float | None
    criteria: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Ability:
    """A candidate. value: logits; None where it has no maximum. at_average_assessor, mean_as_given: levels.

    at_average_assessor is for a criterion and a task of average difficulty. extreme: all scores at one end of the
    scale.
    """

    id: str
    value: float | None
    se: float | None
    at_average_assessor: float | None
    mean_as_given: float
    extreme: bool
    n: int


@dataclass(frozen=True, slots=True)
class ToldApart:
    """True spread over error (separation) and its share of all spread (reliability); None where it does not exist."""

    separation: float | None
    reliability: float | None


@dataclass(frozen=True, slots=True)
class Together:
    """An assessor on one criterion (task without criteria): severity beyond both, in logits, all else held fixed.

    value: None where all scores are one end of the scale. flagged: more than chance makes likely among all pairs.
    """

    assessor: str
    other: str
    value: float | None
    se: float | None
    n: int
    flagged: bool = False


@dataclass(frozen=True, slots=True)
class Severity:
    """A many-facet Rasch analysis. groups: assessors who can be compared; more than one: not linked, no estimates.

    undefined: why there are no estimates. mean, sd: of the candidates' distribution, None with joint. equal_seen,
    equal_foreseen: share of equal scores of two assessors. sentences: what it says, the most important first.
    """

    model: str
    method: str
    levels: tuple[float, ...]
    linked: bool
    groups: tuple[tuple[str, ...], ...]
    n_candidates: int
    n_assessors: int
    n_scores: int
    log_likelihood: float | None = None
    converged: bool = False
    assessors: tuple[Measure, ...] = ()
    criteria: tuple[Measure, ...] = ()
    tasks: tuple[Measure, ...] = ()
    steps: tuple[Step, ...] = ()
    candidates: tuple[Ability, ...] = ()
    mean: float | None = None
    sd: float | None = None
    told_apart: tuple[tuple[str, ToldApart], ...] = ()
    equal_seen: float | None = None
    equal_foreseen: float | None = None
    interactions: tuple[Together, ...] = ()
    nodes: int = 0
    sentences: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    undefined: str | None = None
