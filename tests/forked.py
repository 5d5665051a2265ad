"""The program in terminals of its own or without one, forked from a process that has loaded Textual and the engine, and no screen.

The engine has judged a house by then. A start reads its settings, its terminal and its environment as any does; it is spared a second of
loading.
"""

import atexit
import ctypes
import fcntl
import gc
import json
import os
import pty
import select
import signal
import socket
import subprocess
import sys
import termios
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any

import pexpect
from pexpect.pty_spawn import ptyprocess

from hearthcalc import jobfile, reference
from hearthcalc.assess import assess, assess_models

MOST = 1 << 17  # bytes of one order
LOADED = (
    "textual.app", "textual.command", "textual.drivers.linux_driver", "textual.widgets.option_list", "tomlkit",
    "hearthcalc.assess", "hearthcalc.coverage", "hearthcalc.jobfile",
)  # fmt: skip
SUBREAPER = 36  # PR_SET_CHILD_SUBREAPER of <linux/prctl.h>


class Program(pexpect.spawn):
    """`hearthcalc` with arguments, as pexpect has a program that it started itself.

    changed: code that runs first, and makes a part of it fail.
    """

    def __init__(
        self,
        arguments: Sequence[str],
        env: Mapping[str, str],
        cwd: str,
        dimensions: tuple[int, int],
        timeout: float,
        changed: str = "",
    ) -> None:
        self.changed = changed
        super().__init__("hearthcalc", [*arguments], env=env, cwd=cwd, dimensions=dimensions, timeout=timeout)

    def _spawn(
        self, command: str, args: Sequence[str] = (), preexec_fn: object = None, dimensions: Any = None
    ) -> None:
        ours, theirs = pty.openpty()
        termios.tcsetwinsize(theirs, dimensions)
        pid = _ordered(args, self.env, self.cwd, theirs, changed=self.changed)
        os.close(theirs)
        self.ptyproc = ptyprocess.PtyProcess(pid, ours)
        self.ptyproc.delayafterclose = 0.01  # seconds; most have ended by then
        self.name = f"<{command}>"
        self.pid, self.child_fd = self.ptyproc.pid, self.ptyproc.fd
        self.terminated = self.closed = False


def run(arguments: Sequence[str], *, input: bytes = b"", stdout: int = -1) -> tuple[int, bytes, bytes]:
    """Exit code, output and errors of the program without a terminal: it reads a pipe and writes into files.

    input: as much as a pipe takes at once.  stdout: where the output goes that is not wanted here.
    """
    read, write = os.pipe()
    os.write(write, input)
    os.close(write)
    with TemporaryFile() as out, TemporaryFile() as err:
        pid = _ordered(
            arguments, os.environ, str(Path.cwd()), read, out.fileno() if stdout < 0 else stdout, err.fileno()
        )
        os.close(read)
        ended = os.pidfd_open(pid)
        if not select.select([ended], [], [], 60)[0]:
            os.kill(pid, signal.SIGKILL)
        os.close(ended)
        code = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
        out.seek(0)
        err.seek(0)
        return code, out.read(), err.read()


def _ordered(
    arguments: Sequence[str], environment: Mapping[str, str], folder: str, *streams: int, changed: str = ""
) -> int:
    """The number of a program that has been forked: with one terminal, or with three streams."""
    link = _server()
    socket.send_fds(link, [json.dumps([arguments, dict(environment), folder, changed]).encode()], streams)
    return int(link.recv(MOST))


@cache
def _server() -> socket.socket:
    """The line to the process that forks. The programs are children of this one: it reaps what has lost its parent."""
    ctypes.CDLL(None).prctl(SUBREAPER, 1, 0, 0, 0)
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    # Pipes: Python would take its place in a file for that in a terminal.
    server = subprocess.Popen(
        [sys.executable, __file__, str(theirs.fileno())], pass_fds=[theirs.fileno()],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONUTF8": "1"},
    )  # fmt: skip
    theirs.close()

    @atexit.register
    def close() -> None:
        ours.close()
        server.wait()

    return ours


def serve(link: socket.socket) -> int:
    """Fork a program for each order, until nobody is at the other end. The exit code of a program, in its own process."""
    for name in LOADED:
        import_module(name)
    job, edition = jobfile.parse_text(jobfile.demo("inn"), "inn"), reference.load()
    assess_models(job, edition, assess(job, edition))
    gc.freeze()
    while True:
        order, streams, *_ = socket.recv_fds(link, MOST, 3)
        if not order:
            return 0
        read, write = os.pipe()
        between = os.fork()
        if not between:
            os.close(read)
            if pid := os.fork():
                os.write(write, str(pid).encode())
                os._exit(0)
            os.close(write)
            link.close()
            return _program(streams, *json.loads(order))
        os.close(write)
        for stream in streams:
            os.close(stream)
        os.waitpid(between, 0)  # only now is the program the child of who asked for it
        link.send(os.read(read, 32))
        os.close(read)


def _program(
    streams: list[int], arguments: list[str], environment: dict[str, str], folder: str, changed: str
) -> int:
    os.setsid()
    if len(streams) == 1:
        fcntl.ioctl(streams[0], termios.TIOCSCTTY, 0)
        sys.stdout.reconfigure(line_buffering=True)  # as Python has it on a terminal
    for standard in range(3):
        os.dup2(streams[standard % len(streams)], standard)
    for stream in streams:
        os.close(stream)
    os.environ.clear()
    os.environ.update(environment)
    os.chdir(folder)
    sys.argv = ["hearthcalc", *arguments]
    exec(changed, {})
    from hearthcalc_tui.launch import main

    return main()


if __name__ == "__main__":
    sys.exit(serve(socket.socket(fileno=int(sys.argv[1]))))
