"""A start collects the static files when they changed, and not once more."""

import os
import shutil
from pathlib import Path

import pytest

from kegsafe.frame import static_files


@pytest.fixture
def collected(settings, tmp_path) -> Path:
    """The folder of collected files, with one file of the project's to collect."""
    source = tmp_path / "source"
    source.mkdir()
    (source / "page.css").write_text("body { color: black }")
    settings.STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.FileSystemFinder"]
    settings.STATICFILES_DIRS = [source]
    settings.STATIC_ROOT = tmp_path / "static"
    return settings.STATIC_ROOT


def test_the_first_start_collects(collected):
    assert static_files.collect_static_files()
    assert (collected / "page.css").exists()


def test_the_next_start_has_nothing_to_do(collected):
    static_files.collect_static_files()
    assert not static_files.collect_static_files()


def test_a_changed_file_is_collected_again(collected, settings):
    static_files.collect_static_files()
    changed = Path(settings.STATICFILES_DIRS[0]) / "page.css"
    changed.write_text("body { color: navy; margin: 0 }")
    _a_while_later(changed)
    assert static_files.collect_static_files()
    assert "navy" in (collected / "page.css").read_text()


def _a_while_later(changed: Path) -> None:
    """Django looks at whole seconds."""
    moment = changed.stat().st_mtime + 2
    os.utime(changed, (moment, moment))


def test_a_new_file_is_collected(collected, settings):
    static_files.collect_static_files()
    (Path(settings.STATICFILES_DIRS[0]) / "more.css").write_text("p { margin: 0 }")
    assert static_files.collect_static_files()
    assert (collected / "more.css").exists()


def test_a_folder_that_was_taken_away_is_filled_again(collected):
    static_files.collect_static_files()
    shutil.rmtree(collected)
    assert static_files.collect_static_files()
    assert (collected / "page.css").exists()


def test_an_interrupted_collection_is_done_again(collected, monkeypatch):
    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(static_files, "call_command", interrupt)
        with pytest.raises(KeyboardInterrupt):
            static_files.collect_static_files()
    assert static_files.collect_static_files()
