"""What a worker process may no longer do, by whatever means the system offers.

`confine` is called once in a fresh worker, before it sees any byte of a saved file. Each measure
stands alone and says whether it holds; a system that lacks one still has the others:

- resource limits (POSIX): memory, file size, open files, no core dumps
- death with the parent (Linux prctl)
- a network namespace with nothing in it (Linux unshare)
- Landlock (Linux 5.13 and later): reads only code and the given folders, writes only scratch
- a seccomp filter (Linux, x86-64 and arm64): no sockets, no new programs, no tracing
- an audit hook (Python, PEP 578): the same again for Python code, as a net below

Constants are those of the Linux UAPI headers (landlock.h, seccomp.h, filter.h, prctl.h, sched.h).
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import platform
import struct
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

MB = 1 << 20


def confine(readable: Sequence[str], scratch: str, memory_mb: int) -> dict[str, bool]:
    """Give up all rights that reading saved files does not need; says which measures hold."""
    linux = sys.platform == "linux"
    return {
        "limits": _holds(lambda: _limit_resources(memory_mb)),
        "parent": linux and _holds(_die_with_parent),
        "network": linux and _holds(_leave_network),
        "landlock": linux and _holds(lambda: _landlock(readable, scratch)),
        "seccomp": linux and _holds(_seccomp),
        "audit": _holds(lambda: _audit(scratch)),
    }


def _holds(measure: Callable[[], None]) -> bool:
    try:
        measure()
    except (OSError, ImportError, AttributeError, ValueError):
        return False
    return True


# --- resource limits -------------------------------------------------------------------------


def _limit_resources(memory_mb: int) -> None:
    import resource

    # private writable memory; address space would count every mapped library as well
    kind = resource.RLIMIT_DATA if sys.platform == "linux" else resource.RLIMIT_AS
    _lower(resource, kind, memory_mb * MB)
    _lower(resource, resource.RLIMIT_FSIZE, 64 * MB)
    _lower(resource, resource.RLIMIT_NOFILE, 256)
    _lower(resource, resource.RLIMIT_CORE, 0)


def _lower(resource: Any, kind: int, value: int) -> None:
    hard = resource.getrlimit(kind)[1]
    value = value if hard == resource.RLIM_INFINITY else min(value, hard)
    resource.setrlimit(kind, (value, value))


def allow_cpu_seconds(seconds: float) -> None:
    """Let the process die of itself if it computes so much longer, parent or no parent."""
    try:
        import resource
    except ImportError:
        return
    used = resource.getrusage(resource.RUSAGE_SELF)
    soft = int(used.ru_utime + used.ru_stime + seconds) + 5
    hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CPU, (soft, hard))


# --- Linux: prctl and namespaces -------------------------------------------------------------

_PR_SET_PDEATHSIG, _PR_SET_SECCOMP, _PR_SET_NO_NEW_PRIVS = 1, 22, 38
_SIGKILL = 9
_CLONE_NEWUSER, _CLONE_NEWNET = 0x10000000, 0x40000000


def _libc() -> Any:
    return ctypes.CDLL(None, use_errno=True)


def _checked(result: int) -> int:
    if result < 0:
        number = ctypes.get_errno()
        raise OSError(number, os.strerror(number))
    return result


def _die_with_parent() -> None:
    parent = os.getppid()
    _checked(_libc().prctl(_PR_SET_PDEATHSIG, _SIGKILL, 0, 0, 0))
    if os.getppid() != parent:  # it died in between
        os._exit(1)


def _leave_network() -> None:
    """Enter an empty network namespace; without privilege that takes a user namespace too."""
    libc = _libc()
    if libc.unshare(_CLONE_NEWNET) != 0:
        _checked(libc.unshare(_CLONE_NEWUSER | _CLONE_NEWNET))


# --- Linux: Landlock -------------------------------------------------------------------------

_LANDLOCK_CREATE, _LANDLOCK_ADD, _LANDLOCK_SELF = 444, 445, 446  # the same on all architectures
_EXECUTE, _WRITE_FILE, _READ_FILE, _READ_DIR = 1 << 0, 1 << 1, 1 << 2, 1 << 3
_FILE_RIGHTS_BY_ABI = {1: (1 << 13) - 1, 2: (1 << 14) - 1, 3: (1 << 15) - 1, 5: (1 << 16) - 1}
_NET_BIND_CONNECT = 0b11
_READ = _READ_FILE | _READ_DIR
_ON_FILES = _EXECUTE | _WRITE_FILE | _READ_FILE | 1 << 14 | 1 << 15  # rights a plain file can have


def _landlock(readable: Sequence[str], scratch: str) -> None:
    libc = _libc()
    abi = _checked(libc.syscall(_LANDLOCK_CREATE, None, ctypes.c_size_t(0), ctypes.c_uint(1)))
    handled = _FILE_RIGHTS_BY_ABI[max(n for n in _FILE_RIGHTS_BY_ABI if n <= abi)]
    attributes = struct.pack("QQ", handled, _NET_BIND_CONNECT if abi >= 4 else 0)
    size = len(attributes) if abi >= 4 else 8
    ruleset = _checked(
        libc.syscall(_LANDLOCK_CREATE, attributes, ctypes.c_size_t(size), ctypes.c_uint(0))
    )
    try:
        for path in (*_code_paths(), *readable):
            _allow(libc, ruleset, path, _READ & handled)
        for path in ("/dev/null", "/dev/zero", "/dev/urandom"):
            _allow(libc, ruleset, path, (_READ | _WRITE_FILE) & handled)
        _allow(libc, ruleset, scratch, handled & ~_EXECUTE)
        _checked(libc.prctl(_PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0))
        _checked(libc.syscall(_LANDLOCK_SELF, ctypes.c_int(ruleset), ctypes.c_uint(0)))
    finally:
        os.close(ruleset)


def _allow(libc: Any, ruleset: int, path: str, rights: int) -> None:
    try:
        number = os.open(path, os.O_PATH | os.O_CLOEXEC)
    except OSError:
        return  # not on this system
    try:
        if not os.path.isdir(path):
            rights &= _ON_FILES
        rule = struct.pack("=Qi", rights, number)
        _checked(
            libc.syscall(
                _LANDLOCK_ADD, ctypes.c_int(ruleset), ctypes.c_int(1), rule, ctypes.c_uint(0)
            )
        )
    finally:
        os.close(number)


def _code_paths() -> Iterable[str]:
    """Where Python, its packages and the system libraries lie."""
    system = ("/usr", "/lib", "/lib64", "/bin", "/opt", "/nix/store", "/etc")
    about = ("/proc/self", "/proc/cpuinfo", "/proc/meminfo", "/proc/stat", "/sys/devices/system")
    own = {os.path.realpath(p) for p in (sys.prefix, sys.base_prefix, sys.exec_prefix)}
    path = {os.path.realpath(p) for p in sys.path if p}
    return (*system, *about, *sorted(own | path), *sorted(_mapped()))


def _mapped() -> set[str]:
    """The folders of libraries that are loaded already, wherever the system keeps them."""
    with open("/proc/self/maps", encoding="utf-8", errors="replace") as maps:
        files = (line.split(maxsplit=5)[-1].strip() for line in maps)
        return {os.path.dirname(f) for f in files if f.startswith("/") and ".so" in f}


# --- Linux: seccomp --------------------------------------------------------------------------

# names -> (x86-64, arm64) numbers, from the kernel's syscall tables; None where there is none
_REFUSED: Mapping[str, tuple[int | None, int | None]] = {
    "socket": (41, 198),
    "socketpair": (53, 199),
    "connect": (42, 203),
    "bind": (49, 200),
    "listen": (50, 201),
    "execve": (59, 221),
    "execveat": (322, 281),
    "fork": (57, None),
    "vfork": (58, None),
    "ptrace": (101, 117),
    "process_vm_readv": (310, 270),
    "process_vm_writev": (311, 271),
    "kill": (62, 129),
    "tkill": (200, 130),
    "pidfd_open": (434, 434),
    "pidfd_getfd": (438, 438),
    "mount": (165, 40),
    "umount2": (166, 39),
    "pivot_root": (155, 41),
    "chroot": (161, 51),
    "unshare": (272, 97),
    "setns": (308, 268),
    "bpf": (321, 280),
    "perf_event_open": (298, 241),
    "userfaultfd": (323, 282),
    "keyctl": (250, 219),
    "add_key": (248, 217),
    "request_key": (249, 218),
    "io_uring_setup": (425, 425),
    "init_module": (175, 105),
    "finit_module": (313, 273),
    "kexec_load": (246, 104),
    "reboot": (169, 142),
    "mknod": (133, None),
    "mknodat": (259, 33),
}
_MACHINES = {"x86_64": (0, 0xC000003E, 56), "aarch64": (1, 0xC00000B7, 220)}  # column, arch, clone
_CLONE3 = 435
_CLONE_THREAD = 0x00010000
_LOAD, _EQUAL, _AT_LEAST, _ANY_BIT, _RETURN = 0x20, 0x15, 0x35, 0x45, 0x06
_ALLOW, _KILL, _EPERM, _ENOSYS = 0x7FFF0000, 0x80000000, 0x00050001, 0x00050026
_NUMBER, _ARCH, _ARGUMENT0 = 0, 4, 16
_X32_BIT = 0x40000000


def _seccomp() -> None:
    """Install the filter: refused calls fail with EPERM; new threads stay possible."""
    if platform.machine() not in _MACHINES or sys.maxsize < 2**32:
        raise OSError("no table for this machine")
    program = _program(*_MACHINES[platform.machine()])
    code = ctypes.create_string_buffer(b"".join(struct.pack("=HBBI", *i) for i in program))
    header = struct.pack("@HP", len(program), ctypes.addressof(code))
    libc = _libc()
    _checked(libc.prctl(_PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0))
    _checked(libc.prctl(_PR_SET_SECCOMP, 2, header, 0, 0))


def _program(column: int, arch: int, clone: int) -> list[tuple[int, int, int, int]]:
    """Write the filter as classic BPF: (code, jump if true, jump if false, constant)."""
    refused = [n[column] for n in _REFUSED.values() if n[column] is not None]
    program = [
        (_LOAD, 0, 0, _ARCH),
        (_EQUAL, 1, 0, arch),
        (_RETURN, 0, 0, _KILL),
        (_LOAD, 0, 0, _NUMBER),
        (_AT_LEAST, 0, 1, _X32_BIT),
        (_RETURN, 0, 0, _EPERM),
        (_EQUAL, 0, 1, _CLONE3),
        (_RETURN, 0, 0, _ENOSYS),  # the C library then falls back to clone, whose flags we see
    ]
    for number in refused:
        program += [(_EQUAL, 0, 1, number or 0), (_RETURN, 0, 0, _EPERM)]
    return [
        *program,
        (_EQUAL, 0, 3, clone),
        (_LOAD, 0, 0, _ARGUMENT0),
        (_ANY_BIT, 1, 0, _CLONE_THREAD),
        (_RETURN, 0, 0, _EPERM),
        (_RETURN, 0, 0, _ALLOW),
    ]


# --- Python: audit hook ----------------------------------------------------------------------

_FORBIDDEN = (
    "socket.",
    "subprocess.",
    "os.system",
    "os.exec",
    "os.fork",
    "os.posix_spawn",
    "os.spawn",
    "os.startfile",
    "os.kill",
    "os.chmod",
    "os.chown",
    "os.link",
    "os.symlink",
    "ftplib.",
    "http.client.",
    "smtplib.",
    "urllib.Request",
    "webbrowser.",
    "winreg.",
)
_CHANGES = ("os.remove", "os.rename", "os.rmdir", "os.mkdir", "os.truncate", "shutil.")
_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND


def _audit(scratch: str) -> None:
    inside = os.path.realpath(scratch) + os.sep

    def hook(event: str, arguments: tuple[Any, ...]) -> None:
        if event == "open":
            path, _, flags = arguments
            if isinstance(flags, int) and flags & _WRITING and not _may_write(path, inside):
                raise PermissionError("a worker writes only to its scratch folder")
        elif event.startswith(_FORBIDDEN):
            raise PermissionError(f"a worker may not use {event}")
        elif event.startswith(_CHANGES) and not _may_write(arguments[0], inside):
            raise PermissionError("a worker changes nothing outside its scratch folder")

    sys.addaudithook(hook)


def _may_write(path: object, inside: str) -> bool:
    if isinstance(path, int) or path is None:
        return True  # an open file
    text = os.fsdecode(path) if isinstance(path, str | bytes | os.PathLike) else ""
    return text == os.devnull or os.path.realpath(text).startswith(inside)
