"""Runs commands of the program, in this process or in one of their own."""

from __future__ import annotations

import contextlib
import io
import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.cli.json_contract import hold_to_schema

__all__ = ["ROOT", "Ran", "assess", "assess_process", "tree"]

ROOT = Path(__file__).resolve().parent.parent.parent


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)

    @property
    def all(self) -> tuple[int, str, str]:
        return (self.code, self.out, self.err)


def assess(*words: str | Path) -> Ran:
    """The command in this process: no terminal, its streams kept apart."""
    from assess.cli.running import run

    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="\n") for _ in range(2))
    before = sys.stdin
    sys.stdin = io.StringIO("")
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = run([str(word) for word in words])
    finally:
        sys.stdin = before
    ran = Ran(code, *(_text(stream) for stream in (out, err)))
    hold_to_schema([str(word) for word in words], ran.out)
    return ran


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    binary = stream.buffer
    assert isinstance(binary, io.BytesIO)
    return binary.getvalue().decode("utf-8")


def assess_process(*words: str | Path, cwd: Path | None = None, **more: str) -> Ran:
    """The command in a process of its own, as people start it."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), **more}
    ran = subprocess.run(
        [sys.executable, "-m", "assess", *map(str, words)],
        cwd=cwd, env=env, stdin=subprocess.DEVNULL, capture_output=True, timeout=60, check=False,
    )  # fmt: skip
    return Ran(ran.returncode, ran.stdout.decode("utf-8"), ran.stderr.decode("utf-8"))


def tree(root: Path) -> dict[str, bytes]:
    """Every file under a folder with its bytes."""
    return {str(path.relative_to(root)): path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()}
