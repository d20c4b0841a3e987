"""The form token, for other programs."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request

router = APIRouter(prefix="/api", tags=["token"])


@dataclass(frozen=True)
class Token:
    """Sent back in the header ``X-Form-Token``, beside the cookie that came with it."""

    form_token: str


@router.get("/token")
async def form_token(request: Request) -> Token:
    """A token for what changes something."""
    return Token(request.state.form_token)
