"""Work shared out among processes, which end with the one that started them."""

from __future__ import annotations

import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from multiprocessing import get_context, parent_process
from typing import TypeVar

AHEAD = 3  # pieces that wait for each process, so that none idles and memory stays flat

Piece = TypeVar("Piece")
Made = TypeVar("Made")


def each_of(work: Callable[[Piece], Made], pieces: Iterable[Piece], processes: int) -> Iterator[Made]:
    """What is made of each piece, in their order. One process works in this one."""
    if processes == 1:
        yield from map(work, pieces)
        return
    context = get_context("spawn")
    with ProcessPoolExecutor(processes, mp_context=context, initializer=_follow) as pool:
        waiting: deque[Future[Made]] = deque()
        try:
            for piece in pieces:
                waiting.append(pool.submit(work, piece))
                if len(waiting) >= AHEAD * processes:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            pool.shutdown(cancel_futures=True)


def _follow() -> None:
    """A process that works leaves keys to the one that started it, and ends when that one is killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    assert parent is not None

    def wait() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=wait, daemon=True).start()
