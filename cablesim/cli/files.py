"""Files that a command writes: never over another one unless asked, and never half."""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable, Mapping
from itertools import count
from pathlib import Path

from cablesim.cli.screen import note, waiting
from cablesim.errors import InputError

__all__ = ["check_writable", "draw", "write_file", "write_together"]


def check_writable(path: Path, option: str, *, force: bool, suffix: str) -> None:
    """Refuse an output file before any work is done for it.

    Parameters
    ----------
    path
        Where to write.
    option
        The option that named it.
    force
        Whether an existing file may be replaced.
    suffix
        How the name must end.

    Raises
    ------
    InputError
        If the name ends otherwise, its folder is missing, or something is there already.
    """
    if path.suffix.lower() != suffix:
        raise InputError(
            option, str(path), f"a name ending in {suffix}", f"such as {path.stem or 'my'}{suffix}"
        )
    if not path.parent.is_dir():
        raise InputError(
            f"{option}: there is no folder {path.parent}", try_this="make it, or name another one"
        )
    if path.is_dir():
        raise InputError(f"{option}: {path} is a folder", try_this="name a file in it")
    if path.exists() and not force:
        raise _exists(path)


def write_file(path: Path, content: bytes, *, force: bool = False) -> None:
    """Write a file whole or not at all.

    Parameters
    ----------
    path
        Where to write.
    content
        All of it.
    force
        Whether an existing file may be replaced.

    Raises
    ------
    InputError
        If the file exists and may not be replaced, or cannot be written.
    """
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        try:
            with open(part, "xb") as file:
                file.write(content)
            if force:
                os.replace(part, path)
            else:
                _move_to_free_name(part, path)
        finally:
            part.unlink(missing_ok=True)
    except FileExistsError:
        raise _exists(path) from None
    except OSError as error:
        raise InputError(
            f"{path} cannot be written ({error.strerror or error})",
            try_this="name another place",
        ) from None


def draw(path: Path, image: Callable[[], bytes], *, force: bool = False) -> None:
    """Draw something into a file, and say so.

    Parameters
    ----------
    path
        Where to write.
    image
        Draws it; returns the content of the file.
    force
        Whether an existing file may be replaced.

    Raises
    ------
    InputError
        As `write_file`.
    """
    with waiting("drawing"):
        content = image()
    write_file(path, content, force=force)
    note(f"drawn into {path}")


def write_together(
    folder: Path, stem: str, contents: Mapping[str, bytes], *, force: bool = False
) -> list[tuple[Path, bool]]:
    """Write files that belong together under one name, which gets a number where it is taken.

    A file that is there already with the very same content is left as it is.

    Parameters
    ----------
    folder
        Where to write.
    stem
        Their common name.
    contents
        For each suffix the content.
    force
        Whether existing files may be replaced; then no number is needed.

    Returns
    -------
    list of (Path, bool)
        Each file, and whether it was written.

    Raises
    ------
    InputError
        If a file cannot be written.
    """
    paths: dict[str, Path] = {}
    for number in count(1):
        name = stem if number == 1 else f"{stem}-{number}"
        paths = {suffix: folder / f"{name}{suffix}" for suffix in contents}
        if force or all(_free(paths[suffix], content) for suffix, content in contents.items()):
            break
    done = []
    for suffix, content in contents.items():
        new = force or not paths[suffix].exists()
        if new:
            write_file(paths[suffix], content, force=force)
        done.append((paths[suffix], new))
    return done


def _free(path: Path, content: bytes) -> bool:
    """Whether nothing is there, or the very same."""
    if not path.exists():
        return True
    return path.is_file() and path.stat().st_size == len(content) and path.read_bytes() == content


def _move_to_free_name(part: Path, path: Path) -> None:
    """Give a file its name, unless another one has it, even one that came this very moment."""
    try:
        os.link(part, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        if path.exists():
            raise FileExistsError from None
        os.replace(part, path)


def _exists(path: Path) -> InputError:
    return InputError(
        f"{path} exists already", try_this="name another file, or add --force to replace it"
    )
