"""What the README and the contributor's guide tell people to type exists."""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.management import get_commands, load_command_class

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


def _is_known(words: list[str]) -> bool:
    """Let Django's own parser of the command judge its options; `test` hands all to pytest."""
    command, *options = words
    if command == "test":
        return True
    parser = load_command_class(get_commands()[command], command).create_parser("", command)
    parser.parse_args([option for option in options if option != "..."])
    return True


@pytest.mark.parametrize(
    ("document", "words"),
    _documented(),
    ids=lambda value: value if isinstance(value, str) else " ".join(value),
)
def test_a_documented_command_takes_its_documented_options(document, words):
    assert _is_known(words)


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
