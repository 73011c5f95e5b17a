"""What it means when a disk refuses to keep a file, and what to do about it."""

from __future__ import annotations

import errno
from typing import Final

_ADVICE: Final = {
    errno.ENOENT: "a folder of its path is not there; make it, or name another",
    errno.ENOTDIR: "a part of its path is no folder; name another place",
    errno.EISDIR: "it is a folder; name a file in it",
    errno.EEXIST: "it is there already; name another, or move it away",
    errno.EACCES: "nothing may be written there; name a file in a folder that is yours",
    errno.EPERM: "nothing may be written there; name a file in a folder that is yours",
    errno.EROFS: "that disk can only be read; name a place on another",
    errno.ENOSPC: "make room on the disk, then give the same command again",
    errno.EDQUOT: "your share of the disk is used up; make room on the disk, then give the same command again",
    errno.EFBIG: "files may not become so large there (see 'ulimit -f'); raise that, make room on the disk, or name a "
    "place on another",
    errno.ENAMETOOLONG: "give it a shorter name",
    errno.ELOOP: "its links lead in a circle; name the file itself",
    errno.EIO: "the disk fails; look after it, or name a place on another",
}
_OTHERWISE: Final = "name a file in a folder that is there and is yours"


def advice_for(error: OSError) -> str:
    """What to do about it, without a full stop."""
    return _ADVICE.get(error.errno or 0, _OTHERWISE)


def why(error: OSError) -> str:
    """The system's own words for it, in small letters."""
    return (error.strerror or str(error)).lower()
