"""Runs a program and says what it took: seconds on the wall, of the processor, and the most memory held.

Processor seconds are user and system time of that process alone, and hardly hang on what else the machine does. Memory is the
largest resident set, in MB (wait4(2) on Linux tells it in KiB). The examples are ../target/release/examples, beside the program.
"""

import os
import subprocess
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from program import BINARY

EXAMPLES = Path(BINARY).parent / "examples"


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
        _, status, usage = os.wait4(process.pid, 0)
        seconds = time.perf_counter() - begun
        process.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        errors.seek(0)
        if process.returncode not in good:
            raise RuntimeError(f"{words}: exit code {process.returncode}\n{out.read()}{errors.read()}")
        return Run(out.read(), seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def example(name, *words):
    """The run of one of the project's examples (`cargo build --release --examples`)."""
    return timed(EXAMPLES / name, *words)
