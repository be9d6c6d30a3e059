"""A cluster of one's own on this machine, whose workers are seen by their processes and not by how fast they answer."""

from __future__ import annotations

import contextlib
import logging
from collections.abc import Iterator
from typing import Any

from graders.run.sandbox import temporary_folders

# On a busy machine it takes as long as it takes, while its workers' processes live.
PATIENT_SECONDS = 600.0


@contextlib.contextmanager
def started(distributed: Any, workers: int) -> Iterator[Any]:
    """A cluster on this machine: certificates for this once, no page to look at it, files that go with it.

    Args:
        distributed: the library.
        workers: how many workers.
    """
    import dask
    from distributed.security import Security

    settings: dict[str, Any] = {f"distributed.{part}.http.routes": [] for part in ("scheduler", "worker", "nanny")}
    # On one machine a side that does not answer is slow, not gone: whether a worker lives is seen by its process.
    settings |= {f"distributed.comm.timeouts.{what}": f"{PATIENT_SECONDS:.0f}s" for what in ("connect", "tcp")}
    settings |= {"distributed.scheduler.worker-ttl": None, "distributed.deploy.lost-worker-timeout": f"{PATIENT_SECONDS:.0f}s"}
    with temporary_folders.new("cluster") as folder, dask.config.set(settings):
        cluster = distributed.LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            processes=True,
            host="127.0.0.1",
            memory_limit=0,
            security=Security.temporary(),
            dashboard_address=None,
            silence_logs=logging.CRITICAL + 1,
            local_directory=folder,
            env={"TMPDIR": folder},
            scheduler_kwargs={"dashboard_address": "127.0.0.1:0", "allowed_failures": 1},
        )
        try:
            yield cluster
        finally:
            with contextlib.suppress(Exception):
                cluster.close()


def lives(cluster: Any) -> bool:
    """Whether a process of its workers lives, or is being started in the place of one that ended.

    Args:
        cluster: what `started` gave, or None, which has none.
    """
    keepers = list(cluster.workers.values()) if cluster is not None else []
    return any(keeper.is_alive() or keeper.status.name in ("init", "starting", "running") for keeper in keepers)


def more_to_come(cluster: Any, there: int) -> bool:
    """Whether workers that live, or are being started, have not yet come to the scheduler.

    Args:
        cluster: what `started` gave, or None, of which nothing is known.
        there: how many workers the scheduler knows.
    """
    return cluster is not None and there < len(cluster.workers) and lives(cluster)
