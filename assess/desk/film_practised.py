"""What a filmed lesson gave practice in: faults treated, snow, slope, the learner's level; so that gaps can be seen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from assess.desk.catalogue_names import catalogue_names
from assess.desk.film_compare import film_of
from assess.desk.season_edit import change_season
from assess.desk.season_grow import need_trainee
from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.desk.catalogue_names import Named
    from assess.desk.session import Desk
    from assess.records.season import Practised

__all__ = ["practised_in", "practised_words"]


def practised_in(
    desk: Desk, film: str, *, treated: Sequence[str] = (), snow: str = "", able: int | None = None,
    slope: int | None = None,
) -> str:  # fmt: skip
    """Write down what a lesson gave practice in; what is left out stays as it was. All of it now, in words.

    treated: faults, each by its id, its name or a beginning that one of them alone has; they are added to those
    there. snow: likewise. able: the learner's level, 1 to 10. slope: degrees. Raises Refusal for anybody but the
    trainee, for a name the catalogue has not, and for a number that is none; nothing is written then.
    """
    need_trainee(desk)
    before = film_of(desk, film).practised
    names = catalogue_names(desk)
    faults = [_named(said, names.faults, "fault").id for said in treated]
    told = {
        "ability": able, "slope_deg": slope, "snow": _named(snow, names.snow, "snow").id if snow else None,
        "faults": list(dict.fromkeys((*before.faults, *faults))) or None,
    }  # fmt: skip
    new = {key: value for key, value in told.items() if value is not None}

    def change(data: Any) -> None:
        found = next(item for item in data["films"] if item["id"] == film)
        found["practised"] = {**found.get("practised", {}), **new}

    change_season(desk, change)
    return practised_words(film_of(desk, film).practised)


def _named(said: str, known: Sequence[Named], what: str) -> Named:
    want = said.strip().casefold()
    whole = [item for item in known if want in (item.id.casefold(), item.words.casefold())]
    begun = [item for item in known if want and item.words.casefold().startswith(want)]
    found = whole or begun
    if len(found) != 1:
        near = ", ".join(item.id for item in (begun or known)[:6])
        many = "is the beginning of more than one" if begun else f"is no {what} of the catalogue"
        raise Refusal(f"`{said}` {many}", todo=f"say one of {near}{' ...' if len(begun or known) > 6 else ''}")
    return found[0]


def practised_words(found: Practised) -> str:
    """What was practised, in words; "" when nothing is said of it."""
    told = (
        ", ".join(fault.replace("-", " ") for fault in found.faults),
        found.snow.replace("-", " ") if found.snow else "",
        f"{found.slope_deg} degrees" if found.slope_deg is not None else "",
        f"learner of level {found.ability}" if found.ability else "",
    )
    return "; ".join(words for words in told if words)
