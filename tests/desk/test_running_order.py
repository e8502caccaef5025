from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from assess.desk.running_order import running_order
from assess.records.facts import OrderChange

WHO = ("C01", "C02", "C03", "C04")


def change(who: str, what: str, place: int | None = None, task: str = "T1") -> OrderChange:
    return OrderChange.model_validate({"task": task, "candidate": who, "change": what, "place": place})


def order(*changes: OrderChange, task: str = "T1") -> list[str]:
    return [place.candidate for place in running_order(WHO, task, changes)]


def test_somebody_late_goes_last_and_moves_up_when_they_start_now() -> None:
    late = change("C01", "late")
    assert order(late) == ["C02", "C03", "C04", "C01"]
    assert running_order(WHO, "T1", [late])[-1].standing == "late"
    assert order(late, change("C01", "now", 2)) == ["C02", "C01", "C03", "C04"]
    assert running_order(WHO, "T1", [late, change("C01", "now", 2)])[1].standing == ""


def test_a_change_in_another_task_moves_nobody_but_a_withdrawal_holds_everywhere() -> None:
    assert order(change("C01", "late", task="T2")) == list(WHO)
    assert running_order(WHO, "T1", [change("C02", "withdrawn", task="T2")])[1].standing == "withdrawn"
    assert running_order(WHO, "T1", [change("C02", "absent", task="T2")])[1].standing == ""


def test_back_takes_an_absence_off() -> None:
    places = running_order(WHO, "T1", [change("C02", "absent"), change("C02", "back")])
    assert [place.standing for place in places] == ["", "", "", ""]


@given(st.lists(st.tuples(st.sampled_from((*WHO, "C99")), st.sampled_from(["moved", "late", "now", "absent", "back"]),
                          st.integers(min_value=1, max_value=9))))  # fmt: skip
def test_whatever_is_changed_everybody_stands_in_the_order_once(changes) -> None:
    assert sorted(order(*(change(*item) for item in changes))) == sorted(WHO)
