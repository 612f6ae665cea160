"""`manage.py check_pack`: is a file a pack as it was made, and do its figures follow?"""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from kegsafe.inspection.checking import Finding, PackCheck, check_pack
from kegsafe.ledger.models import Chain
from kegsafe.ledger.verification import verify_chain

_NOT_FOLLOWING, _NOT_AS_MADE = 3, 4


class Command(BaseCommand):
    help = (
        "Say whether a file is a pack as it was made here, and whether its figures follow from the "
        "ledger as it stands, whose whole chain is walked. Exit status 0 when both hold, 3 when "
        "the file is unaltered and does not follow, 4 when it is not as it was made."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--json", action="store_true", help="Print it for a program to read.")

    def handle(self, *_: object, file: Path, json: bool, **__: Any) -> None:
        try:
            content = file.read_bytes()
        except OSError as error:
            raise CommandError(f"{file}: {error.strerror}", returncode=2) from error
        check = check_pack(content, look_inside=True)
        broken = _walked(check)
        self.stdout.write(_as_json(check, broken) if json else _in_words(check, broken))
        if check.finding is not Finding.UNALTERED:
            raise SystemExit(_NOT_AS_MADE)
        if broken or not check.is_in_order:
            raise SystemExit(_NOT_FOLLOWING)


def _walked(check: PackCheck) -> str:
    """Walk the chain that the pack names; return what is wrong with it, "" when nothing is."""
    if check.evidence is None:
        return ""
    verdict = verify_chain(Chain.objects.get(pk=check.evidence.chain))
    if verdict.broken is None:
        return ""
    return f"entry {verdict.broken.sequence} of the ledger: {verdict.broken.what}"


def _in_words(check: PackCheck, broken: str) -> str:
    lines = [f"{check.finding.capitalize()}. {check.because}"]
    if check.fingerprint:
        lines.append(f"Certificate, SHA-256: {check.fingerprint}")
    if (evidence := check.evidence) and (following := check.following):
        lines += [
            f"{evidence.venue}, {evidence.first} to {evidence.last}, "
            f"as of ledger entry {evidence.head_sequence}.",
            following.in_words,
        ]
    if broken:
        lines.append(f"The chain itself is broken: {broken}.")
    return "\n".join(lines)


def _as_json(check: PackCheck, broken: str) -> str:
    said: dict[str, Any] = {
        "finding": check.finding.value,
        "because": check.because,
        "certificate_sha256": check.fingerprint,
        "is_in_order": check.is_in_order and not broken,
        "chain_broken": broken,
        "following": asdict(check.following) if check.following else None,
    }
    if check.evidence:
        said["ledger_entry"] = check.evidence.head_sequence
        said["ledger_hash"] = check.evidence.head_hash
    return json.dumps(said, indent=2)
