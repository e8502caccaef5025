"""The command for a film of one's own lesson."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from assess.cli import film_options as o
from assess.cli.film_options import Wanted
from assess.cli.options import As, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet
    from assess.desk.session import Desk

__all__ = ["add_to"]


def film(
    path: o.Where, which: o.Which = None, trainee: o.Trainee = "", task: o.Task = "", activity: o.Activity = "",
    add: o.Add = None, title: o.Title = "", mentor: o.Mentor = "",
    beside: o.Besides = ("", ""), starts: o.Starts = ("", ""), lasts: o.Lasts = 10.0, to: o.To = None,
    stills: o.Stills = None, turns: o.Turns = ("", ""), dry_run: o.DryRun = False,
    fault: o.Fault = "", plan: o.Plan = "", note: o.Note = "", at: o.At = "", until: o.Until = "",
    note_for: o.NoteFor = "", looks: o.Looks = None, seen: o.Seen = "", count: o.Count = "",
    to_vtt: o.ToVtt = None, to_srt: o.ToSrt = None, cues: o.Cues = None,
    work_on: o.WorkOn = "", how: o.How = "", by: o.By = "", on: o.On = "", close: o.Close = "", result: o.Result = "",
    treated: o.Treated = "", snow: o.Snow = "", able: o.Able = None, slope: o.Slope = None, shots: o.Shots = False,
    as_id: As = None, as_json: Json = False, plain: Plain = False,
) -> int:  # fmt: skip
    """Look at a film of your own lesson: your view first, then a mentor's.

    A film without a season gets one beside it. A mentor's sheet is shown once yours and theirs are locked.
    """
    wanted = Wanted(
        fault=fault, plan=plan, note=note, at=at, until=until, note_for=note_for, looks=looks, seen=seen, count=count,
        to_vtt=to_vtt, to_srt=to_srt, cues=cues, work_on=work_on, how=how, by=by, on=on, close=close, result=result,
        add=add, title=title, task=task, mentor=mentor,
        beside=beside, starts=starts, lasts=lasts, to=to, stills=stills, turns=turns,
        dry_run=dry_run, treated=treated, snow=snow, able=able, slope=slope, shots=shots,
    )  # fmt: skip
    # A day, a title, for a film that has no season yet is that film's: nothing else is wanted then.
    root, who, made = _season(path, trainee, task, activity, on)
    if made:
        wanted = replace(wanted, on="" if not wanted.add else on, task="")
    if path.is_file():
        # A film was named: its own list is what is wanted, not the page of the season.
        from assess.desk.film_start import film_at

        which = which or film_at(root, path)
    return _at_season(root, which, wanted, as_id or who, as_json=as_json, plain=plain)


def _season(path: Path, trainee: str, task: str, activity: str, on: str) -> tuple[Path, str | None, bool]:
    """The season's folder, who one is where the film tells it, and whether the film came into it just now."""
    from datetime import datetime

    from assess.cli.film_asking import ask
    from assess.cli.say import complain
    from assess.desk.film_start import season_at, season_for
    from assess.desk.known_film import LARGE
    from assess.desk.seasons_near import season_with

    if path.is_dir():
        return path, None, False
    known = season_with(path)
    if known is not None:
        return known, season_at(known).trainee, False
    joined = None if trainee else _joined(path, task, on)
    if joined is not None:
        return joined, season_at(joined).trainee, True
    if path.is_file() and path.stat().st_size >= LARGE:
        complain(f"the film ({path.stat().st_size / 1e9:.1f} GB) is read once, so that it is known again when it moves")
    today = datetime.now().astimezone().date()
    root, who = season_for(path, today, trainee=trainee, task=task, activity=activity, on=on, ask=ask)
    complain(f"{root} was made; the film stays where it is and is not touched")
    complain(f"the film is dated {season_at(root).films[0].date}; with another day: --on DATE beside F1")
    return root, who, True


def _joined(film: Path, task: str, on: str) -> Path | None:
    """The season in its folder that somebody wants this film in; None when there is none, or a new one is wanted."""
    from assess.cli.film_asking import ask
    from assess.cli.say import complain
    from assess.desk.opening import open_course
    from assess.desk.season_grow import add_film
    from assess.desk.seasons_near import seasons_near

    near = seasons_near(film)
    if not film.is_file() or not near:
        return None
    choices = [
        *((str(each.root), f"to {each.title}, {each.root.name}, {each.films} so far") for each in near),
        ("", "no, it begins a new season"),
    ]
    answer = ask(f"Does {film.name} belong to a season that is here?", choices)
    chosen = next((each for each in near if str(each.root) == answer), None)
    if chosen is None:
        return None
    desk = open_course(chosen.root, chosen.trainee, ask=ask_who, act=True)
    try:
        made = add_film(desk, film, task=task, on=on)
    finally:
        desk.close()
    complain(f"{made} is {film.name}; the film stays where it is and is not touched")
    return chosen.root


def _at_season(root: Path, which: str | None, wanted: Wanted, who: str | None, *, as_json: bool, plain: bool) -> int:
    from assess.cli.say import can_show_screen, complain
    from assess.desk.film_compare import season_of
    from assess.desk.opening import need_rubrics, open_course

    asked = wanted != Wanted(task=wanted.task)
    screen = can_show_screen() and not (as_json or plain or (asked and not wanted.both_shown))
    desk = open_course(root, who, ask=ask_who, act=wanted.writes, sits_down=screen)
    try:
        need_rubrics(desk)
        season_of(desk)
        if screen:
            from assess.tui.app import run

            if wanted.both_shown:
                from assess.desk.film_beside import starts

                return run(desk, ("pair", wanted.beside, starts(wanted.starts)))
            return run(desk, ("film", which) if which else "board")
        if asked:
            return _done(desk, which, wanted, as_json)
        return _shown(desk, which, as_json)
    finally:
        if not desk.close():
            complain("NOT SAVED: something could not be written; look at the disk")


def _shown(desk: Desk, which: str | None, as_json: bool) -> int:
    """The season, or one film of it."""
    from assess.cli.film_beside import measured_lines
    from assess.cli.say import show_json, show_lines
    from assess.desk.film_compare import film_of
    from assess.desk.film_words import film_lines, season_lines
    from assess.desk.season_view import season_json, season_view

    view = season_view(desk)
    document: dict[str, Any] = season_json(view)
    if which is not None:
        film_of(desk, which)
        document = next(line for line in document["films"] if line["id"] == which)
    if as_json:
        show_json(document)
    else:
        if which is None:
            show_lines(season_lines(desk, view))
        else:
            show_lines([*film_lines(desk, view, which), *measured_lines(desk, which)])
    return 0


def _done(desk: Desk, which: str | None, wanted: Wanted, as_json: bool) -> int:
    """Write what is to be written; then say it."""
    from assess.cli.acting import said
    from assess.cli.film_beside import beside_lines
    from assess.desk.marks_given import wait_until_saved

    lines = [
        *_grown(desk, wanted),
        *_about(desk, which, wanted),
        *_worked_on(desk, wanted),
        *_on_film(desk, which, wanted),
        *beside_lines(desk, which, wanted),
    ]
    if wanted.writes:
        wait_until_saved(desk)
    return said({"done": lines}, lines, as_json)


def _grown(desk: Desk, wanted: Wanted) -> list[str]:
    """One more film, one more mentor."""
    from assess.desk.season_grow import add_film, add_mentor

    lines = []
    if wanted.add is not None:
        made = add_film(desk, wanted.add, title=wanted.title, task=wanted.task, on=wanted.on)
        lines.append(f"{made} is {wanted.add.name}; the film stays where it is and is not touched")
    if wanted.mentor:
        who = add_mentor(desk, wanted.mentor)
        lines.append(f"{wanted.mentor} looks at the films too, with --as {who}, on sheets of their own")
    return lines


def _about(desk: Desk, which: str | None, wanted: Wanted) -> list[str]:
    """What a film is called, its day, what it gave practice in; and what to film next."""
    from assess.desk.film_compare import season_of
    from assess.desk.film_practised import practised_in
    from assess.desk.film_shots import SHOTS
    from assess.desk.season_grow import change_film

    lines = [line.removeprefix("# ") for line in SHOTS] if wanted.shots else []
    film = which or season_of(desk).films[-1].id
    if wanted.changes:
        change_film(desk, film, title=wanted.title, on=wanted.on)
        found = next(each for each in season_of(desk).films if each.id == film)
        lines.append(f"{film} is {found.title}, of {found.date}")
    if wanted.practised:
        treated = [name.strip() for name in wanted.treated.split(",") if name.strip()]
        told = practised_in(desk, film, treated=treated, snow=wanted.snow, able=wanted.able, slope=wanted.slope)
        lines.append(f"{film} gave practice in: {told}")
    return lines


def _worked_on(desk: Desk, wanted: Wanted) -> list[str]:
    from assess.desk.season_edit import close_action, open_action

    if wanted.close:
        close_action(desk, wanted.close, wanted.result)
        return [f"{wanted.close} is closed"]
    if wanted.work_on:
        action = open_action(desk, wanted.work_on, how=wanted.how, checked_by=wanted.by, remeasure_on=wanted.on)
        over = " (that day is over: it is due now)" if action.remeasure_on <= desk.today() else ""
        return [f"{action.id}: {action.behaviour}; measured again on {action.remeasure_on}{over}"]
    return []


def _on_film(desk: Desk, which: str | None, wanted: Wanted) -> list[str]:
    """Everything about one film; without a film named it is the only one, or the last."""
    from assess.desk.film_compare import film_of, season_of
    from assess.desk.film_cues import read_in, write_out

    texts = (wanted.fault, wanted.plan, wanted.note, wanted.seen, wanted.count)
    about = any(texts) or any((wanted.to_vtt, wanted.to_srt, wanted.cues)) or wanted.looks is not None
    if not about:
        return []
    film = film_of(desk, which or season_of(desk).films[-1].id)
    sheet = desk.film(film.task, film.id)
    lines = _written(sheet, wanted)
    if wanted.cues:
        lines.append(f"{read_in(sheet, wanted.cues)} subtitles read in as observations")
    if wanted.to_vtt or wanted.to_srt:
        made = write_out(sheet, wanted.to_vtt, wanted.to_srt, dry_run=wanted.dry_run)
        lines += [f"{'would be written' if wanted.dry_run else 'written'}: {file}, for you alone" for file in made]
    return [*lines, sheet.asked()]


def _written(sheet: FilmSheet, wanted: Wanted) -> list[str]:
    from assess.records.times import film_text

    lines = []
    times = _times(wanted)
    if wanted.fault:
        sheet.name_fault(wanted.fault, whose="assessor")
        lines.append(f"{sheet.candidate}: the fault is written")
    if wanted.plan:
        sheet.plan(steps=wanted.plan)
        lines.append(f"{sheet.candidate}: the plan is written")
    if wanted.note:
        criteria = [name.strip() for name in wanted.note_for.split(",") if name.strip()]
        sheet.note(wanted.note, criteria or None, **times)
        lines.append(f"{sheet.candidate} {film_text(times['film_ms'])}: noted")
    return [*lines, *_counted(sheet, wanted, times)]


def _counted(sheet: FilmSheet, wanted: Wanted, times: dict[str, int]) -> list[str]:
    """Looks at the use of time, and what is counted."""
    from assess.desk.film_counts import add_count, add_looks
    from assess.records.errors import UsageError

    lines = []
    if wanted.looks is not None or wanted.seen:
        if wanted.looks is None:
            raise UsageError("how long is it from look to look?", todo="say --looks 10 for every ten seconds")
        many = add_looks(sheet, wanted.seen, round(1000 * wanted.looks))
        lines.append(f"{sheet.candidate}: {many} looks, one every {wanted.looks:g} s")
    if wanted.count:
        add_count(sheet, wanted.count, times["film_ms"])
        lines.append(f"{sheet.candidate}: {wanted.count} counted")
    return lines


def _times(wanted: Wanted) -> dict[str, int]:
    """The film times of a note. Raises UsageError for one that is none, or is missing."""
    from assess.records.errors import UsageError
    from assess.records.times import film_ms

    if not (wanted.note or wanted.count):
        return {}
    if not wanted.at:
        raise UsageError("where in the film is it?", todo="say --at 12:05")
    try:
        times = {"film_ms": film_ms(wanted.at)}
        return times | ({"film_end_ms": film_ms(wanted.until)} if wanted.until else {})
    except ValueError as trouble:
        raise UsageError(str(trouble), todo="nothing was written") from None


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("film")(film)
