"""What comes with the program is found in an installed package and in a checkout."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
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


def _asked(where: Path) -> subprocess.CompletedProcess[str]:
    """What a program says that imports the package from `where`, far from this checkout."""
    program = "from assess.store.shipped import shipped; print(shipped('rubrics')); print(shipped('sample_sessions'))"
    environment = {**os.environ, "PYTHONPATH": str(where)}
    command = [sys.executable, "-c", program]
    return subprocess.run(command, cwd=where.parent, env=environment, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("layout", ["wheel", "checkout", "neither"])
def test_the_package_itself_knows_where_it_stands(tmp_path: Path, layout: str) -> None:
    where = tmp_path / "site"
    for name in ("__init__.py", "records/__init__.py", "records/errors.py", "store/__init__.py", "store/shipped.py"):
        (where / "assess" / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / "assess" / name, where / "assess" / name)
    beside = where / "assess" / "shipped" if layout == "wheel" else where
    for name in ("rubrics", "sample_sessions"):
        (beside / name).mkdir(parents=True)
    if layout == "checkout":
        (where / "pyproject.toml").write_bytes(b"")
    said = _asked(where)
    if layout == "neither":
        assert "rubrics is not part of this installation; install the program again" in said.stderr
    else:
        assert said.stdout.splitlines() == [str(beside / "rubrics"), str(beside / "sample_sessions")]


def test_the_wheel_is_told_to_carry_them_where_they_are_looked_for() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    carried = project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert carried["rubrics"] == "assess/shipped/rubrics"
    assert carried["sample_sessions"] == "assess/shipped/sample_sessions"
