"""Tables of turns from anybody: units are stated, every misfit is a sentence with its line, nothing is guessed."""

from __future__ import annotations

import math
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.film.number import decimal
from assess.film.table import LARGEST_TABLE, MOST_ROWS
from assess.film.turn_table import TurnRow, read_turns, read_values
from assess.records.errors import InputError

HEAD = "run,n,side,t_start [s],t_end [s]"
GOOD = f"{HEAD}\n1,1,left,0.5,1.92\n1,2,right,1.92,3.30\n"


def sentence(raw: bytes | str, units: dict[str, str] | None = None) -> str:
    raw = raw.encode() if isinstance(raw, str) else raw
    began = time.process_time()
    with pytest.raises(InputError) as caught:
        read_turns(raw, "turns.csv", units)
    assert time.process_time() - began < 20, "refused at once, not after reading it all"
    assert all(problem.todo for problem in caught.value.problems)
    return str(caught.value)


def test_turns_come_in_order_with_their_lines() -> None:
    text = f"{HEAD}\r\n\r\n2,1,R,0,1\r\n1,2,Right,1.92,3.30\r\n1,1,left,0.5,1.92\r\n"
    assert read_turns(text.encode(), "turns.csv") == (
        TurnRow(5, 1, 1, "left", 0.5, 1.92), TurnRow(4, 1, 2, "right", 1.92, 3.3), TurnRow(3, 2, 1, "right", 0, 1),
    )  # fmt: skip


def test_every_column_is_read_in_its_stated_unit() -> None:
    text = (
        "run,n,side,t_start [ms],t_end[ms],v_in [km/h],v_out [m/s],heading_change [rad],width_m,mid_offset_m [m],"
        "edge_peak [deg],third_1 [%],third_2 [%],third_3 [%],slope_deg,source\n"
        "1,1,left,500,1920,36,9.5,1.570796327,4.2,-0.3,55,30,40,30,14,film\n"
    )
    (turn,) = read_turns(text.encode(), "turns.csv")
    assert (turn.t_start, turn.t_end, turn.v_in, turn.v_out) == (0.5, 1.92, 10, 9.5)
    assert turn.heading_change == pytest.approx(90, abs=1e-6)
    assert (turn.width_m, turn.mid_offset_m, turn.edge_peak, turn.slope_deg) == (4.2, -0.3, 55, 14)
    assert turn.thirds == pytest.approx((0.3, 0.4, 0.3)) and turn.source == "film"


def test_units_may_stand_beside_the_table_and_an_empty_cell_is_not_measured() -> None:
    text = "run,n,side,t_start,t_end,v_in,edge_peak\n1,1,left,0,1.5,36,\n"
    (turn,) = read_turns(text.encode(), "t", {"t_start": "s", "t_end": "s", "v_in": "km/h", "edge_peak": "deg"})
    assert (turn.v_in, turn.edge_peak) == (10, None)


def test_a_mark_at_the_start_changes_nothing() -> None:
    assert read_turns(b"\xef\xbb\xbf" + GOOD.encode(), "t") == read_turns(GOOD.encode(), "t")


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("", 1, "the table is empty"),
        (HEAD, 1, "holds no turn"),
        ("run,n,side,t_start,t_end [s]\n1,1,left,0,1\n", 1, "the unit of `t_start` is not stated; write `t_start [s]`"),
        (GOOD.replace("[s]", "[min]"), 1, "`t_start` cannot be in `min`"),
        (GOOD.replace("run,", "run [s],"), 1, "`run` has no unit"),
        (GOOD.replace("side", "colour"), 1, "the column `colour` is not known"),
        (GOOD.replace("side", "colour"), 1, "the column `side` is missing"),
        (GOOD.replace("run,n", "run,run"), 1, "the column `run` stands twice"),
        (GOOD.replace("t_end [s]", "t_start [ms]"), 1, "the column `t_start` stands twice"),
        (GOOD.replace("run,n", ",n"), 1, "a column has no name"),
        (GOOD.replace(",", ";"), 1, "not separated by commas"),
        ("run,turn,value\n1,1,4\n", 1, "a table of one value per turn"),
        (f"{HEAD},third_1\n1,1,left,0,1,0.3\n", 1, "the thirds of the turning are not all there"),
        (f"{HEAD},third_1,third_2,third_3\n1,1,left,0,1,0.3,0.3,0.3\n", 2, "do not add up to 1"),
        (f"{HEAD},third_1,third_2,third_3\n1,1,left,0,1,0.3,,0.7\n", 2, "do not add up to 1"),
        (f"{HEAD}\n1,1,left,0\n", 2, "this line has 4 cells, the first line 5"),
        (f"{HEAD}\n1,1,left,0,1,2\n", 2, "this line has 6 cells"),
        (f"{HEAD}\n0,1,left,0,1\n", 2, "whole numbers from 1"),
        (f"{HEAD}\n1,1.5,left,0,1\n", 2, "whole numbers from 1"),
        (f"{HEAD}\n1,٣,left,0,1\n", 2, "whole numbers from 1"),
        (f"{HEAD}\n1,1,up,0,1\n", 2, "side is `up`"),
        (f"{HEAD}\n1,1,left,,1\n", 2, "t_start is ``, which is no number"),
        (f"{HEAD}\n1,1,left,nan,1\n", 2, "t_start is `nan`, which is no number"),
        (f"{HEAD}\n1,1,left,0,inf\n", 2, "t_end is `inf`"),
        (f'{HEAD}\n1,1,left,0,"1,5"\n', 2, "t_end is `1,5`"),
        (f"{HEAD}\n1,1,left,-1,1\n", 2, "t_start is -1 s"),
        (f"{HEAD}\n1,1,left,2,1\n", 2, "the turn ends at 1 s and starts at 2 s"),
        (f"{HEAD}\n1,1,left,1,1\n", 2, "the turn ends at 1 s and starts at 1 s"),
        (f"{HEAD}\n1,1,left,0,1420\n", 2, "the turn lasts 1420 s; a turn lasts 0.1 to 60 s; look at the unit"),
        (f"{HEAD}\n1,1,left,0,1e99\n", 2, "t_end is `1e99`"),
        (f"{HEAD}\n1,1,left,0,1\n1,1,right,1,2\n", 3, "run 1 has turn 1 twice"),
        (f"{HEAD}\n1,1,left,0,1\n1,2,right,0.9,2\n", 3, "turn 2 starts before turn 1 has ended"),
        (f"{HEAD},v_in [m/s]\n1,1,left,0,1,-3\n", 2, "v_in is -3 m/s"),
        (f"{HEAD},v_in [m/s]\n1,1,left,0,1,90\n", 2, "v_in is 90 m/s; from 0 to 75 m/s; look at the unit"),
        (f"{HEAD},slope_deg\n1,1,left,0,1,95\n", 2, "slope_deg is 95 deg"),
        (f"{HEAD},source\n1,1,left,0,1,=cmd|' /C calc'!A0\n", 2, "begins like a formula"),
        (f"{HEAD},source\n1,1,left,0,1,@SUM(1)\n", 2, "begins like a formula"),
        (f"{HEAD}\n1,1,left,=1+1,3\n", 2, "begins like a formula"),
        (f"{HEAD}\n1,1,left,-cmd,3\n", 2, "begins like a formula"),
        (f"{HEAD},source\n1,1,left,0,1,{'x' * 201}\n", 2, "longer than 200 characters"),
        (f'{HEAD}\n1,1,"left,0,1\n', 2, "a quote is not closed"),
        (f'{HEAD}\n1,1,"le"ft,0,1\n', 2, "a quote is not closed"),
    ],
)  # fmt: skip
def test_what_is_no_turn_is_a_sentence_with_its_line(text: str, line: int, said: str) -> None:
    told = sentence(text)
    assert f"turns.csv:{line}: " in told and said in told


def test_a_unit_said_twice_must_be_the_same_and_one_for_no_column_is_told() -> None:
    assert "is s here and ms in the side file" in sentence(GOOD, {"t_start": "ms"})
    assert "`v_in`, which is no column here" in sentence(GOOD, {"v_in": "m/s"})
    assert read_turns(GOOD.encode(), "t", {"t_start": "s"})


def test_other_encodings_and_bytes_that_are_no_text_are_a_sentence() -> None:
    assert "turns.csv:1: the file is written in UTF-16" in sentence(GOOD.encode("utf-16"))
    assert "turns.csv:3: the byte 0xe4 is not UTF-8" in sentence(GOOD.encode().replace(b"right", b"\xe4"))
    assert "turns.csv:2: holds NUL bytes" in sentence(GOOD.encode().replace(b"left", b"\0"))
    assert "turns.csv:1: " in sentence(bytes(range(256)) * 100)


def test_a_table_that_is_too_large_or_made_to_be_slow_is_refused_at_once() -> None:
    assert "larger than" in sentence(b"1" * 50_000_000)
    assert "turns.csv" in sentence(b"," * LARGEST_TABLE)
    assert "turns.csv:1: " in sentence(b'"' * (LARGEST_TABLE - 1))
    told = sentence(HEAD + "\n" + "1,1,left,0,x\n" * MOST_ROWS)
    assert len(told.splitlines()) == 50 and "more lines cannot be used" in told
    told = sentence(HEAD + "\n" + "1,1,left,0,x\n" * (MOST_ROWS + 1))
    assert told.startswith(f"turns.csv:{MOST_ROWS + 2}: ") and "more than 20000 rows" in told


@pytest.mark.parametrize("text", ["1", "-1.5", "+2", ".5", "1e-3", "007"])
def test_a_plain_number_is_one(text: str) -> None:
    assert decimal(text) == float(text)


@pytest.mark.parametrize("text", ["", " 1", "1_0", "nan", "inf", "1,5", "0x10", "1e", "--1", "１", "1e99", "9" * 400])
def test_what_a_language_takes_for_a_number_is_none_here(text: str) -> None:
    assert decimal(text) is None


@given(st.text(max_size=12))
def test_a_number_is_finite_or_none(text: str) -> None:
    value = decimal(text)
    assert value is None or math.isfinite(value)


@settings(max_examples=150, deadline=None)
@given(data=st.binary(max_size=60), at=st.integers(0, len(GOOD)), cut=st.integers(0, 20))
def test_a_damaged_table_is_read_or_refused_and_nothing_else(data: bytes, at: int, cut: int) -> None:
    raw = GOOD.encode()
    try:
        turns = read_turns(raw[:at] + data + raw[at + cut :], "turns.csv")
    except InputError as trouble:
        assert trouble.problems
    else:
        assert all(turn.t_end > turn.t_start >= 0 for turn in turns)


def test_values_come_by_run_and_turn() -> None:
    text = "run,turn,value,remark\n2,1,7,\n1,2,5.5,late\n1,1,-4,\n"
    assert read_values(text.encode(), "before.csv") == ((-4.0, 5.5), (7.0,))
    assert read_values(b"run,turn,value\n", "before.csv") == ()


@pytest.mark.parametrize("row", ["1,x,9", "0,1,9", "1,1,nan", "1,1,1_0", "1,1,=9", "1,1", "1,2,3"])
def test_a_row_that_is_no_value_is_a_sentence_with_its_line(row: str) -> None:
    with pytest.raises(InputError) as caught:
        read_values(f"run,turn,value\n1,2,8\n{row}\n".encode(), "before.csv")
    assert str(caught.value).startswith("before.csv:3: ")
