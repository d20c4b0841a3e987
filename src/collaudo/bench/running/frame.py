"""The numbers of a frame, by position as the layout of a stand gives them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from collaudo.bench.running.drawings import StandDrawings
from collaudo.bench.running.events_told import Watcher
from collaudo.bench.running.glance import Glance, LineNow
from collaudo.bench.running.wires import Wires
from collaudo.drawing.flows import LEAST_G_PER_S, colour
from collaudo.machine.model import Machine
from collaudo.twin.run import Run

Floats = NDArray[np.float64]


class Framer:
    """Makes frames of one run as it stands. A class because places are looked up once."""

    def __init__(
        self, run: Run, built: Machine, drawings: StandDrawings, known: Mapping[object, Floats] | None = None
    ) -> None:
        self.glance = Glance(run, known)
        self.watcher = Watcher(run, self.glance)
        self._run = run
        self._wires = Wires(run, built, drawings.current.runs)
        self._runs = [
            [(int(key.removeprefix("line-")), way) for key, way in ways.items()]
            for ways in drawings.water.runs
        ]
        names = list(self.glance.channels)
        self.gauges = [part.name for part in built.parts.values() if part.kind == "gauge"]
        self._gauges = [names.index(f"{gauge}_shown_bar") for gauge in self.gauges]
        self._nodes = self.glance.temperature_nodes(list(built.parts))

    def frame(self, *, values: bool) -> dict[str, Any]:
        """Flows, colours and contents of the water; wires, contacts, parts, loads, seats, levels, gauges;
        values where they are asked for."""
        run, glance = self._run, self.glance
        row = run.row
        shown = glance.values(row)
        wf, wt, wk = self._water(glance.lines(row))
        told: dict[str, Any] = {
            "wf": wf,
            "wt": wt,
            "wk": wk,
            "cs": self._wires.states(),
            "ct": [int(closed) for closed in run.mode.closed.tolist()],
            "pt": [colour(max(row[nodes]) - 273.15) if nodes else -1 for nodes in self._nodes],
            "on": [int(on) for on in run.mode.energised.tolist()],
            "op": glance.openings(),
            "lv": {part: min(max(level, 0.0), 1.0) for part, level in glance.levels(row).items()},
            "g": [round(float(shown[n]), 3) for n in self._gauges],
        }
        if values:
            told["v"] = (np.round(shown, 3) + 0.0).tolist()  # no minus before a nought
        return told

    def _water(self, lines: list[LineNow]) -> tuple[list[float], list[int], list[int]]:
        """Of each stretch the flow along it [g/s], and colour and contents of the largest part of it."""
        wf, wt, wk = [], [], []
        for ways in self._runs:
            total, most = 0.0, lines[ways[0][0]]
            for n, way in ways:
                line = lines[n]
                total += way * line.flow_kg_per_s
                if abs(line.flow_kg_per_s) > abs(most.flow_kg_per_s):
                    most = line
            flow = round(total * 1e3, 2)
            wf.append(flow if abs(flow) >= LEAST_G_PER_S else 0.0)
            wt.append(colour(most.temperature_K - 273.15))
            wk.append(most.contents)
        return wf, wt, wk
