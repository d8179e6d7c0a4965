"""Run as a script: sweep on Dask clusters of this machine, one of which loses a worker, and print the rows of each.

usage: python on_a_cluster.py FOLDER WORKERS [kill]      (FOLDER has recipes/ and places.csv)
       python on_a_cluster.py FOLDER WORKERS design      (FOLDER has b.brief.yaml; there.yaml is written)
"""

from __future__ import annotations

import math
import os
import signal
import sys
import threading
import time
from pathlib import Path

from distributed import LocalCluster

from mixcraft.cli.main import main
from mixcraft.design.brief import load_brief
from mixcraft.design.compose import compose
from mixcraft.tasks import Scheduler, scheduler
from mixcraft.words.design_file import designed_text


def kill_one(cluster: LocalCluster, output: Path) -> None:
    """Kill a worker once the first results are there."""
    while not list(output.glob("place=*/*.parquet")):
        time.sleep(0.02)
    worker = next(iter(cluster.workers.values()))
    os.kill(worker.process.pid, signal.SIGKILL)


def design(runner: Scheduler, output: str) -> None:
    """Design for the brief of the folder, with no clock to end the search."""
    brief = load_brief("b.brief.yaml")
    with runner:
        made = compose(brief, seconds=1.0, years=2, patience=math.inf, runner=runner)[0]
    assert made.steps, "a search that has improved nothing shows nothing"
    Path(output).write_text(designed_text(made, brief), "utf-8")


if __name__ == "__main__":
    folder, workers = Path(sys.argv[1]), int(sys.argv[2])
    os.chdir(folder)
    output = "-".join(sys.argv[2:])
    with LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None, silence_logs=50) as cluster:
        if "design" in sys.argv:
            sys.exit(design(scheduler(None, cluster.scheduler_address), "there.yaml"))
        if "kill" in sys.argv:
            threading.Thread(target=kill_one, args=(cluster, Path(output)), daemon=True).start()
        sys.exit(main([
            "sweep", "recipes/*.yaml", "--places", "places.csv", "--years", "2", "--layers", "-o", output,
            "--scheduler", cluster.scheduler_address,
        ]))  # fmt: skip
