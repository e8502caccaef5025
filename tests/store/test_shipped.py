"""What comes with the program is found in an installed package and in a checkout."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

import assess
from assess.records.errors import StorageTrouble
from assess.store.shipped import shipped

ROOT = Path(__file__).resolve().parents[2]


def test_in_this_checkout_it_stands_beside_the_package() -> None:
    assert shipped("rubrics") == Path(assess.__file__).resolve().parent.parent / "rubrics"
    assert list(shipped("rubrics").glob("*/*.yaml"))
    assert (shipped("sample_sessions") / "course" / "course.yaml").is_file()


def test_in_an_installed_package_it_stands_inside_and_comes_first(tmp_path: Path) -> None:
    package = tmp_path / "site-packages" / "assess"
    (package / "shipped" / "rubrics").mkdir(parents=True)
    (package.parent / "rubrics").mkdir()
    assert shipped("rubrics", package) == package / "shipped" / "rubrics"


def test_a_folder_of_that_name_beside_an_installed_package_is_somebody_elses(tmp_path: Path) -> None:
    package = tmp_path / "site-packages" / "assess"
    package.mkdir(parents=True)
    (package.parent / "rubrics").mkdir()
    with pytest.raises(StorageTrouble, match="rubrics is not part of this installation; install the program again"):
        shipped("rubrics", package)
    (package.parent / "pyproject.toml").write_bytes(b"")
    assert shipped("rubrics", package) == package.parent / "rubrics"


def test_the_wheel_is_told_to_carry_them_where_they_are_looked_for() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    carried = project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert carried["rubrics"] == "assess/shipped/rubrics"
    assert carried["sample_sessions"] == "assess/shipped/sample_sessions"
