"""The messages a module can note, as patterns: so that a test can find one without a case."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import Any


def messages_of(module: Any) -> list[str]:
    """A pattern for each message a module can note."""
    patterns = []
    for node in ast.walk(ast.parse(Path(module.__file__).read_text(encoding="utf-8"))):
        if not (
            isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "add"
        ):
            continue
        first = node.args[0]
        if isinstance(first, ast.Constant):
            patterns.append(re.escape(str(first.value)))
        elif isinstance(first, ast.JoinedStr):
            pieces = [re.escape(p.value) if isinstance(p, ast.Constant) else ".*" for p in first.values]
            patterns.append("".join(pieces))
    return patterns
