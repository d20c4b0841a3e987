"""YAML files to take away."""

from __future__ import annotations

from typing import Any

from fastapi.responses import Response

YAML = "application/yaml"
AS_FILE: dict[int | str, dict[str, Any]] = {200: {"content": {YAML: {}}, "description": "The file"}}
"""How an operation that answers with a file describes it."""


def yaml_file(text: str, name: str) -> Response:
    """A file the browser puts beside the others it has fetched."""
    headers = {"Content-Disposition": f'attachment; filename="{name}.yaml"'}
    return Response(text, media_type=f"{YAML}; charset=utf-8", headers=headers)
