"""Where the files beside the code are: in a checkout, and in an installed wheel."""

from functools import cache
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


@cache
def home() -> Path:
    """Return the folder that holds ``app.py``, ``reference/`` and ``.streamlit/``.

    Returns
    -------
    Path
        ``advisor/_install`` in an installed wheel, the top of the tree in a checkout.
    """
    installed = _PACKAGE / "_install"
    return installed if installed.is_dir() else _PACKAGE.parent


def reference(name: str) -> Path:
    """Return the path of a table in ``reference/``.

    Parameters
    ----------
    name : str
        File name, for example ``iso14373_2015_table_B1_uncoated.csv``.
    """
    return home() / "reference" / name
