"""Writing files so that each appears whole or not at all, and only in the folder that was asked for.

A file is first written beside its place under a name of its own, forced to the disk, and then put in place in
one step. A run that is stopped, or killed, leaves the old file or the new one, never half.
"""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
from pathlib import Path

from platekit.errors import OutputError
from platekit.errors import printable as printable

LONGEST_NAME = 200
"""Longest file name, bytes of UTF-8; file systems take 255, the rest is room for endings. Common practice."""

FORBIDDEN = frozenset('<>:"/\\|?*')
"""Characters that Windows refuses in a file name; refused everywhere, so that a spec works anywhere."""

RESERVED = frozenset(
    ["CON", "PRN", "AUX", "NUL", *(f"COM{n}" for n in range(1, 10)), *(f"LPT{n}" for n in range(1, 10))]
)
"""Names that Windows keeps for devices, with or without an ending."""

_REASONS = {
    errno.ENOSPC: "the disk is full; make room and run it again",
    errno.EDQUOT: "your share of the disk is used up; make room and run it again",
    errno.EFBIG: "the disk does not take a file that large",
    errno.EROFS: "the disk is read-only; choose another folder",
    errno.EACCES: "not allowed there, or another program has the file open; close it or use another folder",
    errno.EPERM: "writing there is not allowed; choose another folder",
    errno.ENAMETOOLONG: "the name is too long; choose a shorter one",
    errno.ENOENT: "its folder does not exist; make the folder or choose another",
    errno.ENOTDIR: "part of the path is a file, not a folder; choose another folder",
    errno.EISDIR: "a folder of that name is in the way; choose another name",
    errno.EEXIST: "a file of that name is in the way; choose another name",
    errno.EIO: "the disk reports a fault; try another one",
    errno.ELOOP: "the path runs in a circle of links; choose another folder",
}


def write_whole(path: str | os.PathLike[str], data: bytes) -> None:
    """The file at `path` holds exactly `data` afterwards; if that cannot be, it is as it was before.

    The folder must exist (see `folder_for`). A link at `path` is replaced, not followed. Raises `OutputError`
    in one sentence: disk full, not allowed, name too long.
    """
    target = Path(path)
    part = target.with_name(f".{secrets.token_hex(8)}.part") if target.name else target
    try:
        _write_new(part, data)
        os.replace(part, target)
    except (OSError, ValueError) as error:
        raise cannot_write(target, error) from error
    finally:
        with contextlib.suppress(OSError, ValueError):
            part.unlink(missing_ok=True)


def _write_new(path: Path, data: bytes) -> None:
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(path, flags, 0o666), "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def cannot_write(path: Path, error: OSError | ValueError) -> OutputError:
    """The error that says in one sentence why `path` could not be written, and what would do."""
    if isinstance(error, OSError):
        reason = _REASONS.get(error.errno or 0, (error.strerror or str(error)).lower())
    else:
        reason = "the name holds a character that no file name may have; choose another name"
    return OutputError(f"{printable(str(path))} was not written: {reason}")


def folder_for(path: str | os.PathLike[str]) -> Path:
    """The folder at `path`, made with its parents if it was not there; `OutputError` if that cannot be."""
    folder = Path(path)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise cannot_write(folder, error) from error
    return folder


def folder_in(out: str | os.PathLike[str], name: str) -> Path:
    """The folder `name` directly in `out`, made with its parents if it was not there.

    Raises `OutputError` if the name cannot be a file's, if it cannot be made, or if a link of that name leads out of
    `out`: nothing is ever written elsewhere.
    """
    folder = folder_for(file_in(out, name))
    if folder.resolve().parent != Path(out).resolve():
        text = printable(str(folder))
        raise OutputError(f"{text} was not written: a link leads out of the folder asked for; take the link away")
    return folder


def file_in(folder: str | os.PathLike[str], name: str) -> Path:
    """The path of the file `name` directly in `folder`; `OutputError` if the name would lead out of it.

    The name is one that Linux, Windows and macOS all take: no slash, no colon, no device name, at most
    `LONGEST_NAME` bytes.

    >>> file_in("output", "mixer.svg").name
    'mixer.svg'
    """
    trouble = _name_trouble(name)
    if trouble:
        raise OutputError(f'"{printable(name)}" cannot be a file name: {trouble}; rename the spec')
    return Path(folder) / name


def _name_trouble(name: str) -> str | None:
    if not name.strip(". "):
        return "it has no letters"
    if len(name.encode("utf-8", "surrogateescape")) > LONGEST_NAME:
        return f"it is longer than {LONGEST_NAME} bytes"
    bad = sorted({char for char in name if char in FORBIDDEN or not char.isprintable()})
    if bad:
        return f"it holds {' '.join(printable(char) for char in bad)}"
    if name.split(".")[0].rstrip().upper() in RESERVED:
        return "Windows keeps that name for a device"
    if name[-1] in ". ":
        return "it ends in a dot or a space"
    return None


def remove(path: str | os.PathLike[str]) -> bool:
    """Takes away a file that an earlier run left; True if there was one.

    Raises `OutputError` if it cannot be removed. A drawing of an older state must not lie beside papers that
    say NOT FOR CUTTING.
    """
    try:
        Path(path).unlink()
    except FileNotFoundError:
        return False
    except (OSError, ValueError) as error:
        text = printable(str(path))
        raise OutputError(f"{text} is out of date and could not be removed; take it away by hand") from error
    return True
