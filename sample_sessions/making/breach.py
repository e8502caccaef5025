"""The reported breach: one key while it happens, the facts when there is time for them."""

from __future__ import annotations

from typing import Any

from assess.records.facts import Breach, BreachFacts
from making.acts import Act, Later, on_sheet
from making.moments import minutes, uneven
from making.observations import row_time

__all__ = ["breach_reports"]


def breach_reports(said: dict[str, Any], task: str, candidate: str, who: str, origin: int) -> list[Act]:
    """One assessor's own report, and what completes it later; nothing when they reported none."""
    told = dict(said.get("breach", {}).get(who, {}))
    if not told:
        return []
    later = dict(told.pop("later"))
    at = origin + minutes(told.pop("at")) + uneven(0.2, 0.9, "breach", who)
    report = on_sheet(at, (task, candidate), who, Breach.model_validate({**told, "minute_ms": at - origin}), "breach")
    then = row_time(later.pop("at"), origin, "breach facts", who)
    return [report, on_sheet(then, (task, candidate), who, _completed(later, report.label))]


def _completed(facts: dict[str, Any], label: str) -> Later:
    return lambda _ledger, numbers: BreachFacts.model_validate({**facts, "of": numbers[label][-1]})
