"""A running server that is asked without a browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.app.served import Bench
from tests.app.web.asking import Asker
from tests.app.web.laying_in import lay_in_sheet


@pytest.fixture(scope="module")
def served(served_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """A server for the tests of a module. Whatever they ask, nothing inside it may go wrong."""
    bench = Bench(tmp_path_factory.mktemp("served") / "data", served_folder)
    yield bench
    bench.stop()
    assert "Traceback" not in bench.faults()


@pytest.fixture
def asker(served: Bench) -> Iterator[Asker]:
    """Asks it. The sheet of `walking.EXAMPLES` is there, whatever an earlier test did with it."""
    lay_in_sheet(served.data)
    asking = Asker(served)
    yield asking
    asking.close()
