"""Answers that took long to compute, kept so that a reload of the page finds them."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any, Final

from sqlalchemy import delete, select

from fourpatch import __version__
from fourpatch.notebook.database import Database
from fourpatch.notebook.shelf import now
from fourpatch.notebook.tables import ResultRow

MOST: Final = 200
"""Results kept; the oldest go first, for they can be computed again."""


class Results:
    """All results."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def keep(self, kind: str, inputs: Mapping[str, Any], result: Mapping[str, Any]) -> None:
        """Keep what was computed from some inputs, both as JSON."""
        digest = digest_of(inputs)
        with self._database.writing() as session:
            session.execute(delete(ResultRow).where(ResultRow.kind == kind, ResultRow.digest == digest))
            session.add(ResultRow(kind=kind, digest=digest, result=dict(result), made=now()))
            session.flush()
            old = select(ResultRow.id).order_by(ResultRow.id.desc()).offset(MOST)
            session.execute(delete(ResultRow).where(ResultRow.id.in_(old)))

    def find(self, kind: str, inputs: Mapping[str, Any]) -> dict[str, Any] | None:
        """Return what this version of Fourpatch computed from the same inputs, if it is kept."""
        digest = digest_of(inputs)
        with self._database.reading() as session:
            return session.scalar(
                select(ResultRow.result).where(ResultRow.kind == kind, ResultRow.digest == digest)
            )


def digest_of(inputs: Mapping[str, Any]) -> str:
    """Return what is the same for the same inputs to the same version of Fourpatch alone."""
    content = json.dumps([__version__, inputs], sort_keys=True, allow_nan=False)
    return hashlib.sha256(content.encode()).hexdigest()
