"""What was acknowledged is on disk, whatever happens to the process that wrote it."""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.surroundings import do_without

PROJECT = Path(__file__).parents[2]
KILLS = 300
ACTS = 20

pytestmark = pytest.mark.skipif(
    not hasattr(os, "fork"), reason="Killing with SIGKILL needs a system that has it."
)


@pytest.fixture(scope="module")
def killed(tmp_path_factory):
    """What was found after killing a recording bar many times at random moments."""
    folder = tmp_path_factory.mktemp("killed")
    done = _run(folder, "tests.durability.killing", "--kills", str(KILLS), "--seed", "20261125")
    return json.loads(done.stdout)


def test_a_bar_killed_at_random_moments_loses_nothing_and_leaves_nothing_half_done(killed):
    """No acknowledged entry lost, no act in part, chain and records verified, file sound."""
    assert killed["kills"] == KILLS
    assert killed["faults"] == []


def test_the_kills_fell_while_acts_of_every_kind_were_being_recorded(killed):
    """Otherwise the test above would show nothing."""
    assert killed["acknowledged"] > KILLS / 10
    under_way = {act: times for act, times in killed["in_flight"].items() if "between" not in act}
    assert sum(under_way.values()) > KILLS / 2
    assert len(under_way) >= 8  # of ten; which ones it is depends on the machine


def test_the_kills_fell_before_and_after_the_commit(killed):
    under_way = KILLS - killed["in_flight"].get("between two acts", 0)
    assert 0 < killed["on_disk_though_not_acknowledged"] < under_way


def test_each_commit_is_flushed_to_disk_before_it_is_acknowledged(tmp_path):
    """A kill spares what the system still holds in memory; a power cut does not."""
    flushes = _flushes_before_each_acknowledgement(tmp_path)
    assert len(flushes) == ACTS
    assert min(flushes) >= 1


def test_with_less_than_full_synchronising_the_same_probe_sees_commits_that_were_not_flushed(
    tmp_path,
):
    """All but the few that happen to bring the log back into the database."""
    flushes = _flushes_before_each_acknowledgement(tmp_path, "--synchronous", "NORMAL")
    assert len(flushes) == ACTS
    assert flushes.count(0) > ACTS / 2


def _flushes_before_each_acknowledgement(folder: Path, *options: str) -> list[int]:
    """Return, act by act, how often the log was flushed between its begin and its word of it."""
    trace = folder / "trace"
    watcher = ["strace", "-f", "-y", "-o", str(trace), "-e", "trace=fsync,fdatasync,write"]
    _refuse_without_a_watcher(folder)
    _run(folder, "tests.durability.bar_at_work", str(ACTS), *options, watcher=watcher)
    events = "".join(map(_event, trace.read_text(errors="replace").splitlines()))
    return [len(flushes) for flushes in re.findall("b(f*)k", events)]


def _event(line: str) -> str:
    """Return b for an act begun, f for a flush of the write-ahead log, k for an act kept."""
    if re.search(r"f(data)?sync\(.*-wal>\) += 0$", line):
        return "f"
    said = re.search(r'write\(1<.*>, "(began|kept) ', line)
    return said[1][0] if said else ""


def _refuse_without_a_watcher(folder: Path) -> None:
    if shutil.which("strace") is None:
        do_without(
            "strace was not found, so it was not tested that each commit is flushed to disk. "
            "Install it (Debian: sudo apt-get install strace)."
        )
    trial = subprocess.run(["strace", "-o", str(folder / "trial"), "true"], capture_output=True)
    if trial.returncode != 0:
        do_without(
            "This system forbids strace to watch a process, so it was not tested that each "
            "commit is flushed to disk. In a container allow ptrace (SYS_PTRACE)."
        )


def _run(
    folder: Path, module: str, *arguments: str, watcher: Sequence[str] = ()
) -> subprocess.CompletedProcess[str]:
    """Run a module of the tests on a database file of its own."""
    surroundings = {
        name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")
    }
    surroundings["DATABASE_URL"] = f"sqlite:///{folder / 'bar.sqlite3'}"
    done = subprocess.run(
        [*watcher, sys.executable, "-m", module, *arguments],
        cwd=PROJECT,
        env=surroundings,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return done
