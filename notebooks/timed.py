"""Runs a program and says what it took: seconds on the wall, of the processor, and the most memory held.

Processor seconds are user and system time of that process alone (wait4), and hang less on what else the machine does. Memory is
the largest resident set in MB, VmHWM of Linux's /proc, looked at every few milliseconds: what wait4 says of memory is never less than
what Python itself held when it started the program. The examples are ../target/release/examples, beside the program.
"""

import os
import re
import subprocess
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from program import BINARY

EXAMPLES = Path(BINARY).parent / "examples"
LOOK_EVERY_S = 0.005


@dataclass
class Run:
    said: str
    seconds: float
    processor: float
    memory_mb: float


def timed(*words, good=(0,)):
    """A command's run; raises with what it said when its exit code is none of the good ones."""
    with tempfile.TemporaryFile("w+") as out, tempfile.TemporaryFile("w+") as errors:
        begun = time.perf_counter()
        process = subprocess.Popen(list(map(str, words)), stdout=out, stderr=errors)
        memory, ended = 0.0, 0
        while not ended:
            memory = max(memory, _memory_mb(process.pid))
            time.sleep(LOOK_EVERY_S)
            ended, status, usage = os.wait4(process.pid, os.WNOHANG)
        seconds = time.perf_counter() - begun
        process.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        errors.seek(0)
        if process.returncode not in good:
            raise RuntimeError(f"{words}: exit code {process.returncode}\n{out.read()}{errors.read()}")
        return Run(out.read(), seconds, usage.ru_utime + usage.ru_stime, memory)


def _memory_mb(process):
    """The most that a process has held so far; 0 for one that has just ended."""
    found = re.search(r"VmHWM:\s+(\d+) kB", Path(f"/proc/{process}/status").read_text())
    return int(found[1]) / 1024 if found else 0.0


def example(name, *words):
    """The run of one of the project's examples (`cargo build --release --examples`)."""
    return timed(EXAMPLES / name, *words)
