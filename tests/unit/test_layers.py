"""Imports inside the package go strictly downward, so that each folder can be read without those above it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "src" / "collaudo"

# From the bottom up. Names on one line are neighbours: they may not import one another.
ORDER = (
    ("errors", "compiled"),
    ("quantities",),
    ("fluid",),
    ("laws",),
    ("parts",),
    ("machine",),
    ("twin",),
    ("current",),
    ("paths",),
    ("drawing",),
    ("checks",),
    ("causes",),
    ("diagnosis",),
    ("feedwater",),
    ("fitting",),
    ("advice",),
    ("records",),
    ("bench",),
    ("reports",),
    ("api", "cli", "web"),
    ("__main__",),
)
HEIGHT = {name: height for height, names in enumerate(ORDER) for name in names}
DATA_ONLY = "library"
# Faces ask the bench; besides it they need only what they print with.
FACES = ("api", "cli", "web")
BELOW_FACES = ("errors", "quantities", "bench", "reports")
# The database knows no physics.
BELOW_RECORDS = ("errors", "quantities")


def imported(node: ast.AST, package: tuple[str, ...]) -> Iterator[str]:
    """Full names that one statement or call imports; ``package`` is the package the file is in."""
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        start = package[: len(package) + 1 - node.level] if node.level else ()
        yield ".".join((*start, *filter(None, [node.module])))
    elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith(("import_module", "__import__")):
        yield from (
            word.value for word in node.args if isinstance(word, ast.Constant) and isinstance(word.value, str)
        )


def fault_of(layer: str, name: str, root: str) -> str:
    """What is wrong with a file of ``layer`` importing ``name``; empty when nothing is."""
    if name == root:
        return "imports the package root"
    target = name.split(".")[1] if name.startswith(root + ".") else layer
    if target == layer:
        return ""
    if target not in HEIGHT:
        return f"imports {target}, which is no layer" if target != DATA_ONLY else "imports the data folder"
    if HEIGHT[target] >= HEIGHT[layer]:
        return f"imports {target}, which is not below {layer}"
    if layer in FACES and target not in BELOW_FACES:
        return f"is a face and reaches below the bench to {target}"
    if layer == "records" and target not in BELOW_RECORDS:
        return f"is the database and knows of {target}"
    return ""


def faults_of_file(path: Path, package: Path) -> Iterator[str]:
    """Wrong imports of one file, in functions and type-checking blocks too."""
    place = path.relative_to(package)
    layer = place.parts[0].removesuffix(".py")
    inside = (package.name, *place.parts[:-1])
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        for name in imported(node, inside):
            if fault := fault_of(layer, name, package.name):
                yield f"{place.as_posix()}:{node.lineno}: {fault}"  # type: ignore[attr-defined]


def faults(package: Path) -> list[str]:
    """Everything wrong with the layers of a package."""
    found = []
    for path in sorted(package.rglob("*.py")):
        place = path.relative_to(package)
        layer = place.parts[0].removesuffix(".py")
        if place.as_posix() == "__init__.py":
            body = ast.parse(path.read_text(encoding="utf-8"))
            found += [f"{place}: the root imports" for node in ast.walk(body) if any(imported(node, ()))]
        elif layer == DATA_ONLY:
            found += [f"{place.as_posix()}: code in the data folder"] if holds_code(path) else []
        elif layer not in HEIGHT:
            found.append(f"{place.as_posix()}: {layer} is no layer")
        else:
            found += faults_of_file(path, package)
    return found


def holds_code(path: Path) -> bool:
    """Whether a file holds more than a docstring."""
    body = ast.parse(path.read_text(encoding="utf-8")).body
    return any(not (isinstance(part, ast.Expr) and isinstance(part.value, ast.Constant)) for part in body)


def folders_without_layer(package: Path) -> list[str]:
    """Folders that are in no layer, those without Python files too."""
    names = (path.name for path in package.iterdir() if path.is_dir() and path.name != "__pycache__")
    return sorted(name for name in names if name not in HEIGHT and name != DATA_ONLY)


def test_imports_go_strictly_downward() -> None:
    assert faults(PACKAGE) == []


def test_every_folder_is_a_layer() -> None:
    assert folders_without_layer(PACKAGE) == []


def test_the_files_of_the_package_are_really_read() -> None:
    layers = {path.relative_to(PACKAGE).parts[0].removesuffix(".py") for path in PACKAGE.rglob("*.py")}
    assert {"errors", "compiled", "laws", "twin", "cli"} <= layers


# --- the test itself: a wrong tree is found out ---------------------------------------------------------

SOUND = {
    "__init__.py": '"""Root."""\n__version__ = "0"\n',
    "errors.py": "import ast\n",
    "laws/__init__.py": "",
    "laws/tube.py": "from sound.errors import InputError\nfrom sound.laws.jet import jet\n",
    "laws/valve.py": "from . import jet\nfrom .jet import jet\n",
    "laws/jet.py": "from ..errors import InputError\nimport numpy as np\n",
    "bench/__init__.py": "from sound.laws import tube\n",
    "records/jobs.py": "from sound.quantities import units\n",
    "cli/main.py": "def main():\n    from sound.bench import ask\n",
    "library/__init__.py": '"""Data."""\n',
}


def plant(folder: Path, files: dict[str, str]) -> Path:
    package = folder / "sound"
    for name, text in files.items():
        (package / name).parent.mkdir(parents=True, exist_ok=True)
        (package / name).write_text(text, encoding="utf-8")
    return package


def test_a_sound_tree_passes(tmp_path: Path) -> None:
    package = plant(tmp_path, SOUND)
    assert faults(package) == []
    assert folders_without_layer(package) == []


@pytest.mark.parametrize(
    ("name", "text", "fault"),
    [
        (
            "laws/up.py",
            "from sound.twin import kernel",
            "laws/up.py:1: imports twin, which is not below laws",
        ),
        ("laws/up.py", "import sound.bench.ask", "laws/up.py:1: imports bench, which is not below laws"),
        ("laws/up.py", "def f():\n    from sound.parts import jet", "laws/up.py:2: imports parts, which"),
        ("laws/up.py", "class A:\n    import sound.parts", "laws/up.py:2: imports parts, which"),
        (
            "laws/up.py",
            "if TYPE_CHECKING:\n    from sound.parts import p",
            "laws/up.py:2: imports parts, which",
        ),
        ("laws/up.py", "from ..parts import jet", "laws/up.py:1: imports parts, which is not below laws"),
        (
            "twin/kernel/up.py",
            "from ...diagnosis import rank",
            "twin/kernel/up.py:1: imports diagnosis, which",
        ),
        (
            "laws/up.py",
            "import importlib\nimportlib.import_module('sound.cli')",
            "laws/up.py:2: imports cli, which",
        ),
        ("laws/up.py", "__import__('sound.cli')", "laws/up.py:1: imports cli, which"),
        (
            "errors.py",
            "from sound.compiled import compiled",
            "errors.py:1: imports compiled, which is not below",
        ),
        ("laws/up.py", "import sound", "laws/up.py:1: imports the package root"),
        ("laws/up.py", "from sound import errors", "laws/up.py:1: imports the package root"),
        ("laws/up.py", "from .. import errors", "laws/up.py:1: imports the package root"),
        ("laws/up.py", "from sound import __version__", "laws/up.py:1: imports the package root"),
        ("laws/up.py", "from sound.extra import word", "laws/up.py:1: imports extra, which is no layer"),
        ("laws/up.py", "import sound.library", "laws/up.py:1: imports the data folder"),
        (
            "cli/up.py",
            "from sound.twin import run",
            "cli/up.py:1: is a face and reaches below the bench to twin",
        ),
        ("cli/up.py", "from sound.web import page", "cli/up.py:1: imports web, which is not below cli"),
        ("records/up.py", "from sound.laws import jet", "records/up.py:1: is the database and knows of laws"),
        ("extra/word.py", "", "extra/word.py: extra is no layer"),
        ("extra.py", "", "extra.py: extra is no layer"),
        ("library/tool.py", "x = 1", "library/tool.py: code in the data folder"),
        ("__init__.py", "from sound.bench import ask", "__init__.py: the root imports"),
    ],
)
def test_a_wrong_tree_is_found_out(tmp_path: Path, name: str, text: str, fault: str) -> None:
    found = faults(plant(tmp_path, {**SOUND, name: text}))
    assert len(found) == 1
    assert found[0].startswith(fault)


def test_a_folder_without_layer_is_found_out_even_without_python_files(tmp_path: Path) -> None:
    package = plant(tmp_path, {**SOUND, "pictures/a.svg": "<svg/>"})
    assert folders_without_layer(package) == ["pictures"]
