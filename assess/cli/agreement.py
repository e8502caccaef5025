"""Commands about many sheets: how alike assessors mark, and how far a result would repeat."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from assess.cli.options import As, Json, Plain

__all__ = ["add_to"]

Sources = Annotated[
    list[Path],
    typer.Argument(
        metavar="SOURCE",
        help="Course folders, or one score table: CSV with the columns candidate, assessor, score and, if there, "
        "task, criterion, order.",
    ),
]
Line = Annotated[
    float | None, typer.Option("--line", metavar="3.5", help="The pass line; of courses the rubric's unless given.")
]
Levels = Annotated[
    str | None,
    typer.Option("--levels", metavar="1,2,3,4,5", help="The scale; of courses the rubric's unless given."),
]
Metric = Annotated[
    Literal["nominal", "ordinal", "interval", "ratio"],
    typer.Option("--metric", help="The distance of two levels in Krippendorff's alpha."),
]
Weights = Annotated[
    Literal["none", "linear", "quadratic", "ordinal"],
    typer.Option("--weights", help="What near misses count in every kappa and its relatives."),
]
SameAssessors = Annotated[
    bool, typer.Option("--same-assessors", help="An assessor's id means the same person in all these courses.")
]


def agreement(
    sources: Sources,
    levels: Levels = None,
    line: Line = None,
    metric: Metric = "ordinal",
    weights: Weights = "none",
    replicates: Annotated[
        int, typer.Option("--replicates", min=0, max=100_000, metavar="N", help="Resamples behind the intervals.")
    ] = 1000,
    seed: Annotated[int, typer.Option("--seed", min=0, metavar="S", help="Where the resampling starts.")] = 0,
    same_assessors: SameAssessors = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say how alike assessors mark: equal scores, beyond chance, at the pass line, pair by pair.

    Of courses only locked sheets are read, and only where everybody of a turn has locked: it is the same for all
    who ask. Intervals come from resampling candidates; the same seed gives the same numbers.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.agreeing import agreement_document, agreement_of, levels_from

    found = agreement_of(
        sources,
        levels=None if levels is None else levels_from(levels),
        line=line,
        metric=metric,
        weights=weights,
        replicates=replicates,
        seed=seed,
        same_assessors=same_assessors,
    )
    if as_json:
        show_json(agreement_document(found))
    else:
        from assess.cli.agreement_lines import agreement_lines

        show_lines(agreement_lines(found))
    return 0


def dependability(
    sources: Sources,
    method: Annotated[
        Literal["reml", "anova"], typer.Option("--method", help="reml: also where scores are missing; anova.")
    ] = "reml",
    line: Line = None,
    assessors: Annotated[
        str, typer.Option("--assessors", metavar="1-6", help="Numbers of assessors to look ahead for.")
    ] = "1-6",
    tasks: Annotated[str, typer.Option("--tasks", metavar="1-6", help="Numbers of tasks to look ahead for.")] = "1-6",
    same_assessors: SameAssessors = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say where differences between scores come from, and how far a result would repeat.

    How much is the candidates, how much the assessors and the tasks; and what more assessors or tasks would give.
    Of courses only locked sheets are read, and only where everybody of a turn has locked.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.agreeing import dependability_document, dependability_of, numbers_from

    found = dependability_of(
        sources,
        method=method,
        line=line,
        assessors=numbers_from(assessors, "--assessors"),
        tasks=numbers_from(tasks, "--tasks"),
        same_assessors=same_assessors,
    )
    if as_json:
        show_json(dependability_document(found))
    else:
        from assess.cli.dependability_lines import dependability_lines

        show_lines(dependability_lines(found))
    # Without any estimate the result is why there is none.
    return 0 if found.undefined is None else 1


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("agreement")(agreement)
    app.command("dependability")(dependability)
