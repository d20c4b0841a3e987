"""Machines: those there are, the files of one's own, and a file while it is written."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import JSONResponse, Response

from collaudo.bench.machines.card import Entry, entries
from collaudo.bench.machines.check import check_text
from collaudo.bench.machines.compare import Comparison, compare
from collaudo.bench.machines.files import ChangedMeanwhileError, MachineFiles, Removed, Version
from collaudo.bench.machines.form import MachineForm, changed_text, form_of
from collaudo.bench.machines.handle import Machine
from collaudo.bench.machines.help import WordHelp, help_for
from collaudo.bench.machines.library import show_machine
from collaudo.bench.machines.new import AskedQuestion, new_questions, new_text
from collaudo.bench.machines.shelf import Shelf
from collaudo.errors import InputError
from collaudo.web.asking.problems import Refusal, ToldProblem, told_problems
from collaudo.web.asking.yaml_files import AS_FILE, yaml_file
from collaudo.web.http_api.machine_shapes import (
    BroughtBack,
    Changed,
    Checked,
    Draft,
    DraftToChange,
    DraftToSave,
    FileText,
    NewMachine,
    PartTold,
    Place,
    ValueTold,
    Whole,
    told,
)

router = APIRouter(prefix="/api/machines", tags=["machines"])

Id = Annotated[str, Path(max_length=80)]


@router.get("")
def every_machine(request: Request) -> list[Entry]:
    """Every machine of the library and of one's own, in a few words; one that cannot be used says why."""
    return entries(_shelf(request))


@router.get("/removed")
def removed(request: Request) -> list[Removed]:
    """Machines that were removed and can be brought back."""
    return _files(request).removed()


@router.post("/removed/{key}/back")
def bring_back(request: Request, key: Annotated[str, Path(max_length=40)]) -> BroughtBack:
    """Bring a removed machine back; its id."""
    return BroughtBack(_files(request).bring_back(key))


@router.post("/check")
def check(request: Request, draft: Draft) -> Checked:
    """What is wrong with a text; what it is where nothing is."""
    return told(check_text(_shelf(request), draft.text, machine=draft.machine))


@router.post("/form")
def form(request: Request, draft: Draft) -> MachineForm:
    """Every value of a text, with its unit, range and meaning."""
    return form_of(_shelf(request), draft.text, machine=draft.machine)


@router.post("/change")
def change(request: Request, draft: DraftToChange) -> Changed:
    """Change values in a text and nothing else in it: its comments stay. Nothing is saved."""
    shelf = _shelf(request)
    text = changed_text(shelf, draft.text, draft.changes, machine=draft.machine)
    checked = told(check_text(shelf, text, machine=draft.machine))
    return Changed(text, form_of(shelf, text, machine=draft.machine), checked)


@router.post("/help")
def help_with(request: Request, place: Place) -> WordHelp:
    """What the word at a place of a text means."""
    return help_for(_shelf(request), place.text, place.line, place.column, machine=place.machine)


@router.get("/questions")
def questions(request: Request, like: Annotated[str, Query(max_length=80)]) -> list[AskedQuestion]:
    """What is asked about a machine like this one; nothing has to be answered."""
    return new_questions(_shelf(request), like)


@router.post("/new")
def new(request: Request, asked: NewMachine) -> FileText:
    """A machine of one's own, like another, from what is known of it."""
    shelf = _shelf(request)
    text = new_text(shelf, asked.like, asked.machine, asked.title, asked.answers)
    written = MachineFiles(shelf).add(text)
    return FileText(written.machine, written.text, written.mark)


@router.post("/new/check")
def check_new(request: Request, asked: NewMachine) -> list[ToldProblem]:
    """What is wrong with the answers; empty where nothing is. Each begins with the key of its question."""
    try:
        new_text(_shelf(request), asked.like, asked.machine, asked.title, asked.answers)
    except InputError as fault:
        return told_problems(fault.problems)
    return []


@router.post("/import")
def bring_in(request: Request, draft: Draft) -> FileText:
    """A machine of one's own from the text of a file; its id stands in it."""
    written = _files(request).add(draft.text)
    return FileText(written.machine, written.text, written.mark)


@router.get("/compare")
def side_by_side(
    request: Request, a: Annotated[str, Query(max_length=80)], b: Annotated[str, Query(max_length=80)]
) -> Comparison:
    """Two machines: what differs in parts, values, settings, lines and wires, and what is the same."""
    shelf = _shelf(request)
    return compare(shelf.place_of(a), shelf.place_of(b))


@router.get("/{machine}")
def one_machine(request: Request, machine: Id) -> Whole:
    """A machine with its parts and values."""
    found = Machine.named(_shelf(request).place_of(machine))
    parts = [PartTold(one.name, one.kind, one.does, one.fails) for one in found.parts.values()]
    values = [
        ValueTold(one.key, one.value, one.unit, one.meaning, one.low, one.high)
        for one in found.values.values()
    ]
    return Whole(found.id, found.title, parts, values)


@router.get("/{machine}/file", response_class=Response, responses=AS_FILE)
def export(request: Request, machine: Id, form: Literal["whole", "written"] = "whole") -> Response:
    """The machine file to take away: whole, or as it was written (one's own only)."""
    shelf = _shelf(request)
    text = (
        MachineFiles(shelf).read(machine).text
        if form == "written"
        else show_machine(shelf.place_of(machine)).text
    )
    return yaml_file(text, machine)


@router.get("/{machine}/text")
def text(request: Request, machine: Id) -> FileText:
    """The file of a machine of one's own, as it was written."""
    written = _files(request).read(machine)
    return FileText(written.machine, written.text, written.mark)


@router.put("/{machine}/text", response_model=FileText)
def save(request: Request, machine: Id, draft: DraftToSave) -> FileText | Response:
    """Save a text over the file; the one before is kept. 409 where it was changed meanwhile."""
    try:
        written = _files(request).save(machine, draft.text, draft.mark)
    except ChangedMeanwhileError as fault:
        return JSONResponse(asdict(Refusal(told_problems(fault.problems))), 409)
    return FileText(written.machine, written.text, written.mark)


@router.get("/{machine}/versions")
def versions(request: Request, machine: Id) -> list[Version]:
    """Older versions of a file, the last replaced first."""
    return _files(request).versions(machine)


@router.get("/{machine}/versions/{number}")
def older(request: Request, machine: Id, number: int) -> FileText:
    """The text of an older version; saving it puts it back."""
    return FileText(machine, _files(request).older(machine, number), "")


@router.delete("/{machine}")
def remove(request: Request, machine: Id) -> Removed:
    """Remove a machine of one's own; it can be brought back."""
    return _files(request).remove(machine)


def _shelf(request: Request) -> Shelf:
    return Shelf(request.app.state.options.data)


def _files(request: Request) -> MachineFiles:
    return MachineFiles(_shelf(request))
