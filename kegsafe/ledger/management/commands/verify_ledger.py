"""`manage.py verify_ledger`: walk every chain and compare the records with it."""

from django.core.management.base import BaseCommand, CommandError, CommandParser

from kegsafe.ledger.models import Chain
from kegsafe.ledger.verification import verify_chain, verify_records


class Command(BaseCommand):
    help = (
        "Recompute the hash of every ledger entry, name the first broken one, and check that "
        "the records still say what their last entry says."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--chain-only", action="store_true", help="Do not compare the records themselves."
        )

    def handle(self, *args: object, **options: object) -> None:
        broken = [*self._walk_chains()]
        if not options["chain_only"]:
            broken += self._compare_records()
        if broken:
            raise CommandError(f"{len(broken)} fault(s) found in the ledger.", returncode=1)

    def _walk_chains(self) -> list[str]:
        faults = []
        for chain in Chain.objects.order_by("key"):
            verdict = verify_chain(chain)
            if verdict.broken:
                fault = f"{chain.key}: entry {verdict.broken.sequence}: {verdict.broken.what}"
                faults.append(fault)
                self.stderr.write(self.style.ERROR(fault))
            else:
                self.stdout.write(
                    f"{chain.key}: {verdict.entries} entries follow one another; "
                    f"head {verdict.head_hash}"
                )
        return faults

    def _compare_records(self) -> list[str]:
        faults = []
        for broken in verify_records():
            faults.append(broken.what)
            self.stderr.write(self.style.ERROR(broken.what))
        if not faults:
            self.stdout.write("Every record says what its last entry says.")
        return faults
