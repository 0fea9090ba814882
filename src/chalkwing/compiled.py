"""One way to compile a hot loop, so that every room does it alike.

Kernels are cached on disk: a second run does not compile again. The cache lies beside the source, or where
``NUMBA_CACHE_DIR`` points.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Compile ``function`` to machine code at its first call, and keep the result on disk."""
    return cast("F", numba.njit(cache=True, fastmath=False, nogil=True, error_model="numpy")(function))
