"""``collaudo path``: where water, heat and current go."""

from __future__ import annotations

import argparse
from dataclasses import asdict

from collaudo.cli.diagnosis_commands import pairs
from collaudo.cli.output import note, print_json
from collaudo.cli.words import wrapped

MATTERS = ("water", "heat", "current")
AUDIENCES = ("apprentice", "customer")


def add_path_arguments(parser: argparse.ArgumentParser) -> None:
    """What ``collaudo path`` understands besides the machine."""
    parser.add_argument("--state", metavar="STATE", help="a state by name; without it the states are listed")
    parser.add_argument("--of", choices=MATTERS, default="water", help="what is followed (water)")
    parser.add_argument(
        "--for", dest="audience", choices=AUDIENCES, default="apprentice", help="who reads it (apprentice)"
    )
    parser.add_argument(
        "--site", metavar="KEY=VALUE", action="append", default=[], help="where it stands: altitude_m=900"
    )
    parser.add_argument("--json", action="store_true", help="print JSON: walks with steps, and the text")


def path(arguments: argparse.Namespace) -> int:
    """Tell a path; without a state list the states of the machine."""
    if arguments.state is None:
        return _states(arguments)
    from collaudo.bench.explaining.paths import cautions_beside, path_of, told

    found = path_of(arguments.machine, arguments.state, arguments.of, pairs("--site", arguments.site))
    lines = told(found, arguments.audience)
    if arguments.json:
        print_json(found.as_json() | {"text": lines})
        return 0
    for line in lines:
        text = line.lstrip()
        print("\n".join(wrapped(text, line.removesuffix(text))) if text else "")
    if arguments.audience == "apprentice":
        print()
        for caution in cautions_beside(arguments.of):
            print("\n".join(wrapped(caution, "CAUTION: ")))
    return 0


def _states(arguments: argparse.Namespace) -> int:
    from collaudo.bench.explaining.states import states_of

    found = states_of(arguments.machine)
    if arguments.json:
        print_json([asdict(state) for state in found])
        return 0
    width = max(len(state.state) for state in found)
    for state in found:
        print(f"{state.state:{width}}  {state.title}: {state.text}")
    note(f"Choose one: collaudo path {arguments.machine} --state {found[0].state}")
    return 0
