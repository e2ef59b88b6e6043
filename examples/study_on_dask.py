"""The same study on a Dask cluster: here two local workers, elsewhere your own scheduler.

`python examples/study_on_dask.py [ADDRESS]`. Needs pandas and dask.distributed.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pandas as pd
from distributed import Client, LocalCluster

from mamelon import study

DATA = Path(__file__).resolve().parent.parent / "data"


def run_on(client: Client) -> pd.DataFrame:
    """Runs a small study of invented readings on the cluster of `client`."""
    manifest = pd.DataFrame(
        {
            "item": [f"reading {number:03}" for number in range(60)],
            "L": [66 + 0.2 * number for number in range(60)],
            "a": [3 - 0.04 * number for number in range(60)],
            "b": [21 - 0.1 * number for number in range(60)],
        }
    )
    return study.run(manifest, tabs=DATA / "tabs/orchard16.json", viewing="D65/2", client=client)


def main() -> None:
    """Prints how often each tab is the nearest."""
    if len(sys.argv) > 1:
        with Client(sys.argv[1]) as client:
            table = run_on(client)
    else:
        with (
            LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
            Client(cluster) as client,
        ):
            table = run_on(client)
    print(table["tab"].value_counts())


if __name__ == "__main__":
    main()
