"""Set up what kegsafe runs on, beside manage.py, with the standard library alone.

manage.py calls `prepare` before it imports Django. On a machine with nothing
but Python and git this makes the virtual environment .venv, installs the
pinned requirements into it and goes on inside it. A stamp in .venv remembers
which requirements were installed, so that the next start costs nothing and a
changed requirements file is installed by itself.
"""

# Old Pythons must get far enough to be told that they are too old.
from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import NoReturn, TextIO

OLDEST_PYTHON = (3, 11)
MAIN_REQUIREMENTS = ("requirements.txt",)
TEST_REQUIREMENTS = (*MAIN_REQUIREMENTS, "tests/requirements.txt")

# Set across the change of interpreter, so that a broken .venv cannot make a circle.
_COMING_FROM = "KEGSAFE_COMING_FROM"

# The lines of pip that show how far it is: one a package.
_WORTH_SHOWING = ("Downloading ", "Using cached ", "Installing ")


NO_RECORDS_YET = (
    "kegsafe: this database holds no records yet. For a bar of your own run: "
    "python3 manage.py migrate. "
    "To look at the demo's records put KEGSAFE_DEMO=1 before the command."
)


class CannotPrepare(Exception):
    """The machine lacks something; the message says what, and what to do."""


def prepare(home: Path, arguments: list[str]) -> None:
    """Return once this process can import all it needs; otherwise go on in .venv or exit.

    `home` is the folder of manage.py, `arguments` is sys.argv. The command
    `test` never returns: it becomes the test runner. `demo` gets the demo's
    settings.
    """
    command = arguments[1] if len(arguments) > 1 else ""
    try:
        _refuse_old_python(sys.version_info[:2])
        _get_inside(home, arguments, TEST_REQUIREMENTS if command == "test" else MAIN_REQUIREMENTS)
    except CannotPrepare as reason:
        sys.exit(f"kegsafe: {reason}")
    if command == "demo":
        os.environ["KEGSAFE_DEMO"] = "1"
    if command == "test":
        _become_the_test_runner(home, arguments[2:])


def _refuse_old_python(version: tuple[int, ...]) -> None:
    if version < OLDEST_PYTHON:
        raise CannotPrepare(
            f"this is Python {version[0]}.{version[1]} and kegsafe needs 3.11 or newer. "
            "Install a newer Python and start manage.py with it, as in: python3.11 manage.py demo"
        )


def _get_inside(home: Path, arguments: list[str], requirements: tuple[str, ...]) -> None:
    """Make sure that the right environment is complete and that we run in it."""
    environment = home / ".venv"
    came_from = os.environ.pop(_COMING_FROM, "")
    inside = _same_folder(Path(sys.prefix), environment)
    if not inside and _in_an_environment_of_the_users_own():
        return
    if not inside and came_from == str(environment):
        raise CannotPrepare(
            f"the environment {environment} does not start a Python of its own. "
            "Delete that folder and run the command again."
        )
    if not is_current(environment, home, requirements):
        make_current(environment, home, requirements)
    if not inside:
        os.environ[_COMING_FROM] = str(environment)
        _become([str(python_of(environment)), *arguments])


def _same_folder(one: Path, other: Path) -> bool:
    return one.resolve() == other.resolve()


def _in_an_environment_of_the_users_own() -> bool:
    return sys.prefix != sys.base_prefix and find_spec("django") is not None


def python_of(environment: Path) -> Path:
    """Return the path of the environment's Python, whether or not it is there."""
    if os.name == "nt":
        return environment / "Scripts" / "python.exe"
    return environment / "bin" / "python"


# What is installed: the stamp


def is_current(environment: Path, home: Path, requirements: tuple[str, ...]) -> bool:
    """Say whether the environment holds what these files ask for, as far as its stamp knows."""
    stamp = _stamp_of(environment, requirements)
    if not python_of(environment).exists() or not stamp.exists():
        return False
    return stamp.read_text(encoding="ascii").strip() == fingerprint(home, requirements)


def fingerprint(home: Path, requirements: tuple[str, ...]) -> str:
    """Return a hash of the files; it changes when any of them does."""
    digest = hashlib.sha256()
    for name in requirements:
        content = (home / name).read_bytes()
        digest.update(f"{name} {len(content)}\n".encode())
        digest.update(content)
    return digest.hexdigest()


def _stamp_of(environment: Path, requirements: tuple[str, ...]) -> Path:
    name = "kegsafe.stamp" if requirements == MAIN_REQUIREMENTS else "kegsafe-test.stamp"
    return environment / name


def make_current(environment: Path, home: Path, requirements: tuple[str, ...]) -> None:
    """Make the environment if it is missing or broken, install, and write the stamp last."""
    if not _has_working_pip(environment):
        _make_environment(environment)
    _say(f"Installing what {' and '.join(requirements)} ask for. The first time takes minutes.")
    _install(environment, home, requirements)
    for installed in {MAIN_REQUIREMENTS, requirements}:
        stamp = _stamp_of(environment, installed)
        stamp.write_text(fingerprint(home, installed) + "\n", encoding="ascii")
    _say("Installed.")


# Making and filling the environment


def _has_working_pip(environment: Path) -> bool:
    python = python_of(environment)
    if not python.exists():
        return False
    try:
        trial = subprocess.run([python, "-m", "pip", "--version"], capture_output=True)
    except OSError:
        return False
    return trial.returncode == 0


def _make_environment(environment: Path) -> None:
    _refuse_python_without_venv()
    if environment.exists():
        _say(f"{environment} is incomplete and is made anew.")
        shutil.rmtree(environment)
    else:
        _say(f"Making the Python environment {environment}.")
    made = subprocess.run(
        [sys.executable, "-m", "venv", str(environment)],
        capture_output=True,
        text=True,
        errors="replace",
    )
    if made.returncode != 0:
        raise CannotPrepare(
            f"making {environment} failed: {_last_line(made.stdout + made.stderr)} "
            "See that the disk has room and that this user may write there, then run it again."
        )


def _refuse_python_without_venv() -> None:
    """Debian and Ubuntu leave venv's pip in a package of its own."""
    if find_spec("venv") is not None and find_spec("ensurepip") is not None:
        return
    version = f"{sys.version_info[0]}.{sys.version_info[1]}"
    raise CannotPrepare(
        "this Python came without its venv module. On Debian or Ubuntu run "
        f"`sudo apt-get install python{version}-venv`; elsewhere install Python from python.org. "
        "Then run the command again."
    )


def _install(environment: Path, home: Path, requirements: tuple[str, ...]) -> None:
    """Run pip and show one line a package; the whole output goes to a file."""
    command = [
        str(python_of(environment)),
        *("-m", "pip", "install", "--no-input", "--disable-pip-version-check"),
        *("--progress-bar", "off", "--prefer-binary", "--timeout", "60", "--retries", "5"),
    ]
    for name in requirements:
        command += ["-r", str(home / name)]
    # A pip told to install for the user refuses to install into an environment.
    surroundings = {**os.environ, "PIP_USER": "0"}
    log = environment / "kegsafe-install.log"
    with log.open("w", encoding="utf-8") as record:
        code, trouble = _run_and_show(command, surroundings, record)
    if code != 0:
        raise CannotPrepare(
            f"installing failed: {trouble or 'pip gave no reason.'} Check the network "
            f"connection and run the command again. The whole output is in {log}."
        )


def _run_and_show(
    command: list[str], surroundings: dict[str, str], record: TextIO
) -> tuple[int, str]:
    """Run pip, print its progress line by line; return its exit code and last complaint."""
    trouble = ""
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
        env=surroundings,
    ) as pip:
        for line in pip.stdout or ():
            record.write(line)
            if ".metadata" not in line and line.lstrip().startswith(_WORTH_SHOWING):
                _say("  " + line.strip().split(":")[0])
            if line.startswith("ERROR:"):
                trouble = line[len("ERROR:") :].strip()
    return pip.returncode, trouble


def _last_line(text: str) -> str:
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    return lines[-1] if lines else "no reason was given."


def _say(line: str) -> None:
    print(line, flush=True)


def is_about_a_missing_table(complaint: str) -> bool:
    """Say whether SQLite or PostgreSQL complains that the database was never migrated.

    >>> is_about_a_missing_table("no such table: ledger_chain")
    True
    """
    return "no such table" in complaint or (
        "relation" in complaint and "does not exist" in complaint
    )


# Going on as another program


# File by file and in the order collected, which tests/conftest.py begins with the longest.
_SHARED_OUT = ["-n", "auto", "--maxprocesses", "8", "--dist", "loadfile", "--no-loadscope-reorder"]


def _become_the_test_runner(home: Path, arguments: list[str]) -> NoReturn:
    """Run pytest from the project's folder; the whole suite shares out over the processors."""
    if find_spec("pytest") is None:
        sys.exit(
            "kegsafe: this virtual environment lacks what the tests need. Run: "
            "python -m pip install -r requirements.txt -r tests/requirements.txt"
        )
    os.chdir(home)
    shares = [] if arguments else _SHARED_OUT
    _become([sys.executable, "-m", "pytest", *shares, *arguments])


def _become(command: list[str]) -> NoReturn:
    """Replace this process; Windows cannot, so there it waits for a child."""
    sys.stdout.flush()
    if os.name == "nt":
        sys.exit(subprocess.call(command))
    os.execv(command[0], command)
