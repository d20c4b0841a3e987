"""The files of the pages: scripts, styles, icon. Their address holds a version, so browsers keep them."""

from __future__ import annotations

from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from collaudo.web.asking.pages import STATIC


class KeptFiles(StaticFiles):
    """Static files below a folder that is named after their version; any version gives what is there now."""

    def __init__(self) -> None:
        super().__init__(directory=STATIC)

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file behind the version."""
        _, _, file = path.replace("\\", "/").partition("/")
        answer = await super().get_response(file, scope)
        if answer.status_code in (200, 304):
            answer.headers["Cache-Control"] = "public, max-age=31536000, immutable"
        return answer
