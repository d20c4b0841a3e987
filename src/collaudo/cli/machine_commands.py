"""Commands about machine files: check one, show one whole, make a new one."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from collaudo.cli.output import note, print_json
from collaudo.errors import InputError, Problem

if TYPE_CHECKING:
    from collaudo.bench.machines.questions import Question


def machine_check(arguments: argparse.Namespace) -> int:
    """Say whether a machine file can be used."""
    from collaudo.bench.machines.library import check_machine

    try:
        found = check_machine(arguments.file)
    except InputError as fault:
        if arguments.json:
            problems = [asdict(problem) for problem in fault.problems]
            print_json({"file": arguments.file, "fine": False, "problems": problems})
        raise
    if arguments.json:
        print_json({"file": arguments.file, "fine": True, "problems": [], **asdict(found)})
        return 0
    print(f"{arguments.file}: {found.id}, {found.title}")
    print(f"fine: {found.parts} parts, {found.lines} lines, {found.wires} wires")
    return 0


def machine_show(arguments: argparse.Namespace) -> int:
    """Print a machine whole."""
    from collaudo.bench.machines.library import show_machine

    found = show_machine(arguments.machine)
    if arguments.json:
        print_json(found.data)
    else:
        print(found.text, end="")
    return 0


def machine_new(arguments: argparse.Namespace) -> int:
    """Make a machine file from answers given or asked for."""
    from collaudo.bench.machines.own import own_machine, questions

    asked = questions(arguments.like)
    if arguments.questions:
        return _list(asked, as_json=arguments.json)
    if arguments.output:
        _refuse_output(Path(arguments.output), force=arguments.force)
    answers = _given(arguments.answer)
    if not arguments.json and sys.stdin.isatty() and sys.stderr.isatty():
        _ask(arguments.like, asked, answers)
    made = own_machine(arguments.like, answers, file=arguments.output or "")
    if arguments.output:
        Path(arguments.output).write_text(made.text, encoding="utf-8", newline="\n")
    if arguments.json:
        kept = [question.key for question in made.kept]
        about = {"machine": made.machine.id, "file": arguments.output, "answered": made.answered}
        print_json({**about, "kept": kept, "text": made.text})
    elif arguments.output:
        count = len(made.answered), len(made.kept)
        note(f"{arguments.output}: {count[0]} known, {count[1]} not known and as in {arguments.like}")
    else:
        print(made.text, end="")
    return 0


def _list(asked: Sequence[Question], *, as_json: bool) -> int:
    """The questions, with what the other machine has and what can be answered."""
    if as_json:
        print_json([asdict(question) for question in asked])
        return 0
    width = max((len(question.key) for question in asked), default=0)
    for question in asked:
        print(f"{question.key:{width}}  {question.ask}: {_value(question)}, {_range(question)}")
        print(f"{f'  or {question.called}' if question.called else '':{width}}  {question.know}")
    return 0


def _given(pairs: Sequence[str]) -> dict[str, str]:
    """``key=value`` pairs."""
    answers = {}
    for pair in pairs:
        key, sign, value = pair.partition("=")
        if not sign:
            raise InputError(
                Problem(f"--answer {pair[:60]!r} has no '='", "write --answer boiler.volume_l=2.1")
            )
        if key.strip() in answers:
            raise InputError(Problem(f"{key.strip()[:60]!r} is answered twice", "answer it once"))
        answers[key.strip()] = value.strip()
    return answers


def _ask(like: str, asked: Sequence[Question], answers: dict[str, str]) -> None:
    """Ask what is not answered yet; every answer is looked at before the next question."""
    from collaudo.bench.machines.own import check_answer
    from collaudo.bench.machines.questions import question_called

    note(f"Like {like}. Enter alone: not known, as in {like}. A question mark: how to know it.")
    known = {question_called(key, list(asked)).key for key in answers if key not in ("machine", "title")}
    if "title" not in answers:
        _ask_title(like, answers)
    waiting = [question for question in asked if question.key not in known]
    while waiting:
        question = waiting[0]
        print(f"{question.ask} [{_value(question)}]: ", end="", file=sys.stderr, flush=True)
        text = sys.stdin.readline()
        if not text:
            raise InputError(Problem("the answers end here", "answer with --answer, or Enter for not known"))
        if text.strip() == "?":
            note(f"  {question.know}; {_range(question)}")
            continue
        if text.strip():
            try:
                check_answer(like, answers, question.key, text.strip())
            except InputError as fault:
                note("\n".join(f"  {problem}" for problem in fault.problems))
                continue
            answers[question.key] = text.strip()
        waiting.pop(0)


def _ask_title(like: str, answers: dict[str, str]) -> None:
    """Enter alone: called as the other."""
    from collaudo.bench.machines.own import check_answer

    while True:
        print("What it is called, in a few words: ", end="", file=sys.stderr, flush=True)
        title = sys.stdin.readline().strip()
        if not title:
            return
        try:
            check_answer(like, answers, "title", title)
        except InputError as fault:
            note("\n".join(f"  {problem}" for problem in fault.problems))
            continue
        answers["title"] = title
        return


def _value(question: Question) -> str:
    return f"{question.value:g} {question.unit}".rstrip()


def _range(question: Question) -> str:
    if question.one_of:
        return " or ".join(f"{choice:g}" for choice in question.one_of)
    return f"{question.least:g} to {question.most:g} {question.unit}".rstrip()


def _refuse_output(output: Path, *, force: bool) -> None:
    """Before anything is asked: whether the file can be written."""
    if output.is_dir():
        raise InputError(Problem("this is a folder", "name a file in it", str(output)))
    if output.exists() and not force:
        raise InputError(Problem("this file is there already", "name another, or say --force", str(output)))
    if not output.parent.is_dir():
        raise InputError(Problem(f"there is no folder {str(output.parent)!r}", "make it first", str(output)))
    if output.suffix not in (".yaml", ".yml"):
        raise InputError(
            Problem(
                "a machine file ends in .yaml", f"name it {output.with_suffix('.yaml').name}", str(output)
            )
        )
