"""Where a notebook lies."""

import os
from pathlib import Path
from typing import Final

from platformdirs import user_data_path

VARIABLE: Final = "FOURPATCH_NOTEBOOK"
"""Environment variable that names another file."""


def notebook_path(chosen: str | os.PathLike[str] | None = None) -> Path:
    """Return the file of the notebook: the one chosen, else that of the environment, else the user's own.

    Notes
    -----
    The user's own is ``notebook.sqlite`` in the folder where the system keeps a user's data.
    """
    named = chosen or os.environ.get(VARIABLE)
    if named:
        return Path(named).expanduser().absolute()
    return user_data_path("fourpatch", appauthor=False, roaming=False) / "notebook.sqlite"
