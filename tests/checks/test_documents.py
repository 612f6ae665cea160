"""What the README and the contributor's guide tell people to type exists."""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.management import CommandError, get_commands, load_command_class

PROJECT = Path(__file__).parents[2]
DOCUMENTS = ("README.md", "DEVELOPERS.md")
COMMAND = re.compile(r"python3 manage\.py +([^`\n]*)")
FENCE = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)
INLINE = re.compile(r"`[^`\n]+`")


def commands_in(text: str) -> Iterator[list[str]]:
    """Yield what follows manage.py in each piece of code, without the shell's comments."""
    for code in [*FENCE.findall(text), *INLINE.findall(FENCE.sub("", text))]:
        for typed in COMMAND.findall(code):
            yield shlex.split(typed, comments=True)


def _documented() -> list[tuple[str, list[str]]]:
    return [
        (name, words)
        for name in DOCUMENTS
        if (PROJECT / name).exists()
        for words in commands_in((PROJECT / name).read_text(encoding="utf-8"))
    ]


def fault_of(words: list[str]) -> str | None:
    """Let Django's own parser of the command judge its options; `test` hands all to pytest."""
    command, *options = words
    if command == "test":
        return None
    if command not in get_commands():
        return f"there is no command {command}"
    parser = load_command_class(get_commands()[command], command).create_parser("", command)
    try:
        parser.parse_args(options)
    except CommandError as error:
        return str(error)
    return None


@pytest.mark.parametrize(
    ("document", "words"),
    _documented(),
    ids=lambda value: value if isinstance(value, str) else " ".join(value),
)
def test_a_documented_command_takes_its_documented_options(document, words):
    assert fault_of(words) is None


def test_the_readme_names_both_doors():
    named = {words[0] for words in commands_in((PROJECT / "README.md").read_text(encoding="utf-8"))}
    assert {"demo", "test"} <= named


def test_every_path_the_documents_name_exists():
    """Paths in backticks that start with a folder of the project."""
    named = re.compile(r"`((?:kegsafe|tests|templates|shared|fixtures|\.ci)/[\w./-]*)`")
    missing = [
        (name, path)
        for name in DOCUMENTS
        if (PROJECT / name).exists()
        for path in named.findall((PROJECT / name).read_text(encoding="utf-8"))
        if not (PROJECT / path).exists()
    ]
    assert missing == []


def test_the_reader_of_documents_finds_commands_in_text_and_in_blocks():
    text = "Run `python3 manage.py demo --port 8001` or\n```\npython3 manage.py test  # all\n```\n"
    assert list(commands_in(text)) == [["test"], ["demo", "--port", "8001"]]


def test_the_reader_of_documents_sees_an_unknown_command_and_an_unknown_option():
    assert fault_of(["serve", "--port", "8001"]) is None
    assert fault_of(["no_such_command"]) == "there is no command no_such_command"
    assert "--no-such-option" in fault_of(["serve", "--no-such-option"])
