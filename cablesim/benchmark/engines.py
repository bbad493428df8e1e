"""Where chunks are done: in this process, in local ones, or on a Dask cluster.

All three are executors of `concurrent.futures`; a run knows nothing else of them. Leaving one ends
at once whatever it was doing, without waiting: a chunk that hangs must not keep a run from ending.
"""

from __future__ import annotations

import os
import re
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor, Future, ProcessPoolExecutor
from contextlib import AbstractContextManager, contextmanager, suppress
from multiprocessing import get_context
from typing import Any, TypeVar

from cablesim.benchmark.program import end_all
from cablesim.errors import InputError

__all__ = ["Engine", "Serial", "cluster", "local", "serial"]

_T = TypeVar("_T")
Engine = Callable[[], AbstractContextManager[Executor]]
"""Opens an executor; asked again where one has broken."""


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


def serial() -> AbstractContextManager[Executor]:
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

    @contextmanager
    def start() -> Iterator[Executor]:
        # A fresh interpreter each: a fork of threads and open files is asking for trouble.
        context = get_context("spawn")
        # Workers hold one end of a pipe that nobody writes to. It closes when this executor is
        # left or this process dies, however it does, and then they go.
        theirs, ours = context.Pipe(duplex=False)
        pool = ProcessPoolExecutor(
            workers, mp_context=context, initializer=_as_worker, initargs=(theirs,)
        )
        try:
            yield pool
        finally:
            pool.shutdown(wait=False, cancel_futures=True)
            ours.close()
            theirs.close()

    return start


def _as_worker(pipe: Any) -> None:
    """Leave Ctrl-C to the parent, and go when it lets go of the pipe."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_go_after, args=(pipe,), daemon=True).start()


def _go_after(pipe: Any) -> None:
    with suppress(OSError, EOFError):
        pipe.recv_bytes()
    end_all()
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
        If Dask is not installed, no scheduler answers there, it is lost, or its workers cannot do
        the work.
    """
    try:
        import distributed
    except ImportError:
        raise InputError(
            "a cluster needs Dask", try_this="install cablesim with its extra, cablesim[dask]"
        ) from None
    if not re.search(r"[^\s:/]:\d{1,5}$", address):
        raise InputError("address", address, "an address and a port", "such as tcp://10.0.0.5:8786")
    connect: Any = distributed.Client  # brings no types
    try:
        client = connect(address, timeout=10, set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError(
            f"no scheduler answers at {address} ({type(error).__name__})",
            try_this="start one, or mend the address",
        ) from None

    @contextmanager
    def start() -> Iterator[Executor]:
        # The scheduler itself gives a chunk to another worker where one is lost.
        executor = client.get_executor(pure=False, retries=3)
        try:
            yield executor
        except (distributed.scheduler.KilledWorker, ImportError) as error:
            raise InputError(
                f"workers of {address} cannot do the work ({error})",
                try_this="install this version of cablesim there, or see why workers die",
            ) from None
        except (CancelledError, OSError) as error:
            raise InputError(
                f"the scheduler at {address} was lost ({type(error).__name__})",
                try_this="start it and give the same command again: the run goes on from there",
            ) from None
        finally:
            # What is gone cannot be told to stop.
            with suppress(OSError, RuntimeError, CancelledError):
                executor.shutdown(wait=False)

    try:
        yield start
    finally:
        client.close(timeout=10)
