"""Rules on what is heated: relief that nothing can shut off, and levels."""

from __future__ import annotations

from collaudo.machine.rules.job import Job
from collaudo.parts.boiler import Boiler
from collaudo.parts.heating_element import HeatingElement
from collaudo.parts.level_control import LevelControl


def relief(job: Job) -> None:
    """Every heated volume needs a relief path that nothing can shut off."""
    for name, part in job.machine.parts.items():
        if part.relieved_by and not job.relieving(name, part.relieved_by):
            kind = part.relieved_by
            job.add(
                f"heated volume {name} has no {kind.replace('_', ' ')} that nothing can shut off",
                name,
                f"join a part of kind {kind} to it, with no check valve and no other valve between",
            )


def levels(job: Job) -> None:
    """Water when cold stands no higher than the probe, and never so low that an element is uncovered."""
    parts = job.machine.parts.values()
    for probe in (part for part in parts if isinstance(part, LevelControl)):
        tip, low = probe.level_share, probe.level_share - probe.band_share
        boiler = job.machine.parts[probe.in_boiler]
        if isinstance(boiler, Boiler) and boiler.filled_share > tip:
            job.add(
                f"{boiler.name} is filled to {boiler.filled_share:g}, above {probe.name} at {tip:g}",
                f"{boiler.name}.filled_share",
                f"fill it to {tip:g} or less, or raise the probe",
            )
        for element in parts:
            if not isinstance(element, HeatingElement) or element.in_boiler != probe.in_boiler:
                continue
            if element.covered_share > low:
                job.add(
                    f"{probe.name} lets the water fall to {low:g}, which leaves {element.name} uncovered",
                    f"{probe.name}.level_share",
                    f"set the tip above {element.covered_share + probe.band_share:g}",
                )
