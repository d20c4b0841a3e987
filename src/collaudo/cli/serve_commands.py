"""``collaudo serve``: the bench in the browser."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import Protocol

from collaudo.cli.output import note
from collaudo.errors import InputError, Problem

FIRST_PORT = 8760
PHRASE_VARIABLE = "COLLAUDO_PASS_PHRASE"
LONGEST_FILE = 4096


class Server(Protocol):
    """What serves. The faces know nothing of one another: the program hands it over."""

    def __call__(
        self, *, data: Path | None, port: int, lan: bool, phrase: str, open_at: str | None
    ) -> int:
        """Serve until Ctrl-C; the exit code."""


def add_serve_arguments(parser: argparse.ArgumentParser) -> None:
    """What ``collaudo serve`` understands."""
    parser.add_argument(
        "--lan",
        action="store_true",
        help="let tablets and other computers of this network in too, with a pass phrase: one is made up, "
        f"unless {PHRASE_VARIABLE} or a file holds yours",
    )
    parser.add_argument(
        "--pass-phrase-file", metavar="FILE", help="of --lan: a file with your pass phrase, alone on a line"
    )
    parser.add_argument(
        "--ask-pass-phrase", action="store_true", help="of --lan: type the pass phrase when asked for it"
    )
    parser.add_argument(
        "--port",
        metavar="N",
        type=_port,
        default=FIRST_PORT,
        help=f"listen there ({FIRST_PORT}, or the next free one)",
    )
    parser.add_argument(
        "--data",
        metavar="FOLDER",
        type=Path,
        help="keep findings and machines there (your user's data folder; COLLAUDO_DATA names another)",
    )
    parser.add_argument("--no-browser", action="store_true", help="open no browser")
    parser.add_argument(
        "--at", metavar="PAGE", type=_page, default="/", help="open the browser at this page: /machines"
    )


def serve(arguments: argparse.Namespace) -> int:
    """Serve until Ctrl-C."""
    server: Server | None = arguments.server
    if server is None:
        remedy = "use 'collaudo serve', or 'python -m collaudo serve'"
        raise InputError(Problem("this way in has no server", remedy))
    if not arguments.lan and (arguments.pass_phrase_file or arguments.ask_pass_phrase):
        raise InputError(Problem("a pass phrase is asked for with --lan only", "add --lan, or leave it out"))
    return server(
        data=arguments.data,
        port=arguments.port,
        lan=arguments.lan,
        phrase=_phrase(arguments) if arguments.lan else "",
        open_at=None if arguments.no_browser else arguments.at,
    )


def _phrase(arguments: argparse.Namespace) -> str:
    """Somebody's own phrase, empty where none is given. Never an argument: those are seen by others."""
    if arguments.ask_pass_phrase:
        return _asked()
    if file := arguments.pass_phrase_file:
        with Path(file).open(encoding="utf-8", errors="replace") as lines:
            text = lines.read(LONGEST_FILE).strip()
        if not text:
            raise InputError(Problem("this file holds no pass phrase", "write one into it", file))
        return text
    return os.environ.get(PHRASE_VARIABLE, "")


def _asked() -> str:
    from getpass import getpass

    try:
        return getpass("Pass phrase for this bench: ")
    except EOFError:
        note("")
        raise InputError(Problem("no pass phrase was typed", "start again, and type one")) from None


def _port(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 6 and int(text) < 65536):
        raise argparse.ArgumentTypeError(f"{text[:40]!r} is no port: 1 to 65535, or 0 for any that is free")
    return int(text)


def _page(text: str) -> str:
    if not text.startswith("/") or text.startswith("//") or not text.isprintable() or " " in text:
        raise argparse.ArgumentTypeError(f"{text[:40]!r} is no page of the bench: they begin with /")
    return text
