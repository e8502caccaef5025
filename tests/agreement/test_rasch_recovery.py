"""True severities come out of the model: the simulation of `tests.bench.severity`, small."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import pytest

from assess.agreement.rasch import severity
from assess.agreement.rasch_json import severity_json
from tests.bench.__main__ import GROUPS, SIMULATIONS, chosen
from tests.bench.severity import APART, DESIGNS, Design, Tallied, drawn, loosely, simulated

SETS = 15


@pytest.fixture(scope="module")
def clean() -> dict[str, dict[str, Tallied]]:
    return {str(design): simulated(design, 0.0, SETS) for design in DESIGNS}


@pytest.mark.parametrize("design", [str(design) for design in DESIGNS])
def test_marginal_estimates_neither_exaggerate_nor_shrink(clean: dict[str, dict[str, Tallied]], design: str) -> None:
    marginal, joint = clean[design]["marginal"], clean[design]["joint"]
    for slope, error in (marginal.slope, marginal.slope_in_levels):
        assert abs(slope - 1.0) < 4 * error < 0.3
    # 60 or 120 intervals, less four standard errors.
    assert 0.83 <= marginal.inverse[0] <= marginal.told[0]
    assert joint.slope[0] > marginal.slope[0] + 0.03


def test_a_halo_shrinks_logits_and_the_interval_of_the_model_and_is_told(clean: dict[str, dict[str, Tallied]]) -> None:
    design = DESIGNS[0]
    found = simulated(design, 1.0, SETS)["marginal"]
    assert found.slope[0] + 3 * found.slope[1] < 0.9
    assert abs(found.slope_in_levels[0] - 1.0) < 4 * found.slope_in_levels[1]
    assert found.inverse[0] < 0.75 < found.told[0] < found.told_in_levels[0]
    assert found.told_in_levels[0] > 0.88
    halo = sum(found.said.values()), sum(clean[str(design)]["marginal"].said.values())
    assert halo[0] > 0.8 * SETS and halo[1] < 0.2 * SETS


def test_with_one_candidate_between_two_groups_the_joint_estimate_stands_beside_and_nobody_is_named() -> None:
    found, joint = (loosely(1, APART, method, SETS) for method in ("marginal", "joint"))
    # Two groups 1.6 logits apart: the normal distribution of all candidates takes that for severity.
    assert sum(found.gaps) / SETS > 0.4 > abs(sum(joint.gaps) / len(joint.gaps))
    assert sum(found.named) <= 2
    assert any("joint estimates stand beside" in warning for warning in found.warned)


def test_the_same_number_draws_the_same_scores_and_teams_are_taken_in_turn() -> None:
    design = Design(12, 4, 2)
    one, two, other = (drawn(design, 0.5, number) for number in (3, 3, 4))
    assert (one.scores.value == two.scores.value).all() and (one.severity == two.severity).all()
    assert not (one.scores.value == other.scores.value).all()
    teams = {frozenset(one.scores.assessor[one.scores.candidate == c].tolist()) for c in range(12)}
    assert len(teams) == 6


def test_the_joint_estimate_is_set_beside_only_where_assessors_are_loosely_joined() -> None:
    rows = drawn(Design(12, 4, 2), 0.0, 1).scores
    found, joint = severity(rows), severity(rows, method="joint")
    assert all(m.beside is not None for m in found.assessors)
    assert [m.beside.value for m in found.assessors if m.beside] == [m.value for m in joint.assessors]
    assert all(m.beside is None for m in joint.assessors)
    document = severity_json(found)["assessors"][0]["joint"]
    assert document == {
        "severity": joint.assessors[0].value, "se": joint.assessors[0].se, "ci95": list(joint.assessors[0].ci95 or ()),
        "in_levels": joint.assessors[0].levels, "in_levels_ci95": list(joint.assessors[0].levels_ci95 or ()),
    }  # fmt: skip
    close = severity(drawn(DESIGNS[0], 0.0, 1).scores)
    assert all(m.beside is None for m in close.assessors) and not any("joint" in w for w in close.warnings)


def test_intervals_in_levels_lie_around_the_levels() -> None:
    for measure in severity(drawn(DESIGNS[1], 0.5, 2).scores).assessors:
        assert measure.levels_ci95 is not None and measure.levels is not None
        assert measure.levels_ci95[0] < measure.levels < measure.levels_ci95[1]


def test_words_choose_what_is_measured_and_a_number_how_many_data_sets(monkeypatch: pytest.MonkeyPatch) -> None:
    def rows(sets: int = 7) -> Iterator[str]:
        yield f"{sets} data sets"

    monkeypatch.setitem(SIMULATIONS, "severity", rows)
    for name in GROUPS:
        monkeypatch.setitem(GROUPS, name, partial(iter, [name]))
    assert [row for group in chosen(["severity", "3", "files", "severity"]) for row in group] == [
        "3 data sets", "files", "7 data sets",
    ]  # fmt: skip
    assert [row for group in chosen([]) for row in group] == sorted(GROUPS)
