"""What is written from hostile notes has no error in another's checker: the npm package webvtt-parser."""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
from pathlib import Path

import pytest

from assess.film.cues import Cue
from assess.film.webvtt import data_cue, write_webvtt
from tests.film.test_cues import HOSTILE

CHECK = """
const {WebVTTParser} = require('webvtt-parser');
const texts = JSON.parse(require('fs').readFileSync(0, 'utf8'));
console.log(JSON.stringify(texts.map(([mode, text]) => new WebVTTParser().parse(text, mode).errors)));
"""


def errors_of(texts: list[tuple[str, str]]) -> list[list[dict[str, object]]]:
    run = subprocess.run(["node", "-e", CHECK], input=json.dumps(texts), capture_output=True, text=True, check=True)
    found: list[list[dict[str, object]]] = json.loads(run.stdout)
    return found


def there() -> bool:
    folders = os.environ.get("NODE_PATH", "").split(os.pathsep)
    return shutil.which("node") is not None and any((Path(f) / "webvtt-parser").is_dir() for f in folders if f)


pytestmark = [
    pytest.mark.needs_node,
    pytest.mark.skipif(not there(), reason="node with webvtt-parser is not on NODE_PATH"),
]


def test_sixty_files_of_hostile_notes_have_no_error() -> None:
    pick = random.Random(6)
    texts = []
    for _ in range(60):
        cues = [
            Cue(
                pick.randrange(5 * 10**8),
                pick.randrange(5 * 10**8),
                pick.choice(HOSTILE),
                pick.choice(HOSTILE),
                pick.choice(HOSTILE),
            )
            for _ in range(6)
        ]
        data = [data_cue(cue.start_ms, cue.end_ms, {"text": cue.id}, cue.id) for cue in cues]
        texts += [("subtitles", write_webvtt(cues, notes=HOSTILE)), ("metadata", write_webvtt(data))]
    assert [found for found in errors_of(texts) if found] == []


def test_the_checker_finds_what_is_wrong() -> None:
    bad = "WEBVTT\n\n00:02.000 --> 00:01.000\nx\n"
    assert errors_of([("subtitles", bad)])[0]
