"""Day records and the one decision: facts as the text tells them, with names and digests filled in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assess.records.ledger import fact_from
from assess.records.times import instant
from making.acts import Act, pin_of, sheet_name
from making.moments import at_clock
from making.source import RUBRICS, told

__all__ = ["day_acts"]


def day_acts(digests: Mapping[str, str]) -> list[Act]:
    """Every act in `days/` and `decisions/`. digests: SHA-256 of each rubric version, by id."""
    texts = told("days")
    return [_act(item, digests) for item in (*texts["days"], *texts["decisions"])]


def _act(item: dict[str, Any], digests: Mapping[str, str]) -> Act:
    payload = {key: _filled(key, value, item["day"], digests) for key, value in item["fact"].items()}
    about = (item["candidate"],) if "candidate" in item else ()
    return Act(
        at_clock(item["day"], item["at"]), item["who"], "decision" if about else "day", about, fact_from(payload)
    )


def _filled(key: str, value: Any, day: int, digests: Mapping[str, str]) -> Any:
    if isinstance(value, list):
        return [_filled("", part, day, digests) for part in value]
    if key == "bulletin_at":
        return instant(at_clock(day, value))
    if not (isinstance(value, str) and value.startswith("@")):
        return value
    name = value[1:]
    if name == "standard":
        return _standard()
    return f"sha256:{digests[name]}" if name in digests else sheet_name(*name.split("."))


def _standard() -> str:
    """The standard of proof for breaches, as the rubric in force for T5 words it."""
    from ruamel.yaml import YAML

    rubric = YAML(typ="safe", pure=True).load((RUBRICS / f"{pin_of('T5')}.yaml").read_text(encoding="utf-8"))
    return str(rubric["breach"]["standard"])
