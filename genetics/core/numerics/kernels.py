"""Kernels that numba compiles when a large register first needs them.

    @compiled
    def kernel(sires, dams): ...

    kernel(sires, dams)          # machine code; the first call ever waits for the compiler
    kernel.plain(sires, dams)    # the same function as Python, for small herds and small tests

Numba is imported by the first call and no sooner, so that a herd of some hundreds never waits for
it: a caller picks `plain` below a size that it states. Where numba cannot be imported (it has no
wheel for Intel Macs and for Windows on ARM) a call runs the plain function: slower, same figures.

Machine code is kept for the next start in folders that only their owner may enter, since loading
it runs it: below HERDBOOK_HOME where that is set, else in the user's own cache. The name of a
kernel's folder holds a digest of all that its code rests on (its file and those of the kernels it
calls, constants, numba, Python), so that an edited file discards what it touches and no more; the
kernel's folders of other digests are removed. Kernels do not run in parallel: numba's threads end
the program where two of the server's threads use them.
"""

from __future__ import annotations

import functools
import hashlib
import importlib.metadata
import importlib.util
import logging
import os
import pickle
import re
import shutil
import stat
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any, Generic, ParamSpec, TypeVar, cast

import numpy as np

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
        folder = cache_folder(self.written) if keep else None
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
    """Remove what this source has kept, so that the next start begins it again."""
    if _numba() is not None:
        for folder in _base().glob(f"{_source()}-*"):
            shutil.rmtree(folder, ignore_errors=True)


def cache_folder(kernel: FunctionType) -> Path | None:
    """The folder of a kernel's machine code, private; None where there can be none.

    Folders that earlier versions of the same kernel left are removed.
    """
    base, name = _base(), f"{_source()}-{_name(kernel)}"
    folder = base / f"{name}-{digest(kernel)}"
    try:
        _make_private(base)
        for older in base.glob(f"{name}-*"):
            if older != folder:
                shutil.rmtree(older, ignore_errors=True)
        _make_private(folder)
    except OSError as error:
        _log.warning("Compiled code cannot be kept in %s (%s).", folder, error)
        return None
    return folder


def is_kept(kernel: Kernel[..., Any]) -> bool:
    """Whether a kernel's machine code lies there to be loaded; numba is not imported for this."""
    if not installed():
        return False
    name = f"{_source()}-{_name(kernel.written)}-{digest(kernel.written)}"
    return any((_base() / name).rglob("*.nbc"))


def _source() -> str:
    """A mark of where this copy of the core lies."""
    return hashlib.sha256(str(CORE).encode()).hexdigest()[:12]


def _name(function: FunctionType) -> str:
    """Of a kernel, for a folder: letters, digits, underscores and points, but no hyphen."""
    return re.sub(r"[^\w.]", "_", f"{function.__module__}.{function.__qualname__}")


def digest(kernel: FunctionType) -> str:
    """A mark of all that a kernel's machine code rests on: the files of it and of the kernels it
    calls, the constants and named tuples that these name, numba and Python."""
    reached: dict[str, FunctionType] = {}
    left = [kernel]
    while left:
        function = left.pop()
        if _name(function) not in reached:
            reached[_name(function)] = function
            named = _named(function).values()
            left += [one.written for one in named if isinstance(one, Kernel)]
    parts = {f"{importlib.metadata.version('numba')} {sys.version}".encode()}
    for function in reached.values():
        parts.add(_content(function.__code__.co_filename))
        parts.update(name.encode() + _plain(one) for name, one in _named(function).items())
    marks = sorted(hashlib.sha256(part).digest() for part in parts)
    return hashlib.sha256(b"".join(marks)).hexdigest()[:32]


def _named(function: FunctionType) -> dict[str, object]:
    """The global values that a function and its annotations name, by name."""
    codes, names = [function.__code__], [*function.__annotations__.values()]
    while codes:
        code = codes.pop()
        names += code.co_names
        codes += [one for one in code.co_consts if isinstance(one, CodeType)]
    known = function.__globals__
    return {name: known[name] for name in names if isinstance(name, str) and name in known}


def _plain(value: object) -> bytes:
    """A constant, or the fields of a named tuple and of those within it, as bytes; nothing of
    what the content of a file holds."""
    if isinstance(value, np.ndarray):
        return f"{value.dtype} {value.shape} ".encode() + value.tobytes()
    if isinstance(value, bool | int | float | str | tuple):
        return repr(value).encode()
    if isinstance(value, type) and issubclass(value, tuple):
        fields = {
            name: getattr(kind, "__forward_arg__", str(kind))
            for name, kind in value.__annotations__.items()
        }
        known = vars(sys.modules[value.__module__])
        return repr(fields).encode() + b"".join(_plain(known.get(one)) for one in fields.values())
    return b""


@functools.cache
def _content(file: str) -> bytes:
    return Path(file).read_bytes()


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
