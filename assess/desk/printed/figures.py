"""Statistics over many sheets, and the quality report. A number that does not exist is null, with the reason."""

from __future__ import annotations

from assess.desk.printed.shapes import CI, DAY, ENDS, NUMBER, TEXT, WHOLE, YES, Shape, each, maybe, pair, words

__all__ = ["DOCUMENTS"]

OF: dict[str, Shape] = {"n": WHOLE, "n_candidates": WHOLE}
ESTIMATE: dict[str, Shape] = {
    "estimate": maybe(NUMBER), "se": maybe(NUMBER), "ci95": CI, "interval": TEXT, **OF, "undefined": maybe(TEXT),
    "warnings": [TEXT], "sentence": TEXT,
}  # fmt: skip
COEFFICIENT: dict[str, Shape] = {**ESTIMATE, "se_null": maybe(NUMBER), "n_assessors": WHOLE, "n_scores": WHOLE}
AGREEMENT: Shape = {
    "n_units": WHOLE, "n_candidates": WHOLE, "n_assessors": WHOLE, "n_scores": WHOLE, "levels": [NUMBER],
    "not_used": WHOLE, "effective_criteria": maybe(NUMBER), "warnings": [TEXT],
    "percent_agreement": COEFFICIENT, "within_one": COEFFICIENT,
    "at_pass_line": maybe({**COEFFICIENT, "table": [[WHOLE]], "kappa": COEFFICIENT}),
    "krippendorff_alpha": COEFFICIENT, "fleiss_kappa": COEFFICIENT, "conger_kappa": COEFFICIENT,
    "gwet_ac": {**COEFFICIENT, "form": words("AC1", "AC2")}, "brennan_prediger": COEFFICIENT, "kendall_w": COEFFICIENT,
    "icc": {
        "ICC(1)": COEFFICIENT, "ICC(A,1)": COEFFICIENT, "ICC(C,1)": COEFFICIENT, "ICC(k)": COEFFICIENT,
        "ICC(A,k)": COEFFICIENT, "ICC(C,k)": COEFFICIENT,
    },
    "sem": {
        "consistency": maybe(NUMBER), "absolute": maybe(NUMBER), "mdc95_consistency": maybe(NUMBER),
        "mdc95_absolute": maybe(NUMBER), "undefined": maybe(TEXT),
    },
    "pairs": [
        {
            "a": TEXT, "b": TEXT, **OF, "percent_agreement": maybe(NUMBER), "percent_agreement_ci95": CI,
            "within_one": maybe(NUMBER), "cohen_kappa": COEFFICIENT, "kappa_max": maybe(NUMBER),
            "prevalence_index": maybe(NUMBER), "bias_index": maybe(NUMBER),
            "bland_altman": {
                "bias": maybe(NUMBER), "bias_ci95": CI, "sd": maybe(NUMBER), "limits": CI,
                "limits_ci95": maybe(pair(ENDS)), "limits_ci95_1986": maybe(pair(ENDS)), "interval": TEXT,
                "slope": maybe(NUMBER), "slope_p": maybe(NUMBER), "slope_ci95": CI, "n": WHOLE,
                "undefined": maybe(TEXT),
            },
            "spearman": maybe(NUMBER), "spearman_ci95": CI, "kendall_tau_b": maybe(NUMBER), "kendall_tau_b_ci95": CI,
            "interval": TEXT, "table": [[WHOLE]], "sentence": TEXT,
        }
    ],
}  # fmt: skip
FIT: dict[str, Shape] = {
    "infit": maybe(NUMBER), "outfit": maybe(NUMBER), "infit_z": maybe(NUMBER), "outfit_z": maybe(NUMBER), **OF,
    "undefined": maybe(TEXT),
}  # fmt: skip
PLACE: dict[str, Shape] = {
    "se": maybe(NUMBER), "se_clustered": maybe(NUMBER), "ci95": CI, "interval": TEXT, "in_levels": maybe(NUMBER),
    "in_levels_ci95": CI, **FIT,
}  # fmt: skip
APART: Shape = {"separation": maybe(NUMBER), "reliability": maybe(NUMBER)}
SEVERITY: Shape = {
    "model": words("rating_scale", "partial_credit"), "method": words("marginal", "joint"), "levels": [NUMBER],
    "linked": YES, "groups": [[TEXT]], "deviance": maybe(NUMBER), "log_likelihood": maybe(NUMBER), "converged": YES,
    "assessors": [
        {
            "id": TEXT, "severity": maybe(NUMBER), **PLACE, "sentence": TEXT,
            "within_sheet": maybe({
                "seen": maybe(NUMBER), "foreseen": maybe(NUMBER), "n": WHOLE, "p": maybe(NUMBER), "little": YES,
            }),
            "joint": maybe({
                "severity": maybe(NUMBER), "se": maybe(NUMBER), "ci95": CI, "in_levels": maybe(NUMBER),
                "in_levels_ci95": CI,
            }),
        }
    ],
    "criteria": [{"id": TEXT, "difficulty": maybe(NUMBER), **PLACE}],
    "tasks": [{"id": TEXT, "difficulty": maybe(NUMBER), **PLACE}],
    "steps": [{"level": NUMBER, "threshold": maybe(NUMBER), "se": maybe(NUMBER), "criteria": [TEXT]}],
    "candidates": [
        {
            "id": TEXT, "ability": maybe(NUMBER), "se": maybe(NUMBER), "at_average_assessor": maybe(NUMBER),
            "mean_as_given": NUMBER, "extreme": YES, "n": WHOLE,
        }
    ],
    "population": maybe({"mean": NUMBER, "sd": NUMBER}),
    "told_apart": {"assessors?": APART, "criteria?": APART, "tasks?": APART, "candidates?": APART},
    "equal_scores": {"seen": maybe(NUMBER), "foreseen": maybe(NUMBER)},
    "interactions": [
        {
            "assessor": TEXT, "other": TEXT, "extra_severity": maybe(NUMBER), "se": maybe(NUMBER), "n": WHOLE,
            "flagged": YES,
        }
    ],
    "nodes": maybe(WHOLE), "n_candidates": WHOLE, "n_assessors": WHOLE, "n_scores": WHOLE, "undefined": maybe(TEXT),
    "sentences": [TEXT], "warnings": [TEXT],
}  # fmt: skip
DEPENDABILITY: Shape = {
    "design": TEXT, "method": words("reml", "anova"), "minus_two_restricted_log_likelihood": maybe(NUMBER),
    "components": [{"source": TEXT, "variance": NUMBER, "ci95": CI, "interval": TEXT, "se": maybe(NUMBER)}],
    "g": maybe(NUMBER), "g_ci95": CI, "phi": maybe(NUMBER), "phi_ci95": CI, "phi_at_line": maybe(NUMBER),
    "phi_at_line_ci95": CI, "interval": TEXT, "sem_relative": maybe(NUMBER), "sem_absolute": maybe(NUMBER),
    "d_study": [
        {
            "assessors": WHOLE, "tasks": WHOLE, "g": maybe(NUMBER), "phi": maybe(NUMBER),
            "sem_relative": maybe(NUMBER), "sem_absolute": maybe(NUMBER), "g_ci95": CI, "phi_ci95": CI,
        }
    ],
    "mean": maybe(NUMBER), "n_candidates": WHOLE, "n_assessors": WHOLE, "n_tasks": WHOLE, "n_scores": WHOLE,
    "facet": TEXT, "undefined": maybe(TEXT), "sentences": [TEXT], "warnings": [TEXT],
}  # fmt: skip
EFFECT: Shape = {
    "name": TEXT, "estimate": maybe(NUMBER), "ci95": CI, "interval": TEXT, "p": maybe(NUMBER),
    "adjusted": maybe(NUMBER), "verdict": TEXT, **OF, "own": maybe(NUMBER), "own_ci95": CI, "others": maybe(NUMBER),
    "undefined": maybe(TEXT), "mirror_of": [TEXT], "sentence": TEXT, "limit": TEXT, "todo": TEXT, "warnings": [TEXT],
}  # fmt: skip
RATERS: dict[str, Shape] = {
    "course": TEXT, "date": TEXT, "levels": [NUMBER], "n_candidates": WHOLE, "n_assessors": WHOLE, "n_sheets": WHOLE,
    "n_slots": WHOLE, "groups": [[TEXT]],
    "family": {"name": TEXT, "n_tests": WHOLE, "n_flagged": WHOLE, "rate": NUMBER, "sentence": TEXT},
    "assessors": [
        {
            "id": TEXT, "n_sheets": WHOLE, "n_candidates": WHOLE, "flat_sheets": WHOLE,
            "sheets_of_several_marks": WHOLE, "spread": maybe(NUMBER), "levels": [WHOLE], "sentence": TEXT,
            "effects": [EFFECT],
        }
    ],
    "warnings": [TEXT],
}  # fmt: skip
ASSESSORS: dict[str, Shape] = {
    "courses": [RATERS], "together": maybe(RATERS),
    "advice": [
        {"assessor": TEXT, "effect": TEXT, "course": TEXT, "do": TEXT, "flagged_in": [TEXT], "sentence": TEXT},
    ],
    "never": TEXT, "warnings": [TEXT], "own": maybe(TEXT),
    "about": [{"course": TEXT, "id": TEXT, "licence": TEXT, "fit": TEXT}], "told": [TEXT],
}  # fmt: skip
ACTION: Shape = {"what": TEXT, "who": TEXT, "due": DAY, "done": maybe(DAY)}
CLAUSES: Shape = [{"source": TEXT, "number": TEXT, "from_memory": YES}]
GROUPS: Shape = {
    "groupings": [
        {
            "name": TEXT,
            "rates": [{"group": TEXT, "n": WHOLE, "passed": maybe(WHOLE), "rate": maybe(TEXT), "ci95": CI}],
            "pairs": [
                {
                    "lower": TEXT, "higher": TEXT, "ratio": maybe(TEXT), "under_four_fifths": maybe(YES),
                    "p": maybe(NUMBER), "adjusted": maybe(NUMBER), "persons_to_flip_ratio": maybe(WHOLE),
                    "sentence": TEXT,
                }
            ],
            "n_hidden": WHOLE, "n_left_out": WHOLE, "undefined": maybe(TEXT),
        }
    ],
    "n_persons": WHOLE, "n_courses": WHOLE, "n_tests": WHOLE, "law": [TEXT], "warnings": [TEXT],
}  # fmt: skip
WAIVER: Shape = {
    "course": TEXT, "about": TEXT, "assessor": TEXT, "candidate": maybe(TEXT), "by": TEXT, "on": TEXT, "turns": WHOLE,
    "reason": TEXT,
}  # fmt: skip
QUALITY: Shape = {
    "note": TEXT, "clauses": each(CLAUSES), "on": DAY,
    "courses": [
        {
            "id": TEXT, "title": TEXT, "first_day": DAY, "candidates": WHOLE, "assessors": WHOLE, "turns_used": WHOLE,
            "turns": WHOLE,
        }
    ],
    "quality_files": [TEXT], "due": maybe(DAY),
    "last_report": maybe({"on": DAY, "by": TEXT, "found": TEXT, "actions": [ACTION]}),
    "overdue": [{"since": DAY, "what": TEXT, "about": TEXT}], "findings": [TEXT],
    "reliability": [
        {
            "module": TEXT, "line": TEXT, "sheet_error": ESTIMATE, "sheet_error_near_line": ESTIMATE,
            "written_sheet_error": each(maybe({
                "value": TEXT, "source": TEXT, "date": TEXT, "n_pairs": maybe(WHOLE), "ci95": maybe(pair(TEXT)),
            })),
            "n_sheets": WHOLE, "mean_error": maybe(NUMBER), "mean_error_ci95": CI, "g": maybe(ESTIMATE),
            "phi": maybe(ESTIMATE), "phi_at_line": maybe(ESTIMATE), "dependability_undefined": maybe(TEXT),
            "sentences": [TEXT],
        }
    ],
    "pooled_sheet_error": [{**ESTIMATE, "modules": [TEXT]}],
    "decision_consistency": [
        {
            "module": TEXT, "within": NUMBER, "overall": ESTIMATE, "near": ESTIMATE, "in_band": ESTIMATE,
            "clear": ESTIMATE, "third_looks": WHOLE,
            "candidates": [{"candidate": TEXT, "outcome": TEXT, "away": NUMBER, "same": NUMBER}],
            "spread": maybe({
                "candidate": NUMBER, "performance": NUMBER, "criterion": NUMBER, "sheet": NUMBER, "mark": NUMBER,
            }),
            "replicates": WHOLE, "seed": WHOLE, "left_out": each(WHOLE), "undefined": maybe(TEXT),
            "warnings": [TEXT],
        }
    ],
    "assessors": maybe(ASSESSORS), "assessors_undefined": maybe(TEXT),
    "pass_lines": [
        {
            "rubric": TEXT, "sha256": TEXT, "line": TEXT, "courses": [TEXT], "state": TEXT,
            "record": maybe({
                "rubric": TEXT, "sha256": maybe(TEXT), "line": TEXT, "method": TEXT, "panel": [TEXT], "days": [DAY],
                "rounds": WHOLE, "spread": maybe(TEXT), "final": TEXT, "approved_by": TEXT, "approved_on": DAY,
            }),
            "sentence": TEXT,
        }
    ],
    "groups": maybe(GROUPS),
    "separation": {
        "waivers": [WAIVER], "conflicts": WHOLE, "trained": WHOLE, "markings": WHOLE, "waived": each(WHOLE),
        "standing": [TEXT], "decided_with_waiver": WHOLE,
        "threats": [
            {
                "kind": TEXT, "text": TEXT, "found": DAY, "by": TEXT, "treatment": TEXT, "treated": maybe(DAY),
                "review": maybe(DAY),
            }
        ],
        "open_threats": WHOLE,
    },
    "replicates": WHOLE, "seed": WHOLE,
}  # fmt: skip

DOCUMENTS: dict[str, tuple[Shape, ...]] = {
    "agreement": (AGREEMENT,),
    "severity": (SEVERITY,),
    "dependability": (DEPENDABILITY,),
    "assessors": (ASSESSORS,),
    "quality": (QUALITY,),
}
"""Command -> the documents it may print."""
