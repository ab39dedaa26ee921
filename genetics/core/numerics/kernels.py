"""Kernels that numba compiles when a large register first needs them.

    @compiled
    def kernel(sires, dams): ...

    kernel(sires, dams)          # machine code; the first call ever waits for the compiler
    kernel.plain(sires, dams)    # the same function as Python, for small herds and small tests

Numba is imported by the first call and no sooner, so that a herd of some hundreds never waits for
it: a caller picks `plain` below a size that it states. Where numba cannot be imported (it has no
wheel for Intel Macs and for Windows on ARM) a call runs the plain function: slower, same figures.

Machine code is kept for the next start in a folder that only its owner may enter, since loading
it runs it: below HERDBOOK_HOME where that is set, else in the user's own cache. Its name holds a
digest of all of the core's source, numba's version and Python's; the folders of other digests
that the same source left behind are removed. Kernels do not run in parallel: numba's threads end
the program where two of the server's threads use them.
"""

from __future__ import annotations

import functools
import hashlib
import importlib.util
import logging
import os
import pickle
import shutil
import stat
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from types import FunctionType
from typing import Any, Generic, ParamSpec, TypeVar, cast

Given = ParamSpec("Given")
Found = TypeVar("Found")

CORE = Path(__file__).resolve().parents[1]

# What a folder of machine code raises that is full, gone, another's or cut short.
_BROKEN_CACHE = (OSError, EOFError, pickle.UnpicklingError)

_log = logging.getLogger(__name__)
_making = threading.RLock()


class Kernel(Generic[Given, Found]):
    """A function on numbers and arrays: compiled when called, or `plain`.

    Kernels may call kernels of any module that names them among its own globals. What they read
    of other globals is fixed by the first call.
    """

    def __init__(self, function: Callable[Given, Found]) -> None:
        functools.update_wrapper(self, function)
        self.written = cast(FunctionType, function)
        self._machine: Callable[Given, Found] | None = None

    def __call__(self, *args: Given.args, **kwargs: Given.kwargs) -> Found:
        machine = self._machine or self.machine()
        try:
            return machine(*args, **kwargs)
        except _BROKEN_CACHE as error:  # a kernel itself opens no files
            _log.warning("Compiled code cannot be kept (%s): compiled for this start only.", error)
            _forget()
            return self._without_cache()(*args, **kwargs)

    @functools.cached_property
    def plain(self) -> Callable[Given, Found]:
        """The function as Python, and so are the kernels that it calls."""
        return cast("Callable[Given, Found]", _with_kernels(self.written, lambda one: one.plain))

    def machine(self) -> Callable[Given, Found]:
        """Numba's dispatcher, made by the first thread that asks; `plain` where numba is not."""
        with _making:
            if self._machine is None:
                self._machine = self._made(keep=True)
            return self._machine

    def _made(self, *, keep: bool) -> Callable[Given, Found]:
        numba = _numba()
        if numba is None:
            return self.plain
        called = Kernel.machine if keep else Kernel._without_cache
        function = _with_kernels(self.written, called)
        folder = cache_folder() if keep else None
        machine = numba.njit(nogil=True, error_model="numpy")(function)
        if folder is not None:
            _keep_in(folder, machine, numba)
        return cast("Callable[Given, Found]", machine)

    def _without_cache(self) -> Callable[Given, Found]:
        with _making:
            self._machine = self._made(keep=False)
            return self._machine


def compiled(function: Callable[Given, Found]) -> Kernel[Given, Found]:
    """Make a kernel of a function that numba can compile (see the head of this module)."""
    return Kernel(function)


def _with_kernels(function: FunctionType, choose: Callable[[Any], Any]) -> FunctionType:
    """The function with something chosen in the place of each kernel that it names."""
    kernels = {
        name: choose(function.__globals__[name])
        for name in function.__code__.co_names
        if isinstance(function.__globals__.get(name), Kernel)
    }
    if not kernels:
        return function
    made = FunctionType(
        function.__code__,
        function.__globals__ | kernels,
        function.__name__,
        function.__defaults__,
        function.__closure__,
    )
    functools.update_wrapper(made, function)
    return made


def available() -> bool:
    """Whether kernels are compiled here; numba is imported to find out."""
    return _numba() is not None


@functools.cache
def installed() -> bool:
    """Whether numba is there to be imported."""
    return importlib.util.find_spec("numba") is not None


@functools.cache
def _numba() -> Any:
    try:
        import numba
    except ImportError as error:
        _log.warning("numba cannot be imported (%s): large registers take longer.", error)
        return None
    return numba


def _keep_in(folder: Path, machine: Any, numba: Any) -> None:
    """Have a dispatcher look for its machine code in `folder`, and leave it there.

    Numba's setting counts while a cache is opened: it is put back, so no other user of numba in
    this process writes here.
    """
    before = numba.config.CACHE_DIR
    numba.config.CACHE_DIR = str(folder)
    try:
        machine.enable_caching()
    finally:
        numba.config.CACHE_DIR = before


def _forget() -> None:
    """Remove what is kept, so that the next start begins it anew."""
    folder = cache_folder() if _numba() is not None else None
    if folder is not None:
        shutil.rmtree(folder, ignore_errors=True)


@functools.cache
def cache_folder() -> Path | None:
    """The folder of this source's machine code, private; None where there can be none.

    Folders that earlier versions of the same source left are removed.
    """
    base = _base()
    source = hashlib.sha256(str(CORE).encode()).hexdigest()[:12]
    folder = base / f"{source}-{digest()}"
    try:
        _make_private(base)
        for older in base.glob(f"{source}-*"):
            if older != folder:
                shutil.rmtree(older, ignore_errors=True)
        _make_private(folder)
    except OSError as error:
        _log.warning("Compiled code cannot be kept in %s (%s).", folder, error)
        return None
    return folder


def digest() -> str:
    """A mark of all of the core's source, and of the numba and Python that compile it."""
    mark = hashlib.sha256(f"{_numba().__version__} {sys.version}".encode())
    for file in sorted(CORE.rglob("*.py")):
        content = file.read_bytes()
        mark.update(f"{file.relative_to(CORE).as_posix()} {len(content)} ".encode() + content)
    return mark.hexdigest()[:32]


def _base() -> Path:
    home = os.environ.get("HERDBOOK_HOME")
    if home:
        return Path(home, "compiled").absolute()
    import platformdirs

    return platformdirs.user_cache_path("herdbook", appauthor=False) / "compiled"


def _make_private(folder: Path) -> None:
    """Make the folder for its owner's eyes only. Raises OSError where it is another's."""
    folder.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    folder.mkdir(exist_ok=True, mode=0o700)
    if sys.platform == "win32":
        return  # below the user's own folders
    found = folder.lstat()
    if not stat.S_ISDIR(found.st_mode) or found.st_uid != os.geteuid():
        raise PermissionError(f"{folder} is not a folder of this user's")
    folder.chmod(0o700)
