"""A machine with Python and git only gets its environment, once, and is told what is amiss."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from kegsafe import provisioning
from kegsafe.provisioning import MAIN_REQUIREMENTS, TEST_REQUIREMENTS, CannotPrepare

PROJECT = Path(__file__).parents[2]


@pytest.fixture
def home(tmp_path) -> Path:
    (tmp_path / "tests").mkdir()
    (tmp_path / "requirements.txt").write_text("django==5.2\n")
    (tmp_path / "tests" / "requirements.txt").write_text("pytest==9.2\n")
    return tmp_path


@pytest.fixture
def environment(home) -> Path:
    """A folder that looks like an environment: its Python is this very one."""
    python = provisioning.python_of(home / ".venv")
    python.parent.mkdir(parents=True)
    python.symlink_to(sys.executable)
    return home / ".venv"


@pytest.fixture(scope="module")
def real_environment(tmp_path_factory) -> Path:
    """An empty environment with a pip of its own; making it needs no network."""
    folder = tmp_path_factory.mktemp("real") / ".venv"
    provisioning._make_environment(folder)
    return folder


@pytest.fixture
def no_pip(monkeypatch):
    """Installing does nothing and counts how often it was asked to."""
    asked = []
    monkeypatch.setattr(provisioning, "_install", lambda *arguments: asked.append(arguments))
    return asked


@pytest.fixture
def becomes(monkeypatch):
    """What this process would have turned into."""
    commands = []
    monkeypatch.setattr(provisioning, "_become", commands.append)
    return commands


# What the machine lacks


def test_an_old_python_is_told_which_one_is_needed():
    with pytest.raises(CannotPrepare, match=r"Python 3\.9 and kegsafe needs 3\.11 or newer"):
        provisioning._refuse_old_python((3, 9))


@pytest.mark.parametrize("path", ["manage.py", "kegsafe/__init__.py", "kegsafe/provisioning.py"])
def test_an_old_python_gets_far_enough_to_be_told(path):
    source = (PROJECT / path).read_text(encoding="utf-8")
    assert ast.parse(source, feature_version=(3, 7))


def test_python_3_11_is_new_enough():
    assert provisioning._refuse_old_python((3, 11)) is None


@pytest.mark.parametrize("missing", ["venv", "ensurepip"])
def test_a_python_without_venv_is_told_the_package_to_install(missing, monkeypatch):
    monkeypatch.setattr(provisioning, "find_spec", lambda name: None if name == missing else name)
    version = f"{sys.version_info[0]}.{sys.version_info[1]}"
    with pytest.raises(CannotPrepare, match=rf"apt-get install python{version}-venv"):
        provisioning._refuse_python_without_venv()


def test_a_failing_pip_gives_one_sentence_and_keeps_its_output(home, real_environment, monkeypatch):
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    (home / "requirements.txt").write_text("a-package-nobody-has==1\n")
    with pytest.raises(CannotPrepare, match="a-package-nobody-has==1 Check the network") as refusal:
        provisioning._install(real_environment, home, MAIN_REQUIREMENTS)
    assert "kegsafe-install.log" in str(refusal.value)
    assert "ERROR" in (real_environment / "kegsafe-install.log").read_text()


# When it installs


def test_an_environment_without_a_stamp_is_not_current(home, environment):
    assert not provisioning.is_current(environment, home, MAIN_REQUIREMENTS)


def test_a_second_start_installs_nothing(home, environment, no_pip):
    provisioning.make_current(environment, home, MAIN_REQUIREMENTS)
    assert provisioning.is_current(environment, home, MAIN_REQUIREMENTS)
    assert len(no_pip) == 1


def test_a_changed_requirement_is_installed_at_the_next_start(home, environment, no_pip):
    provisioning.make_current(environment, home, MAIN_REQUIREMENTS)
    (home / "requirements.txt").write_text("django==5.2.1\n")
    assert not provisioning.is_current(environment, home, MAIN_REQUIREMENTS)


def test_what_the_demo_installed_is_not_enough_for_the_tests(home, environment, no_pip):
    provisioning.make_current(environment, home, MAIN_REQUIREMENTS)
    assert not provisioning.is_current(environment, home, TEST_REQUIREMENTS)


def test_what_the_tests_installed_is_enough_for_the_demo(home, environment, no_pip):
    provisioning.make_current(environment, home, TEST_REQUIREMENTS)
    assert provisioning.is_current(environment, home, MAIN_REQUIREMENTS)


def test_an_interrupted_install_is_done_again(home, environment, monkeypatch):
    def interrupted(*_arguments: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(provisioning, "_install", interrupted)
    with pytest.raises(KeyboardInterrupt):
        provisioning.make_current(environment, home, MAIN_REQUIREMENTS)
    assert not provisioning.is_current(environment, home, MAIN_REQUIREMENTS)


def test_an_environment_whose_python_is_gone_is_not_current(home, environment, no_pip):
    provisioning.make_current(environment, home, MAIN_REQUIREMENTS)
    provisioning.python_of(environment).unlink()
    assert not provisioning.is_current(environment, home, MAIN_REQUIREMENTS)


def test_a_half_made_environment_is_made_anew(home, no_pip, capsys):
    half = home / ".venv"
    half.mkdir()
    (half / "left-over").touch()
    provisioning.make_current(half, home, MAIN_REQUIREMENTS)
    assert "incomplete and is made anew" in capsys.readouterr().out
    assert provisioning._has_working_pip(half)
    assert not (half / "left-over").exists()


# Going on inside


@pytest.fixture
def outside(monkeypatch):
    """We run on the system's own Python."""
    monkeypatch.setattr(sys, "prefix", "/usr")
    monkeypatch.setattr(sys, "base_prefix", "/usr")
    monkeypatch.delenv("KEGSAFE_COMING_FROM", raising=False)


def test_the_systems_python_goes_on_in_the_environment(
    home, environment, no_pip, becomes, outside, monkeypatch
):
    monkeypatch.setenv("KEGSAFE_DEMO", "")
    provisioning.prepare(home, ["manage.py", "demo", "--port", "8001"])
    python = str(provisioning.python_of(environment))
    assert becomes == [[python, "manage.py", "demo", "--port", "8001"]]


def test_inside_the_environment_nothing_is_started(home, environment, no_pip, becomes, monkeypatch):
    monkeypatch.setattr(sys, "prefix", str(environment))
    provisioning.prepare(home, ["manage.py", "check"])
    assert becomes == []


def test_an_environment_of_the_users_own_is_left_alone(home, no_pip, becomes, monkeypatch):
    monkeypatch.setattr(sys, "prefix", "/home/somebody/env")
    monkeypatch.setattr(sys, "base_prefix", "/usr")
    provisioning.prepare(home, ["manage.py", "check"])
    assert becomes == []
    assert no_pip == []
    assert not (home / ".venv").exists()


def test_an_environment_that_does_not_start_its_own_python_makes_no_circle(
    home, environment, no_pip, becomes, outside, monkeypatch
):
    monkeypatch.setenv("KEGSAFE_COMING_FROM", str(environment))
    with pytest.raises(SystemExit, match="does not start a Python of its own"):
        provisioning.prepare(home, ["manage.py", "check"])
    assert becomes == []


def test_the_demo_gets_the_demos_settings(home, environment, no_pip, becomes, monkeypatch):
    monkeypatch.setattr(sys, "prefix", str(environment))
    monkeypatch.setenv("KEGSAFE_DEMO", "off")
    provisioning.prepare(home, ["manage.py", "demo"])
    assert os.environ["KEGSAFE_DEMO"] == "1"


def test_the_tests_run_from_the_projects_folder_with_the_arguments_given(
    home, environment, no_pip, becomes, monkeypatch, tmp_path_factory
):
    monkeypatch.setattr(sys, "prefix", str(environment))
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    provisioning.prepare(home, ["manage.py", "test", "-k", "keg"])
    assert becomes == [[sys.executable, "-m", "pytest", "-k", "keg"]]
    assert Path.cwd() == home


def test_the_whole_suite_is_shared_out_over_the_processors(
    home, environment, no_pip, becomes, monkeypatch
):
    monkeypatch.setattr(sys, "prefix", str(environment))
    monkeypatch.chdir(home)
    provisioning.prepare(home, ["manage.py", "test"])
    assert becomes[0][3:5] == ["-n", "auto"]


def test_it_needs_the_standard_library_only():
    trial = subprocess.run(
        [
            sys.executable,
            "-I",
            "-S",
            "-c",
            f"import sys; sys.path.append({str(PROJECT)!r});import kegsafe.provisioning",
        ],
        capture_output=True,
        text=True,
    )
    assert (trial.returncode, trial.stderr) == (0, "")


@pytest.mark.parametrize(
    "complaint",
    ["no such table: ledger_chain", 'relation "ledger_chain" does not exist\nLINE 1: SELECT'],
)
def test_a_database_that_was_never_migrated_is_told_from_other_trouble(complaint):
    assert provisioning.is_about_a_missing_table(complaint)
    assert not provisioning.is_about_a_missing_table("database is locked")


def test_a_command_before_the_first_migration_says_what_to_run(tmp_path):
    surroundings = {**os.environ, "KEGSAFE_DATA": str(tmp_path), "KEGSAFE_DEMO": ""}
    surroundings.pop("DATABASE_URL", None)
    surroundings.pop("DJANGO_SETTINGS_MODULE", None)
    command = [sys.executable, str(Path(__file__).parents[2] / "manage.py"), "verify_ledger"]
    done = subprocess.run(command, capture_output=True, text=True, env=surroundings)
    assert done.returncode == 1
    assert "manage.py migrate" in done.stderr
    assert "Traceback" not in done.stderr
