"""Imports point one way: the order of the packages, held by walking every import statement."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

import tagmaker

PACKAGE = Path(tagmaker.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))

# Each room of the package and the rooms it may import. Rooms that stand side by side never import
# each other: readers do not see writers.
_BELOW_TELLING = {"storage", "lot", "farm", "notes", "errors"}
_SIBLINGS = {"intake", "paper", "scan", "record"}
MAY_IMPORT: dict[str, set[str]] = {
    "errors": set(),
    "notes": set(),
    "lot": {"notes", "errors"},
    "farm": {"errors"},
    "storage": {"lot", "farm", "notes", "errors"},
    "telling": _BELOW_TELLING,
    "intake": {"telling"} | _BELOW_TELLING,
    "paper": {"telling"} | _BELOW_TELLING,
    "scan": {"telling"} | _BELOW_TELLING,
    "record": {"telling"} | _BELOW_TELLING,
    "desk": _SIBLINGS | {"telling"} | _BELOW_TELLING,
    "cli": {"desk"} | _SIBLINGS | {"telling"} | _BELOW_TELLING,
}
ENTRY = {"__main__": {"cli"}, "__init__": set[str]()}

# Packages that cost more than the whole of `--help` may.
HEAVY = (
    "pandas",
    "numpy",
    "highspy",
    "openpyxl",
    "reportlab",
    "qrcode",
    "zxingcpp",
    "pypdfium2",
    "PIL",
    "python_calamine",
    "flask",
    "waitress",
)


def part_of(path: Path) -> str:
    """The part of the package that a file belongs to: 'storage' for storage/crops.py."""
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def imports_of(path: Path) -> set[str]:
    """Full names of everything a file imports anywhere, inside functions too."""
    package = ("tagmaker", *path.relative_to(PACKAGE).parent.parts)
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: len(package) - node.level + 1]) if node.level else ""
            module = ".".join(part for part in (base, node.module) if part)
            names |= {f"{module}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith(("import_module", "__import__")):
            name = node.args[0]
            assert isinstance(name, ast.Constant), f"{path}: the name of an import must be plain to see"
            names.add(str(name.value))
    return names


def parts_imported(path: Path) -> set[str]:
    """The package's own parts that a file imports."""
    own = (name.split(".") for name in imports_of(path) if name.split(".")[0] == "tagmaker")
    return {pieces[1] for pieces in own if len(pieces) > 1 and (pieces[1] in MAY_IMPORT)}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_one_way(path: Path) -> None:
    """A file imports only from its own part and from the parts below it."""
    part = part_of(path)
    allowed = MAY_IMPORT | ENTRY
    assert part in allowed, f"{part} is new: say in MAY_IMPORT and DEVELOPERS.md what it may import"
    assert parts_imported(path) - {part} - allowed[part] == set()


def test_the_developers_page_says_who_imports_whom(repository: Path) -> None:
    """The table of DEVELOPERS.md is the table that is held here, in the same order."""
    page = (repository / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `(\w+)` \|[^|]*\| ([^|]*) \|$", page, re.MULTILINE)
    told = {part: set(re.findall(r"\w+", imports)) for part, imports in rows}
    assert list(told.items()) == list(MAY_IMPORT.items())
    assert {part_of(path) for path in MODULES} - set(ENTRY) == set(told)


@pytest.mark.parametrize(
    "path",
    [p for p in MODULES if part_of(p) in ("storage", "lot", "farm", "notes", "errors")],
    ids=lambda p: p.stem,
)
def test_the_calculation_needs_only_the_standard_library(path: Path) -> None:
    """Storage and what lies below it import nothing that has to be installed."""
    roots = {name.split(".")[0] for name in imports_of(path)}
    assert roots - {"tagmaker"} - sys.stdlib_module_names == set()


@pytest.mark.parametrize("path", [p for p in MODULES if part_of(p) == "storage"], ids=lambda p: p.stem)
def test_the_calculation_has_no_clock_and_opens_no_file(path: Path) -> None:
    """Storage takes now as an argument, and reads nothing but its own packaged table."""
    calls = {
        ast.unparse(node.func)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
    }
    clocks = ("datetime.now", "datetime.today", "date.today", "time.time", "utcnow")
    assert {call for call in calls if call.endswith(clocks) or call in ("open", "Path", "print")} == set()


@pytest.mark.parametrize(
    "path", [p for p in MODULES if part_of(p) not in ("cli", "__main__")], ids=lambda p: p.stem
)
def test_only_the_command_line_prints_reads_the_clock_or_exits(path: Path) -> None:
    """Everything below `cli` returns values or raises; what time it is comes as an argument."""
    calls = {
        ast.unparse(node.func)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
    }
    forbidden = ("datetime.now", "datetime.today", "date.today", "sys.exit", "click.echo")
    assert {call for call in calls if call.endswith(forbidden) or call in ("print", "exit", "quit")} == set()


def test_no_import_circles() -> None:
    """No file imports one that imports it back, by however long a way."""
    names = {".".join(("tagmaker", *p.relative_to(PACKAGE).with_suffix("").parts)): p for p in MODULES}
    graph = {
        name: {
            known
            for imported in imports_of(path)
            for known in names
            if known in (imported, imported.rpartition(".")[0])
        }
        for name, path in names.items()
    }
    done: set[str] = set()

    def visit(name: str, above: tuple[str, ...]) -> None:
        assert name not in above, " -> ".join((*above, name))
        if name not in done:
            for imported in graph[name] - {name}:
                visit(imported, (*above, name))
            done.add(name)

    for name in graph:
        visit(name, ())
    assert done == set(names)


def test_help_loads_nothing_heavy() -> None:
    """`tagmaker --help` answers before any reader or drawing package is loaded."""
    script = (
        "import sys\n"
        "from tagmaker.cli import main\n"
        "try:\n"
        "    main(['--help'])\n"
        "except SystemExit as end:\n"
        "    assert end.code in (0, None), end.code\n"
        f"print(sorted(set({HEAVY!r}) & set(sys.modules)), file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
    assert "checklist" in done.stdout
