"""One way to compile a hot loop, so that every room does it alike.

Kernels are cached on disk: a second run does not compile again. The cache lies beside the source, or where
``NUMBA_CACHE_DIR`` points.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

import numba
from numba.extending import register_jitable

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Compile ``function`` to machine code at its first call, and keep the result on disk."""
    return cast("F", numba.njit(cache=True, fastmath=False, nogil=True, error_model="numpy")(function))


def compilable(function: F) -> F:
    """Leave ``function`` plain Python, for numbers and arrays alike, and let compiled kernels call it too.

    A formula is so written once and used in both worlds. The disk cache of a kernel does not notice when a
    formula it calls in another file changes: after such a change, delete ``__pycache__`` beside the kernel.
    """
    return cast("F", register_jitable(function))
