"""The same study on a dask.distributed cluster, one of whose workers is killed midway."""

from __future__ import annotations

import contextlib
import os
import signal
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from test_study import TABS, lines_in, settings, write_manifest

import mamelon as mm
from mamelon import study

distributed = pytest.importorskip("distributed")

# The cluster's own warnings are not ours to fail on.
pytestmark = [
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
    pytest.mark.filterwarnings("ignore::UserWarning:distributed"),
]


@pytest.fixture
def client() -> Any:
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    )
    connected = distributed.Client(cluster)
    yield connected
    # A cluster that lost a worker may wait long for it; what it left behind is not under test.
    with contextlib.suppress(TimeoutError):
        connected.close(timeout=10)
    with contextlib.suppress(TimeoutError):
        cluster.close(timeout=10)


def test_a_cluster_that_loses_a_worker_gives_the_same_bytes(client: Any, tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 400)
    study.run_to_file(manifest, settings(256), tmp_path / "here.csv", processes=1)
    journal = tmp_path / "there.csv.journal"
    killed: list[int] = []

    def kill_one() -> None:
        while lines_in(journal) < 100:
            time.sleep(0.01)
        pids = client.run(os.getpid)
        victim = next(iter(pids.values()))
        os.kill(victim, signal.SIGKILL)
        killed.append(lines_in(journal))

    killer = threading.Thread(target=kill_one)
    killer.start()
    study.run_to_file(manifest, settings(256), tmp_path / "there.csv", client=client)
    killer.join()
    assert killed[0] < 401
    assert (tmp_path / "there.csv").read_bytes() == (tmp_path / "here.csv").read_bytes()


def test_what_cannot_be_sent_is_one_clear_error(client: Any, tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 3)
    hostile = settings()
    object.__setattr__(hostile, "margin_mm", threading.Lock())
    object.__setattr__(hostile, "digest", lambda: "x")
    with pytest.raises(mm.ArgumentError, match="cannot be sent to a cluster"):
        study.run_to_file(manifest, hostile, tmp_path / "table.csv", client=client)


def test_run_takes_a_client(client: Any, tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 40)
    table = study.run(manifest, tabs=TABS, viewing="D65/2", draws=64, client=client)
    assert len(table) == 40
