"""The text of a new practice lesson: one learner, one lesson, explained where it stands."""

from __future__ import annotations

__all__ = ["LESSON"]

LESSON = """\
# assess lesson 1
#
# A PRACTICE LESSON TO START FROM. Everything in it is invented: put your own learner and lesson in its place.
# Ids (aft-stance, run-bounce, packed) are those of the catalogue of the activity; slopes are degrees, times minutes.
# `assess check FILE` says what is wrong, `assess lesson FILE` reads it. A reading is evidence, never a score.

scenarios:
- id: {lesson}
  title: "What the lesson is about"
  place: "where it was"
  # ability 1 (first day) to 10; tired 0 to 5 or null; group: how many learners
  learner: {{id: learner-1, name: "an invented name", age: 30, ability: 3, days_on_snow: 5, goal: "what they want",
      fitness: fair, mood: calm, group: 1, tired: null}}
  conditions: {{slope: 6, available_slopes: [4, 6, 9], snow: packed, vis: clear, wind: calm, temp_c: -4,
      traffic: low}}
  # What a panel of three or more would treat, with weights that add up to 1; chains run from a cause to what catches
  # the eye. An empty list of roots says that nobody diagnosed this learner.
  reference:
    target: learner-1
    group_target: null
    learners:
    - {{id: learner-1, roots: [{{id: aft-stance, w: 1}}], chains: [[aft-stance, wedge-rail]], tolerated: [],
        harmful: []}}
  hazards:
  - {{id: merge-from-right, w: 2, crit: true}}
  # How far the measure moves without teaching comes from people measured twice; see measures.yaml of the catalogue.
  measure: {{id: stop-distance-m, better: lower, what: "metres from call to stop", mdc95: {{value: 1.6,
      of: "difference of two run means", turns_per_run: 3, retest_pairs: 12, ci95: [1.1, 2.6],
      untaught_change: 0.1}}}}
  lessons:
  - id: {lesson}-1
    minutes: 25
    stopped_by_assessor: null
    ended_for_safety: null
    # in the order said; role: root, link, symptom or ruled_out
    named: [{{fault: aft-stance, role: root, learner: learner-1}}]
    managed: []
    drills:
    - {{id: run-bounce, slope: 4, snow: packed, n: 4, practice_min: 5, demo: true, fb: specific, check: true,
        success: {{ok: 3, of: 4}}, tired: null}}
    flow: {{goal: true, whole_first: true, whole_last: true, remeasure: true}}
    time: {{talk: 6, practise: 14, wait: 2, lift: 3}}
    # done, missed-once, missed, missed-twice, missed-with-traffic, violated, not-acted-upon, na
    safety: {{look-up: done, side-stop: done, terrain-fit: done, kit: done, head-count: na, no-blind-spot: done,
        must: done, closures: done, weather: done, spacing: na, view-all: done, incident: na}}
    hazards_handled: [merge-from-right]
    reported_breaches: []
    group: null
    events: [{{t: 0, do: safety}}, {{t: 3, do: observe}}, {{t: 6, do: drill, ref: run-bounce}}, {{t: 20, do: whole}},
        {{t: 23, do: measure}}]
    # one list of values per run; runs: [] when it was not measured
    outcome: {{before: {{place: "same strip", slope: 6, snow: packed, runs: [[7.8, 6.9, 8.4], [7.1, 8.0, 7.5]]}},
        after: {{place: "same strip", slope: 6, snow: packed, runs: [[4.6, 4.1, 5.0], [4.4, 3.9, 4.7]]}}}}
"""
