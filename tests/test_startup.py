"""What a start imports, seen from outside: one process, its `sys.modules`."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parent.parent
HEAVY = ("textual", "pydantic", "ruamel", "numpy", "scipy", "pandas", "jinja2", "matplotlib")

SCRIPT = """
import contextlib, io, json, sys
from assess.cli.running import run
out = io.StringIO()
with contextlib.redirect_stdout(out):
    code = run({words!r})
modules = sorted({{name.split(".")[0] for name in sys.modules}})
print(json.dumps({{"code": code, "said": out.getvalue(), "modules": modules}}))
"""


def started(*words: str) -> dict[str, Any]:
    script = SCRIPT.format(words=list(words))
    ran = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )
    found: dict[str, Any] = json.loads(ran.stdout)
    return found


@pytest.mark.parametrize("words", [("--help",), ("--version",)])
def test_help_and_version_import_nothing_heavy(words: tuple[str, ...]) -> None:
    found = started(*words)
    assert found["code"] == 0 and "assess" in found["said"]
    assert [name for name in HEAVY if name in found["modules"]] == []


@pytest.mark.parametrize("command", ["results", "mark", "demo", "open", "import"])
def test_the_help_of_a_command_imports_nothing_heavy_of_ours(command: str) -> None:
    # typer reads a command's parameters with pydantic where that is installed; we import it for nothing here.
    found = started(command, "--help")
    assert found["code"] == 0 and command in found["said"]
    assert [name for name in HEAVY if name in found["modules"] and name != "pydantic"] == []


def test_the_probe_sees_a_heavy_module_when_there_is_one() -> None:
    assert "pydantic" in started("schema", "people")["modules"]


def test_results_need_no_screen_and_no_arrays(tmp_path: Path) -> None:
    assert started("new", "course", str(tmp_path / "course"))["code"] == 0
    found = started("results", str(tmp_path / "course"))
    assert found["code"] == 0 and "not released" in found["said"]
    kept_out = {"textual", "numpy", "scipy", "pandas", "jinja2", "matplotlib"}
    assert sorted(kept_out.intersection(found["modules"])) == []
