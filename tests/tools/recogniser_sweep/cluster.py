"""Where a sweep's work runs: on this machine, or on a named dask cluster."""

from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module

import joblib

from drill.core.errors import ResourceUnavailable, UserError

LOCAL = "local:"


@contextmanager
def dask_cluster(name: str) -> Iterator[None]:
    """Let joblib spread its work over a dask cluster.

    name: the address of a scheduler ("tcp://HOST:8786"), or "local:N" for N processes here. The
    workers need this source tree and the folder of the sets under the same paths.
    Raises: ResourceUnavailable if dask is not installed; UserError if N is not a number.
    """
    try:
        distributed = import_module("distributed")
    except ImportError:
        raise ResourceUnavailable("a cluster needs dask: pip install dask distributed") from None
    if not name.startswith(LOCAL):
        with distributed.Client(name), joblib.parallel_config(backend="dask"):
            yield
        return
    count = name.removeprefix(LOCAL)
    if not count.isdigit() or not int(count):
        raise UserError(f"{name!r} is not a cluster; write local: and a number of processes")
    options = {"n_workers": int(count), "threads_per_worker": 1, "dashboard_address": None}
    with (
        distributed.LocalCluster(**options) as cluster,
        distributed.Client(cluster),
        joblib.parallel_config(backend="dask"),
    ):
        yield
