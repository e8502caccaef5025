"""User text reaches a widget by one road: `assess.tui.shown`. Read from the sources, not from memory."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import assess.tui

FOLDER = Path(assess.tui.__file__ or "").parent
FILES = sorted(FOLDER.glob("*.py"))
# Widgets and calls that would take a string as markup, or paint it by themselves.
FORBIDDEN_NAMES = {
    "Static", "Label", "DataTable", "OptionList", "ListView", "ListItem", "Select", "RichLog", "Log", "Markdown",
    "Button", "Header", "Footer", "Tree", "Text", "Digits", "Tooltip", "RadioButton", "Checkbox", "Placeholder",
}  # fmt: skip
FORBIDDEN_CALLS = {"notify", "from_markup", "print", "write_line", "set_title", "border_title", "border_subtitle"}
ROAD = "shown.py"


def names(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] in ("textual", "rich"):
            found |= {alias.name for alias in node.names}
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names if alias.name.split(".")[0] == "rich"}
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_no_file_uses_a_widget_that_reads_markup(path: Path) -> None:
    assert not names(path) & FORBIDDEN_NAMES


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_no_file_paints_text_by_another_road(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute):
            assert node.attr not in FORBIDDEN_CALLS, f"{path.name}:{node.lineno} {node.attr}"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in FORBIDDEN_CALLS, f"{path.name}:{node.lineno}"
            assert node.func.id != "Content" or path.name == ROAD, f"{path.name}:{node.lineno}"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            of_content = isinstance(node.func.value, ast.Name) and node.func.value.id == "Content"
            assert not of_content or path.name == ROAD, f"{path.name}:{node.lineno}"


@pytest.mark.parametrize("path", [path for path in FILES if path.name != ROAD], ids=lambda path: path.name)
def test_rich_and_content_are_imported_by_the_road_alone(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.ImportFrom):
            assert (node.module or "").split(".")[0] != "rich", path.name
            assert node.module != "textual.content", path.name


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_a_render_method_gives_content_and_a_line_is_told_content(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef) and node.name == "render":
            assert isinstance(node.returns, ast.Name)
            assert node.returns.id == "Content"
        said = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "say"
        if said:
            first = node.args[0]  # type: ignore[attr-defined]
            assert not isinstance(first, ast.Constant | ast.JoinedStr), f"{path.name}:{node.lineno}"  # type: ignore[attr-defined]


def test_the_screens_reach_the_work_through_the_desk_alone() -> None:
    allowed = ("assess.desk", "assess.records", "assess.tui")
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            module = node.module or "" if isinstance(node, ast.ImportFrom) else ""
            if module.startswith("assess."):
                assert module.startswith(allowed) or "results" in module.split("."), f"{path.name}: {module}"
