"""The rows of `make_many` over several machines, by Dask distributed (the extra ``cluster``).

Each row is one task. A worker that dies loses nothing: the scheduler gives its rows to others, and
a row that was finished before its worker died is known by its mark and kept. Whoever reaches a
scheduler can run programs as the workers' user, so that an address outside this machine must be one
with TLS (``tls://``, keys from Dask's own settings), unless the caller says otherwise. All machines
must see
sheet, readings, journal and output folder under the same paths. Left out: starting machines; give
the address of a scheduler that runs, or a `distributed.Client`.
"""

from __future__ import annotations

import ipaddress
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from fitkit.core.errors import InputError, UnavailableError
from fitkit.make.many import Outcome, crashed, do_job, jobs, write_report

if TYPE_CHECKING:
    from collections.abc import Callable

    from distributed import Client

__all__ = ["is_guarded", "make_on"]


def is_guarded(address: str) -> bool:
    """Tell whether an address is of this machine alone, or encrypted with proof of who is there.

    Examples
    --------
    >>> [is_guarded(one) for one in ("tcp://127.0.0.1:8786", "tcp://build-host:8786", "tls://b:1")]
    [True, False, True]
    """
    scheme, _, rest = address.rpartition("://")
    if scheme in ("tls", "wss", "inproc"):
        return True
    host = urlsplit(f"tcp://{rest}").hostname or ""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def make_on(
    cluster: str | Client,
    table: str | Path,
    sheet: str | Path,
    into: str | Path,
    *,
    workshop: str | Path | None = None,
    without_tls: bool = False,
    told: Callable[[Outcome], None] = lambda outcome: None,
) -> tuple[Outcome, ...]:
    """Make all rows of a table on a cluster, and write one report.

    Parameters
    ----------
    cluster : str or distributed.Client
        Address of a scheduler, such as ``tls://build-host:8786``, or a client of one.
    table, sheet, into, workshop, told
        As for `make_many`.
    without_tls : bool
        Take an unguarded address outside this machine: the network between is your own.

    Returns
    -------
    tuple of Outcome
        In the order of the table. A row that killed its worker time and again is refused.

    Raises
    ------
    InputError
        If the address is outside this machine and without TLS.
    FitkitError
        If Dask is not installed, or no scheduler answers.
    """
    if isinstance(cluster, str) and not (without_tls or is_guarded(cluster)):
        raise InputError(
            f"the scheduler at {cluster!r} lies outside this machine and is reached without TLS: "
            "whoever reaches it can run programs there",
            code="make.cluster-unguarded",
            remedy="Give its tls:// address, with the keys in Dask's settings; or say "
            "--without-tls if the network between is your own.",
        )
    try:
        from distributed import Client, as_completed
    except ImportError as error:
        raise UnavailableError(
            "Dask is not installed",
            code="make.no-dask",
            remedy="Install fitkit with its extra 'cluster'.",
        ) from error
    todo = jobs(table, sheet, into, workshop=workshop)
    if isinstance(cluster, str):
        try:
            client = Client(cluster, timeout="10s")
        except (OSError, ValueError) as error:
            raise UnavailableError(
                f"no scheduler answers at {cluster!r}",
                code="make.no-scheduler",
                remedy="Start one with 'dask scheduler', and workers with 'dask worker'.",
            ) from error
    else:
        client = cluster
    outcomes = []
    try:
        # A key of its own for each run, or a row that was refused would get the old answer.
        futures: dict[Any, Any] = {client.submit(do_job, job, pure=False): job for job in todo}
        for future in as_completed(futures):
            failed = future.status != "finished"
            outcome = crashed(futures[future]) if failed else future.result()
            told(outcome)
            outcomes.append(outcome)
    finally:
        if client is not cluster:
            client.close()
    outcomes.sort(key=lambda outcome: outcome.row)
    write_report(Path(into), outcomes)
    return tuple(outcomes)
