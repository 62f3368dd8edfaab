"""Bounds on a process that runs plug-ins, as far as the system has them."""

from __future__ import annotations

import contextlib
import sys

MOST_BYTES = 2 << 30
"""Of memory."""
MEMORY_IS_LIMITED = sys.platform.startswith(("linux", "freebsd"))
"""macOS takes the limit and does not hold it; Windows has none of this kind."""


def limit_memory() -> None:
    """Bound the memory of this process and leave no core file, where the system can."""
    try:
        import resource
    except ImportError:
        return
    for limit, most in ((resource.RLIMIT_AS, MOST_BYTES), (resource.RLIMIT_CORE, 0)):
        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(limit, (most, most))


def limit_file_size(most_bytes: int) -> None:
    """Bound what this process may write into one file, where the system can."""
    try:
        import resource
    except ImportError:
        return
    with contextlib.suppress(OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, resource.getrlimit(resource.RLIMIT_FSIZE)[1]))
