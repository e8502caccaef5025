"""Every command once or more with `--json`, on invented courses: what programs are told.

The commands follow one another as people would type them: a course is marked, compared, decided, told and defended;
a round, a season, practice, rubrics and keys go beside it.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.cli.commands import ROOT, Ran, assess
from tests.cli.test_lesson_commands import side
from tests.courses import build_course
from tests.sample.story import DAY_9, Story

__all__ = ["Played", "played"]

SAMPLES, RUBRICS = ROOT / "sample_sessions", ROOT / "rubrics"
PHRASE = b"four words on a lift\n"
Played = list[tuple[tuple[str, ...], Ran]]
TRACK = (
    "run,n,side,t_start [s],t_end [s]\n"
    + "".join(f"1,{n},{'left' if n % 2 else 'right'},{n},{n + 1}\n" for n in range(1, 9))
)  # fmt: skip


class Player:
    """Runs commands and keeps what they said."""

    def __init__(self) -> None:
        self.said: Played = []

    def __call__(self, *words: str | Path, who: str | None = "D1", code: int = 0) -> Ran:
        """Run a command with `--json`; its exit code must be this one."""
        asked = [*map(str, words), *(["--as", who] if who else []), "--json"]
        with _phrase():
            ran = assess(*asked)
        assert ran.code == code, (asked, ran.all)
        self.said.append((tuple(asked), ran))
        return ran


@contextmanager
def _phrase() -> Iterator[None]:
    """A passphrase at hand for the commands that ask for one."""
    reading, writing = os.pipe()
    os.write(writing, PHRASE)
    os.close(writing)
    os.environ["ASSESS_PASSPHRASE_FD"] = str(reading)
    try:
        yield
    finally:
        del os.environ["ASSESS_PASSPHRASE_FD"]
        os.close(reading)


def played(folder: Path) -> Played:
    """What every command said, in order. folder: where everything is made."""
    run = Player()
    for part in (_made_new, _marking, _meetings, _told, _figures, _rounds_and_seasons, _lessons, _rubrics, _people):
        place = folder / part.__name__.strip("_")
        place.mkdir(parents=True)
        part(run, place)
    return run.said


def _made_new(run: Player, folder: Path) -> None:
    made = {"course": "course", "round": "round", "rubric": "own.yaml", "lesson": "lesson.yaml", "quality": "."}
    for what, name in made.items():
        run("new", what, folder / name, who=None)
    run("schema", who=None)
    run("schema", "rubric", who=None)
    run("demo", who="A1")
    run("check", folder / "course")
    people = folder / "course" / "people.yaml"
    people.write_text(people.read_text(encoding="utf-8").replace("name:", "nme:", 1), encoding="utf-8")
    run("check", folder / "course", code=1)


def _marking(run: Player, folder: Path) -> None:
    root = build_course(folder / "course", candidates=2, tasks=("T1", "T6"))
    scores = folder / "scores.csv"
    scores.write_text("day,task,order,candidate,assessor,criterion,score,status,rubric\n", encoding="utf-8")
    run("open", root, who="A1")
    run("mark", root / "T6.C01", "hazards=2", "--note", "looks uphill", "--for", "hazards", who="A1")
    run("open", root / "T6.C01", who="A1")
    run("lock", root / "T6.C01", who="A1", code=1)
    run("bundle", root, "--to", folder, who="A1")
    other = folder / "other"
    shutil.copytree(root, other)
    run("merge", root, other)
    run("export", root, "--to", "json")
    table = run("export", root, "--to", "csv", "--out", scores.with_name("out.csv"))
    assert table.json["rows"] == 0
    run("import", scores.with_name("out.csv"), "--into", other)
    run("cards", root, "--for", "A1", "--to", folder / "cards", who="A1")
    run("plan", root, code=1)
    run("plan", SAMPLES / "course")
    run("plan", root, "--programme")
    run("allocate", root, "T1.C02", "--from", "A1", "--reason", "ill")
    run("seal", root)
    run("verify", root)


def _meetings(run: Player, folder: Path) -> None:
    """What follows the marking: meetings, third looks, late evidence, a breach, a first decision."""
    root = Story(folder).root
    run("results", root)
    run("results", root, who="A1")
    run("moderate", root)
    run("moderate", root, "T2.C06")
    run("moderate", root, "--idle", "--reason", "no module can change")
    run("look", root)
    run("look", root, "C02", "teach")
    words = ("--by", "A4", "--slots", "T4,T5", "--mix", "T4.C01", "--reason", "in the band")
    run("look", root, "C02", "teach", *words)
    film = folder / "film.mp4"
    film.write_bytes(b"film")
    run("evidence", root, "T2.C10", "--file", film, "--what", "a friend's film", "--reason", "brought late")
    run("again", root, "T3", "C08", "--why", "completion", "--by", "A1,A4", "--reason", "wind")
    run("breach", root, "C08")
    run("decide", root)
    run("decide", root, "C01", "teach", "--sign")
    run("decide", root, "C01", "teach", "--sign", code=1)
    noted = _an_observation(root, "T4.C01")
    run("talk", root, "C01", "interim", "--minutes", "10", "--said", noted)


def _told(run: Player, folder: Path) -> None:
    """After the decisions: letters, certificates, a resit, an appeal, pages and tables."""
    story = Story(folder)
    story.reserve_morning()
    story.clock.ms = DAY_9
    story.sign_all()
    root = story.root
    run("release", root, "--to", "candidates")
    noted = _an_observation(root, "T4.C01")
    behaviour = ("--behaviour", "one cue a try", "--checked-by", "count cues", "--by-when", "2027-01-15")
    run("action", root, "C01", "teach", *behaviour, "--evidence", noted)
    run("talk", root, "C01", "result", "--minutes", "20", "--words", "thanks", "--copy-given")
    run("letters", root, "C01", "--to", folder / "letters")
    run("key", "new", "--certificate", who=None)
    run("certificate", root, "C01", "--module", "teach", "--to", folder / "c.jwt")
    run("certificate", root, "--status", "--to", folder / "s.jwt")
    public = folder / "public.yaml"
    run("key", "show", "--name", "certificate", "--to", public, who=None)
    run("key", "add", root, public, "--for", "D1", "--from", "2026-02-01")
    run("verify", folder / "c.jwt", "--keys", root / "keys.yaml", "--status", folder / "s.jwt", who=None)
    days = ("--opens", "2026-12-01", "--closes", "2026-12-20")
    run("resit", root, "C08", "demo", *days, "--reason", "as written")
    run("appeal", root, "C08", "file", "--text", "the wind", "--complaint")
    run("case", root)
    run("case", root, "C08-1")
    run("case", root, "C08")
    run("page", root, "result")
    run("page", root, "result", "--to", folder / "pages")
    run("export", root, "--to", "tables", "--out", folder / "tables")


def _an_observation(root: Path, slot: str) -> str:
    """The first observation of a slot, named as entries are: `T1.C04.A2.d7h2k 3`."""
    for file in sorted((root / "sheets").glob(f"{slot}.*.yaml")):
        for line in file.read_text(encoding="utf-8").split("\n"):
            if '"kind": "observation"' in line:
                return f"{file.stem} {json.loads(line.removeprefix('- '))['n']}"
    raise AssertionError(f"{slot} has no observation")


def _figures(run: Player, folder: Path) -> None:
    """Agreement, severity, dependability, what assessors do, the quality report."""
    root = SAMPLES / "course"
    for command in ("agreement", "severity", "dependability", "assessors"):
        run(command, root)
    run("quality", root, "--on", "2026-11-30", "--replicates", "100", code=1)


def _rounds_and_seasons(run: Player, folder: Path) -> None:
    shutil.copytree(SAMPLES / "calibration", folder / "round")
    shutil.copytree(SAMPLES / "season", folder / "season")
    run("round", folder / "round")
    run("round", folder / "round", who="A2")
    run("open", folder / "round")
    run("round", folder / "round", "--sign", "--assessor", "A2")
    run("film", folder / "season", who="KW")
    run("film", folder / "season", "F1", who="KW")
    run("film", folder / "season", "F1", "--note", "seen", "--at", "0:30", who="KW", code=1)
    run("practice", SAMPLES / "practice" / "alpine-ski.yaml", who="KW")
    run("practice", SAMPLES / "practice" / "alpine-ski.yaml", "--named", "aft-stance", who="KW")
    run("practice", "--history", who="KW")


def _lessons(run: Player, folder: Path) -> None:
    run("lesson", SAMPLES / "practice" / "alpine-ski.yaml", who=None)
    before, after = side(folder, "before", [[9.0] * 6] * 2), side(folder, "after", [[5.0] * 6] * 2)
    run("change", before, after, who=None)
    (folder / "turns.csv").write_text(TRACK, encoding="utf-8")
    run("turns", folder / "turns.csv", "--kind", "carved", who=None)


def _rubrics(run: Player, folder: Path) -> None:
    old, new = sorted((RUBRICS / "alpine-ski").glob("r-*.yaml"))
    run("rubric", "show", new, who=None)
    run("rubric", "diff", old, new, who=None)
    run("rubric", "check", new, who=None)
    run("rubric", "give", new, "--to", folder / "rubric.json", who=None)
    run("rubric", "take", folder / "rubric.json", "--to", folder, who=None)
    root = build_course(folder / "course", candidates=2, tasks=("T1",))
    run("rubric", "pin", root, new, "--area", "demo", "--reason", "the new one")


def _people(run: Player, folder: Path) -> None:
    root = build_course(folder / "course", names=("Aldous Prynne", "Beric Stannow"), candidates=2, tasks=("T1",))
    run("person", "due", root)
    run("person", "export", root, "C01", "--to", folder / "copy.zip")
    run("person", "erase", root, "C01")
    run("person", "erase", root, "C01", "--reason", "asked for", "--yes", code=1)
    run("person", "erase", root, "C01", "--reason", "asked for", "--yes", "--although")
    root = build_course(folder / "twice", candidates=3, tasks=("T1",))
    run("person", "same", root, "C03", "C01", "--reason", "listed twice")
    run("key", "new", who=None)
    run("key", "show", who=None)
    run("key", "unlock", who=None)
    public = folder / "public.yaml"
    run("key", "show", "--name", "signing", "--to", public, who=None)
    added = run("key", "add", root, public, "--for", "A1")
    run("key", "revoke", root, added.json["fingerprint"])
    run("key", "lock", who=None)
