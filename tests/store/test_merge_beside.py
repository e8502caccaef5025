"""What a merge carries beside the records: the list of keys, a house's overlay, tables of what was measured."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.errors import InputError
from assess.store.course_folder import load_course
from assess.store.merge import merge
from tests.store.course_maker import by_digest, hash8, make_course, tree

TABLE = "measures/T4.C01.before.csv"
SIDE = "measures/T4.C01.before.yaml"
KEYS = "# assess keys 1\nrevision: {revision}\nkeys:\n- {{person: {person}, public: {public}, from: 2027-02-03}}\n"


def keys(revision: int, person: str = "A1", letter: str = "A") -> bytes:
    return KEYS.format(revision=revision, person=person, public=letter * 42 + "A").encode()


@pytest.fixture
def course(tmp_path: Path) -> Path:
    return make_course(tmp_path / "into")


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    return make_course(tmp_path / "stick")


def put(root: Path, name: str, raw: bytes) -> Path:
    path = root / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(raw)
    return path


@pytest.mark.parametrize(
    ("name", "raw"),
    [
        (TABLE, b"run,turn,value\n1,1,3.5\n"),
        (SIDE, b"measure: edge-angle\n"),
        ("measures/T1.C02.gpx", b"<gpx/>"),
        ("overlay.yaml", b"# assess catalogue 1\noff: [pivot-lane]\n"),
        ("keys.yaml", keys(1)),
    ],
)
def test_a_file_that_is_new_here_is_taken_byte_for_byte(course: Path, stick: Path, name: str, raw: bytes) -> None:
    put(stick, name, raw)
    report = merge(course, [stick])
    assert (report.taken, report.forks, report.bad, report.left) == ((name,), (), (), ())
    assert tree(course) == tree(stick)
    assert merge(course, [stick]).taken == ()
    # And the other way round it takes nothing away.
    assert merge(stick, [course]).taken == ()


@pytest.mark.parametrize(
    ("name", "aside"),
    [
        (TABLE, "measures/T4.C01.before~{}.csv"),
        (SIDE, "measures/T4.C01.before~{}.yaml"),
        ("overlay.yaml", "overlay~{}.yaml"),
    ],
)
def test_of_two_versions_without_a_revision_both_are_kept_and_told(
    course: Path, stick: Path, name: str, aside: str
) -> None:
    first, second = by_digest(b"# assess catalogue 1\noff: [a]\n", b"# assess catalogue 1\noff: [b]\n")
    put(course, name, second)
    put(stick, name, first)
    fork = aside.format(hash8(second))
    report = merge(course, [stick])
    assert (report.taken, report.forks) == ((name,), (fork,))
    kept = tree(course)
    assert (kept[name], kept[fork]) == (first, second)
    found = load_course(course)
    assert fork in found.aside
    assert [(each.file, each.what, each.doubt) for each in found.problems] == [
        (fork, f"is another version of {name}, kept aside and not used", True)
    ]
    before = tree(course)
    for _ in range(2):
        assert merge(course, [stick]).taken == ()
    assert tree(course) == before


def test_a_table_that_goes_on_takes_the_place_of_its_beginning(course: Path, stick: Path) -> None:
    put(course, TABLE, b"run,turn,value\n1,1,3.5\n")
    longer = put(stick, TABLE, b"run,turn,value\n1,1,3.5\n1,2,4.0\n").read_bytes()
    for into, other in ((course, stick), (stick, course)):
        merge(into, [other])
        assert tree(into)[TABLE] == longer
    assert not [name for name in tree(course) if "~" in name]


def test_a_table_and_its_side_file_are_two_records_that_do_not_take_each_others_place(
    course: Path, stick: Path
) -> None:
    put(course, TABLE, b"run,turn,value\n")
    put(stick, SIDE, b"measure: edge-angle\n")
    merge(course, [stick])
    assert {TABLE, SIDE} <= set(tree(course))


def test_the_list_of_keys_with_the_higher_revision_wins(course: Path, stick: Path) -> None:
    put(course, "keys.yaml", keys(2, letter="B"))
    put(stick, "keys.yaml", keys(3))
    for into, other in ((course, stick), (stick, course)):
        merge(into, [other])
        assert tree(into)["keys.yaml"] == keys(3)
    assert not [name for name in tree(course) if "~" in name]


def test_two_lists_of_one_revision_are_a_fork(course: Path, stick: Path) -> None:
    first, second = by_digest(keys(2), keys(2, letter="B"))
    put(course, "keys.yaml", first)
    put(stick, "keys.yaml", second)
    report = merge(course, [stick])
    assert report.forks == (f"keys~{hash8(second)}.yaml",)
    assert tree(course)["keys.yaml"] == first


@pytest.mark.parametrize("which", ["course", "stick"])
def test_a_slip_of_the_hand_in_the_list_of_keys_stops_the_merge(course: Path, stick: Path, which: str) -> None:
    put(course if which == "course" else stick, "keys.yaml", b"# assess keys 1\nrevision: none\n")
    put(stick, TABLE, b"run,turn,value\n")
    before = tree(course)
    with pytest.raises(InputError, match=r"keys\.yaml"):
        merge(course, [stick])
    assert tree(course) == before


def test_what_is_no_table_by_its_name_stays_where_it_is(course: Path, stick: Path, tmp_path: Path) -> None:
    (tmp_path / "secret").write_bytes(b"secret")
    for name in ("measures/my notes.csv", "measures/.hidden.csv", "measures/noending", "measures/x..y.csv"):
        put(stick, name, b"x")
    (stick / "measures" / "T1.C01.after.csv").symlink_to(tmp_path / "secret")
    (stick / "measures" / "deeper").mkdir()
    (stick / "groups.yaml").write_bytes(b"# assess groups 1\n")
    before = tree(course)
    report = merge(course, [stick])
    assert tree(course) == before
    told = [problem.file.removeprefix(f"{stick}/measures/") for problem in report.left if problem.doubt]
    assert told == ["T1.C01.after.csv", "deeper", "my notes.csv", "noending", "x..y.csv"]


def test_an_overlay_that_leads_out_of_the_course_is_not_taken(course: Path, stick: Path, tmp_path: Path) -> None:
    (tmp_path / "secret").write_bytes(b"secret")
    (stick / "overlay.yaml").symlink_to(tmp_path / "secret")
    merge(course, [stick])
    assert "overlay.yaml" not in tree(course)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.dictionaries(
            st.sampled_from([TABLE, SIDE, "overlay.yaml", "keys.yaml"]), st.integers(0, 3), min_size=1, max_size=4
        ),
        min_size=2,
        max_size=3,
    )
)
def test_the_order_of_a_merge_does_not_matter_for_them_either(
    tmp_path_factory: pytest.TempPathFactory, sides: list[dict[str, int]]
) -> None:
    def content(name: str, number: int) -> bytes:
        return (
            keys(1 + number // 2, letter="ABCD"[number])
            if name == "keys.yaml"
            else b"x" * (number % 3) + b"%d" % number
        )

    results = []
    for order in permutations(range(len(sides))):
        base = tmp_path_factory.mktemp("merged")
        roots = []
        for number in order:
            roots.append(make_course(base / f"side-{number}"))
            for name, which in sides[number].items():
                put(roots[-1], name, content(name, which))
        into = make_course(base / "into")
        for root in roots:
            merge(into, [root])
        first = tree(into)
        merge(into, roots)
        assert tree(into) == first
        results.append(first)
    assert all(result == results[0] for result in results)
