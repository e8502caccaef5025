"""A catalogue as it is read, with and without a house's own changes laid over it."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from assess.records.errors import InputError
from assess.records.reading_settings import Settings
from assess.store.catalogue_folder import load_catalogue
from tests.catalogue_maker import CATALOGUE, line_of, write_catalogue

NEW_DRILL = """\
  - id: hop
    name: "Small hop"
    aliases: []
    purpose: "wake the legs"
    addresses: [stiff]
    supports: []
    may_worsen: []
    skills: [stand]
    prereq: [bounce]
    needs: []
    difficulty: 3
    slope: [2, 6]
    snow: {ok: [firm], avoid: []}
    formation: line
    dose: {unit: reps, min: 4, max: 6}
    dose_note: "4-6 n"
    errors: "lands stiff"
    hazards: "lands on a neighbour"
    must: ["two ski lengths apart"]
    care: []
    check: "lands quietly"
"""


def digests(folder: Path) -> dict[str, str]:
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(folder.iterdir())}


def refused(folder: Path, overlay: Path | None = None) -> list[str]:
    with pytest.raises(InputError) as caught:
        load_catalogue(folder, overlay)
    return [str(problem) for problem in caught.value.problems]


def test_a_folder_is_read_into_faults_causes_drills_skills_words_and_constants(tmp_path: Path) -> None:
    found = load_catalogue(write_catalogue(tmp_path / "c"))
    assert found.catalogue.names == ("stiff", "late", "slides", "X-cold")
    assert [drill.id for drill in found.catalogue.drills] == ["bounce", "patience"]
    assert [skill.id for skill in found.catalogue.skills] == ["stand", "grip"]
    assert found.catalogue.settings == Settings(service=(), snow_extra={"grabby": 1.0})
    assert set(found.docs) == set(CATALOGUE)


def test_a_folder_without_settings_keeps_the_constants_the_program_comes_with(tmp_path: Path) -> None:
    folder = write_catalogue(tmp_path / "c")
    (folder / "settings.yaml").unlink()
    assert load_catalogue(folder).catalogue.settings == Settings()


def test_every_entry_has_the_file_and_line_it_stands_in(tmp_path: Path) -> None:
    found = load_catalogue(write_catalogue(tmp_path / "c"))
    for name, file, text in (
        ("late", "faults", "id: late"),
        ("patience", "drills", "id: patience"),
        ("grip", "skills", "id: grip"),
    ):
        path = tmp_path / "c" / f"{file}.yaml"
        assert found.line(name) == (str(path), line_of(path, text))
    assert found.line("nothing-of-that-name")[1] == 0


def test_an_entry_switched_off_is_gone_with_every_mention_of_it_and_no_file_is_touched(tmp_path: Path) -> None:
    folder = write_catalogue(tmp_path / "c", overlay="off: [late, bounce]\n")
    before = digests(folder)
    catalogue = load_catalogue(folder).catalogue
    assert catalogue.names == ("stiff", "slides", "X-cold")
    assert catalogue.fault_by_id["slides"].caused_by == ()
    assert catalogue.fault_by_id["stiff"].amplified_by == ()
    assert [drill.id for drill in catalogue.drills] == ["patience"]
    assert catalogue.drill_by_id["patience"].prereq == ()
    assert digests(folder) == before


def test_an_entry_of_the_overlay_stands_in_place_of_the_shipped_one_and_a_new_one_comes_last(tmp_path: Path) -> None:
    own = NEW_DRILL.replace("id: hop", "id: bounce").replace("prereq: [bounce]", "prereq: []")
    folder = write_catalogue(tmp_path / "c", overlay=f"drills:\n{own}{NEW_DRILL}")
    before = digests(folder)
    catalogue = load_catalogue(folder).catalogue
    assert [(drill.id, drill.name) for drill in catalogue.drills] == [
        ("bounce", "Small hop"), ("patience", "Long wait"), ("hop", "Small hop"),
    ]  # fmt: skip
    assert digests(folder) == before


def test_an_overlay_may_lie_anywhere_and_goes_before_the_folders_own(tmp_path: Path) -> None:
    folder = write_catalogue(tmp_path / "c", overlay="off: [late]\n")
    house = tmp_path / "house.yaml"
    house.write_text("# assess catalogue 1\noff: [patience]\n", encoding="utf-8", newline="\n")
    catalogue = load_catalogue(folder, house).catalogue
    assert "late" in catalogue.fault_by_id
    assert [drill.id for drill in catalogue.drills] == ["bounce"]


def test_an_overlay_without_a_line_for_anything_changes_nothing(tmp_path: Path) -> None:
    plain = load_catalogue(write_catalogue(tmp_path / "plain")).catalogue
    over = load_catalogue(write_catalogue(tmp_path / "over", overlay="off: []\n")).catalogue
    assert plain == over


def test_problems_of_all_files_are_told_at_once_with_their_lines(tmp_path: Path) -> None:
    folder = write_catalogue(
        tmp_path / "c",
        {
            "faults": ("layer: root", "layer: rooot"),
            "drills": ("difficulty: 5", "difficulty: 15"),
            "skills": ("level: 2", "level: 9"),
        },
    )
    said = refused(folder)
    for file, text, words in (
        ("faults", "layer: rooot", "must be `root`"),
        ("drills", "difficulty: 15", "must be at most 10"),
        ("skills", "level: 9", "must be at most 6"),
    ):
        place = f"{folder / file}.yaml:{line_of(folder / f'{file}.yaml', text)}: "
        assert any(one.startswith(place) and words in one for one in said), said


@pytest.mark.parametrize(
    ("file", "old", "new", "words"),
    [
        ("drills", "hazards: \"a long slide\"", "hazrads: \"a long slide\"", "did you mean `hazards`?"),
        ("drills", "slope: [2, 6]", "slope: [6, 2]", "the lower end 6 is above the upper end 2"),
        ("drills", "slope: [2, 6]", "slope: [2, 95]", "must be at most 60"),
        ("drills", "min: 3, max: 5", "min: 5, max: 3", "the lower end 5 is above the upper end 3"),
        ("settings", "service: []", "servise: []", "did you mean `service`?"),
        ("vocab", "edge: 2", "edge: 7", "must be at most 5"),
    ],
)  # fmt: skip
def test_a_key_or_value_that_cannot_be_is_refused_with_its_line(
    tmp_path: Path, file: str, old: str, new: str, words: str
) -> None:
    folder = write_catalogue(tmp_path / "c", {file: (old, new)})
    said = refused(folder)
    assert any(f"{file}.yaml:" in one and words in one for one in said), said


def test_an_unknown_key_of_the_overlay_is_refused_with_its_line(tmp_path: Path) -> None:
    folder = write_catalogue(tmp_path / "c", overlay="off: [late]\ndril: []\n")
    assert refused(folder) == [
        f"{folder / 'overlay.yaml'}:3: `dril` is not a key that is known here; did you mean `drills`?"
    ]


def test_an_id_given_twice_is_refused(tmp_path: Path) -> None:
    folder = write_catalogue(tmp_path / "c", {"skills": ("id: grip", "id: stand")})
    assert "skill id given twice: stand" in refused(folder)[0]


def test_a_file_that_is_not_there_or_of_another_kind_is_told(tmp_path: Path) -> None:
    folder = write_catalogue(tmp_path / "c", {"vocab": ("# assess catalogue 1", "# assess course 1")})
    (folder / "skills.yaml").unlink()
    said = refused(folder)
    assert any("skills.yaml" in one for one in said)
    assert any("vocab.yaml:1: " in one for one in said)


@pytest.mark.parametrize("entry", ["grip", "new-one"])
def test_a_wrong_entry_of_the_overlay_is_told_in_the_overlays_line(tmp_path: Path, entry: str) -> None:
    own = f'{{id: {entry}, level: 9, slope: [6, 12], needs: [], what: "hold"}}'
    folder = write_catalogue(tmp_path / "c", overlay=f"skills:\n  - {own}\n")
    [said] = refused(folder)
    assert said.startswith(f"{folder / 'overlay.yaml'}:3: `level` of number 1 of `skills` must be at most 6")


@pytest.mark.parametrize("where", ["the shipped file", "the overlay"])
def test_an_id_that_is_no_text_is_told_and_not_tripped_over(tmp_path: Path, where: str) -> None:
    changes = {"skills": ("{id: grip,", "{id: [grip],")} if where == "the shipped file" else {}
    own = '{id: [a], level: 1, slope: [0, 4], needs: [], what: "x"}'
    overlay = f"skills:\n  - {own}\n" if where == "the overlay" else "off: []\n"
    folder = write_catalogue(tmp_path / "c", changes, overlay=overlay)
    assert any("must be text" in said for said in refused(folder))
