from __future__ import annotations

from pathlib import Path

from assess.records.facts import BreachAccount, BreachFinding
from assess.records.ledger import Header
from tests.courses import build_course, open_desk

MUST_NOT = "beyond-a-closure"


def locked(root: Path, who: str, device: str, must_not: str | None = None, report: bool = False) -> None:
    desk = open_desk(root, who, device=device)
    for task in ("T4", "T5", "T6"):
        sheet = desk.slot(task, "C01")
        for criterion in sheet.criteria:
            sheet.score(criterion, 4)
        if report and task == "T5":
            sheet.breach(must_not, "past a closed rope", "at the knoll", "the learner")
        sheet.lock()
    desk.close()


def find(root: Path, who: str, state: str, device: str) -> None:
    desk = open_desk(root, who, device=device)
    header = Header(kind="decision", course="K-TEST", candidate="C01", by=who, device=device, opened=desk.now())
    ledger = desk.live(header)
    desk.append(ledger, BreachAccount(must_not=MUST_NOT, account="did not see the rope"))
    finding = {"must_not": MUST_NOT, "state": state, "modules": ("teach", "safety"), "reports": (), "standard": "s"}
    desk.append(ledger, BreachFinding.model_validate(finding))
    desk.close()


def outcomes(root: Path) -> dict[str, str]:
    modules = open_desk(root, "D1").outcomes().candidates[0][1]
    return {name: found.outcome for name, found in modules.items()}


def course(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", candidates=1, tasks=("T4", "T5", "T6"))


def test_a_reported_breach_holds_its_modules_open_until_somebody_decides(tmp_path: Path) -> None:
    root = course(tmp_path)
    locked(root, "A1", "d7h2k", MUST_NOT, report=True)
    locked(root, "A2", "a2a2a")
    assert outcomes(root) == {"teach": "open", "safety": "open"}
    find(root, "D2", "confirmed", "d2d2d")
    assert outcomes(root) == {"teach": "not_passed", "safety": "not_passed"}


def test_a_breach_not_confirmed_closes_nothing(tmp_path: Path) -> None:
    root = course(tmp_path)
    locked(root, "A1", "d7h2k", MUST_NOT, report=True)
    locked(root, "A2", "a2a2a")
    find(root, "D2", "not-confirmed", "d2d2d")
    assert outcomes(root) == {"teach": "passed", "safety": "passed"}


def test_a_report_that_does_not_name_its_must_not_holds_every_module_open_that_one_closes(tmp_path: Path) -> None:
    root = course(tmp_path)
    locked(root, "A1", "d7h2k", None, report=True)
    locked(root, "A2", "a2a2a")
    assert outcomes(root) == {"teach": "open", "safety": "open"}


def test_a_finding_by_somebody_who_is_no_director_stands_for_nothing(tmp_path: Path) -> None:
    root = course(tmp_path)
    locked(root, "A1", "d7h2k", MUST_NOT, report=True)
    locked(root, "A2", "a2a2a")
    find(root, "A2", "confirmed", "a2a2a")
    assert outcomes(root) == {"teach": "open", "safety": "open"}
