"""Checks of the running system: whose secret key signs, and how sound the database engine is."""

import sqlite3
from collections.abc import Sequence

from django.conf import settings
from django.core.checks import CheckMessage, Error, Info, Tags, register
from django.db import connections

# SQLite can, rarely, damage a database in write-ahead-log mode when one connection writes
# while another checkpoints; reported up to 3.51.2 and mended in 3.51.3. [second-hand]
SOUND_SQLITE = (3, 51, 3)


def demo_key_in_use() -> str | None:
    """Return what to do about the demo's public key outside the demo, or None."""
    if settings.DEMO or settings.SECRET_KEY != settings.DEMO_SECRET_KEY:
        return None
    return (
        "KEGSAFE_SECRET_KEY is not set, so the demo's key would sign sessions, and everybody "
        "can read that one in the source. Make a key of your own, keep it, and set it: "
        "export KEGSAFE_SECRET_KEY=$(python3 -c 'import secrets; print(secrets.token_urlsafe(50))')"
    )


def sqlite_doubt(version: tuple[int, ...] = sqlite3.sqlite_version_info) -> str | None:
    """Return the warning for an SQLite before 3.51.3, or None."""
    if version >= SOUND_SQLITE:
        return None
    return (
        f"SQLite {'.'.join(map(str, version))} is older than 3.51.3. A rare fault of its "
        "write-ahead log is reported up to 3.51.2 (second-hand). Keep backups, run "
        "`python3 manage.py check_database` now and then, and update SQLite with the system."
    )


@register(Tags.security, deploy=True)
def secret_key_is_our_own(**_kwargs: object) -> Sequence[CheckMessage]:
    """Refuse a deployment signed with the key that stands in the source."""
    wrong = demo_key_in_use()
    return [Error(wrong, id="kegsafe.E001")] if wrong else []


@register(Tags.database)
def sqlite_is_recent(
    databases: Sequence[str] | None = None, **_kwargs: object
) -> Sequence[CheckMessage]:
    """Mention an old SQLite; what the system brings is no fault of the settings."""
    on_sqlite = any(connections[alias].vendor == "sqlite" for alias in databases or ())
    doubt = sqlite_doubt() if on_sqlite else None
    return [Info(doubt, id="kegsafe.I001")] if doubt else []
