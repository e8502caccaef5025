"""Which package may import which, read from the source; and how long a file, a class and a function may be."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "assess"
FILES = sorted(PACKAGE.rglob("*.py"))

# package -> packages of the program it may import; `name.results` stands for that one module, or package of modules.
INSIDE: dict[str, set[str]] = {
    "records": set(),
    "marking": {"records"},
    "lesson": {"records"},
    "agreement": {"records"},
    "store": {"records"},
    "film": {"records"},
    "planning": {"records"},
    "reports": {"records", "marking.results", "lesson.results", "agreement.results", "planning.results"},
    "desk": {"records", "marking", "lesson", "agreement", "planning", "store", "film", "reports"},
    "cli": {"desk", "records", "marking.results", "lesson.results", "agreement.results", "planning.results", "tui.app"},
    "tui": {"desk", "records", "marking.results", "lesson.results", "agreement.results"},
}
# package -> other people's packages it may import.
OUTSIDE: dict[str, set[str]] = {
    "records": {"pydantic"},
    "marking": set(),
    "lesson": set(),
    "agreement": {"numpy", "scipy"},
    "store": {"pydantic", "ruamel", "platformdirs", "cryptography"},
    "film": {"gpxpy"},
    "planning": {"numpy", "scipy"},
    "reports": {"jinja2", "pandas", "matplotlib", "weasyprint", "xlsxwriter", "icalendar", "segno", "pyarrow"},
    "desk": {"pydantic", "pandas"},
    "cli": {"typer"},
    "tui": {"textual", "rich"},
}
# What may stand at the top of a file and not only inside the function that needs it.
AT_THE_TOP = {
    "records": {"pydantic"},
    "store": {"pydantic"},
    "agreement": {"numpy", "scipy"},
    "planning": {"numpy", "scipy"},
    "desk": {"pydantic"},
    "cli": {"typer"},
    "tui": {"textual", "rich"},
}


def imports(tree: ast.AST) -> Iterator[tuple[int, str, bool]]:
    """(line, module, whether it is at the top) of every import that runs; those for type checking do not."""
    for node, top in _nodes(tree, top=True):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name, top) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                yield node.lineno, "." * node.level, top
            elif node.module == "assess":
                yield from ((node.lineno, f"assess.{alias.name}", top) for alias in node.names)
            else:
                yield node.lineno, node.module or "", top


def _nodes(tree: ast.AST, *, top: bool) -> Iterator[tuple[ast.AST, bool]]:
    for node in ast.iter_child_nodes(tree):
        yield node, top
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            continue
        inside = top and not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        yield from _nodes(node, top=inside)


def layer(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0] if path.parent != PACKAGE else ""


def trouble(source: str, package: str) -> list[str]:
    """What a file of a package imports and may not."""
    found = []
    for line, module, top in imports(ast.parse(source)):
        parts = module.split(".")
        if parts[0] == "":
            found.append(f"{line}: relative import")
        elif parts[0] == "assess":
            if not _inside(parts[1:], package):
                found.append(f"{line}: {module}")
        elif parts[0] not in sys.stdlib_module_names:
            allowed = OUTSIDE[package] if not top else AT_THE_TOP.get(package, set())
            if parts[0] not in allowed:
                found.append(f"{line}: {module}" + (" at the top" if top and parts[0] in OUTSIDE[package] else ""))
    return found


def _inside(parts: list[str], package: str) -> bool:
    if not parts or parts[0] in (package, "__version__"):
        return True
    return parts[0] in INSIDE[package] or ".".join(parts[:2]) in INSIDE[package]


def test_every_file_imports_only_what_its_layer_may() -> None:
    wrong = {
        str(path.relative_to(ROOT)): found
        for path in FILES
        if layer(path) and (found := trouble(path.read_text(encoding="utf-8"), layer(path)))
    }
    assert wrong == {}


def test_every_package_of_the_program_stands_in_the_table() -> None:
    packages = {layer(path) for path in FILES} - {""}
    assert packages <= set(INSIDE) and packages <= set(OUTSIDE)
    assert {"records", "marking", "store", "desk", "cli", "tui"} <= packages


@pytest.mark.parametrize(
    ("package", "source"),
    [
        ("records", "import ruamel.yaml"),
        ("records", "from assess.store.disk import Disk"),
        ("marking", "import pydantic"),
        ("marking", "def f():\n    from assess.desk.session import Desk"),
        ("store", "import ruamel.yaml"),
        ("store", "from assess.marking.results import Sheet"),
        ("desk", "def f():\n    import textual"),
        ("desk", "from assess.cli.say import show_json"),
        ("cli", "def f():\n    from assess.store.disk import Disk"),
        ("cli", "from assess.marking.outcome import module_result"),
        ("tui", "from assess.store.disk import Disk"),
        ("tui", "from assess.marking.fold import fold_sheet"),
        ("tui", "from . import app"),
        ("tui", "from assess import store"),
    ],
)
def test_the_table_finds_what_is_not_allowed(package: str, source: str) -> None:
    assert trouble(source, package) != []


def test_results_may_be_a_package_of_their_own() -> None:
    assert trouble("from assess.agreement.results.raters import Effect", "cli") == []
    assert trouble("from assess.agreement.resultsraters import Effect", "cli") != []


def test_imports_for_type_checking_alone_are_no_imports() -> None:
    assert (
        trouble("from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from assess.store.disk import Disk", "cli")
        == []
    )


def test_marking_compares_no_floats() -> None:
    """A pass line is met in exact fractions: no float is made in the rules, except to be read by people."""
    wrong = []
    for path in sorted((PACKAGE / "marking").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, float):
                wrong.append(f"{path.name}:{node.lineno} {node.value}")
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "float":
                wrong.append(f"{path.name}:{node.lineno} float()")
    assert wrong == []


def test_only_the_command_line_prints() -> None:
    wrong = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in FILES
        if layer(path) != "cli"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print"
    ]
    assert wrong == []


def test_no_file_is_longer_than_400_lines_no_class_than_250_no_function_than_40() -> None:
    long = []
    for path in FILES:
        text = path.read_text(encoding="utf-8")
        name = str(path.relative_to(ROOT))
        if text.count("\n") > 400:
            long.append(f"{name}: {text.count(chr(10))} lines")
        for node in ast.walk(ast.parse(text)):
            if not isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
                continue
            lines = (node.end_lineno or node.lineno) - node.lineno + 1 - _told(node)
            if lines > (250 if isinstance(node, ast.ClassDef) else 40):
                long.append(f"{name}:{node.lineno} {node.name}: {lines} lines")
    assert long == []


def _told(node: ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of its docstring: a promise may be as long as it needs to be."""
    first = node.body[0] if node.body else None
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and isinstance(first.value.value, str):
        return (first.end_lineno or first.lineno) - first.lineno + 1
    return 0
