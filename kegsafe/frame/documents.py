"""Files the house keeps: looked at by their content, stored under a random name nobody typed.

They lie outside of everything a web server hands out, and leave as a file to save, never as a
page of ours.
"""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.http import FileResponse, Http404

from kegsafe.frame.document_types import LARGEST_BYTES, content_type_of, shown_name
from kegsafe.frame.kept_files import KeepsFiles, KeptFile, write_new


@dataclass(frozen=True, slots=True)
class NewDocument:
    """A file as it was sent: the name it came with, and its bytes."""

    name: str
    content: bytes


class KeptDocument(KeepsFiles, models.Model):
    """Base of a record of one file. Its bytes lie in the data folder, under `stored_as`."""

    name = models.CharField(max_length=120)
    content_type = models.CharField(max_length=20)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    stored_as = models.CharField(max_length=64, unique=True)
    sent_by = models.CharField(max_length=150)
    sent_at = models.DateTimeField()

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.name

    def kept_files(self) -> tuple[KeptFile, ...]:
        """Return its one file."""
        return (KeptFile("documents", self.stored_as, self.size, self.sha256),)


class DocumentField(forms.FileField):
    """A file to keep. Cleans to a `NewDocument` that was looked at."""

    def __init__(self, **kwargs: Any) -> None:
        most = LARGEST_BYTES // 1024 // 1024
        help_text = f"A PDF, or a photograph as JPEG or PNG, of at most {most} MB."
        super().__init__(**{"help_text": help_text, **kwargs})

    def clean(self, data: Any, initial: Any = None) -> NewDocument | None:
        """The file, or a ValidationError that says what was wrong and what would be right."""
        sent = super().clean(data, initial)
        if not sent:
            return None
        # One byte more than is allowed is enough to know.
        content = sent.read(LARGEST_BYTES + 1)
        try:
            content_type_of(content)
        except ValidationError as refused:
            raise ValidationError(refused.messages) from refused
        return NewDocument(sent.name, content)


def facts_of(sent: NewDocument) -> dict[str, Any]:
    """Return what a record keeps of a file.

    Raises ValidationError for what is no PDF, PNG or JPEG by its content, is too large or has
    too many dots.
    """
    content_type = content_type_of(sent.content)
    return {
        "name": shown_name(sent.name, content_type),
        "content_type": content_type,
        "size": len(sent.content),
        "sha256": sha256(sent.content).hexdigest(),
        "stored_as": secrets.token_hex(16),
    }


def stored_path(document: KeptDocument) -> Path:
    """Return where the bytes lie. The name is ours; nothing a person typed is part of it."""
    [file] = document.kept_files()
    return file.path


@contextmanager
def written(document: KeptDocument, content: bytes) -> Iterator[None]:
    """Write the bytes; take them away again where what is done with them fails."""
    path = stored_path(document)
    write_new(path, [content])
    try:
        yield
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def hand_out(document: KeptDocument) -> FileResponse:
    """Answer with a kept file, to be saved and never to be shown as a page of ours.

    Raises Http404 where the bytes are gone. Whether somebody may have it is asked before.
    """
    path = stored_path(document)
    if not path.is_file():
        raise Http404("The file is not in the data folder.")
    answer = FileResponse(
        path.open("rb"),
        as_attachment=True,
        filename=document.name,
        content_type=document.content_type,
    )
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cache-Control"] = "private, no-store"
    return answer
