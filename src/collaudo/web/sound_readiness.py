"""The keeper of what sound machines show: holds it, and has it made beside the server where it is not."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from collaudo.bench.findings.held_signatures import Held, HeldSignatures
from collaudo.bench.findings.machine_words import MachineWords
from collaudo.bench.judging.getting_ready import SOUND, WHOLE
from collaudo.bench.sound.sets import best_of, sound_key
from collaudo.web.readiness import MachineReadiness, Readiness, command_for

MOST_HELD = 8


def command_for_sound(place: str) -> Sequence[str]:
    """The process that draws sound machines."""
    return [*command_for(place), SOUND]


class SoundReadiness:
    """Begun when first asked for a machine; ended with the server."""

    def __init__(
        self,
        words: Callable[[str], MachineWords],
        command: Callable[[str], Sequence[str]] = command_for_sound,
    ) -> None:
        def of_sound(machine: str) -> MachineWords:
            found = words(machine)
            return replace(found, key=sound_key(found.key))

        self._held = HeldSignatures(MOST_HELD)
        self._making = Readiness(of_sound, command)

    def get(self, words: MachineWords) -> Held | None:
        """What is there of a machine now; where it is not the whole, that is made from now on."""
        found = best_of(self._held, words.key)
        if found is None or found.draws < WHOLE:
            self._making.want(words.id)
        return found

    def making(self, words: MachineWords) -> MachineReadiness:
        """How far it is with a machine."""
        return self._making.state(words.id)

    def close(self) -> None:
        """End what is being made; what is done is kept."""
        self._making.close()
