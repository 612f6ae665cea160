"""`manage.py calc NAME key="value unit" …`: every calculator for scripts and for the bar's wall."""

import json
import textwrap
from argparse import RawDescriptionHelpFormatter
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from kegsafe.calculators.answering import Answered, ask
from kegsafe.calculators.calculator import (
    AnyInput,
    Calculator,
    Choice,
    Input,
    PartsInput,
    Refused,
)
from kegsafe.calculators.lists import MOST_CHARACTERS
from kegsafe.calculators.registry import UnknownCalculator, by_subject, calculator_called
from kegsafe.quantities import UnitSystem
from kegsafe.quantities.refusals import shown

_WIDTH = 88
_NAMED_BY_OPTION = ("parts", "log")


class Command(BaseCommand):
    help = "Answer one of the calculators. Alone it lists them all."
    # A calculation touches neither database nor settings, and scripts ask for many.
    requires_system_checks = ()

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        """Leave --help to this command: each calculator has a help of its own."""
        kwargs |= {"add_help": False, "formatter_class": RawDescriptionHelpFormatter}
        return super().create_parser(prog_name, subcommand, **kwargs)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", nargs="?", help="Name of the calculator.")
        parser.add_argument("inputs", nargs="*", help='Such as temperature="2 °C".')
        parser.add_argument("--json", action="store_true", help="Print JSON.")
        parser.add_argument("--units", choices=("metric", "us"), default="metric")
        parser.add_argument("--parts", metavar="FILE", help="File with a list, JSON or CSV.")
        parser.add_argument("--log", metavar="FILE", help="CSV of times and temperatures.")
        parser.add_argument("-h", "--help", action="store_true", help="Inputs, units, example.")

    def handle(self, *args: object, **options: Any) -> None:
        if not options["name"]:
            self._list()
            return
        try:
            calculator = calculator_called(options["name"])
        except UnknownCalculator as unknown:
            raise CommandError(str(unknown), returncode=2) from None
        if options["help"]:
            self._explain(calculator)
            return
        try:
            answered = ask(calculator, _typed(calculator, options))
        except Refused as refused:
            raise CommandError(_in_lines(refused), returncode=2) from None
        self._print(answered, options["units"], as_json=options["json"])

    def _list(self) -> None:
        for subject, calculators in by_subject():
            self.stdout.write(subject)
            for each in calculators:
                self.stdout.write(f"  {each.name:<25}{each.purpose}")
        self.stdout.write("\ncalc NAME --help shows the inputs, the units and an example.")

    def _explain(self, calculator: Calculator) -> None:
        self._paragraph("", f"{calculator.title}. {calculator.purpose}")
        self.stdout.write("\nInputs")
        for each in calculator.inputs:
            standing = "needed" if each.needed else "may be left out"
            if each.key in calculator.one_of:
                standing = f"one of {', '.join(calculator.one_of)}"
            self._paragraph(f"  {each.key}", f"{each.label} ({standing}). {_takes(each)}")
        self.stdout.write(f"\nExample\n  {example_line(calculator)}\n")
        self._about(calculator, calculator.uncertainty)

    def _print(self, answered: Answered, units: UnitSystem, *, as_json: bool) -> None:
        if as_json:
            printed = json.dumps(answered.as_json(), ensure_ascii=False, indent=2)
            self.stdout.write(printed)
            return
        self.stdout.write(answered.calculator.title)
        group = ""
        for result in answered.answer.results:
            if result.group != group:
                group = result.group
                self.stdout.write(f"\n{group}")
            self._paragraph(f"  {result.label}", result.text(units), column=44)
        self.stdout.write("")
        for warning in answered.answer.warnings:
            self._paragraph("Mind this", warning)
        for blank in answered.left_blank:
            self._paragraph("Left blank", blank)
        self._about(answered.calculator, answered.uncertainty)

    def _about(self, calculator: Calculator, uncertainty: str) -> None:
        self._paragraph("Relation", calculator.relation)
        self._paragraph("Source", calculator.source)
        self._paragraph("Checked", calculator.verified)
        self._paragraph("Range", calculator.range)
        self._paragraph("Uncertainty", uncertainty)
        for caution in calculator.cautions:
            self._paragraph("Caution", caution)

    def _paragraph(self, name: str, text: str, column: int = 20) -> None:
        """A name and its text beside it, the text wrapped under its own beginning."""
        if not name:
            self.stdout.write(textwrap.fill(text, _WIDTH))
            return
        first = f"{name:<{column}}" if len(name) < column else f"{name} "
        self.stdout.write(
            textwrap.fill(text, _WIDTH, initial_indent=first, subsequent_indent=" " * column)
        )


def example_line(calculator: Calculator) -> str:
    """The example of a calculator as a command."""
    inputs = (f"{key}={_quoted(text)}" for key, text in calculator.example.items())
    return f"python3 manage.py calc {calculator.name} {' '.join(inputs)}"


def _quoted(text: str) -> str:
    return f"'{text}'" if '"' in text else f'"{text}"'


def _takes(each: AnyInput) -> str:
    if isinstance(each, Input):
        takes = f"Takes {each.takes}. Units: {', '.join(each.units)}."
    elif isinstance(each, Choice):
        takes = f"One of {', '.join(value for value, _ in each.options)}."
    elif isinstance(each, PartsInput):
        columns = ", ".join(column.label.lower() for column in each.columns)
        takes = f"Rows of {columns}, as JSON or one a line."
    else:
        takes = "A time and a temperature a line."
    return f"{takes} Left out: {each.blank_means}." if each.blank_means else takes


def _typed(calculator: Calculator, options: dict[str, Any]) -> dict[str, str]:
    typed: dict[str, str] = {}
    for argument in options["inputs"]:
        key, mark, text = argument.partition("=")
        if not mark:
            first = calculator.inputs[0]
            example = f'{first.key}="{first.example.splitlines()[0]}"'
            raise Refused.at("", f"{shown(argument)} has no key. Write it like this: {example}.")
        if key in typed:
            raise Refused.at("", f"{shown(key)} is given twice. Leave the right one.")
        typed[key] = text
    for key in _NAMED_BY_OPTION:
        if options[key]:
            typed[key] = _file(calculator, key, Path(options[key]))
    return typed


def _file(calculator: Calculator, key: str, path: Path) -> str:
    if key not in calculator.by_key:
        takes = ", ".join(calculator.by_key)
        raise Refused.at("", f"{calculator.name} reads no file with --{key}. It takes {takes}.")
    try:
        if path.stat().st_size > MOST_CHARACTERS:
            raise Refused.at(key, f"{path.name} is larger than 2 MB; shorten it.")
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise Refused.at(
            key, f"{path.name} is no text in UTF-8. Save it as CSV in UTF-8."
        ) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "this is no file name"
        raise Refused.at(key, f"{shown(str(path))} cannot be read: {reason}.") from None


def _in_lines(refused: Refused) -> str:
    return "\n".join(
        f"{key}: {sentence}" if key else sentence
        for key, sentences in refused.errors.items()
        for sentence in sentences
    )
