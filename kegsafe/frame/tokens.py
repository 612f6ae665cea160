"""Secrets that open one thing to whoever has them: shown once, kept as a hash."""

import secrets
from hashlib import sha256

_BYTES = 32


def new_token() -> str:
    """Return a new secret of 256 random bits: a plain hash of it cannot be guessed back."""
    return secrets.token_urlsafe(_BYTES)


def token_hash(token: str) -> str:
    """Return what is kept of a secret."""
    return sha256(token.encode()).hexdigest()
