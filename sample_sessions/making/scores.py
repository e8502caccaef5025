"""The digits: one sheet's marks, the slips put right, spoilt runs, digits given to the wrong bib."""

from __future__ import annotations

from typing import Any

from assess.records.facts import Rerun, Score, Undo
from making.acts import Act, Later, on_sheet
from making.moments import uneven
from making.source import score_rows, told
from making.viewpoints import viewpoint_in

__all__ = ["digits", "rerun_of", "score", "sheet_rows"]

BETWEEN_DIGITS_S = {"A1": (2.2, 5.0), "A2": (1.2, 2.4), "A3": (2.6, 6.0), "A4": (1.9, 4.2)}


def sheet_rows(task: str, candidate: str, who: str) -> list[dict[str, str]]:
    """The rows of the score table of one sheet, in the order of the task's criteria."""
    return [r for r in score_rows() if (r["task"], r["candidate"], r["assessor"]) == (task, candidate, who)]


def score(row: dict[str, str], *, run: int = 1, viewpoint: str | None = None) -> Score:
    """A row of the table as the entry an assessor makes; absent and ended are not observed, with the reason."""
    said: dict[str, Any] = {"criterion": row["criterion"], "run": run}
    if row["status"] == "scored":
        return Score.model_validate({**said, "level": int(row["score"]), "viewpoint": viewpoint})
    word, _, reason = row["status"].removeprefix("not-observed-").rpartition("-")
    if word not in ("", "absent", "ended"):
        raise ValueError(f"status {row['status']} is not known")
    return Score.model_validate({**said, "status": "not-observed", "why": reason})


def rerun_of(task: str, candidate: str) -> dict[str, Any] | None:
    """The spoilt run of a slot, when there was one."""
    found = (item for item in told("on-the-hill")["reruns"] if (item["task"], item["candidate"]) == (task, candidate))
    return next(found, None)


def digits(task: str, candidate: str, who: str, begin: int) -> list[Act]:
    """All marks of one sheet, the first at `begin`; a spoilt run with its digits goes before."""
    rows = sheet_rows(task, candidate, who)
    slot = (task, candidate)
    spoilt = rerun_of(task, candidate)
    run = 2 if spoilt else 1
    acts: list[Act] = []
    at = begin
    if spoilt:
        acts += _spoilt_run(slot, who, rows, spoilt, begin)
        at = begin + _until_second_run(task, candidate, who)
    for number, row in enumerate(rows):
        at += uneven(*BETWEEN_DIGITS_S[who], task, candidate, who, number)
        fact = score(row, run=run, viewpoint=viewpoint_in(task, candidate, who))
        acts += _with_slip(slot, who, at, fact)
    return acts


def _until_second_run(task: str, candidate: str, who: str) -> int:
    """How long the second run was in coming, in milliseconds."""
    return uneven(128, 136, "second run", task, candidate) + uneven(0, 5, "second run", who)


def _spoilt_run(
    slot: tuple[str, str], who: str, rows: list[dict[str, str]], spoilt: dict[str, Any], begin: int
) -> list[Act]:
    levels = spoilt["first"][who]
    at = begin
    acts = []
    for number, level in enumerate(levels):
        at += uneven(*BETWEEN_DIGITS_S[who], "spoilt", *slot, who, number)
        row = {**rows[number], "score": str(level), "status": "scored"}
        acts.append(on_sheet(at, slot, who, score(row, viewpoint=viewpoint_in(*slot, who))))
    again = Rerun.model_validate({"run": 2, "why": spoilt["why"]})
    return [*acts, on_sheet(at + uneven(6, 14, "again", *slot, who), slot, who, again)]


def _with_slip(slot: tuple[str, str], who: str, at: int, fact: Score) -> list[Act]:
    """The mark, and before it the digit typed by mistake where there was one."""
    right: list[Act] = [on_sheet(at, slot, who, fact)]
    for slip in told("on-the-hill")["slips"]:
        if (slip["task"], slip["candidate"], slip["assessor"], slip["criterion"]) != (*slot, who, fact.criterion):
            continue
        wrong = fact.model_copy(update={"level": slip["typed"]})
        typed = on_sheet(at - 1500, slot, who, wrong, f"slip.{fact.criterion}")
        if slip["mended"] == "over":
            return [typed, *right]
        return [typed, on_sheet(at - 700, slot, who, _taken_back(typed.label)), *right]
    return right


def _taken_back(label: str) -> Later:
    return lambda _ledger, numbers: Undo(of=numbers[label][-1])
