"""The house itself: packages in the order in which data flows, what stands at the top, what every public name carries."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import importlinter.cli
import pytest
from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports

from .sources import PACKAGE, ROOT, functions, modules, name_of, tracked, tree

TOP = {
    ".ci", ".gitignore", "DEVELOPERS.md", "LICENSE", "README.md", "mixcraft", "pyproject.toml", "recipes_demo",
    "requirements.lock", "schemas", "templates", "tests",
}  # fmt: skip
"""What may stand at the top of the project: the user's own list, a lock file, a licence, CI and dotfiles."""


def test_imports_follow_the_pipeline(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """import-linter's layers contract of pyproject.toml is kept.  It sets up logging anew, which would silence the loggers of all
    tests after this one in the same process."""
    monkeypatch.setattr(importlinter.cli.logging_config, "dictConfig", lambda _: None)
    monkeypatch.chdir(ROOT)
    code = lint_imports(config_filename="pyproject.toml", no_cache=True)
    out = capsys.readouterr().out
    assert code == EXIT_STATUS_SUCCESS, out
    assert re.search(r"Contracts: [1-9]\d* kept, 0 broken", out)


def test_the_contract_names_every_package() -> None:
    """A package left out of the contract could import anything."""
    config = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    (contract,) = config["tool"]["importlinter"]["contracts"]
    packages = {f"mixcraft.{p.parent.name}" for p in PACKAGE.glob("*/__init__.py")}
    named = {layer.strip("()") for layer in contract["layers"]}
    needed = {layer for layer in contract["layers"] if not layer.startswith("(")}
    assert needed <= packages <= named


def test_the_top_of_the_project() -> None:
    found = {p.relative_to(ROOT).parts[0] for p in tracked()}
    assert found <= TOP, found - TOP
    assert {"README.md", "LICENSE", "mixcraft", "pyproject.toml", "recipes_demo", "schemas", "templates", "tests"} <= found


def test_command_line_computes_nothing() -> None:
    """The command line imports no NumPy to compute with, but to write dates and numbers."""
    for path in modules("cli"):
        source = path.read_text("utf-8")
        assert not re.search(r"np\.(sum|mean|median|exp|dot|einsum|cumsum)\b", source), name_of(path)


HEAVY = {"weasyprint", "networkx", "pandas", "polars", "numba", "jinja2", "ruamel", "jsonschema", "scipy"}


def test_a_start_imports_nothing_heavy() -> None:
    """Asking for the version or listing places must not pay for what they do not use."""
    code = (
        "import sys; from mixcraft.cli import main; main(['places']); "
        f"heavy = {sorted(HEAVY)!r}; "
        "print('heavy:', [name for name in heavy if sys.modules.get(name) is not None], file=sys.stderr)"
    )
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=600, check=True)
    assert ran.stderr.strip() == "heavy: []"


def public(path: Path) -> bool:
    return not path.name.startswith("_") or path.name == "__init__.py"


UNDOCUMENTED = {
    f"mixcraft/files/build.py: Builder.{name}"
    for name in ("next", "sequence", "mapping", "scalar", "check_tag", "scalar_spot", "spot", "count", "check_depth", "fault",
                 "stop", "make")
}  # fmt: skip


def undocumented() -> set[str]:
    """Public modules, functions, classes and methods without a docstring."""
    missing = set()
    for path in modules():
        module = tree(path)
        if path.stat().st_size and public(path) and ast.get_docstring(module) is None:
            missing.add(name_of(path))
        for node in module.body:
            if not isinstance(node, ast.ClassDef | ast.FunctionDef) or node.name.startswith("_"):
                continue
            inner = node.body if isinstance(node, ast.ClassDef) else []
            found = [(node.name, node)]
            found += [(f"{node.name}.{f.name}", f) for f in inner if isinstance(f, ast.FunctionDef) and f.name[0] != "_"]
            missing |= {f"{name_of(path)}: {name}" for name, f in found if ast.get_docstring(f) is None}
    return missing


def test_every_public_name_has_a_docstring() -> None:
    assert undocumented() - UNDOCUMENTED == set()


def test_the_builder_is_documented() -> None:
    assert undocumented() & UNDOCUMENTED == set()


MOST_LINES, MOST_FUNCTION_LINES = 500, 50
LONG_FUNCTIONS = {
    "mixcraft/cli/main.py: build_parser", "mixcraft/season/march.py: march",
    "mixcraft/season/march_arrays.py: _march_group",
}  # fmt: skip
"""The day loop and the ray march are read best in one piece; the parser is a list of arguments."""


def test_modules_are_short() -> None:
    assert [name_of(p) for p in modules() if len(p.read_text("utf-8").splitlines()) > MOST_LINES] == []


def test_functions_are_short() -> None:
    found = {
        f"{name_of(p)}: {f.name}" for p in modules() for f in functions(tree(p))
        if (f.end_lineno or 0) - f.lineno + 1 > MOST_FUNCTION_LINES
    }  # fmt: skip
    assert found <= LONG_FUNCTIONS


def test_functions_are_typed() -> None:
    """Every parameter and result of every function has its type; numba infers those of the ray march."""
    bare = []
    for path in modules():
        if path.name.startswith("march"):
            continue
        for node in functions(tree(path)):
            arguments = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
            names = [a.arg for a in arguments if a.annotation is None and a.arg not in ("self", "cls")]
            if names or node.returns is None:
                bare.append(f"{name_of(path)}: {node.name}")
    assert bare == []
