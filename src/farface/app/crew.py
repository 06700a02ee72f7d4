"""Have work done beside one's own: on this machine's threads, or on the workers of a cluster."""

import importlib
import os
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any, Final, Generic, Protocol, TypeVar, cast

from farface.kernel import Missing

THREADS: Final = min(4, max(2, os.cpu_count() or 2))  # each holds a stretch of frames, so memory is bounded
ANSWER_S: Final = "20s"  # a scheduler that says nothing for so long is not there

T = TypeVar("T", covariant=True)


class Promised(Protocol[T]):
    """Hold work that is under way."""

    def result(self) -> T:
        """Wait for it, and return what came of it or raise what it raised."""
        ...

    def cancel(self) -> Any:
        """Give it up, if that is still of use."""
        ...


class Crew(Protocol):
    """Take on work. What one piece promises may be given to another, which then waits for it."""

    def submit(self, work: Callable[..., T], /, *given: Any) -> Promised[T]:
        """Have ``work`` done with what is given, each of which is a value or a promise of this crew."""
        ...


@contextmanager
def open_crew(address: str | None) -> Iterator[Crew]:
    """Give the threads of this machine or, with a scheduler's address, the workers of its cluster.

    Raises `Missing` where no scheduler answers, or the library for clusters is not installed.
    """
    if address is None:
        with ThreadPoolExecutor(THREADS) as pool:
            yield _Here(pool)
        return
    try:
        distributed: Any = importlib.import_module("distributed")
    except ImportError as error:
        raise Missing(
            '--workers needs a library that is not installed. Run pip install "farface[cluster]", here and '
            "on each worker."
        ) from error
    try:
        client = distributed.Client(address, timeout=ANSWER_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise Missing(
            f"no scheduler answers at {address}. Start one with `dask scheduler` and workers with "
            "`dask worker`, and give the address that the scheduler prints."
        ) from error
    with client:
        yield _There(client)


class _Here:
    def __init__(self, pool: ThreadPoolExecutor) -> None:
        self._pool = pool

    def submit(self, work: Callable[..., T], /, *given: Any) -> Promised[T]:
        # The pool starts work in order, so what is waited for here has begun before.
        return self._pool.submit(lambda: work(*(v.result() if isinstance(v, Future) else v for v in given)))


class _There:
    """Work on a cluster: what a worker took with it when it went is done again by another."""

    def __init__(self, client: Any) -> None:
        self._client = client

    def submit(self, work: Callable[..., T], /, *given: Any) -> Promised[T]:
        known = (value.promised if isinstance(value, _Far) else value for value in given)
        return _Far(self._client.submit(work, *known, pure=False))


class _Far(Generic[T]):
    def __init__(self, promised: Any) -> None:
        self.promised = promised

    def result(self) -> T:
        distributed: Any = importlib.import_module("distributed")
        try:
            return cast(T, self.promised.result())
        except distributed.KilledWorker as error:
            raise Missing(
                "the workers that were given a piece of the work died over it, one after another. See what "
                "they say, give them more memory, or leave out --workers."
            ) from error

    def cancel(self) -> None:
        self.promised.cancel()
