"""Which act a person takes back, and how it is said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from assess.records.facts import Observation, Score
from assess.records.ledger import Entry

__all__ = ["latest_act", "told"]

_NOT_ACTS = frozenset({"undo", "clock", "lock", "settled", "moved-in", "from-card"})


def latest_act(entries: Sequence[Entry]) -> Entry | None:
    """The last of these live entries that a person did and may take back."""
    return next((entry for entry in reversed(entries) if entry.fact.kind not in _NOT_ACTS), None)


def told(entry: Entry, labels: Mapping[str, str]) -> str:
    """The act in a few words: `Edging 3`, `note "tails wash"`. labels: criterion -> its word on the screens."""
    fact = entry.fact
    if isinstance(fact, Score):
        shown = str(fact.level) if fact.status == "scored" else fact.status.replace("-", " ")
        return f"{labels.get(fact.criterion, fact.criterion)} {shown}" + (f" (run {fact.run})" if fact.run > 1 else "")
    if isinstance(fact, Observation) and fact.text:
        return f'note "{fact.text}"'
    return fact.kind.replace("-", " ")
