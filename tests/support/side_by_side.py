"""Several workers of one run of the tests (pytest-xdist): how many, what only one may do, what is made once for all.

Workers are used when folders of tests are asked for; one test or one file does not pay for starting them. They wait
for each other by ``flock``; where the system has none, there are no workers.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

MOST_WORKERS = 4
"""Each may hold a browser: more would want more memory than a small machine has."""


def worker_count(config: pytest.Config) -> int:
    """How many workers share this run; 0 where it runs in one process."""
    if fcntl is None or config.option.keyword or not all(Path(asked).is_dir() for asked in config.args):
        return 0
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(cores, MOST_WORKERS) if cores > 1 else 0


def room_of_run(factory: pytest.TempPathFactory) -> Path:
    """The temporary folder that all workers of this run share."""
    own = factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


@contextlib.contextmanager
def held(path: Path, alone: bool = True) -> Iterator[None]:
    """Hold a lock: alone, or together with whoever else does not ask to be alone."""
    if fcntl is None:
        yield
        return
    with path.open("a") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX if alone else fcntl.LOCK_SH)
        yield


@contextlib.contextmanager
def one_test(room: Path, alone: bool) -> Iterator[None]:
    """Run a test beside those of other workers, or alone: whoever waits to be alone lets no other begin."""
    with contextlib.ExitStack() as held_here:
        with held(room / "next.lock"):
            held_here.enter_context(held(room / "running.lock", alone))
        yield


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """A folder that one worker of this run fills and all of them read; who would change it, copies it."""
    room = room_of_run(factory)
    folder, done = room / "made once" / name, room / f"{name}.made"
    with held(room / f"{name}.lock"):
        if not done.exists():
            shutil.rmtree(folder, ignore_errors=True)  # left by one that could not be made
            folder.mkdir(parents=True)
            with pytest.MonkeyPatch.context() as patched:
                patched.setattr("survey.store.database._SYNCHRONOUS", "OFF")  # no loss of power is tested here
                make(folder)
            done.touch()
    return folder
