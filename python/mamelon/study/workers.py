"""Where the items of a study are worked on: in this process, in a pool of processes, on a cluster.

Each function yields (index, rows) as items are done, in any order; the rows never depend on which.
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import signal
import threading
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from typing import Any

from mamelon._core import ArgumentError
from mamelon.study.manifest import Item
from mamelon.study.measure import Row, failure, rows_of, rows_of_chunk
from mamelon.study.settings import Settings

Done = Iterator[tuple[int, list[Row]]]
Numbered = Sequence[tuple[int, Item]]

DIED = "the process working on this item died, twice"


def here(items: Numbered, settings: Settings) -> Done:
    """One after the other in this process."""
    for index, item in items:
        yield index, rows_of(item, settings)


def _chunks(items: Numbered, workers: int) -> list[Numbered]:
    # A photo is work enough for a task of its own; readings are sent by the handful.
    size = max(1, min(32, len(items) // (8 * workers)))
    chunks: list[Numbered] = []
    batch: list[tuple[int, Item]] = []
    for numbered in items:
        if numbered[1].get("photo"):
            chunks.append([numbered])
            continue
        batch.append(numbered)
        if len(batch) >= size:
            chunks.append(batch)
            batch = []
    return chunks + ([batch] if batch else [])


def _start_worker() -> None:
    # Ctrl-C is the parent's to handle, and a worker must not outlive a killed parent.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def follow() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=follow, daemon=True).start()


def in_processes(items: Numbered, settings: Settings, workers: int) -> Done:
    """In a pool of processes. A process that dies costs a retry; an item that kills it, a row."""
    waiting = _chunks(items, workers)
    while waiting:
        lost: list[Numbered] = []
        yield from _one_pool(waiting, settings, workers, lost)
        waiting = []
        for chunk in lost:
            for index, item in chunk:
                again: list[Numbered] = []
                yield from _one_pool([[(index, item)]], settings, 1, again)
                if again:
                    yield index, [failure(item, "BrokenProcessPool", DIED)]


def _one_pool(
    chunks: list[Numbered], settings: Settings, workers: int, lost: list[Numbered]
) -> Done:
    """Runs chunks until done or until a process dies; what was then unfinished goes to `lost`."""
    pool = ProcessPoolExecutor(
        workers, mp_context=multiprocessing.get_context("spawn"), initializer=_start_worker
    )
    processes: dict[int, Any] = {}
    running: dict[Future[list[list[Row]]], Numbered] = {}
    queue = list(reversed(chunks))
    broken = False
    try:
        while queue or running:
            while queue and len(running) < 3 * workers and not broken:
                chunk = queue.pop()
                running[pool.submit(rows_of_chunk, [i for _, i in chunk], settings)] = chunk
            processes = dict(getattr(pool, "_processes", None) or {})
            done, _ = wait(running, timeout=0.2, return_when=FIRST_COMPLETED)
            for future in done:
                chunk = running.pop(future)
                try:
                    results = future.result()
                except BrokenProcessPool:
                    broken = True
                    lost.append(chunk)
                    continue
                yield from zip([index for index, _ in chunk], results, strict=True)
            if broken and not running:
                # What never started goes on in a new pool, not one by one.
                rest = list(reversed(queue))
                queue.clear()
                pool.shutdown(wait=False)
                if rest:
                    yield from _one_pool(rest, settings, workers, lost)
    except BrokenProcessPool:
        lost.extend([*running.values(), *queue])
    except BaseException:
        for process in processes.values():
            process.kill()
        raise
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def on_cluster(items: Numbered, settings: Settings, client: Any) -> Done:
    """On a dask.distributed cluster, which repeats the work of a worker that dies."""
    from distributed import KilledWorker, as_completed

    try:
        pickle.dumps((settings, items[:1]))
    except Exception as error:
        raise ArgumentError(f"these settings cannot be sent to a cluster: {error}") from None
    workers = max(1, len(client.scheduler_info()["workers"]))
    chunks = _chunks(items, workers)
    futures = {}

    def submit(chunk: Numbered) -> Any:
        future = client.submit(rows_of_chunk, [i for _, i in chunk], settings, pure=False)
        futures[future] = chunk
        return future

    try:
        running = as_completed([submit(chunk) for chunk in chunks])
        for future in running:
            chunk = futures.pop(future)
            try:
                results = future.result()
            except KilledWorker:
                if len(chunk) == 1:
                    index, item = chunk[0]
                    yield index, [failure(item, "KilledWorker", DIED)]
                else:
                    running.update([submit([numbered]) for numbered in chunk])
                continue
            yield from zip([index for index, _ in chunk], results, strict=True)
    finally:
        client.cancel(list(futures))
