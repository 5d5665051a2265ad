"""The program in terminals of its own, each forked from one process that has loaded Textual and the engine, and nothing of the screen.

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
import socket
import subprocess
import sys
import termios
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import import_module
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
    """`hearthcalc` with arguments, as pexpect has a program that it started itself."""

    def __init__(
        self,
        arguments: Sequence[str],
        env: Mapping[str, str],
        cwd: str,
        dimensions: tuple[int, int],
        timeout: float,
    ) -> None:
        super().__init__("hearthcalc", [*arguments], env=env, cwd=cwd, dimensions=dimensions, timeout=timeout)

    def _spawn(
        self, command: str, args: Sequence[str] = (), preexec_fn: object = None, dimensions: Any = None
    ) -> None:
        ours, theirs = pty.openpty()
        termios.tcsetwinsize(theirs, dimensions)
        order = json.dumps([args, dict(self.env), self.cwd]).encode()
        link = _server()
        socket.send_fds(link, [order], [theirs])
        os.close(theirs)
        self.ptyproc = ptyprocess.PtyProcess(int(link.recv(MOST)), ours)
        self.ptyproc.delayafterclose = 0.01  # seconds; most have ended by then
        self.name = f"<{command}>"
        self.pid, self.child_fd = self.ptyproc.pid, self.ptyproc.fd
        self.terminated = self.closed = False


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
        order, terminals, *_ = socket.recv_fds(link, MOST, 1)
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
            return _program(terminals[0], *json.loads(order))
        os.close(write)
        os.close(terminals[0])
        os.waitpid(between, 0)  # only now is the program the child of who asked for it
        link.send(os.read(read, 32))
        os.close(read)


def _program(terminal: int, arguments: list[str], environment: dict[str, str], folder: str) -> int:
    os.setsid()
    fcntl.ioctl(terminal, termios.TIOCSCTTY, 0)
    for standard in range(3):
        os.dup2(terminal, standard)
    os.close(terminal)
    sys.stdout.reconfigure(line_buffering=True)  # as Python has it on a terminal
    os.environ.clear()
    os.environ.update(environment)
    os.chdir(folder)
    sys.argv = ["hearthcalc", *arguments]
    from hearthcalc_tui.launch import main

    return main()


if __name__ == "__main__":
    sys.exit(serve(socket.socket(fileno=int(sys.argv[1]))))
