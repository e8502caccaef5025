"""Demonstrations and the hazard walk: viewpoints, digits while the next one is waiting, notes between runs."""

from __future__ import annotations

from assess.records.facts import Question
from making.acts import Act, on_sheet
from making.moments import SECOND, slot_start, uneven
from making.observations import observations, rows_of
from making.scores import digits, sheet_rows
from making.source import told
from making.viewpoints import views
from making.wrong_bib import moved_digits

__all__ = ["demonstrations"]

TEXTS = {"T1": "demo-t1", "T2": "demo-t2", "T3": "demo-t3", "T6": "safety-t6"}
# Seconds from the planned time to the first digit: the run itself, or the walk with its questions.
FIRST_DIGIT_S = {"T1": (52, 60), "T2": (50, 58), "T3": (58, 70), "T6": (930, 985)}
ABSENT_S = (50, 80)


def demonstrations() -> list[Act]:
    """Every act on the sheets of T1, T2, T3 and T6, locks aside."""
    acts: list[Act] = []
    for task in TEXTS:
        slots = [slot for slot in told("course-plan")["allocation"] if slot["task"] == task]
        for who in told("course-plan")["assessors"]:
            mine = [slot["candidate"] for slot in slots if who in slot["assessors"]]
            acts += views(task, who, mine)
            for candidate in mine:
                acts += _sheet(task, candidate, who)
    return acts


def _sheet(task: str, candidate: str, who: str) -> list[Act]:
    start = slot_start(task, candidate)
    late = told("on-the-hill")["delays"].get(task, {}).get(candidate, 0) * SECOND
    absent = sheet_rows(task, candidate, who)[0]["status"].startswith("absent")
    first = uneven(*(ABSENT_S if absent else FIRST_DIGIT_S[task]), "first digit", task, candidate, who)
    marks = moved_digits(task, candidate, who, digits(task, candidate, who, start + late + first))
    notes = observations(task, candidate, who, start, rows_of(TEXTS[task], candidate, who), lesson=False)
    return [*marks, *notes, *_questions(task, candidate, who, start)]


def _questions(task: str, candidate: str, who: str, start: int) -> list[Act]:
    asked = told(TEXTS[task]).get(candidate, {}).get("questions", [])
    acts = []
    at = start + uneven(845, 865, "questions", task, candidate, who)
    for question, answer in asked:
        at += uneven(14, 26, question, task, candidate, who)
        acts.append(on_sheet(at, (task, candidate), who, Question(question=question, answer=answer)))
    return acts
