"""Processes for long work: one per core, compiled once, gone when nobody waits for them any more."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass


@dataclass
class Workers:
    """Processes that share compiled code."""

    machine: str
    pool: Executor
    compiled: bool = False

    def compile(self) -> None:
        """Compile the twin here, before every process would compile it for itself."""
        if self.compiled:
            return
        from collaudo.machine.load import find_machine
        from collaudo.twin.run import Run

        Run.of(find_machine(self.machine)).advance(1e-3)
        self.compiled = True


@contextmanager
def workers(machine: str) -> Iterator[Workers]:
    """One process per core; whoever breaks off waits for none of them."""
    # Spawned, never forked: compiled code and forked threads do not mix.
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(_cores(), mp_context=context, initializer=_end_without_a_word)
    try:
        yield Workers(machine, pool)
    except BaseException:
        # A drawn machine takes half a minute: nobody who stops waits for it.
        for process in multiprocessing.active_children():
            process.terminate()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _cores() -> int:
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity else os.cpu_count() or 1


def _end_without_a_word() -> None:
    """Ctrl-C reaches every process of the terminal; only the first one has something to say.

    When that one is ended from outside, nobody is left to end the others: they see to it themselves.
    """
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
