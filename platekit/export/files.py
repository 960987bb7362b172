"""Writing files so that each appears whole or not at all, and only in the folder that was asked for.

A file is first written beside its place under a name of its own, forced to the disk, and then put in place in
one step. A run that is stopped, or killed, leaves the old file or the new one, never half. One run at a time writes in
a folder (`one_writer`); what a killed one left beside the files is cleared by the next.
"""

from __future__ import annotations

import codecs
import errno
import os
import stat
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from platekit.errors import OutputError
from platekit.errors import printable as printable
from platekit.export.one_writer import one_writer, part_name

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
    write_together([(Path(path), data)])


def write_new(path: str | os.PathLike[str], data: bytes) -> None:
    """The file that was not there holds exactly `data` afterwards, or is not there: never half of it.

    Raises `OutputError`, and changes nothing, if one of that name is there by now: another program may have made it
    while this one was at work, or its user answered questions.
    """
    write_together([(Path(path), data)], new=(Path(path),))


def write_together(
    files: Sequence[tuple[Path, bytes]], outdated: Iterable[Path] = (), new: Iterable[Path] = ()
) -> None:
    """Each file holds exactly its bytes afterwards, and none of the `outdated` is there any more.

    Everything is on the disk beside its place before anything is touched: a disk that is full, or a name that is taken,
    leaves all as it was. Then the outdated files go, and only when they are gone the others are put in place, in
    their order: a run that ends in between, however it ends, leaves nothing outdated beside anything new. Those of
    `new` are never written over. Raises `OutputError`.
    """
    # All folders are held in one order, whoever asks: two runs that want the same two never wait for each other
    with ExitStack() as held:
        for folder in sorted({path.parent for path, _ in files}):
            held.enter_context(one_writer(folder))
        parts: list[tuple[Path, Path]] = []
        try:
            for target, data in files:
                parts.append((target.with_name(part_name()) if target.name else target, target))
                with _told(target):
                    _written_new(parts[-1][0], data)
                    _nothing_in_the_way(target)
            # From here a killed run leaves the old set without its cut files, or the new one as far as it got: the cut
            # files come last in `files`, so that there is never one beside a paper of another state
            for path in new:
                if os.path.lexists(path):
                    raise OutputError(f"{printable(str(path))} exists already, and is left as it is")
            for path in outdated:
                remove(path)
            for part, target in parts:
                with _told(target):
                    os.replace(part, target)
        finally:
            for part, target in parts:
                if part != target:
                    with suppress(OSError, ValueError):
                        part.unlink(missing_ok=True)


def rewrite(path: str | os.PathLike[str], before: str, after: str) -> None:
    """The user's own file at `path`, which held the text `before`, holds `after`; its rights, owner and links stay.

    Raises `OutputError`, and changes nothing, if it holds anything else by now: an edit that was made since it was read
    is not written over.
    """
    target = Path(os.path.realpath(path))
    with _told(Path(path)), one_writer(target.parent):
        state = os.stat(target)
        if not stat.S_ISREG(state.st_mode):
            raise OutputError(f"{printable(str(path))} is no plain file; write the change down by hand")
        if not os.access(target, os.W_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        now = target.read_bytes()
        if now.decode("utf-8-sig", "replace") != before.removeprefix("\ufeff"):
            raise OutputError(
                f"{printable(str(path))} was changed while platekit was at work, and is left as it is; run it again"
            )
        # some editors begin a file with a mark of its encoding, and would take the file for another without it
        mark = codecs.BOM_UTF8 if now.startswith(codecs.BOM_UTF8) else b""
        part = target.with_name(part_name())
        try:
            _written_new(part, mark + after.removeprefix("\ufeff").encode(), state)
            _nothing_in_the_way(target)
            os.replace(part, target)
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)


def _written_new(path: Path, data: bytes, like: os.stat_result | None = None) -> None:
    """A new file with these bytes, forced to the disk; with rights and owner of another, if one is given."""
    # `O_EXCL` refuses a name that is there, a link included, so that nothing of anybody's is written through
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(path, flags, 0o666 if like is None else 0o600), "wb") as stream:
        stream.write(data)
        stream.flush()
        if like is not None:
            if sys.platform != "win32" and (like.st_uid, like.st_gid) != (os.getuid(), os.getgid()):
                with suppress(OSError):
                    os.chown(path, like.st_uid, like.st_gid)
            os.chmod(path, stat.S_IMODE(like.st_mode))
        # without this a power cut could leave the new name with no bytes behind it: the rename is kept before the data
        os.fsync(stream.fileno())


def _nothing_in_the_way(target: Path) -> None:
    """OSError if a file cannot be put in place there, as far as that can be known before."""
    with suppress(FileNotFoundError):
        os.lstat(target)  # a name that no disk takes; what `is_dir` says of one hangs on the version of Python
    if target.is_dir() and not target.is_symlink():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    if sys.platform == "win32" and target.is_file():
        os.close(os.open(target, os.O_RDWR))  # fails while another program has it open: then it cannot be replaced


@contextmanager
def _told(target: Path) -> Iterator[None]:
    """Within this, what the system says becomes the sentence on what could not be written."""
    try:
        yield
    except (OSError, ValueError) as error:
        raise cannot_write(target, error) from error


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
    # The spec's name comes from a file name or a person: what one of three systems refuses is refused on all, so that a
    # folder made here can be carried anywhere
    if not name.strip(". "):
        trouble = "it has no letters"
    elif len(name.encode("utf-8", "surrogateescape")) > LONGEST_NAME:
        trouble = f"it is longer than {LONGEST_NAME} bytes"
    else:
        bad = sorted({char for char in name if char in FORBIDDEN or not char.isprintable()})
        if bad:
            trouble = f"it holds {' '.join(printable(char) for char in bad)}"
        elif name.split(".")[0].rstrip().upper() in RESERVED:
            trouble = "Windows keeps that name for a device"
        elif name[-1] in ". ":
            trouble = "it ends in a dot or a space"
        else:
            trouble = None
    if trouble:
        raise OutputError(f'"{printable(name)}" cannot be a file name: {trouble}; rename the spec')
    return Path(folder) / name


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
