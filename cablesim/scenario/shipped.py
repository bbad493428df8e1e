"""Where the scenarios that come with cablesim are kept."""

from pathlib import Path

from cablesim.errors import InputError

__all__ = ["shipped_directory"]

_PACKAGE = Path(__file__).resolve().parents[1]


def shipped_directory() -> Path:
    """Find the folder of shipped scenarios, in an installed package or in a checkout.

    Returns
    -------
    pathlib.Path
        An existing folder with at least one ``.toml`` file.

    Raises
    ------
    InputError
        If this installation carries no scenarios.
    """
    # The installed place first: beside an installed package, "scenarios" may belong to anyone.
    for folder in (_PACKAGE / "scenarios_data", _PACKAGE.parent / "scenarios"):
        if any(folder.glob("*.toml")):
            return folder
    raise InputError(
        what=f"this installation of cablesim, in {_PACKAGE}, has no shipped scenarios",
        try_this="install it anew, or name a scenario file of your own",
    )
