"""The tests of the records pass on a real PostgreSQL as they do on SQLite."""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.surroundings import do_without

PROJECT = Path(__file__).parents[2]
HOW_TO_GET_ONE = (
    "No PostgreSQL server was found, so the records were tested on SQLite only. "
    "Install one (Debian: sudo apt-get install postgresql) to test them on both."
)
SERVER_USER = "postgres"  # Debian's package makes it; a server refuses to run as root


def _programs() -> Path | None:
    """Return the folder of initdb and pg_ctl; Debian keeps it off the search path."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    versions = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    newest = max(versions, key=lambda path: float(path.parts[-3]), default=None)
    return newest.parent if newest else None


class Server:
    """One throw-away PostgreSQL: its own folder, port and user, gone after the test."""

    def __init__(self, programs: Path, folder: Path) -> None:
        self.programs = programs
        self.folder = folder
        self.as_server_user = {}
        if os.geteuid() == 0:
            shutil.chown(folder, SERVER_USER, SERVER_USER)
            self.as_server_user = {"user": SERVER_USER, "group": SERVER_USER, "extra_groups": []}
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]

    @property
    def url(self) -> str:
        return f"postgres://kegsafe@127.0.0.1:{self.port}/postgres"

    def start(self) -> None:
        """Make the database and start the server; quick and forgetful, as only a test may be."""
        options = "--username=kegsafe --auth=trust --encoding=UTF8 --locale=C.UTF-8 --no-sync"
        self._run("initdb", *options.split())
        listen = f"-p {self.port} -c listen_addresses=127.0.0.1 -c fsync=off"
        sockets = f"-c unix_socket_directories={self.folder}"
        log = str(self.folder / "log")
        self._run("pg_ctl", "-w", "-t", "60", "-l", log, "-o", f"{listen} {sockets}", "start")

    def stop(self) -> None:
        """Stop the server if it runs."""
        if (self.folder / "data" / "postmaster.pid").exists():
            self._run("pg_ctl", "-m", "immediate", "-w", "stop")

    def _run(self, program: str, *arguments: str) -> None:
        done = subprocess.run(
            [str(self.programs / program), "-D", str(self.folder / "data"), *arguments],
            cwd=self.folder,
            env={"HOME": str(self.folder), "LC_ALL": "C.UTF-8", "PATH": os.defpath},
            stdout=subprocess.DEVNULL,  # a pipe would stay open as long as the server runs
            stderr=subprocess.DEVNULL,
            **self.as_server_user,
        )
        assert done.returncode == 0, self._why(program)

    def _why(self, program: str) -> str:
        log = self.folder / "log"
        return f"{program} failed. {log.read_text() if log.exists() else ''}"


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    programs = _programs()
    if programs is None:
        do_without(HOW_TO_GET_ONE)
    # Not pytest's folder: the path of a socket must stay under about 100 bytes, and
    # root's temporary folders are closed to the server's user.
    with tempfile.TemporaryDirectory(prefix="kegsafe-pg-") as folder:
        server = Server(programs, Path(folder))
        try:
            server.start()
            yield server
        finally:
            server.stop()


@pytest.mark.postgresql
def test_the_records_hold_on_postgresql_too(server, tmp_path):
    report = tmp_path / "report.xml"
    run = _run(server, "-m", "pytest", "-m", "records", f"--junitxml={report}", "-q")
    assert run.returncode == 0, run.stdout + run.stderr
    assert _passed(report) > 0


@pytest.mark.postgresql
def test_check_database_finds_a_server_that_would_forget_in_a_power_cut(server):
    """The throw-away server runs without fsync, so there is something to find."""
    check = _run(server, "manage.py", "check_database")
    assert "PostgreSQL" in check.stdout
    assert check.returncode == 1
    assert 'fsync is "off" and should be "on"' in check.stderr


def _run(server: Server, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run Python in the project's folder, with the records on the server."""
    surroundings = {
        name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")
    }
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=PROJECT,
        env=surroundings | {"DATABASE_URL": server.url},
        capture_output=True,
        text=True,
    )


def _passed(report: Path) -> int:
    """Count the tests of a JUnit report that ran and passed."""
    suite = ElementTree.parse(report).find("testsuite")
    numbers = {name: int(suite.get(name)) for name in ("tests", "skipped", "failures", "errors")}
    return numbers["tests"] - numbers["skipped"] - numbers["failures"] - numbers["errors"]
