"""Run as a script: sweep on Dask clusters of this machine, one of which loses a worker, and print the rows of each.

usage: python on_a_cluster.py FOLDER WORKERS [kill]      (FOLDER has recipes/ and places.csv)
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from pathlib import Path

from distributed import LocalCluster

from mixcraft.cli.main import main


def kill_one(cluster: LocalCluster, output: Path) -> None:
    """Kill a worker once the first results are there."""
    while not list(output.glob("place=*/*.parquet")):
        time.sleep(0.02)
    worker = next(iter(cluster.workers.values()))
    os.kill(worker.process.pid, signal.SIGKILL)


if __name__ == "__main__":
    folder, workers = Path(sys.argv[1]), int(sys.argv[2])
    os.chdir(folder)
    output = "-".join(sys.argv[2:])
    with LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None, silence_logs=50) as cluster:
        if "kill" in sys.argv:
            threading.Thread(target=kill_one, args=(cluster, Path(output)), daemon=True).start()
        sys.exit(main([
            "sweep", "recipes/*.yaml", "--places", "places.csv", "--years", "2", "--layers", "-o", output,
            "--scheduler", cluster.scheduler_address,
        ]))  # fmt: skip
