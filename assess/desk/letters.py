"""Letters to candidates: who gets one, and the files they become. Made by a director, from what is signed and released.

A letter holds the newest decision on each module and what it rests on. It holds nothing of other candidates, nobody's
single marks, and no sheet that is not used.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from assess.desk.later_ledgers import need_director, need_outcomes
from assess.desk.ordinary_words import ordinary_words
from assess.records.errors import Refusal, UsageError

if TYPE_CHECKING:
    from assess.desk.deciding import Signed
    from assess.desk.outgoing import Outgoing
    from assess.desk.session import Desk
    from assess.reports.document import Document
    from assess.reports.page import Setting

__all__ = ["LetterForm", "letter_files"]

LetterForm = Literal["html", "pdf"]


def letter_files(
    desk: Desk, candidates: Sequence[str] = (), *, language: str = "en", forms: Sequence[LetterForm] = ("html",)
) -> tuple[list[Outgoing], list[str]]:
    """The letters of these candidates (of all, without names) as files, and who gets none, with the reason.

    Raises Refusal to all but a director, UsageError for somebody who is no candidate and for a language there is not.
    """
    from assess.reports.messages import messages

    need_outcomes(desk)
    need_director(desk, "writes letters")
    strange = [who for who in candidates if who not in desk.course.candidates]
    if strange:
        raise UsageError(f"{', '.join(strange)}: no candidate of this course", todo="see course.yaml")
    messages(language)
    ordinary = ordinary_words(desk)
    files: list[Outgoing] = []
    left_out: list[str] = []
    for who in dict.fromkeys(candidates or desk.course.candidates):
        try:
            files += _files(desk, who, language, forms, ordinary)
        except Refusal as why:
            left_out.append(f"{who}: {why}")
    return files, left_out


def _files(
    desk: Desk, candidate: str, language: str, forms: Sequence[LetterForm], ordinary: frozenset[str]
) -> list[Outgoing]:
    from assess.desk.letter_facts import letter_of
    from assess.desk.outgoing import Outgoing
    from assess.reports.letter_page import letter_document
    from assess.reports.messages import messages
    from assess.reports.page import as_html

    letter, missing = letter_of(desk, candidate, told_decisions(desk, candidate), ordinary)
    document = letter_document(letter, messages(language))
    files = []
    for form in forms:
        if form == "html":
            raw = as_html(document, "letter").encode("utf-8")
        else:
            pages = 1 if all(module.decision == "grant" for module in letter.modules) else 2
            raw, missing = _fitted(document, pages, missing)
        name = f"letter-{candidate}-{language}.{form}"
        files.append(Outgoing(name, "candidate", f"letter to {candidate}", raw, missing))
    return files


def _fitted(document: Document, pages: int, missing: tuple[str, ...]) -> tuple[bytes, tuple[str, ...]]:
    """The PDF on so many pages: set closer where it needs to be, larger where it needs a second page anyway.

    Told, where even the closest is not enough.
    """
    from assess.reports.pdf import as_pdf, page_count

    raw = as_pdf(document, "letter")
    needed = page_count(raw)
    if 1 < needed <= pages and page_count(larger := as_pdf(document, "letter", "roomy")) == needed:
        raw = larger
    closer: tuple[Setting, ...] = ("close", "tight")
    for setting in closer:
        if page_count(raw) > pages:
            raw = as_pdf(document, "letter", setting)
    if (found := page_count(raw)) > pages:
        missing = (*missing, f"it has {found} pages: what is to be trained could be said in fewer words")
    return raw, missing


def told_decisions(desk: Desk, candidate: str) -> tuple[Signed, ...]:
    """The decisions a letter is made from: on each module the one that stands, if it is released to candidates.

    Raises Refusal without any, where one is not clear, and for an id that goes on under another.
    """
    from assess.desk.deciding import standing_decision
    from assess.desk.outcomes import course_modules
    from assess.desk.same_person import same_as

    other = same_as(desk, candidate)
    if other:
        raise Refusal(f"is the same person as {other}", todo=f"the letter is {other}'s")
    signed = [item for module in course_modules(desk) if (item := standing_decision(desk, candidate, module))]
    if not signed:
        raise Refusal("nothing is signed", todo="`assess decide` shows what the rules propose")
    told = tuple(item for item in signed if desk.sight.released(item.fact.module, candidate, to="candidates"))
    if not told:
        raise Refusal("nothing that is signed is released", todo="`assess release --to candidates`")
    return told
