"""Papers of families and clinics, handed out as files. Whoever calls has made sure who may open them."""

from __future__ import annotations

import logging

from django.db.models.fields.files import FieldFile
from django.http import FileResponse, Http404

from menus.sealed import KeyLost

logger = logging.getLogger(__name__)

SUFFIXES = {"application/pdf": "pdf", "image/jpeg": "jpg"}


def hand_out(paper: FieldFile, media_type: str, name: str) -> FileResponse:
    """Return the paper as a file to keep or open elsewhere: a browser runs nothing that is in it.

    `name` is that of the file, without its ending: the kind and number of the row, and no name of a person. Raises
    Http404 where none was kept, where its file is missing and where its key is.
    """
    if not paper:
        raise Http404("No paper is kept with this.")
    try:
        file = paper.open("rb")
    except FileNotFoundError as error:
        logger.error("The file of %s is missing.", name)
        raise Http404("The file of this paper is missing. Tell the administrator.") from error
    except KeyLost as error:
        logger.error("The file of %s cannot be opened: its key is missing.", name)
        raise Http404("This paper cannot be opened: its key is missing. Tell the administrator.") from error
    return FileResponse(file, content_type=media_type, filename=f"{name}.{SUFFIXES[media_type]}", as_attachment=True)
