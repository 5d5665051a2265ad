"""Work shared out among processes, which end with the one that started them."""

from __future__ import annotations

import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import active_children, get_context, parent_process
from typing import TypeVar

from hearthcalc.errors import StoppedError

AHEAD = 3  # pieces that wait for each process, so that none idles and memory stays flat

Piece = TypeVar("Piece")
Made = TypeVar("Made")


def each_of(work: Callable[[Piece], Made], pieces: Iterable[Piece], processes: int) -> Generator[Made]:
    """What is made of each piece, in their order. One process works in this one.

    Where the work is broken off, the processes end with it. Raises StoppedError where one of them is killed.
    """
    if processes == 1:
        yield from map(work, pieces)
        return
    context, others = get_context("spawn"), active_children()
    with ProcessPoolExecutor(processes, mp_context=context, initializer=_follow) as pool:
        waiting: deque[Future[Made]] = deque()
        try:
            for piece in pieces:
                waiting.append(pool.submit(work, piece))
                if len(waiting) >= AHEAD * processes:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        except BrokenProcessPool as err:
            raise StoppedError(
                "Stopped",
                "One of the processes that share the work was killed, or found no more memory.",
                fix=f"Run it again, with fewer than --workers {processes} if memory is short.",
            ) from err
        except BaseException:
            for process in active_children():
                if process not in others:
                    process.terminate()
            _cut_off(pool)
            raise
        finally:
            pool.shutdown(cancel_futures=True)


def _cut_off(pool: ProcessPoolExecutor) -> None:
    """A process that is ended leaves half of an answer, or of a piece, in a pipe: without this the pool waits for the other half.

    A pipe comes to its end once nobody can write to it, or read from it. Python 3.11 closes the ends in this process no sooner than the
    pool has ended.
    """
    answers, pieces = (getattr(pool, queue, None) for queue in ("_result_queue", "_call_queue"))
    if answers is not None:
        answers._writer.close()
    if pieces is not None:
        pieces._reader.close()


def _follow() -> None:
    """A process that works leaves keys to the one that started it, and ends when that one is killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    assert parent is not None

    def wait() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=wait, daemon=True).start()
