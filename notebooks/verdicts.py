"""The table that every notebook ends with: quantity, here, reference, source, difference, verdict.

`add` compares a figure of the program with one from outside, `at_most` says how far off many of them are, `holds`
whether a claim holds. `end` shows the table, writes it to `out/NAME.json` beside the notebooks, and raises when a
verdict fails, so that the build fails with it.
"""

import json
import math
from pathlib import Path

OUT = Path(__file__).parent / "out"


class Verdicts:
    def __init__(self, notebook):
        self.notebook = notebook
        self.rows = []

    def add(self, quantity, here, reference, source, *, within, relative=False):
        """A figure of the program against one from outside, which it must meet within a difference (or a share of it)."""
        difference = here - reference
        allowed = within * abs(reference) if relative else within
        good = math.isfinite(difference) and abs(difference) <= allowed
        asked = f"within {within:.3g}{' of it' if relative else ''}"
        self._row(quantity, float(here), float(reference), source, float(difference), asked, good)

    def at_most(self, quantity, here, bound, source):
        """How far the program is from what `source` says, and how far it may be."""
        self.holds(quantity, float(here), f"at most {bound:g}", source, math.isfinite(here) and here <= bound)

    def holds(self, quantity, here, asked, source, good):
        """A figure of the program, what is asked of it in words, and whether that holds."""
        self._row(quantity, here, None, source, None, asked, bool(good))

    def _row(self, quantity, here, reference, source, difference, asked, good):
        keys = ("quantity", "here", "reference", "source", "difference", "asked", "verdict")
        verdict = "agrees" if good else "FAILS"
        self.rows.append(dict(zip(keys, (quantity, here, reference, source, difference, asked, verdict))))

    def end(self):
        """Shows and writes the table; raises when anything in it fails."""
        OUT.mkdir(exist_ok=True)
        (OUT / f"{self.notebook}.json").write_text(json.dumps(self.rows, indent=1, ensure_ascii=False) + "\n")
        for row in self.rows:
            print(" | ".join(_shown(v) for v in row.values()))
        failed = [r["quantity"] for r in self.rows if r["verdict"] != "agrees"]
        if failed:
            raise AssertionError(f"{self.notebook}: {len(failed)} of {len(self.rows)} fail: {', '.join(failed)}")


def _shown(value):
    if value is None:
        return ""
    return f"{value:.6g}" if isinstance(value, float) else str(value)
