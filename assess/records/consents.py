"""Whether a film of somebody may be used: what they agreed to, for which film, for what, until when.

GDPR, articles 7 and 8: agreement can be taken back at any time, and for a child a guardian gives it.
"""

from __future__ import annotations

from datetime import date
from typing import Literal

from assess.records.course import Consent, People

__all__ = ["Use", "why_not_shown"]

Use = Literal["assess", "train", "publish"]
_USES: dict[Use, str] = {"assess": "assessing", "train": "training assessors", "publish": "being shown to others"}


def why_not_shown(people: People, who: str, use: Use, day: date, clip: str = "") -> str:
    """Why a film of a person may not be used so on a day, as a clause; "" when it may.

    clip: the film, when it is known which; what was agreed about another film is not looked at. Who is not listed
    agreed to nothing; whoever has withdrawn once has to agree anew.
    """
    about = [each for each in people.consents if each.who == who and each.clip in ("", clip)]
    taken_back = [each for each in about if each.withdrawn and date.fromisoformat(each.withdrawn) <= day]
    gone = max((each.withdrawn for each in taken_back if each.withdrawn), default="")
    given = [each for each in about if each.film and each not in taken_back and (not gone or (each.at or "") > gone)]
    if not given:
        return f"{who} has withdrawn on {gone}" if gone else f"{who} has not agreed to films"
    fitting = [each for each in given if use in (each.scope or ("assess",))]
    if not fitting:
        return f"{who} has not agreed to films for {_USES[use]}"
    running = [each for each in fitting if each.until is None or day <= date.fromisoformat(each.until)]
    if not running:
        return f"{who} had agreed until {max(each.until or '' for each in fitting)}"
    if _a_child(people, who) and not any(map(_by_a_guardian, running)):
        return f"{who} is a child, and no guardian has agreed"
    return ""


def _a_child(people: People, who: str) -> bool:
    return any(each.id == who and each.kind == "child" for each in people.learners)


def _by_a_guardian(consent: Consent) -> bool:
    return bool(consent.guardian) or "guardian" in consent.by.casefold()
