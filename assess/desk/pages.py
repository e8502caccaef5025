"""Pages of a course, a round, a season or a body: gathered as one person may see them, and as files to hand on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from assess.desk.outgoing import Outgoing
    from assess.desk.session import Desk
    from assess.desk.who import Ask
    from assess.records.audience import Audience
    from assess.reports.document import Document

__all__ = ["KINDS", "Kind", "Page", "Several", "page_files", "page_json", "page_lines", "page_of"]

Kind = Literal["result", "assessor", "agreement", "criteria", "round", "quality", "season"]
KINDS: dict[Kind, str] = {
    "result": "result sheet of a course",
    "assessor": "one assessor's page",
    "agreement": "how alike the assessors of a course mark",
    "criteria": "where assessors part, criterion by criterion",
    "round": "report of a calibration round",
    "quality": "quality report",
    "season": "a trainee's season",
}


@dataclass(frozen=True)
class Page:
    """A page before it is a file. name: the file's name without its ending. missing: what it cannot say yet."""

    name: str
    kind: Kind
    audience: Audience
    document: Document
    missing: tuple[str, ...] = ()


@dataclass(frozen=True)
class Several:
    """More courses than one for a page. also: the others; same_assessors: an id means the same person in all of them.

    groups: the file of what candidates told of themselves, for the quality report.
    """

    also: tuple[Path, ...] = ()
    same_assessors: bool = False
    groups: Path | None = None


def page_of(
    kind: Kind, path: Path, given: str | None, *, about: str | None = None, on: str | None = None,
    several: Several | None = None, ask: Ask | None = None,
) -> Page:  # fmt: skip
    """The page for whoever `given` (or this device) says is sitting here.

    about: the assessor of `assessor` and `round`. on: the day of `quality`, like 2027-02-03. several: for `quality`
    and `assessor`, which look at many courses as the commands of those names do.
    Raises Refusal for whom it is not, or while it may not be shown; UsageError for an id that is missing or too much,
    and for what the kind of page does not take.
    """
    from assess.records.errors import UsageError

    if about is not None and kind not in ("assessor", "round"):
        raise UsageError(f"`{kind}` is about no one person", todo="leave the id out")
    if on is not None and kind != "quality":
        raise UsageError("--on goes with `quality`", todo="leave it out: the page is dated by the record")
    wide = several or Several()
    if wide.groups is not None and kind != "quality":
        raise UsageError("--groups goes with `quality`", todo="leave it out")
    if (wide.also or wide.same_assessors) and kind not in ("quality", "assessor"):
        raise UsageError(f"`{kind}` is about one folder", todo="leave out --also and --same-assessors")
    if kind == "assessor":
        return _assessor(path, given, about, wide, ask)
    if kind == "quality":
        return _quality(path, given, on, wide, ask)
    with _looking(path, given, ask) as desk:
        if kind == "round":
            return _round(desk, about)
        if kind == "agreement":
            return _agreement(desk)
        if kind == "criteria":
            return _criteria(desk)
        return _result(desk) if kind == "result" else _season(desk)


@contextmanager
def _looking(path: Path, given: str | None, ask: Ask | None) -> Iterator[Desk]:
    from assess.desk.opening import need_rubrics, open_course

    desk = open_course(path, given, ask=ask)
    try:
        need_rubrics(desk)
        yield desk
    finally:
        desk.close()


def _result(desk: Desk) -> Page:
    from assess.desk.result_page import result_document, still_missing

    return Page(f"result-{desk.course.id}", "result", "director", result_document(desk), still_missing(desk))


def _agreement(desk: Desk) -> Page:
    from assess.desk.agreement_page import agreement_page

    _need_panel(desk)
    return Page(f"agreement-{desk.course.id}", "agreement", "panel", agreement_page(desk))


def _criteria(desk: Desk) -> Page:
    from assess.desk.criteria_page import criteria_page

    _need_panel(desk)
    return Page(f"criteria-{desk.course.id}", "criteria", "panel", criteria_page(desk))


def _need_panel(desk: Desk) -> None:
    """Raise Refusal in a round or a season, and to whom nobody knows."""
    from assess.records.errors import Refusal

    desk.need_course("this page is about a course; a round and a season have a page of their own")
    if desk.who is None:
        raise Refusal("this page is for the assessors and directors of a course", todo="say who you are with --as")


def _season(desk: Desk) -> Page:
    from assess.desk.season_page import season_document, season_missing
    from assess.desk.season_view import season_view

    view = season_view(desk)
    document = season_document(desk, view)
    return Page(f"season-{view.season}-{desk.who}", "season", "person", document, season_missing(view))


def _round(desk: Desk, about: str | None) -> Page:
    from assess.desk.round_page import round_document, round_missing
    from assess.desk.rounds import round_view
    from assess.records.errors import Refusal

    if desk.who is None:
        raise Refusal("a page of a round is for its directors and for each assessor", todo="say who you are with --as")
    view = round_view(desk, about)
    whole = desk.role == "director"
    shown = about if whole else about or next((found.assessor for found in view.assessors), None)
    document = round_document(desk, view, shown)
    name = f"round-{view.round.id}{f'-{shown}' if shown else ''}"
    return Page(name, "round", "director" if whole else "person", document, round_missing(view))


def _assessor(path: Path, given: str | None, about: str | None, wide: Several, ask: Ask | None) -> Page:
    from assess.desk.assessor_page import assessor_document
    from assess.desk.assessors import assessors_of
    from assess.records.errors import Refusal, UsageError

    found = assessors_of([path, *wide.also], given, same_assessors=wide.same_assessors, ask=ask)
    who = found.own or about
    if found.own and about not in (None, found.own):
        raise Refusal("an assessor sees only their own page", todo=f"leave the id out, or name {found.own}")
    known = tuple(dict.fromkeys(one.id for one in found.people))
    if who not in known:
        raise UsageError("which assessor?" if who is None else f"{who} is no assessor of this course",
                         todo=f"name one of {', '.join(known)}")  # fmt: skip
    name = f"assessor-{who}-{found.raters.courses[0].course}"
    return Page(name, "assessor", "person" if found.own else "director", assessor_document(found, who))


def _quality(path: Path, given: str | None, on: str | None, wide: Several, ask: Ask | None) -> Page:
    from assess.desk.quality import day_from, quality_report
    from assess.desk.quality_page import quality_page

    found = quality_report(
        [path, *wide.also], given, groups=wide.groups, on=None if on is None else day_from(on),
        same_assessors=wide.same_assessors, ask=ask,
    )  # fmt: skip
    return Page(f"quality-{found.on.isoformat()}", "quality", "director", quality_page(found))


def page_files(page: Page, *, html: bool, pdf: bool) -> tuple[Outgoing, ...]:
    """The page as files; the same page gives the same bytes."""
    from assess.desk.outgoing import Outgoing
    from assess.reports.page import as_html

    what = f"{KINDS[page.kind]}, {page.document.dated}"
    files: Sequence[tuple[str, bytes]] = ()
    if html:
        files = ((f"{page.name}.html", as_html(page.document).encode("utf-8")),)
    if pdf:
        from assess.reports.pdf import as_pdf

        files = (*files, (f"{page.name}.pdf", as_pdf(page.document)))
    return tuple(Outgoing(name, page.audience, what, content, page.missing) for name, content in files)


def page_lines(page: Page) -> Iterator[str]:
    """What the page says, as plain lines for a terminal."""
    from assess.reports.plain import as_lines

    return as_lines(page.document)


def page_json(page: Page) -> dict[str, Any]:
    """The same with what it is about, for other programs."""
    return {
        "kind": page.kind,
        "audience": page.audience,
        "title": page.document.title,
        "dated": page.document.dated,
        "missing": list(page.missing),
        "lines": list(page_lines(page)),
    }
