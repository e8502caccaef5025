"""The colours, measured: contrast as WCAG 2.2 defines it, distance in CAM02-UCS, also for people who see fewer.

Oracles of the contrast: #767676 on white is 4.54, #777777 is 4.48 (common practice). The distances of red #d32f2f and
green #388e3c, far apart for most and together for deuteranopes, show that the measure finds what it is for.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import combinations
from pathlib import Path

import pytest

from assess.reports.palette import APART, DARK, LIGHT, LINES, PRINTED, TEXTS, Role, palette_css, printed_css

ROOT = Path(__file__).resolve().parent.parent.parent
SEEN = ("normal", "protanomaly", "deuteranomaly", "tritanomaly")
THEMES = {"light": LIGHT, "dark": DARK}


def rgb(colour: str) -> tuple[float, ...]:
    return tuple(int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))


def luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance."""
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in rgb(colour)]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, two: str) -> float:
    low, high = sorted((luminance(one), luminance(two)))
    return (high + 0.05) / (low + 0.05)


def distance(one: str, two: str, seen: str) -> float:
    colorspacious = pytest.importorskip("colorspacious")
    colours = [rgb(one), rgb(two)]
    if seen != "normal":
        space = {"name": "sRGB1+CVD", "cvd_type": seen, "severity": 100}
        colours = [tuple(min(1, max(0, part)) for part in colorspacious.cspace_convert(each, space, "sRGB1"))
                   for each in colours]  # fmt: skip
    return float(colorspacious.deltaE(*colours, input_space="sRGB1", uniform_space="CAM02-UCS"))


def test_the_measures_give_the_known_values() -> None:
    assert round(contrast("#767676", "#ffffff"), 2) == 4.54
    assert round(contrast("#777777", "#ffffff"), 2) == 4.48
    assert distance("#d32f2f", "#388e3c", "normal") > 50
    assert distance("#d32f2f", "#388e3c", "deuteranomaly") < 10


@pytest.mark.parametrize("theme", THEMES)
def test_text_lines_and_fills_stand_out(theme: str) -> None:
    colours: Mapping[Role, str] = THEMES[theme]
    for ground in ("paper", "tint"):
        for least, roles in ((4.5, TEXTS), (3.0, LINES)):
            for role in roles:
                found = contrast(colours[role], colours[ground])
                print(f"{theme}: {role} on {ground} {found:.2f}")
                assert found >= least, (theme, role, ground, found)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("seen", SEEN)
def test_what_stands_side_by_side_stays_apart_however_one_sees(theme: str, seen: str) -> None:
    colours = THEMES[theme]
    found = {pair: distance(colours[pair[0]], colours[pair[1]], seen) for pair in combinations(APART, 2)}
    print(theme, seen, {" ".join(pair): round(value, 1) for pair, value in found.items()})
    assert min(found.values()) >= 10


def test_what_is_written_on_is_black_and_white() -> None:
    assert round(contrast(PRINTED["ink"], PRINTED["paper"]), 2) == 21
    assert all(f"--{role}: {colour};" in printed_css() for role, colour in PRINTED.items())


def test_no_page_and_no_picture_has_a_colour_of_its_own() -> None:
    known = {*LIGHT.values(), *DARK.values()}
    told = palette_css()
    assert all(colour in told for colour in known)
    own = re.compile(r"#(?:[0-9a-fA-F]{8}|[0-9a-fA-F]{6}|[0-9a-fA-F]{3,4})\b|\b(?:rgb|hsl|oklch|color)a?\(")
    assert own.search("a { color: #000; }") and own.search("rgba(0, 0, 0, 1)")
    looked = [path for ending in ("py", "css", "html") for path in (ROOT / "assess" / "reports").rglob(f"*.{ending}")]
    assert {"cards.css", "page.css", "letter.css", "charts.py"} <= {path.name for path in looked}
    for path in looked:
        if path.name != "palette.py":
            assert own.findall(path.read_text(encoding="utf-8")) == [], path.name
