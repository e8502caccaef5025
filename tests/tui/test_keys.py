from __future__ import annotations

import pytest

from assess.records.errors import UsageError
from assess.tui.acts import ACTS, act
from assess.tui.keys import Keys, key_named, normal_key, problems_of


def test_the_default_keys_have_no_fault() -> None:
    assert problems_of({item.id: item.keys for item in ACTS}) == []


def test_a_keymap_changes_the_keys_of_an_act() -> None:
    keys = Keys.with_changes({"mark.note": [";", ","]})
    assert keys.at("run", "semicolon") is act("mark.note")
    assert keys.at("run", "comma") is act("mark.note")
    assert keys.at("run", "n") is None


@pytest.mark.parametrize(
    ("keymap", "reason"),
    [
        ({"mark.note": "b"}, "b is both mark.note and run.jump"),
        ({"mark.note": "N"}, "N: it needs Shift, and a glove misses Shift"),
        ({"mark.note": "shift+n"}, "it needs Shift"),
        ({"mark.note": "!"}, "alone needs Shift, ctrl or alt"),
        ({"mark.note": "ctrl+t"}, "alone needs Shift, ctrl or alt"),
        ({"mark.note": "alt+n"}, "alone needs Shift, ctrl or alt"),
        ({"mark.note": ["z", "ctrl+i"]}, "ctrl+i: terminals send it as Tab"),
        ({"mark.note": ["z", "ctrl+m"]}, "ctrl+m: terminals send it as Enter"),
        ({"mark.note": ["z", "ctrl+h"]}, "ctrl+h: terminals send it as Backspace"),
        ({"mark.note": ["z", "ctrl+j"]}, "ctrl+j: terminals send it as a new line"),
        ({"mark.note": ["z", "ctrl+["]}, "ctrl+[: terminals send it as Esc"),
        ({"mark.note": ["z", "ctrl+b"]}, "tmux takes it"),
        ({"mark.note": ["z", "ctrl+a"]}, "screen takes it"),
        ({"mark.note": ["z", "ctrl+s"]}, "stops the terminal"),
        ({"mark.note": []}, "no key is left for it"),
        ({"mark.nothing": "z"}, "mark.nothing is no act"),
    ],
)
def test_a_keymap_that_cannot_work_is_refused_with_the_reason(keymap, reason: str) -> None:
    with pytest.raises(UsageError) as refused:
        Keys.with_changes(keymap)
    assert reason in refused.value.sentence


def test_all_faults_of_a_keymap_are_told_at_once() -> None:
    with pytest.raises(UsageError) as refused:
        Keys.with_changes({"mark.note": "N", "run.jump": "ctrl+t", "what": "x"})
    assert refused.value.sentence.count(";") >= 3


def test_a_ctrl_key_beside_a_bare_one_is_welcome() -> None:
    assert Keys.with_changes({"mark.note": "n ctrl+t"}).at("run", "ctrl+t") is act("mark.note")


@pytest.mark.parametrize(
    ("said", "key"),
    [(".", "full_stop"), ("+", "plus"), ("Esc", "escape"), ("Space", "space"), ("F2", "f2"), ("g", "g")],
)
def test_keys_are_named_as_they_are_written(said: str, key: str) -> None:
    assert key_named(said) == key


@pytest.mark.parametrize(
    ("pad", "key"),
    [("decimal", "full_stop"), ("divide", "slash"), ("multiply", "asterisk"), ("subtract", "minus"), ("add", "plus")],
)
def test_a_pad_that_names_its_own_keys_does_what_the_signs_do(pad: str, key: str) -> None:
    assert normal_key(pad) == key


async def test_a_changed_key_stands_in_the_key_line_and_in_the_help(tmp_path) -> None:
    from tests.tui.seat import at_seat

    async with at_seat(tmp_path, ("task", "T1"), keys=Keys.with_changes({"mark.note": ";"})) as seat:
        assert "; note" in seat.text
        await seat.press("semicolon")
        assert "note, bib 20" in seat.text
        await seat.press("escape f1")
        assert seat.line(" note ").strip().startswith(";")
