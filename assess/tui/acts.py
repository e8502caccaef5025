"""Every act of every screen, once: its id, words, keys and where it may be done.

Key line, help, the list of acts, the numbered list and the keymap all read this table; a
screen does an act in its method `act_<name>`, called with the key that was pressed.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ACTS", "PLACES", "Act", "act", "acts_at"]

PLACES = (
    "board",
    "run",
    "thin",
    "full",
    "levels",
    "readings",
    "lock",
    "outcomes",
    "differences",
    "cases",
    "people",
    "file",
    "criteria",
    "next",
    "assessors",
    "assessor",
    "round",
    "marker",
    "morning",
    "help",
    "season",
    "film",
    "pair",
    "practice",
)
_ALL = frozenset(PLACES)
_LESSON = frozenset({"thin", "full"})
_MARKING = frozenset({"run", "thin", "full", "levels"})
_SHEET = frozenset({"run", "levels"})
_BOARD, _RUN, _LOCK, _MORNING = (frozenset({place}) for place in ("board", "run", "lock", "morning"))
_PAGES = frozenset(
    {
        "outcomes", "differences", "cases", "people", "criteria", "next", "assessors", "assessor", "round", "marker",
        "morning", "practice",
    }
)  # fmt: skip
_LEFT_BY_Q = (_MARKING - {"levels"}) | {"board", "season", "film", "pair"}
_OPENS = frozenset({"assessors", "cases", "people", "round", "season"})
_PRACTICE = frozenset({"practice"})
_FILM, _SEASON, _PAIR = frozenset({"film"}), frozenset({"season"}), frozenset({"pair"})
_SHOWN = _FILM | _PAIR
_LISTS = frozenset(
    {"season", "film", "board", "morning", "outcomes", "differences", "cases", "people", "assessors", "round"}
)
_OUTCOMES, _DIFFERENCES = frozenset({"outcomes"}), frozenset({"differences"})
DIGITS = tuple("123456789")


@dataclass(frozen=True)
class Act:
    """One thing a person can do.

    id: `area.name`, the name a keymap uses. keys: as Textual names them, the first one is shown.
    where: the places it can be done. needs: the name of a condition the screen answers
    (`may_<needs>`: empty, or why not). foot: its short word in the key line, if it stands there.
    repeats: a held key may repeat it.
    """

    id: str
    title: str
    help: str
    keys: tuple[str, ...]
    where: frozenset[str]
    needs: str = ""
    foot: str = ""
    repeats: bool = False

    @property
    def method(self) -> str:
        """The name of the screen's method that does it."""
        return "act_" + self.id.partition(".")[2].replace("-", "_")


ACTS: tuple[Act, ...] = (
    # --- marking ---
    Act("run.level", "level", "give the level on this criterion and move on", DIGITS, _SHEET, "write"),
    Act("run.not-observed", "not seen", "it could have been seen and was not: never a number", ("0",), _SHEET, "write"),
    Act(
        "run.not-applicable", "not applicable", "it cannot exist here; the reason is asked once per task",
        ("full_stop",), _SHEET, "write",
    ),
    Act(
        "mark.breach", "safety breach", "report it now; what, where and who can follow later",
        ("g", "slash"), _MARKING, "write", "breach",
    ),
    Act(
        "mark.undo", "undo", "take the latest act back, any number of times", ("u", "asterisk"), _MARKING | _LOCK,
        foot="undo",
    ),
    Act("lesson.criterion", "criterion", "choose the criterion that + or - is about", DIGITS, _LESSON),
    Act("lesson.for", "seen for", "seen now, for the chosen criterion", ("plus", "equals_sign"), _LESSON, "write"),
    Act("lesson.against", "seen against", "seen now, against the chosen criterion", ("minus",), _LESSON, "write"),
    Act("lesson.drill", "drill", "a drill begins now", ("d",), _LESSON, "write", "drill"),
    Act("lesson.practise", "practising", "practising, or not any more", ("space", "0"), _LESSON, "write", "practice"),
    Act(
        "run.belongs", "marks belong to", "these marks belong to another bib; when both have marks they change places",
        ("x",), _RUN, "write", "whose",
    ),
    Act(
        "run.order", "order", "later, now, absent, withdrawn, moved, back again", ("o",), _RUN,
        foot="order",
    ),
    Act(
        "mark.note", "note", "one line about what was seen; digits do not wait", ("n",), _MARKING | _LOCK, "write",
        "note",
    ),
    Act("run.jump", "go to bib", "go to a bib by its number", ("b", "minus"), _RUN, foot="bib"),
    Act("lesson.end", "end", "the session ends, and why", ("e",), _LESSON, "write", "end"),
    Act("lesson.full", "full view", "the full view, or the thin one again", ("f",), _LESSON, foot="view"),
    Act("lesson.levels", "give levels", "the criteria with their levels", ("m",), _LESSON, foot="levels"),
    Act("lesson.start", "start", "it starts now, or started some minutes ago", ("s",), _LESSON, "write", "start"),
    Act("mark.lock", "lock", "what is missing first; then Enter locks", ("k", "enter"), _MARKING, foot="lock"),
    Act("mark.tag", "tag", "a short tag by its first letters", ("t",), _MARKING, "write"),
    Act("run.again", "another run", "the next run, or a re-run with its reason", ("r",), _RUN),
    Act("mark.view", "viewpoint", "from where you watch from now on", ("v",), _MARKING, "write"),
    Act("run.other", "other row", "the other of the two rows touched last", ("tab",), _RUN),
    Act("run.descriptors", "all levels", "every level of this criterion in full, or three again", ("h",), _SHEET),
    Act("run.overall", "overall", "the one level that stands for several runs", ("a",), _RUN, "overall"),
    Act("mark.facts", "facts of a breach", "complete a reported breach", ("c",), _MARKING | {"lock"}, "write"),
    Act("run.up", "row up", "the row above", ("up",), _SHEET | _LOCK, repeats=True),
    Act("run.down", "row down", "the row below", ("down",), _SHEET | _LOCK, repeats=True),
    Act("run.left", "cell left", "the criterion before", ("left",), _RUN, repeats=True),
    Act("run.right", "cell right", "the criterion after", ("right",), _RUN, repeats=True),
    # --- in the minutes after a lesson ---
    Act(
        "lesson.readings", "readings", "found, drills, build-up, safe, learner: evidence with its reasons", ("r",),
        _LESSON | {"levels"},
    ),
    Act("lesson.named", "fault named", "a fault the candidate named, or a cause ruled out", ("w",), _LESSON, "write"),
    Act(
        "lesson.own-view", "your own view", "what you see in the learner yourself, to compare with",
        ("y",), _LESSON, "write",
    ),
    Act(
        "lesson.drill-details", "drill details", "name, slope, snow, shown, feedback, check, tries",
        ("j",), _LESSON, "write",
    ),
    Act("lesson.parts", "parts", "goal told, whole first and last, measured again", ("b",), _LESSON, "write"),
    Act(
        "lesson.about-learner", "the learner", "how able, how tired; values counted before and after",
        ("x",), _LESSON, "write",
    ),
    Act("lesson.hazard", "hazard", "a danger of the place: named, avoided or neither", ("z",), _LESSON, "write"),
    Act("lesson.safety", "safety list", "done, missed, violated or not applicable", ("l",), _LESSON, "write"),
    Act("lesson.plan", "plan", "the plan the candidate handed in", ("p",), _LESSON, "write"),
    Act("lesson.question", "question", "a question asked after, and how it was answered", ("a",), _LESSON, "write"),
    Act("lesson.learner", "which learner", "what follows is about this learner", ("o",), _LESSON),
    Act("lesson.use", "use of time", "talk, waiting, lift, moving, pause: begins or stops", ("i",), _LESSON, "write"),
    # --- before the lock ---
    Act("lock.this", "lock", "this is my sheet", ("enter", "k"), _LOCK, foot="locks it"),
    Act("lock.all", "lock all", "every sheet of this task lacking nothing", ("a",), _LOCK, foot="lock all"),
    # --- board ---
    Act("board.open", "open", "open the chosen task", ("enter",), _BOARD, foot="open"),
    Act("board.number", "task by number", "open the task with this number", DIGITS, _BOARD),
    Act("board.up", "up", "the line before", ("up",), _LISTS, repeats=True),
    Act("board.down", "down", "the line after", ("down",), _LISTS, repeats=True),
    Act("board.morning", "morning record", "weather, bulletin as read, patrol, radio", ("m",), _BOARD, foot="morning"),
    Act(
        "board.card", "type in a card", "a paper card by its five digits: box by box, in its order", ("t",), _BOARD,
        "marks",
    ),
    Act("board.stop", "interruption", "wind, lift, patrol: what stopped the work", ("i",), _BOARD, foot="stop"),
    Act("board.outcomes", "outcomes", "what the rules give, as far as one may see it", ("r",), _BOARD, foot="outcomes"),
    Act("board.criteria", "criteria", "where assessors part, what is always alike, what nobody uses", ("c",), _BOARD),
    Act("board.next", "next course", "how many assessors and tasks make results repeat", ("n",), _BOARD),
    Act(
        "board.assessors", "assessors", "each assessor's marks beside the others': a director's page", ("a",), _BOARD,
        "direct",
    ),
    Act(
        "board.own-marks", "how even were my marks", "before a task or after it, never between candidates", ("e",),
        _BOARD, "own_marks",
    ),
    Act("board.differences", "differences", "where markers differ, and what was agreed", ("d",), _BOARD),
    Act(
        "board.cases", "cases", "appeals, complaints, the whole record of a candidate", ("f",), _BOARD,
        "direct",
    ),
    Act("board.people", "people", "what is kept about each person", ("p",), _BOARD, "direct"),
    Act(
        "board.round", "calibration round", "everybody against the panel; an assessor sees themselves", ("k",), _BOARD,
        "round",
    ),
    # --- after the locks ---
    Act("differences.both", "keep both", "both sheets stand, with the reason", ("k",), _DIFFERENCES, foot="keep both"),
    Act("differences.value", "agree", "a level within the marks, with the reason", ("e",), _DIFFERENCES, foot="agree"),
    Act(
        "differences.ask", "ask for more", "a third look, a repeat, or it does not count", ("t",), _DIFFERENCES,
        foot="ask",
    ),
    Act("differences.idle", "all idle", "keep both wherever no module can change", ("i",), _DIFFERENCES, foot="idle"),
    Act("outcomes.sign", "sign", "sign a module of this candidate in your own name", ("s",), _OUTCOMES, foot="sign"),
    Act("outcomes.look", "third look", "how far one reaches; order one, or close it", ("t",), _OUTCOMES, foot="look"),
    Act("outcomes.release", "release", "let assessors or candidates see", ("e",), _OUTCOMES, foot="release"),
    Act("list.open", "open", "open this one", ("enter",), _OPENS, foot="open"),
    Act(
        "round.sign", "sign", "sign the results the rule gives, in your own name", ("s",), frozenset({"round"}),
        foot="sign",
    ),
    Act("morning.line", "line by number", "write this line", DIGITS, _MORNING),
    Act("morning.write", "write", "write the chosen line", ("enter",), _MORNING, foot="write"),
    # --- a film of one's own lesson ---
    Act("film.note", "note", "note what you see at this instant", ("n", "0"), _FILM, "write", "note"),
    Act("film.play", "play", "play, or stand still", ("space", "5"), _SHOWN, foot="play"),
    Act("film.begin", "from", "a stretch begins here", ("f", "7"), _FILM, "write", "from"),
    Act("film.end", "to", "the stretch ends here: note it", ("t", "9"), _FILM, "write", "to"),
    Act("film.go", "go there", "to the time of the chosen line", ("enter",), _FILM, foot="go there"),
    Act("film.repeat", "repeat", "the chosen stretch again and again, or no more", ("r", "full_stop"), _FILM),
    Act("film.slower", "slower", "half its speed, a quarter, as it was", ("s", "slash"), _SHOWN),
    Act("film.earlier", "five seconds back", "five seconds back", ("left", "4"), _SHOWN, repeats=True),
    Act("film.later", "five seconds on", "five seconds on", ("right", "6"), _SHOWN, repeats=True),
    Act("film.frame-back", "one frame back", "one frame back", ("comma", "1"), _SHOWN, repeats=True),
    Act("film.frame", "one frame on", "one frame on", ("y", "3"), _SHOWN, repeats=True),
    Act("film.time", "go to a time", "a time typed as minutes and seconds", ("g", "2"), _SHOWN),
    Act("film.fault", "fault", "the learner's fault as you see it", ("w",), _FILM, "write"),
    Act("film.plan", "plan", "what you would do with this learner", ("p",), _FILM, "write"),
    Act("film.drill", "drill", "a drill begins here", ("d",), _FILM, "write"),
    Act("film.kind", "kind", "note an event, a fall, a quote or a place", ("c",), _FILM, "write"),
    Act("film.use", "use of time", "what the time goes into from here on", ("i",), _FILM, "write"),
    Act("film.look", "look", "a look at the use of time now, then ten seconds on", ("l",), _FILM, "write"),
    Act("film.count", "count", "a question, feedback, a look over the group: counted", ("a",), _FILM, "write"),
    Act("film.levels", "levels", "the criteria with their levels, your weakest first", ("m",), _FILM, foot="levels"),
    Act("film.sheet", "whole sheet", "safety list, what you named, the learner, drills in detail", ("e",), _FILM),
    Act("film.lock", "lock", "what is missing first; then Enter locks", ("k",), _FILM, foot="lock"),
    Act("film.undo", "undo", "take the latest act back", ("u", "asterisk"), _FILM),
    Act("film.compare", "compare", "a mentor's sheet beside yours, once both are locked", ("b",), _FILM),
    Act("film.both", "both times", "where you saw it, then where a mentor did", ("x",), _FILM),
    Act("film.whole", "whole page", "all of this film: notes, use of time, what is counted", ("v",), _FILM),
    Act("pair.starts", "starts", "where in each of the two it begins", ("b",), _PAIR, foot="starts"),
    Act("season.beside", "two films", "the chosen film beside another one, in step", ("b",), _SEASON, foot="beside"),
    Act("season.whole", "whole page", "every comparison, and what was never practised", ("v",), _SEASON, foot="all"),
    Act("season.work-on", "work on", "one behaviour, how it is checked and when", ("n",), _SEASON, foot="work on"),
    Act("season.practised", "practised", "what the chosen lesson gave practice in", ("p",), _SEASON),
    Act("season.mentor", "mentor", "somebody who looks at the films too, on sheets of their own", ("m",), _SEASON),
    Act("season.shots", "what to film", "what to film in the next lesson, and in which order", ("f",), _SEASON),
    Act("season.close", "close", "an action was measured again: what came of it", ("c",), _SEASON),
    # --- practice at judging ---
    Act(
        "board.practise", "practise judging", "a written lesson unfolds; then what the panel holds, with reasons",
        ("j",), _BOARD | _SEASON,
    ),
    Act("practice.go-on", "next", "what happens next in the lesson", ("enter", "space"), _PRACTICE, "answer", "next"),
    Act("practice.ruled-out", "ruled out", "a cause it is not", ("o", "1"), _PRACTICE, "answer", "ruled out"),
    Act("practice.named", "name", "a fault or cause, the weightiest first", ("n", "2"), _PRACTICE, "answer", "name"),
    Act("practice.drill", "drill", "a drill you would take", ("d", "3"), _PRACTICE, "answer", "drill"),
    Act("practice.danger", "danger", "a danger of the place", ("z", "4"), _PRACTICE, "answer", "danger"),
    Act("practice.undo", "undo", "take the latest name back", ("u", "asterisk"), _PRACTICE, "answer"),
    Act("practice.panel", "panel", "what the panel holds, and why", ("k", "5"), _PRACTICE, "answer", "panel"),
    Act("practice.another", "another", "the lesson you have not seen for longest", ("a", "6"), _PRACTICE),
    Act("practice.history", "attempts", "what came of every attempt on this device", ("h", "7"), _PRACTICE),
    # --- everywhere ---
    Act("any.scroll-down", "further down", "the next page", ("pagedown",), _ALL, repeats=True),
    Act("any.scroll-up", "further up", "the page before", ("pageup",), _ALL, repeats=True),
    Act("any.find", "find an act", "type the first letters of what you want to do", ("f2", "ctrl+p"), _ALL - {"help"}),
    Act("any.theme", "colours", "dark, light or outdoor", ("f3",), _ALL - {"help"}),
    Act("any.back", "back", "leave this screen; nothing is lost", ("q",), _LEFT_BY_Q),
    Act(
        "view.back", "back", "back to where you came from", ("escape", "q", "minus"),
        _PAGES | {"lock", "file", "help", "levels", "readings"}, foot="back",
    ),
    Act(
        "any.menu", "more", "the other acts as a numbered list", ("plus",),
        _PAGES | {"board", "run", "levels", "readings", "lock", "season", "film", "pair"},
        foot="more",
    ),
    Act("lesson.menu", "more", "the other acts as a numbered list", ("full_stop",), _LESSON, foot="more"),
    Act("any.help", "help", "every act here with its keys", ("question_mark", "f1"), _ALL - {"help"}, "", "help"),
)  # fmt: skip


def acts_at(place: str) -> tuple[Act, ...]:
    """The acts of one place, in the order of the table."""
    return tuple(item for item in ACTS if place in item.where)


def act(ident: str) -> Act:
    """The act with this id. Raises KeyError if there is none."""
    return {item.id: item for item in ACTS}[ident]
