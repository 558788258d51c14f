"""Files as the command line needs them: results are written in one step or not at all."""

import os
from collections.abc import Iterable, Sequence
from contextlib import suppress
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

from flipreg.cli.file_error import FileError, reason

if TYPE_CHECKING:
    from flipreg.report.bench_sheet import FilePrint

__all__ = [
    "file_print",
    "is_same_file",
    "refuse_existing",
    "replace_file",
    "write_into",
    "write_new_file",
]


def file_print(name: str) -> "FilePrint":
    """Return the size and the hash of a file.

    Raises
    ------
    FileError
        If it cannot be read.
    """
    from hashlib import file_digest

    from flipreg.report.bench_sheet import FilePrint

    try:
        with open(name, "rb") as file:
            digest = file_digest(file, "sha256").hexdigest()
            return FilePrint(file.tell(), digest)
    except OSError as error:
        raise FileError(f"{name}: cannot be read: {reason(error)}") from None


def is_same_file(one: str | FilePath, other: str | FilePath) -> bool:
    """Return whether two names are of one file that is there."""
    try:
        return os.path.samefile(one, other)
    except OSError:
        return False


def replace_file(name: str, parts: Iterable[bytes]) -> None:
    """Write a file in one step: an existing file is replaced whole, or not touched.

    Raises
    ------
    FileError
        If it cannot be written.
    """
    target = FilePath(os.path.realpath(name))
    try:
        if target.is_dir() or name.endswith(("/", os.sep)):
            raise FileError(f"{name}: cannot be written: it is a directory")
        if target.exists() and not target.is_file():
            # A device or a pipe has no old content to keep, and must not become a file.
            with target.open("wb") as stream:
                stream.writelines(parts)
            return
    except FileError:
        raise
    except OSError as error:
        raise FileError(f"{name}: cannot be written: {reason(error)}") from None
    _replace([(name, target, parts)])


def refuse_existing(name: str) -> None:
    """Refuse a file that is there already.

    Raises
    ------
    FileError
        If there is anything of this name.
    """
    if os.path.lexists(name):
        raise FileError(f"{name}: is there already, and is not written over; name another file, or move this one away")


def write_new_file(name: str, content: bytes) -> None:
    """Write a file that is not there yet, whole or not at all.

    Raises
    ------
    FileError
        If there is one of this name by then, or it cannot be written.
    """
    temporary = ""
    try:
        handle, temporary = _temporary_file(FilePath(name).parent)
        with open(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, _mode(FilePath(name)))
        # A link is made in one step and fails if somebody else made the file meanwhile; renaming would go over it.
        os.link(temporary, name)
    except FileExistsError:
        refuse_existing(name)
    except OSError as error:
        raise FileError(f"{name}: cannot be written: {reason(error)}") from None
    finally:
        if temporary:
            with suppress(FileNotFoundError):
                os.unlink(temporary)


def write_into(folder: str, files: Sequence[tuple[str, Iterable[bytes]]]) -> tuple[str, ...]:
    """Write several files into a folder: all of them, or none if one of them cannot be written out.

    Everything is on the disk under other names before the first file gets its own, so that only what stops
    the renaming itself can leave some of them new and some old; each is whole in any case. A folder that is not there
    is made, in a folder that is.

    Parameters
    ----------
    folder : str
        Where they go.
    files : sequence of (str, iterable of bytes)
        Their names and what is in them; no two of one name.

    Returns
    -------
    tuple of str
        The paths, in the same order.

    Raises
    ------
    FileError
        If one of them cannot be written, and nothing is changed then; or if one cannot be given its name.
    """
    place = FilePath(folder)
    try:
        is_new = not place.exists()
        if is_new:
            place.mkdir()
        elif not place.is_dir():
            raise FileError(f"{folder}: cannot be written into: it is a file, not a folder")
    except FileError:
        raise
    except OSError as error:
        raise FileError(f"{folder}: cannot be made: {reason(error)}") from None
    try:
        targets: list[tuple[str, FilePath, Iterable[bytes]]] = []
        for name, parts in files:
            target = FilePath(os.path.realpath(place / name))
            if target.exists() and not target.is_file():
                what = "it is a directory" if target.is_dir() else "it is no file"
                raise FileError(f"{place / name}: cannot be written: {what}")
            if any(target == other for _, other, _ in targets):
                raise FileError(f"{place / name}: cannot be written: it is another name of a file before it")
            targets.append((str(place / name), target, parts))
        _replace(targets)
    except BaseException:
        if is_new:
            with suppress(OSError):
                place.rmdir()
        raise
    return tuple(name for name, _, _ in targets)


def _temporary_file(folder: FilePath) -> tuple[int, str]:
    """Open a new file in a folder, and return its descriptor and its name."""
    # Imported here: what goes to standard output needs none, and it brings much with it.
    from tempfile import mkstemp

    return mkstemp(prefix=".flipreg-", dir=folder)


def _replace(files: Sequence[tuple[str, FilePath, Iterable[bytes]]]) -> None:
    """Write files under other names, all of them, and only then give them their own."""
    written: list[tuple[str, str, FilePath]] = []
    at = ""
    try:
        for name, target, parts in files:
            at = name
            handle, temporary = _temporary_file(target.parent)
            written.append((name, temporary, target))
            with open(handle, "wb") as file:
                file.writelines(parts)
                file.flush()
                os.fsync(file.fileno())
            os.chmod(temporary, _mode(target))
        for name, temporary, target in written:
            at = name
            os.replace(temporary, target)
    except OSError as error:
        raise FileError(f"{at}: cannot be written: {reason(error)}") from None
    finally:
        for _, temporary, _ in written:
            with suppress(FileNotFoundError):
                os.unlink(temporary)


def _mode(target: FilePath) -> int:
    """Return the mode of the file that is replaced, or the mode a new file gets."""
    if target.exists():
        return target.stat().st_mode & 0o7777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
