"""The texts of a new course and a new rubric: small, complete, and explained where they stand."""

from __future__ import annotations

__all__ = ["COURSE", "PEOPLE", "RUBRIC"]

RUBRIC = """\
# assess rubric 1
#
# A small rubric to start from. Every sentence here is a placeholder: put your own in its place.
# Sentences and decimal numbers stand in "quotes". `assess rubric check FILE` reads it and says what is wrong.
# People decide; this file only says by what.

id: {rubric}
title: "Name of the award"
activity: {activity}
language: en
note: "made as a scaffold; not in force anywhere"

# The scale: whole levels, the pass line between two of them, one sentence for each level.
scale:
  min: 1
  max: 4
  pass_line: "2.5"
  words:
    1: "not there yet, or somebody was put at risk"
    2: "parts of it, on easier ground than asked"
    3: "holds on the ground asked for"
    4: "holds when the ground, the weather or the learner change"

# An area is marked by one version of the rubric on one course; a module passes or not as one.
areas:
  demo: {{title: "Demonstration"}}
  teach: {{title: "Teaching"}}
modules:
  demo: {{area: demo, tasks: [T1], title: "Demonstration"}}
  teach: {{area: teach, tasks: [T2], title: "Teaching"}}

# What every candidate does. `lesson: true` is marked on the lesson sheet, with a clock.
tasks:
  T1:
    area: demo
    title: "Name of the demonstration"
    minutes: 6
    criteria: [control, line]
  T2:
    area: teach
    title: "Name of the lesson"
    minutes: 20
    criteria: [explain, change]
    lesson: true
    learners: 1

# What is judged. `label` heads a column; each level says what an eye sees or an ear hears.
criteria:
  control:
    area: demo
    label: "Control"
    text: "Can speed and stopping place be chosen at any moment?"
    levels:
      1: "gets in others' way, or will not set off"
      2: "stops where wanted on easier ground only"
      3: "stops where wanted all through the task"
      4: "stops where wanted after the ground has changed as well"
  line:
    area: demo
    label: "Line"
    text: "Does the track follow a line that was chosen?"
    levels:
      1: "finds no way down, or heads for people"
      2: "keeps the line on easier ground, is pulled off it later"
      3: "keeps the line all through the task"
      4: "tells the line before setting off; the track shows it"
  explain:
    area: teach
    label: "Explain"
    text: "Does the learner know what to do next?"
    levels:
      1: "the learner stands and waits, or does something unsafe"
      2: "the learner does part of what was meant"
      3: "the learner does what was meant at the first try"
      4: "the learner says in own words what to try and why"
  change:
    area: teach
    label: "Change"
    text: "Does the learner do something at the end that was not there at the start?"
    levels:
      1: "less than at the start"
      2: "the same as at the start"
      3: "the thing worked on is there on the same ground"
      4: "the thing worked on is there on other ground too"

# The rules of the decision. Decimal numbers in quotes: they are read exactly.
weights: "1"
coverage: "0.75"
evidence_needed: {{below: "2.5", also: [4]}}
rule: mixed
minimum: {{value: "1.5", over: task_criterion_mean, inclusive: true}}
below_line: {{demo: 1, teach: 1}}
two_markers: {{sheet_apart: "0.75", other_side_of_line: true, criterion_apart: 2}}
minimum_evidence: {{scores: 1, viewpoints: 0, tasks: 1}}
resit: {{within_months: 12, max_tries: 2, new_assessors_at_least: 1, carried_months: 24}}

# A band round the line, in which a third look is taken, needs the marking error of earlier courses:
# mark a season twice, then write `band:` with value, source, date, number of pairs and interval.

# What no number can outweigh, and the modules a confirmed breach closes.
must_nots:
- {{id: beyond-a-closure, text: "goes, or takes people, past a rope, sign or closed line", closes: [demo, teach]}}
breach: {{standard: "more likely than not, on first-hand evidence", confirmer_not: [reporter, decider]}}

# What is looked for in every lesson besides the criteria.
safety_list:
- {{id: count, text: "counts the learners before setting off and after every stop"}}
- {{id: place, text: "stops where others can see the group and pass it"}}
"""

COURSE = """\
# assess course 1
#
# Ids only; names stand in people.yaml. Add 1 to `revision` whenever you change this file.
# `assess check .` in this folder says what is wrong, with the line.

id: {course}
revision: 1
title: "Name of the course"
activity: {activity}
place: ""
language: en
utc_offset: "+00:00"
days: ["{day}"]

# Which rubric is in force for an area, by the SHA-256 of its file in rubrics/.
rubrics:
- {{area: demo, rubric: {rubric}, sha256: "{sha256}", from_day: 1}}
- {{area: teach, rubric: {rubric}, sha256: "{sha256}", from_day: 1}}

tasks:
- {{id: T1, area: demo, day: 1}}
- {{id: T2, area: teach, day: 1}}

candidates: [C01, C02]
assessors: [A1, A2]
directors: [D1]

# `assess plan .` works out who marks whom and when, once there are three assessors or more. What it is made from:
# plan: {{light: ["09:00-12:00", "13:00-15:30"], pairs: 2, lift_minutes: 0}}

# One line for each slot: place in the running order, who does the task, who marks it.
allocation:
- {{task: T1, order: 1, at: "09:00", candidate: C01, assessors: [A1, A2]}}
- {{task: T1, order: 2, at: "09:10", candidate: C02, assessors: [A1, A2]}}
- {{task: T2, order: 1, at: "10:00", candidate: C01, assessors: [A1, A2], learners: [L1]}}
- {{task: T2, order: 2, at: "10:30", candidate: C02, assessors: [A1, A2], learners: [L2]}}

# What happens to the course. This line, when all sheets are locked, lets the assessors see the outcomes:
# - {{day: 1, at: "16:00", kind: release, by: D1, to: assessors}}
events: []
"""

PEOPLE = """\
# assess people 1
#
# The one file with names. Add 1 to `revision` whenever you change it.

revision: 1
candidates:
- {id: C01, name: "First candidate", bib: 1, mark: "red jacket"}
- {id: C02, name: "Second candidate", bib: 2, mark: "blue helmet"}
assessors:
- {id: A1, name: "First assessor"}
- {id: A2, name: "Second assessor"}
directors:
- {id: D1, name: "Director"}
learners:
- {id: L1, alias: "guest, first winter"}
- {id: L2, alias: "guest, second winter"}

# Who may not mark whom, and why: - {assessor: A1, candidate: C02, why: "trained this candidate"}
conflicts: []
# Who trained whom, and until when; `ended` is left out while it goes on:
# - {assessor: A1, candidate: C02, ended: 2026-11-30}
trained: []
# Who may assess what, and until when. While nobody stands here nobody is asked for a licence:
# - {assessor: A1, activity: gliding, areas: [demo], valid_from: 2026-11-01, valid_to: 2028-10-31}
licences: []
# What was agreed for a candidate before the allocation; it changes how, when or where, never a level or a line:
# - {candidate: C02, what: "tasks read out aloud", changes: presentation, agreed_by: D1, agreed_at: 2026-11-20}
accommodations: []
"""
