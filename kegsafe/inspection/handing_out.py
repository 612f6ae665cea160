"""Handing out a file of a pack: the same for who signed in and who has a link."""

from django.http import FileResponse, Http404
from django.utils.text import slugify

from kegsafe.inspection import storage
from kegsafe.inspection.models import InspectionPack

_TYPES = {storage.PDF: "application/pdf", storage.ROWS: "application/zip"}


def file_of(pack: InspectionPack, ending: str, *, as_attachment: bool = True) -> FileResponse:
    """Return a file of a pack. Its venue is fetched. Raises Http404 where it is gone."""
    path = storage.path_of(pack, ending)
    if not path.is_file():
        raise Http404("The file is not in the data folder.")
    name = f"inspection-pack-{slugify(pack.venue.name)[:40]}-{pack.first}-{pack.last}{ending}"
    answer = FileResponse(
        path.open("rb"), as_attachment=as_attachment, filename=name, content_type=_TYPES[ending]
    )
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cache-Control"] = "private, no-store"
    return answer
