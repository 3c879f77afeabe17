"""Rows over several processes of Dask distributed: all done once, though a worker is killed."""

import os
import signal
from collections import Counter

import pytest

from fitkit.core.errors import FitkitError
from fitkit.journal import Journal
from tests.make.test_many import heights, sheet, table  # noqa: F401 - fixtures

distributed = pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")


def test_no_scheduler_is_told_in_one_line(table, sheet, monkeypatch):  # noqa: F811
    from fitkit.make import make_on

    with pytest.raises(
        FitkitError, match=r"no scheduler answers at 'nonsense://127.0.0.1'. Start one"
    ):
        make_on("nonsense://127.0.0.1", table(*heights(5)), sheet, sheet.parent / "made")


@pytest.mark.parametrize(
    "address",
    ["tcp://build-host:8786", "tcp://192.168.1.5:8786", "build-host:8786", "tcp://[::]:1"],
)
def test_an_unguarded_scheduler_elsewhere_is_refused(table, sheet, address):  # noqa: F811
    from fitkit.make import make_on

    with pytest.raises(FitkitError, match=r"without TLS.*Give its tls:// address"):
        make_on(address, table(*heights(5)), sheet, sheet.parent / "made")


@pytest.mark.slow
def test_a_worker_killed_in_the_midst_loses_no_row_and_doubles_none(table, sheet):  # noqa: F811
    from fitkit.make import make_on

    count, killed = 16, []
    path, into = table(*heights(*range(3, 3 + count))), sheet.parent / "made"
    with (
        distributed.LocalCluster(
            n_workers=3, threads_per_worker=1, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        pids = client.run(os.getpid)

        def kill_one(outcome) -> None:
            if len(done) == 3 and not killed:
                killed.append(next(iter(pids.values())))
                os.kill(killed[0], signal.SIGKILL)
            done.append(outcome)

        done: list = []
        outcomes = make_on(client, path, sheet, into, told=kill_one)
        assert killed
        assert len(done) == count
        assert [outcome.row for outcome in outcomes] == list(range(2, 2 + count))
        assert {outcome.state for outcome in outcomes} <= {"made", "kept"}
        again = make_on(client, path, sheet, into)
        assert [outcome.state for outcome in again] == ["kept"] * count
        assert [outcome.code for outcome in again] == [outcome.code for outcome in outcomes]
    titles = Counter(record.title for record in Journal(sheet.parent / "journal").records("print"))
    assert titles == {f"spacer {size}": 1 for size in range(3, 3 + count)}
    assert len((into / "report.csv").read_text(encoding="utf-8").splitlines()) == count + 1
