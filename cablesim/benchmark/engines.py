"""Where chunks are done: in this process, in local ones, or on a Dask cluster.

All three are executors of `concurrent.futures`; a run knows nothing else of them.
"""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context, parent_process
from typing import Any, TypeVar

from cablesim.errors import InputError

__all__ = ["Engine", "Serial", "cluster", "local", "serial"]

_T = TypeVar("_T")
Engine = Callable[[], Executor]
"""Makes an executor; asked again where one has broken."""


class Serial(Executor):
    """Does at once, in this process, what is submitted."""

    def submit(self, fn: Callable[..., _T], /, *args: Any, **kwargs: Any) -> Future[_T]:
        """Do it, and hand back what came of it."""
        future: Future[_T] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


def serial() -> Executor:
    """An executor in this process."""
    return Serial()


def local(workers: int) -> Engine:
    """Local processes.

    Parameters
    ----------
    workers
        How many.
    """
    if not 1 <= workers <= 1024:
        raise InputError("workers", workers, "from 1 to 1024")

    def start() -> Executor:
        # A fresh interpreter each: a fork of threads and open files is asking for trouble.
        return ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_as_worker)

    return start


def _as_worker() -> None:
    """Leave Ctrl-C to the parent, and go when it goes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:
        threading.Thread(target=_go_with, args=(parent,), daemon=True).start()


def _go_with(parent: Any) -> None:
    parent.join()
    os._exit(1)


@contextmanager
def cluster(address: str) -> Iterator[Engine]:
    """A Dask cluster.

    Parameters
    ----------
    address
        Of its scheduler, such as ``tcp://10.0.0.5:8786``.

    Raises
    ------
    InputError
        If Dask is not installed, or no scheduler answers there.
    """
    try:
        import distributed
    except ImportError:
        raise InputError(
            "--scheduler needs Dask", try_this="install cablesim with its extra, cablesim[dask]"
        ) from None
    connect: Any = distributed.Client  # brings no types
    try:
        client = connect(address, timeout=10)
    except (OSError, ValueError) as error:
        raise InputError(
            f"no scheduler answers at {address} ({type(error).__name__})",
            try_this="start one, or mend the address",
        ) from None
    try:
        # The scheduler itself gives a chunk to another worker where one is lost.
        yield lambda: client.get_executor(pure=False, retries=3)
    finally:
        client.close()
