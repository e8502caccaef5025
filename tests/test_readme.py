"""What the README shows is what happens: its session is run, its pictures and commands exist."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
TIME = re.compile(r"\b\d\d:\d\d:\d\d\b")


@pytest.mark.parametrize("block", re.findall(r"```console\n(.*?)```", README, re.S))
def test_the_sessions_of_the_readme_give_the_output_they_show(block: str, tmp_path: Path) -> None:
    if "assess-sample" in block:
        shutil.copytree(ROOT / "sample_sessions" / "course", tmp_path / "assess-sample")
    steps = re.split(r"^\$ ", block, flags=re.M)[1:]
    assert len(steps) >= 5
    for step in steps:
        command, _, shown = step.partition("\n")
        words = shlex.split(command)
        assert words[0] == "assess"
        run = subprocess.run(
            [sys.executable, "-m", "assess", *words[1:]],
            cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False,
        )  # fmt: skip
        assert TIME.sub("<time>", run.stdout).rstrip() == TIME.sub("<time>", shown).rstrip(), command


def test_the_first_lines_for_a_director_are_those_of_the_program() -> None:
    block = re.search(r"```\n\$ assess agreement assess-sample\n(.*?)```", README, re.S)
    assert block
    course = ROOT / "sample_sessions" / "course"
    said = subprocess.run(
        [sys.executable, "-m", "assess", "agreement", str(course)], capture_output=True, text=True, check=True
    ).stdout
    assert said.startswith(block[1])


def test_the_first_lines_of_the_quality_report_are_those_of_the_program(tmp_path: Path) -> None:
    block = re.search(r"```\n\$ assess (quality assess-sample [^\n]*)\n(.*?)```", README, re.S)
    assert block
    shutil.copytree(ROOT / "sample_sessions" / "course", tmp_path / "assess-sample")
    ran = subprocess.run(
        [sys.executable, "-m", "assess", *block[1].split()],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ran.stdout.startswith(block[2]), ran.stderr


def test_the_calibration_round_shown_is_that_of_the_sample() -> None:
    block = re.search(r"```\n\$ assess round sample_sessions/calibration --as D1\n(.*?)```", README, re.S)
    assert block
    words = [sys.executable, "-m", "assess", "round", "sample_sessions/calibration", "--as", "D1"]
    said = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    assert said.startswith(block[1])


def test_the_season_shown_is_that_of_the_sample() -> None:
    block = re.search(r"```\n\$ assess film sample_sessions/season --as KW\n(.*?)```", README, re.S)
    assert block
    words = [sys.executable, "-m", "assess", "film", "sample_sessions/season", "--as", "KW"]
    said = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    assert said == block[1]


def test_the_first_lines_of_the_plan_are_those_of_the_program() -> None:
    block = re.search(r"```\n\$ assess plan assess-sample\n(.*?)```", README, re.S)
    assert block
    course = ROOT / "sample_sessions" / "course"
    said = subprocess.run(
        [sys.executable, "-m", "assess", "plan", str(course)], capture_output=True, text=True, check=True
    ).stdout
    assert said.startswith(block[1])


def test_the_plan_settings_the_readme_shows_are_read_as_they_are_meant() -> None:
    from ruamel.yaml import YAML

    from assess.records.plan import PlanSettings

    block = re.search(r"```yaml\n(plan:\n.*?)```", README, re.S)
    assert block
    settings = PlanSettings.model_validate(YAML(typ="safe").load(block[1])["plan"])
    assert settings.task("T4").every == 35 and settings.light_of(1) == ((585, 720),)


def test_every_picture_and_page_the_readme_names_is_there() -> None:
    for name in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / name).is_file(), name


def test_every_command_the_readme_names_is_one_of_the_program() -> None:
    shown = subprocess.run(
        [sys.executable, "-m", "assess", "--help"], capture_output=True, text=True, check=True
    ).stdout
    for name in sorted(set(re.findall(r"`assess ([a-z]+)", README))):
        assert re.search(rf"^  {name}\b", shown, re.M), name
