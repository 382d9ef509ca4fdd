"""A logbook that lives as long as a notebook: the program asked by its command line, its answers read as JSON.

book = Logbook(table, ...)      imports the tables
book.ask("fit", "--seed", 1)    what `doughwright fit --seed 1 --json` answers
"""

import json
import subprocess
import tempfile
from pathlib import Path

from program import BINARY

DEMO = Path(__file__).parents[1] / "demo-data"
DATASETS = Path(__file__).parents[1] / "datasets"


class Logbook:
    def __init__(self, *tables):
        self._kept = tempfile.TemporaryDirectory()
        self.folder = Path(self._kept.name)
        self.file = self.folder / "logbook.db"
        self.imported = self.ask("import", *tables) if tables else None

    def ask(self, *words):
        """The answer to a command; raises with the program's own words when it fails."""
        call = [str(BINARY), "--logbook", str(self.file), "--json", *map(str, words)]
        # Charts land in the folder of the logbook unless told otherwise.
        done = subprocess.run(call, capture_output=True, text=True, cwd=self.folder)
        if done.returncode != 0:
            raise RuntimeError(f"{' '.join(map(str, words))}: exit code {done.returncode}\n{done.stdout}{done.stderr}")
        return json.loads(done.stdout)

    def say(self, *words):
        """The same command as a baker reads it."""
        call = [str(BINARY), "--logbook", str(self.file), *map(str, words)]
        return subprocess.run(call, capture_output=True, text=True, check=True, cwd=self.folder).stdout
