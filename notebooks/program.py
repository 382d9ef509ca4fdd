"""The program's own fit of a table, by its command line: `import` into a logbook of its own, then `fit`.

The program is ../target/release/doughwright, or what the environment's DOUGHWRIGHT names.
"""

import json
import os
import subprocess
import tempfile
from pathlib import Path

BINARY = os.environ.get("DOUGHWRIGHT", Path(__file__).parents[1] / "target" / "release" / "doughwright")


def fit(table, warmup=1000, draws=1000, seed=1):
    """What `fit --method full --json` says of a table's batches, four chains."""
    with tempfile.TemporaryDirectory() as folder:
        def run(*words):
            call = [str(BINARY), "--logbook", str(Path(folder) / "logbook.db"), "--json", *map(str, words)]
            return json.loads(subprocess.run(call, check=True, capture_output=True, text=True).stdout)

        run("import", table)
        return run("fit", "--method", "full", "--chains", 4, "--warmup", warmup, "--draws", draws, "--seed", seed)
