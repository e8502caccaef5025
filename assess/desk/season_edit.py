"""Changing `season.yaml`: what one works on, what came of it, where a film is now. Comments in it stay."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from assess.desk.film_compare import season_of
from assess.records.errors import Refusal
from assess.records.ledger import why_invalid
from assess.records.season import MOST_OPEN, OpenAction, Season
from assess.records.text import typed
from assess.records.times import day_told

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["change_season", "close_action", "open_action", "remember_path"]


def open_action(desk: Desk, behaviour: str, *, how: str, checked_by: str, remeasure_on: str) -> OpenAction:
    """One more thing to work on; at most two are open. Raises Refusal for a third, or one not told whole."""
    season, who = season_of(desk), _mine(desk)
    if len(season.open_actions) >= MOST_OPEN:
        names = " and ".join(action.id for action in season.open_actions)
        raise Refusal(f"{names} are open, and {MOST_OPEN} are enough", todo="close one first: --close ID --result TEXT")
    by = checked_by or who
    if by not in (season.trainee, *season.mentors):
        raise Refusal(f"{by} is neither the trainee nor a mentor", todo="name who checks it with --by")
    if not (behaviour.strip() and how.strip() and remeasure_on.strip()):
        raise Refusal(
            "an action is a behaviour, how it is checked, and when", todo="say --how TEXT and --on 2027-02-01"
        )
    day = day_told(remeasure_on)
    told = {
        "id": f"a{len(season.actions) + 1}", "behaviour": typed(behaviour), "how": typed(how), "checked_by": by,
        "remeasure_on": day.isoformat(),
    }  # fmt: skip
    try:
        action = OpenAction.model_validate(told)
    except ValidationError as error:
        raise Refusal("; ".join(why_invalid(error)), todo="put that right; nothing was written") from None
    change_season(desk, lambda data: data.setdefault("actions", []).append(told))
    return action


def close_action(desk: Desk, action: str, result: str) -> None:
    """It was measured again: what came of it, today. Raises Refusal for one that is not open, or without a result."""
    season = season_of(desk)
    _mine(desk)
    if action not in [each.id for each in season.open_actions]:
        open_now = ", ".join(each.id for each in season.open_actions) or "none"
        raise Refusal(f"{action} is no open action", todo=f"open: {open_now}")
    if not result.strip():
        raise Refusal("what came of it?", todo="say it with --result TEXT")

    def change(data: Any) -> None:
        found = next(item for item in data["actions"] if item["id"] == action)
        found.update(closed_on=desk.today(), result=typed(result))

    change_season(desk, change)


def remember_path(desk: Desk, film: str, path: str) -> None:
    """The film is somewhere else now."""

    def change(data: Any) -> None:
        next(item for item in data["films"] if item["id"] == film)["film"]["path"] = path

    change_season(desk, change)


def _mine(desk: Desk) -> str:
    if desk.who is None:
        raise Refusal("nobody has said who is writing", todo="say who you are with --as ID")
    return desk.who


def change_season(desk: Desk, change: Callable[[Any], None]) -> None:
    """Apply `change` to what `season.yaml` says. Raises Refusal when it would be no season then; nothing is written."""
    from assess.store.validate import as_model
    from assess.store.yaml_edit import edit_yaml
    from assess.store.yaml_file import read_yaml
    from assess.store.yaml_splice import plain

    def whole(data: Any) -> None:
        change(data)
        data["revision"] += 1

    file = desk.folder.root / "season.yaml"
    meant = plain(read_yaml(file, shown=file.name, what="season").data)
    whole(meant)
    try:
        Season.model_validate(meant)
    except ValidationError as error:
        raise Refusal("; ".join(why_invalid(error)), todo="put that right; nothing was written") from None
    edit_yaml(file, "season", whole)
    desk.take_frame(as_model(read_yaml(file, shown=file.name, what="season"), Season))
