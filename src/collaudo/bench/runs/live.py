"""A running machine to teach and to try on: work it, read it, put a fault in and take it out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from collaudo.bench.machines.handle import Machine
from collaudo.bench.runs.events import Event, events_of
from collaudo.bench.runs.recording import Operations, Recording, placed, recording_of
from collaudo.causes.cause import Cause
from collaudo.causes.faults import causes_for, put_in
from collaudo.checks.roles import bind_roles
from collaudo.errors import InputError, OperationsFileError, Problem, unknown_name
from collaudo.machine.model import Machine as Model
from collaudo.machine.site import home_site
from collaudo.machine.source import Problems, read_source, take_mapping
from collaudo.machine.writer import dump
from collaudo.parts.circuit import Site
from collaudo.parts.part import declared_fields
from collaudo.twin.operations import Operation, perform, read_operations

if TYPE_CHECKING:
    from collaudo.bench.runs.channels import Channel
    from collaudo.twin.run import Moment, Run
    from collaudo.twin.snapshot import Snapshot

MOST_AT_ONCE_s = 48 * 3600.0


@dataclass(frozen=True)
class Saved:
    """A moment to go back to, with the faults that were in."""

    run: Run
    moment: Moment
    faults: Mapping[str, float]
    sound: Mapping[str, float | str]
    site: Site
    held: frozenset[str]
    marks: Mapping[str, float]


class Live:
    """A cold machine on the bench, and all that is done to it from then on.

    Faults put in are for teaching: what is read from such a machine is no finding, and its recordings say so.
    """

    def __init__(self, machine: Machine, site: Mapping[str, str] | None = None) -> None:
        place = placed(home_site(machine.model), site or {}, machine)
        # Only now, for loading the compiled twin takes longer than refusing a wrong site.
        from collaudo.bench.runs.channels import channels_of
        from collaudo.twin.run import Run

        self.machine = machine
        self.marks: dict[str, float] = {}
        self.faults: dict[str, float] = {}
        """Causes put in, and their severity."""
        self._bound = bind_roles(machine.model)
        self._causes = {cause.id: cause for cause in causes_for(machine.model, self._bound)}
        self._run = Run.of(machine.model, place)
        self._channels: dict[str, Channel] = channels_of(self._run)
        self._site = place
        self._sound: dict[str, float | str] = {}
        """Values that faults have moved, as they were before."""
        self._held: frozenset[str] = frozenset()
        self._run.advance(0.0)

    @property
    def time_s(self) -> float:
        """Time since it was switched on cold, or stood on the bench [s]."""
        return self._run.time_s

    @property
    def run(self) -> Run:
        """The twin itself, for what streams it; another one after `restore` or a cause put in cold."""
        return self._run

    @property
    def site(self) -> Site:
        """Where it stands."""
        return self._site

    @property
    def listed_causes(self) -> list[Cause]:
        """Every cause that can be put into this machine, as the catalogue has it."""
        return list(self._causes.values())

    @property
    def roles(self) -> Mapping[str, str]:
        """The part of this machine that plays each role."""
        return self._bound

    @property
    def names(self) -> list[str]:
        """Everything that can be read, each name ending in its unit."""
        return list(self._channels)

    @property
    def causes(self) -> list[str]:
        """Every cause that can be put into this machine."""
        return list(self._causes)

    @property
    def events(self) -> list[Event]:
        """What has switched so far."""
        return events_of(self._run)

    def operate(self, operations: Mapping[str, object] | Operations) -> None:
        """Do one thing, ``{"power": "on"}``, or a list of them, as a session file writes them.

        `OperationsFileError` lists everything that is wrong before anything is done; `RunError` where the
        twin cannot go on.
        """
        perform(self._run, self.understood(operations), None, self.marks)

    def understood(self, operations: Mapping[str, object] | Operations) -> tuple[Operation, ...]:
        """Operations as a session file writes them, read for this machine; `OperationsFileError` else."""
        told = [operations] if isinstance(operations, Mapping) else list(operations)
        text = dump({"operations": [dict(operation) for operation in told]})
        problems = Problems()
        root = read_source(text, name="the operations", error=OperationsFileError)
        node = take_mapping(root, "the operations", problems)["operations"]
        read = read_operations(node, self._run.machine, problems, self._bound)
        problems.raise_if_any(OperationsFileError)
        return read

    def advance(self, seconds: float) -> None:
        """Let time pass; `RunError` where the twin cannot go on."""
        if not 0.0 <= seconds <= MOST_AT_ONCE_s:
            limit = f"it can be 0 to {MOST_AT_ONCE_s:g} s"
            raise InputError(Problem(f"the time to pass is {seconds:g} s", limit))
        self._run.advance(seconds)

    def read(self, name: str) -> float:
        """What a gauge, thermometer or meter shows now, in the unit its name ends in."""
        from collaudo.bench.runs.channels import latest

        if name not in self._channels:
            raise unknown_name("series", name[:60], self._channels)
        return latest(self._run, self._channels[name])

    def put_in(self, cause: str, severity: float = 0.5) -> None:
        """Put a cause in, from just noticeable (severity 0) to worst (1), while the machine runs on.

        A cause that is in already takes the new severity. The few that open a way of their own (a pinhole, a
        lost neutral) are put in while the machine stands cold; `InputError` says so.
        """
        self._cause(cause)
        if not 0.0 <= severity <= 1.0:
            raise InputError(Problem(f"severity is {severity:g}", "it can be 0 to 1"))
        self._take_over({**self.faults, cause: severity})

    def take_out(self, cause: str) -> None:
        """Take a cause out: the part is as it was before. What it did to water and heat stays done."""
        if cause not in self.faults:
            raise unknown_name("cause that is in", cause[:60], self.faults or ["(none is in)"])
        self._take_over({name: value for name, value in self.faults.items() if name != cause})

    def reset(self, device: str) -> None:
        """Press the button of a cut-out, or renew a fuse, once its reason is found and put right."""
        self._run.reset(device)

    def fill_tank(self) -> None:
        """Fill every tank up."""
        for part in self._run.machine.parts.values():
            if part.kind == "tank":
                self._run.fill_up(part.name)

    def pour_out(self, receiver: str) -> None:
        """Empty a cup, a tray or a tank."""
        self._run.pour_out(receiver)

    def cold_only(self, cause: str) -> bool:
        """Whether a cause opens a way of its own, and so can be put in only while the machine stands cold."""
        sound = self._run.machine.with_fields(self._sound)
        faulty = put_in(self._cause(cause), 0.5, sound, self._site, self._bound)
        return not self._rows_stay(faulty.machine, faulty.site)

    def save(self) -> Saved:
        """This moment, to come back to."""
        held, marks = self._held, dict(self.marks)
        return Saved(
            self._run,
            self._run.save(),
            dict(self.faults),
            dict(self._sound),
            self._run.assembly.site,
            held,
            marks,
        )

    def restore(self, saved: Saved) -> None:
        """Back to a saved moment; what was recorded since is forgotten."""
        from collaudo.bench.runs.channels import channels_of

        self._run = saved.run
        self._run.restore(saved.moment)
        self._channels = channels_of(self._run)
        self._run.assembly = replace(self._run.assembly, site=saved.site)
        self.faults, self._sound = dict(saved.faults), dict(saved.sound)
        self._held, self.marks = saved.held, dict(saved.marks)

    def snapshot(self) -> Snapshot:
        """Every pressure, flow, temperature, contact and load at this moment."""
        from collaudo.twin.snapshot import snapshot

        return snapshot(self._run, "", self.machine.model)

    def recording(self) -> Recording:
        """Everything since it stood cold on the bench, as `Recording`."""
        return recording_of(self._run, self.marks, self.faults)

    def _cause(self, name: str) -> Cause:
        if name not in self._causes:
            raise unknown_name(f"cause on {self.machine.id}", name[:60], self._causes)
        return self._causes[name]

    def _take_over(self, faults: Mapping[str, float]) -> None:
        """Change what these faults make of the sound machine, and nothing else."""
        sound = self._run.machine.with_fields(self._sound)
        model, site, held = sound, self._site, dict[str, bool]()
        for name, severity in faults.items():
            faulty = put_in(self._cause(name), severity, model, site, self._bound)
            model, site = faulty.machine, faulty.site
            held |= faulty.held
        if self._rows_stay(model, site):
            self._change_to(model, site)
        elif self._run.time_s == 0.0:
            self._begin_anew(model, site)
        else:
            name = ", ".join(faults.keys() ^ self.faults.keys()) or "this cause"
            message = f"{name} opens or closes a way of its own and cannot come or go while the machine runs"
            remedy = "put it in while the machine stands cold, before time passes, and begin again without it"
            raise InputError(Problem(message, remedy))
        for device in {*self._held, *held}:
            self._run.force(device, held.get(device))
        self._sound = _differing(model, sound)
        self._held = frozenset(held)
        self.faults = dict(faults)

    def _rows_stay(self, model: Model, site: Site) -> bool:
        """Whether a changed machine has the same ways, devices and conductors as the one that runs."""
        from collaudo.twin.run import build

        tables = build(model, site).tables
        return all(a.shape == b.shape for a, b in zip(self._run.tables, tables, strict=True))

    def _change_to(self, model: Model, site: Site) -> None:
        run = self._run
        if site != run.assembly.site:
            run.assembly = replace(run.assembly, site=site)
            run.machine = run.machine.with_fields({})  # the tables it has kept are those of the site before
        run.change(_differing(run.machine, model))

    def _begin_anew(self, model: Model, site: Site) -> None:
        """A cold machine in place of a cold one, switched and opened as that was."""
        from collaudo.bench.runs.channels import channels_of
        from collaudo.twin.run import Run

        before, self._run = self._run, Run.of(model, site)
        for name, number in before.assembly.names.inputs.items():
            self._run.set_input(name, float(before.mode.inputs[number]))
        self._channels = channels_of(self._run)
        self._run.advance(0.0)


def _differing(now: Model, wanted: Model) -> dict[str, float | str]:
    """Fields of ``wanted`` that ``now`` has otherwise."""
    return {
        f"{name}.{key}": getattr(part, key)
        for name, part in wanted.parts.items()
        for key in declared_fields(type(part))
        if getattr(part, key) != getattr(now.parts[name], key)
    }
