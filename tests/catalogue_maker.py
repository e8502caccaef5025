"""A small invented catalogue and practice file, each free of findings, for tests that spoil one thing at a time."""

from __future__ import annotations

from pathlib import Path

__all__ = ["CATALOGUE", "LESSONS", "line_of", "spoilt", "write_catalogue", "write_lessons"]

FAULTS = """\
# assess catalogue 1
non_technique_roots:
  - {id: X-cold, seen: "stiff, short answers", action: "move, warm up"}
faults:
  - id: stiff
    layer: root
    phase: all
    part: "knees"
    seen: "legs like posts"
    caused_by: [X-cold]
    amplified_by: [late]
    leads_to: "late"
    not_this: "tall and soft"
    look_alike: []
    measure: "knee angle changes < 10 deg"
  - id: late
    layer: link
    phase: end
    part: "feet"
    seen: "presses late"
    caused_by: [stiff]
    leads_to: "slides"
    not_this: "slow on purpose"
    look_alike: [stiff]
    measure: "peak after 72%"
  - id: slides
    layer: symptom
    phase: end
    part: "outer ski"
    seen: "slides away"
    caused_by: [late]
    leads_to: "no grip"
    not_this: "a wanted slide"
    look_alike: []
    measure: "a smear"
"""
DRILLS = """\
# assess catalogue 1
drills:
  - id: bounce
    name: "Up and down"
    aliases: ["bobbing"]
    purpose: "keep joints alive"
    addresses: [stiff, late]
    supports: [X-cold]
    may_worsen: []
    skills: [stand]
    prereq: []
    needs: []
    difficulty: 2
    slope: [2, 6]
    snow: {ok: [firm], avoid: [grabby]}
    formation: line
    dose: {unit: runs, min: 3, max: 5}
    dose_note: "3-5 r"
    errors: "jumps"
    hazards: "speed without a run-out"
    must: ["one at a time"]
    care: []
    check: "tracks stay parallel"
  - id: patience
    name: "Long wait"
    aliases: []
    purpose: "grip slowly"
    addresses: [slides]
    supports: []
    may_worsen: [stiff]
    skills: [grip]
    prereq: [bounce]
    needs: [stand]
    difficulty: 5
    slope: [6, 12]
    snow: {ok: [any], avoid: []}
    formation: line
    dose: {unit: minutes, min: 4, max: 8}
    dose_note: "4-8 min"
    errors: "stamps"
    hazards: "a long slide"
    must: []
    care: ["clean run-out"]
    check: "smear shrinks"
"""
SKILLS = """\
# assess catalogue 1
skills:
  - {id: stand, level: 1, slope: [0, 5], needs: [], what: "stand over the feet"}
  - {id: grip, level: 2, slope: [6, 12], needs: [stand], what: "hold on firm ground"}
"""
VOCAB = """\
# assess catalogue 1
slope_classes: [{id: easy, deg: [0, 12]}]
terrain_features: [run-out]
line_terms: [fall line]
snow:
  - {id: firm, edge: 2, speed: 3, note: "even"}
  - {id: grabby, edge: 3, speed: 1, note: "stops the ski"}
visibility: [clear]
wind: [calm]
formation: {line: "one behind another"}
turn_phases: [start, end, all]
"""
SETTINGS = """\
# assess catalogue 1
service: []
snow_extra: {grabby: 1.0}
"""
CATALOGUE = {"faults": FAULTS, "drills": DRILLS, "skills": SKILLS, "vocab": VOCAB, "settings": SETTINGS}

LESSONS = """\
# assess lesson 1
scenarios:
- id: P1
  title: "Slides away"
  place: "Nowhere Hill"
  learner: {id: L-1, name: "Ada Invented", age: 30, ability: 4, days_on_snow: 9, goal: "hold", fitness: fair,
    mood: calm, group: 2, tired: null}
  conditions:
    slope: 10
    available_slopes: [4, 8, 10]
    snow: firm
    vis: clear
    wind: calm
    temp_c: -2
    traffic: low
  reference:
    target: ada
    group_target: stiff
    learners:
    - id: ada
      roots: [{id: stiff, w: 1}]
      chains:
      - [X-cold, stiff, late, slides]
      tolerated: []
      harmful: []
    - {id: ben, roots: [], chains: [], tolerated: [], harmful: []}
  hazards: [{id: fence, w: 2, crit: true}]
  measure: {id: smear, better: lower, what: "cm", mdc95: {value: 4, of: "difference of two run means",
    turns_per_run: 5, retest_pairs: 12, ci95: [3, 6], untaught_change: 0}}
  lessons:
  - id: P1-a
    minutes: 20
    stopped_by_assessor: null
    ended_for_safety: null
    named:
    - {fault: stiff, role: root, learner: ada}
    managed: [X-cold]
    drills:
    - {id: bounce, slope: 4, snow: firm, n: 4, practice_min: 4, demo: true, fb: specific, check: true,
       success: {ok: 3, of: 4}, tired: null}
    - {id: patience, slope: 8, snow: firm, n: 4, practice_min: 5, demo: true, fb: general, check: true,
       success: null, tired: 1}
    flow: {goal: true, whole_first: true, whole_last: true, remeasure: true}
    time: {talk: 5, practise: 10, wait: 3, lift: 2}
    safety: {look-up: done, side-stop: done, terrain-fit: done, kit: done, head-count: done, no-blind-spot: done,
      must: done, closures: done, weather: done, spacing: done, view-all: done, incident: na}
    hazards_handled: [fence]
    reported_breaches: []
    group: {seen_alone: [ada, ben], spoken_to: [ada], improved: [ada]}
    events:
    - {t: 0, do: ask}
    - {t: 4, do: drill, ref: bounce}
    outcome:
      before: {place: "marked turns", slope: 10, snow: firm, runs: [[10, 11, 12, 10, 11]]}
      after: {place: "marked turns", slope: 10, snow: firm, runs: [[5, 6, 5, 4, 6]]}
"""


def write_catalogue(folder: Path, changes: dict[str, tuple[str, str]] | None = None, *, overlay: str = "") -> Path:
    """The small catalogue in `folder`; `changes`: file -> (text that stands there once, text in its place)."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in CATALOGUE.items():
        if changes and name in changes:
            text = spoilt(text, *changes[name])
        (folder / f"{name}.yaml").write_text(text, encoding="utf-8", newline="\n")
    if overlay:
        (folder / "overlay.yaml").write_text(f"# assess catalogue 1\n{overlay}", encoding="utf-8", newline="\n")
    return folder


def write_lessons(path: Path, old: str = "", new: str = "") -> Path:
    """The practice file at `path`, with `old`, which must stand there once, in the words of `new`."""
    path.write_text(spoilt(LESSONS, old, new) if old else LESSONS, encoding="utf-8", newline="\n")
    return path


def spoilt(text: str, old: str, new: str) -> str:
    """The text with one thing changed. Raises ValueError when `old` is not there exactly once."""
    if text.count(old) != 1:
        raise ValueError(f"{old!r} stands {text.count(old)} times")
    return text.replace(old, new)


def line_of(path: Path, text: str) -> int:
    """The line of a file, counted from 1, that holds `text` first."""
    lines = path.read_text(encoding="utf-8").split("\n")
    return next(number for number, line in enumerate(lines, 1) if text in line)
