"""Runs every notebook from clean in a virtual environment of its own, and checks the page made from their tables.

    python3.11 run.py [FOLDER]      the environment's folder; .venv beside this file unless told

The environment is made from requirements.txt where FOLDER holds none that fits it. Each notebook is run by nbclient
(`jupyter execute`), in the order of their names; what it shows is not kept. Stops at the first that fails, that is
committed with outputs, or that leaves no table of verdicts.
"""

import json
import os
import subprocess
import sys
import time
import venv
from pathlib import Path

HERE = Path(__file__).parent
WANTED = HERE / "requirements.txt"


def environment(folder):
    """The folder of programs of a virtual environment with the wanted packages."""
    programs, made_from = folder / "bin", folder / "made-from.txt"
    if not made_from.exists() or made_from.read_text() != WANTED.read_text():
        venv.create(folder, clear=True, with_pip=True)
        pip = [programs / "python", "-m", "pip", "--disable-pip-version-check", "install", "--quiet"]
        subprocess.run([*pip, "--requirement", WANTED], check=True)
        made_from.write_text(WANTED.read_text())
    return programs


def stripped(notebook):
    """Whether a notebook holds nothing that a run has left."""
    cells = json.loads(notebook.read_text())["cells"]
    return not any(c.get("outputs") or c.get("execution_count") for c in cells)


def run(notebook, programs):
    """Seconds that a notebook took, and how many verdicts it gave."""
    if not stripped(notebook):
        sys.exit(f"{notebook.name} holds outputs: clear them before it is committed")
    table = HERE / "out" / f"{notebook.stem}.json"
    table.unlink(missing_ok=True)
    begun = time.monotonic()
    found = {"PATH": f"{programs}{os.pathsep}{os.environ['PATH']}"}
    call = [programs / "jupyter-execute", "--kernel_name=python3", notebook.name]
    if subprocess.run(call, cwd=HERE, env=os.environ | found).returncode != 0:
        sys.exit(f"{notebook.name} failed: see above")
    if not table.exists():
        sys.exit(f'{notebook.name} left no table: end it with Verdicts("{notebook.stem}").end()')
    return time.monotonic() - begun, len(json.loads(table.read_text()))


def main(folder=HERE / ".venv"):
    begun = time.monotonic()
    programs = environment(Path(folder).absolute())
    print(f"{'environment':24}{time.monotonic() - begun:7.1f} s", flush=True)
    for notebook in sorted(HERE.glob("*.ipynb")):
        seconds, verdicts = run(notebook, programs)
        print(f"{notebook.stem:24}{seconds:7.1f} s, {verdicts} verdicts agree", flush=True)
    subprocess.run([programs / "python", HERE / "validation.py", "--check"], check=True)
    print(f"{'in all':24}{time.monotonic() - begun:7.1f} s")


if __name__ == "__main__":
    main(*sys.argv[1:])
