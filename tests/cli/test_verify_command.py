"""`assess verify`: the summary first, then what does not hold, then record by record; and how it ends."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import assess, tree
from tests.courses import build_course
from tests.store.signed_course import ALL_KEYS, key_list, short_of, signed_course

T1 = ("edging", "line", "over-feet", "speed-control")
A1 = "sheets/T1.C01.A1.deva1.yaml"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return signed_course(tmp_path / "k")


def test_a_course_that_holds_says_so_first_and_then_what_is_not_yet_anchored(root: Path) -> None:
    ran = assess("verify", root, "--as", "D1")
    assert (ran.code, ran.err) == (0, "")
    lines = ran.out.splitlines()
    assert lines[:4] == [
        "every record you may read is as it was written (10 records, 25 entries)",
        "entries: 22 intact, 3 not yet anchored",
        "copies of rubrics as pinned: 1",
        "signatures that count: 7; entries that could have one and have none: 0",
    ]
    assert lines[4].startswith("keys: 4 of 4 people in the course's own list (")
    assert lines[5:] == [
        "course.yaml, people.yaml and tables are edited by hand: nothing here vouches for them",
        "not yet anchored: days/2027-02-03.A1.d7h2k.yaml",
        "not yet anchored: days/2027-02-04.A3.deva3.yaml",
        "days/2027-02-03.A1.d7h2k.yaml: 1-2 intact; 3 not yet anchored",
        "days/2027-02-04.A3.deva3.yaml: 1-2 not yet anchored",
        "8 other records are intact, and recorded elsewhere to the last entry",
    ]


def test_what_does_not_hold_is_named_with_file_line_and_what_to_do(root: Path) -> None:
    path = root / A1
    rows = path.read_bytes().split(b"\n")
    path.write_bytes(b"\n".join([*rows[:4], rows[4].replace(b'"level": 4', b'"level": 5'), *rows[5:]]))
    ran = assess("verify", root, "--as", "D1")
    assert ran.code == 1
    assert ran.out.startswith("not everything holds (10 records, ")
    assert f"{A1}:5: this line does not fit the chain" in ran.out
    # What stands before the damage was not changed as far as anybody can tell, and nothing vouches for it any more.
    assert f"{A1}: 1 not yet anchored; 2 altered; 3-4 missing\n" in ran.out


def test_a_record_that_is_gone_is_counted_and_named(root: Path) -> None:
    (root / "days" / "2027-02-03.A1.d7h2k.yaml").unlink()
    ran = assess("verify", root, "--as", "D1")
    assert ran.code == 1
    assert "missing records: 1" in ran.out
    assert "days/2027-02-03.A1.d7h2k.yaml: is sealed in seals/" in ran.out
    found = assess("verify", root, "--as", "D1", "--json").json
    assert found["missing"] == ["days/2027-02-03.A1.d7h2k.yaml"] and found["holds"] is False


def test_the_json_has_every_entry_and_keeps_the_keys_it_had(root: Path) -> None:
    ran = assess("verify", root, "--as", "D1", "--json")
    assert ran.code == 0
    found = ran.json
    assert {"course", "holds", "ledgers", "not_anchored", "findings"} <= set(found)
    assert (found["course"], found["holds"], found["ledgers"]) == ("K-1", True, 10)
    assert (found["signed"], found["unsigned"]) == (7, 0)
    assert sum(found["entries"].values()) == sum(len(record["entries"]) for record in found["records"]) == 25
    [lock] = [record["entries"][-1] for record in found["records"] if record["file"] == A1]
    assert lock == {
        "n": 4, "line": 7, "kind": "lock", "state": "intact", "why": "", "anchored": True, "erased": False,
        "key": short_of("A1"), "by": "A1",
    }  # fmt: skip


def test_unsigned_alone_ends_well_unless_the_list_asks_for_signatures(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "k", keys=key_list(*ALL_KEYS), signed=False)
    ran = assess("verify", root, "--as", "D1")
    assert ran.code == 0
    assert "signatures that count: 0; entries that could have one and have none: 7" in ran.out
    assert f"{A1}: 1-3 intact; 4 unsigned" in ran.out
    (root / "keys.yaml").write_text(key_list(*ALL_KEYS, required_from="2027-02-04"))
    ran = assess("verify", root, "--as", "D1")
    assert ran.code == 1
    assert "is not signed, which is required from 2027-02-04 on" in ran.out and A1 + ":7" not in ran.out


def test_a_list_kept_elsewhere_is_named_as_such_and_has_to_be_one(root: Path, tmp_path: Path) -> None:
    kept = tmp_path / "kept.yaml"
    kept.write_text(key_list(*ALL_KEYS[1:]))
    ran = assess("verify", root, "--keys", kept, "--as", "D1")
    assert ran.code == 1
    assert "keys: 3 of 3 people in a list kept elsewhere" in ran.out
    assert f"{A1}:7: unknown key {short_of('A1')}: its key is not listed" in ran.out
    none = assess("verify", root, "--keys", root / "course.yaml", "--as", "D1")
    assert (none.code, none.out) == (3, "")
    assert "this is a course file, not a keys file" in none.err


@pytest.mark.parametrize("name", ["course.yaml", "keys.yaml", A1, "nowhere"])
def test_what_is_no_course_cannot_be_verified(root: Path, name: str) -> None:
    ran = assess("verify", root / name, "--as", "D1")
    assert (ran.code, ran.out) == (3, "")
    assert "name the folder of a course" in ran.err or "is not there" in ran.err


def test_verifying_changes_nothing(root: Path) -> None:
    before = tree(root)
    assess("verify", root, "--as", "D1")
    assess("verify", root, "--json")
    assert tree(root) == before


def test_where_no_key_is_listed_a_lock_without_a_signature_is_told_like_every_other_entry(tmp_path: Path) -> None:
    course = build_course(tmp_path / "course", tasks=("T1",))
    assert assess("mark", course / "T1.C01", "--as", "A1", *(f"{each}=4" for each in T1)).code == 0
    assert assess("lock", course / "T1.C01", "--as", "A1").code == 0
    told = assess("verify", course, "--as", "A1").out
    assert "signatures: none; the course lists no keys" in told
    (line,) = [line for line in told.splitlines() if line.startswith("sheets/T1.C01.A1.") and ": " in line]
    assert line.endswith(" not yet anchored") and ";" not in line
    assert assess("seal", course, "--as", "D1").code == 0
    assert "recorded elsewhere to the last entry" in assess("verify", course, "--as", "A1").out
