"""What the command for a film can be told, and what of it is wanted."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

__all__ = [
    "Able", "Activity", "Add", "At", "Besides", "By", "Close", "Count", "Cues", "DryRun", "Fault", "How", "Lasts",
    "Looks", "Mentor", "Note", "NoteFor", "On", "Pair", "Plan", "Result", "Seen", "Shots", "Slope", "Snow", "Starts",
    "Stills", "Task", "Title", "To", "ToSrt", "ToVtt", "Trainee", "Treated", "Turns", "Until", "Wanted", "Where",
    "Which", "WorkOn",
]  # fmt: skip

Opt = typer.Option

Where = Annotated[Path, typer.Argument(metavar="VIDEO|FOLDER", help="A film, or a season's folder.")]
Which = Annotated[str | None, typer.Argument(metavar="FILM", help="A film of the season: F1.")]
Trainee = Annotated[str, Opt(metavar="NAME", help="A new film: who you are.")]
Task = Annotated[str, Opt(metavar="TASK", help="A new film: what the lesson shows.")]
Activity = Annotated[str, Opt(metavar="NAME", help="A new film: which activity.")]
Add = Annotated[Path | None, Opt(metavar="VIDEO", help="One more film for the season; --title, --task, --on its day.")]
Title = Annotated[str, Opt(metavar="TEXT", help="What the film is called.")]
Mentor = Annotated[str, Opt(metavar="NAME", help="Somebody who looks at the films too, on sheets of their own.")]
Pair = tuple[str, str]
Besides = Annotated[
    Pair, Opt("--beside", metavar="F1 F3", help="Two films side by side, in step; --to FILE.mp4 as a film.")
]
Starts = Annotated[Pair, Opt(metavar="MM:SS MM:SS", help="Where each of the two begins.")]
Lasts = Annotated[float, Opt(metavar="SECONDS", help="How long the piece is.")]
To = Annotated[Path | None, Opt(metavar="FILE", help="The film that is made.")]
Treated = Annotated[str, Opt(metavar="FAULTS", help="What the lesson treated, by name: late pressure, sits back.")]
Snow = Annotated[str, Opt(metavar="SNOW", help="The snow it was on.")]
Able = Annotated[int | None, Opt(metavar="1-10", help="How able the learner was.")]
Slope = Annotated[int | None, Opt(metavar="DEGREES", help="How steep it was.")]
Shots = Annotated[bool, Opt("--shots", help="What to film, before the next lesson.")]
DryRun = Annotated[bool, Opt("--dry-run", help="beside, stills, subtitles: say what would be written, and stop.")]
Stills = Annotated[Path | None, Opt(metavar="FOLDER", help="A picture of every instant you noted.")]
Turns = Annotated[Pair, Opt(metavar="BEFORE AFTER", help="Tables of per-turn values: both, and the learner's change.")]
Fault = Annotated[str, Opt(metavar="TEXT", help="The learner's fault as you see it; before any score.")]
Plan = Annotated[str, Opt(metavar="TEXT", help="What you would do; before any score.")]
Note = Annotated[str, Opt(metavar="TEXT", help="Something seen.")]
At = Annotated[str, Opt(metavar="MM:SS", help="Where in the film the note is.")]
Until = Annotated[str, Opt(metavar="MM:SS", help="Where it ends; else it is an instant.")]
NoteFor = Annotated[str, Opt("--for", metavar="C1,C2", help="The criteria the note is evidence for.")]
Looks = Annotated[float | None, Opt(metavar="SECONDS", help="Looks at the use of time, one at each interval's end.")]
Seen = Annotated[str, Opt(metavar="LETTERS", help="What each look saw: p t w m l, - for nothing.")]
Count = Annotated[str, Opt(metavar="WHAT", help="Count a question, feedback or a sweep, at --at.")]
ToVtt = Annotated[Path | None, Opt(metavar="FILE", help="Your observations as WebVTT.")]
ToSrt = Annotated[Path | None, Opt(metavar="FILE", help="Your observations as SubRip.")]
Cues = Annotated[Path | None, Opt("--from", metavar="FILE", help="Subtitles in, as observations.")]
WorkOn = Annotated[str, Opt(metavar="TEXT", help="One behaviour to work on; at most two are open.")]
How = Annotated[str, Opt(metavar="TEXT", help="How it is checked.")]
By = Annotated[str, Opt(metavar="ID", help="Who checks it; you when left out.")]
On = Annotated[str, Opt(metavar="DATE", help="When it is measured again; the day of a film.")]
Close = Annotated[str, Opt(metavar="ID", help="An open action was measured again.")]
Result = Annotated[str, Opt(metavar="TEXT", help="What came of it.")]


@dataclass(frozen=True)
class Wanted:
    """What is to be done with a film or a season besides showing it; "" for what was not said."""

    fault: str = ""
    plan: str = ""
    note: str = ""
    at: str = ""
    until: str = ""
    note_for: str = ""
    work_on: str = ""
    how: str = ""
    by: str = ""
    on: str = ""
    close: str = ""
    result: str = ""
    to_vtt: Path | None = None
    to_srt: Path | None = None
    cues: Path | None = None
    looks: float | None = None
    seen: str = ""
    count: str = ""
    add: Path | None = None
    title: str = ""
    task: str = ""
    mentor: str = ""
    beside: Pair = ("", "")
    starts: Pair = ("", "")
    lasts: float = 10.0
    to: Path | None = None
    stills: Path | None = None
    turns: Pair = ("", "")
    dry_run: bool = False
    treated: str = ""
    snow: str = ""
    able: int | None = None
    slope: int | None = None
    shots: bool = False

    @property
    def practised(self) -> bool:
        """True when it is said what a lesson gave practice in."""
        return bool(self.treated or self.snow or self.able is not None or self.slope is not None)

    @property
    def changes(self) -> bool:
        """True when a film there is gets another title or day: --on and --title are of nothing else then."""
        return bool((self.title or self.on) and self.add is None and not self.work_on)

    @property
    def both_shown(self) -> bool:
        """True when two films are to be looked at side by side, and nothing else."""
        looked = Wanted(task=self.task, beside=self.beside, starts=self.starts)
        return any(self.beside) and self == looked

    @property
    def writes(self) -> bool:
        """True when somebody has to be named."""
        return bool(
            self.fault or self.plan or self.note or self.work_on or self.close or self.cues or self.looks or self.count
            or self.seen or self.add or self.mentor or self.practised or self.changes
        )  # fmt: skip
