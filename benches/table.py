"""Every bar of speed and memory in one table, each beside a reference run in the same minutes, and how each grows.

    cargo build --release --examples
    notebooks/.venv/bin/python benches/table.py [--quick]     (`notebooks/run.py` makes that environment)

References: the sqlite3 shell and R with nlme (Debian packages sqlite3, r-base-core, r-cran-nlme), Polars for Python
(benches/requirements.txt), NumPyro. One that is not installed is named and left out, with its ratio. A ratio is the
program's processor seconds over the reference's, below 1 where the program is the faster; for effective draws a second
it is the program's over NumPyro's. What the references do is less than what the program does: R fits one plain curve
with nls or nlme, Polars and sqlite3 read without any check. So ratios say how far, not how good.

--quick leaves out the largest sizes and NumPyro. Alone on the machine, the whole takes some 15 minutes.
"""

import csv
import json
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "notebooks"))

import numpy as np  # noqa: E402

from program import BINARY  # noqa: E402
from timed import example, timed  # noqa: E402

QUICK = "--quick" in sys.argv[1:]
DEMO = HERE.parent / "demo-data"
ROWS = []
GROWTH = []


def row(what, figure, bar, met, reference="", ratio=None):
    ROWS.append((what, figure, bar, {True: "yes", False: "NO", None: ""}[met], reference, "" if ratio is None else f"{ratio:.3g}"))
    print(" | ".join(map(str, ROWS[-1])), flush=True)


def grows(what, sizes, seconds):
    """Notes the exponent over all sizes and of the last step."""
    n, t = np.log(sizes), np.log(seconds)
    over_all, last = np.polyfit(n, t, 1)[0], np.polyfit(n[-2:], t[-2:], 1)[0]
    GROWTH.append((what, ", ".join(f"{s:.3g}" for s in seconds), f"{sizes[0]:,} to {sizes[-1]:,}", f"{over_all:.2f}", f"{last:.2f}"))
    print(" | ".join(GROWTH[-1]), flush=True)


def least(of, times=5):
    """The run with the least processor time of a few: what the machine does beside only adds."""
    return min((of() for _ in range(times)), key=lambda run: run.processor)


def installed(name):
    if shutil.which(name) is None:
        print(f"{name} is not installed: its ratios are left out", flush=True)
    return shutil.which(name)


def imports(folder):
    """A table of n batches into a logbook with every check; sqlite3's .import and Polars' read of the same file."""
    sizes = (100, 1_000, 10_000, 100_000) if QUICK else (100, 1_000, 10_000, 100_000, 1_000_000)
    runs = []
    for n in sizes:
        table = folder / f"many-{n}.csv"
        table.write_text(example("many_batches", n).said)
        runs.append(timed(BINARY, "--logbook", table.with_suffix(".db"), "--json", "import", table, good=(0, 3)))
    grows("import, s", sizes, [r.processor for r in runs])
    n, run = sizes[-1], runs[-1]
    row(f"import of {n:,} batches, memory", f"{run.memory_mb:.0f} MB", "below 500 MB", run.memory_mb < 500)
    if installed("sqlite3"):
        plain = timed("sqlite3", folder / "plain.db", ".mode csv", f".import {table} batches")
        row(f"import of {n:,} batches", f"{run.processor:.2f} s", "", None, f"sqlite3 .import {plain.processor:.2f} s", run.processor / plain.processor)
    try:
        read = timed(sys.executable, "-c", f"import polars; print(polars.read_csv({str(table)!r}).height)")
        row(f"import of {n:,} batches", f"{run.processor:.2f} s", "", None, f"polars.read_csv {read.processor:.2f} s", run.processor / read.processor)
    except RuntimeError:
        print("Polars is not installed: its ratio is left out", flush=True)


def gradients():
    """Log posterior with gradient, by `cargo bench`; medians of divan."""
    print("gradients: cargo bench", flush=True)
    said = subprocess.run(["cargo", "bench", "--bench", "posterior", "--", "gradient_one_rise"], cwd=HERE.parent, capture_output=True, text=True, check=True).stdout
    unit = {"ns": 1e-9, "µs": 1e-6, "ms": 1e-3, "s": 1.0}
    found = []
    for line in said.splitlines():
        # name  fastest │ slowest │ median │ mean
        if at := re.match(r"\D*(\d+)\s+([\d.]+) (\S+)\s+│ ([\d.]+) (\S+)\s+│ ([\d.]+) (\S+)", line):
            found.append((int(at[1]), float(at[6]) * unit[at[7]]))
    sizes, seconds = zip(*found)
    grows("log posterior with gradient, s", sizes, seconds)
    per_batch = max(s / n for n, s in found[:2]) * 1e6
    row("log posterior with gradient, a batch", f"{per_batch:.2f} µs", "at most 1 µs", per_batch <= 1.0)


R_PLAIN = """
d <- read.csv("{table}"); d <- d[is.finite(d$rise) & d$yeast_g > 0 & d$cold_hours > 0, ]
d$y <- d$yeast_g / d$flour_g * 100
begun <- proc.time()
for (k in split(d, d$kitchen)) try(nls(rise ~ 1 + exp(a + b * log(y) + c * cold_temp_c + e * log(cold_hours)), k,
  start = list(a = 0, b = 0.7, c = 0.1, e = 0.7), control = nls.control(warnOnly = TRUE)), silent = TRUE)
cat(sum((proc.time() - begun)[1:2]))
"""
R_LOTS = """
library(nlme)
d <- read.csv("{table}"); d <- d[is.finite(d$rise) & d$yeast_g > 0 & d$cold_hours > 0, ]
d$y <- d$yeast_g / d$flour_g * 100
begun <- proc.time()
for (k in split(d, d$kitchen)) try(nlme(rise ~ 1 + exp(a + b * log(y) + c * cold_temp_c + e * log(cold_hours)), data = k,
  fixed = a + b + c + e ~ 1, random = a ~ 1 | flour_lot, start = c(0, 0.7, 0.1, 0.7),
  control = nlmeControl(returnObject = TRUE)), silent = TRUE)
cat(sum((proc.time() - begun)[1:2]))
"""


def kitchens(folder):
    """Quick fits of many kitchens at once; R's nls of a plain curve to each, and nlme with the flour's lots."""
    def logbook(count, batches):
        table = folder / f"{count}-of-{batches}.csv"
        example("kitchens_at_once", table, count, batches)
        timed(BINARY, "--logbook", table.with_suffix(".db"), "--json", "import", table, good=(0, 3))
        return table

    counts, batches = ((1, 10, 100), 200) if QUICK else ((1, 10, 100, 1_000), 200)
    runs = []
    for count in counts:
        table = logbook(count, batches)
        runs.append(timed(BINARY, "--logbook", table.with_suffix(".db"), "--json", "fit", "--all-kitchens"))
    grows("quick fit of kitchens of 200 batches, s", [batches * c for c in counts], [r.processor for r in runs])
    run = runs[-1]
    if not QUICK:
        row("1,000 kitchens of 200 batches, quick, on the wall", f"{run.seconds:.1f} s", "below 60 s", run.seconds < 60)
    row(f"{counts[-1]:,} kitchens of 200 batches, memory", f"{run.memory_mb:.0f} MB", "below 1,000 MB", run.memory_mb < 1000)
    few, of_few = folder / "100-of-200.csv", runs[2]
    if installed("Rscript"):
        for name, script in (("nls, plain curve", R_PLAIN), ("nlme, plain curve with lots", R_LOTS)):
            seconds = float(timed("Rscript", "-e", script.format(table=few)).said.split()[-1])
            row("100 kitchens of 200 batches, quick", f"{of_few.processor:.2f} s", "", None, f"R's {name} {seconds:.2f} s", of_few.processor / seconds)
    sizes = (100, 1_000, 10_000)
    ones = [timed(BINARY, "--logbook", logbook(1, n).with_suffix(".db"), "--json", "fit", "--method", "quick") for n in sizes]
    grows("quick fit of one kitchen, s", sizes, [r.processor for r in ones])


def of_the_demo(folder):
    """Answers from a stored fit, whole process; the sqlite3 shell reading the same logbook beside."""
    out = folder / "demo"
    timed(BINARY, "demo", "--out", out)
    here = (BINARY, "--logbook", out / "logbook.db")
    size = (out / "report.html").stat().st_size / 1e6
    row("report page", f"{size:.2f} MB", "below 1 MB", size < 1)
    fit = json.loads(least(lambda: timed(*here, "--json", "fit", "--method", "quick"), 3).said)
    row("quick fit of the demo year (120 batches, 244 readings)", f"{fit['seconds']:.2f} s", "at most 0.3 s for 100 batches", fit["seconds"] <= 0.3 * 1.2)
    fit = json.loads(timed(*here, "--json", "fit", "--method", "full").said)
    row("full fit of the demo year", f"{fit['seconds']:.2f} s", "", None)
    timed(*here, "fit", "--method", "quick")
    adjust = ("adjust", "--yeast-g", "5", "--reading", "12=1.3", "--reading", "20=1.5", "--reading", "22=1.7")
    shell = installed("sqlite3") and least(lambda: timed("sqlite3", out / "logbook.db", ".dump"))
    for what, words in (("recommend", ("recommend", "--cold-hours", "24")), ("adjust with three readings", adjust), ("--help", ("--help",))):
        run = least(lambda: timed(*here, *words), 20)
        of_shell = (f"sqlite3 .dump {1e3 * shell.processor:.0f} ms", run.processor / shell.processor) if shell else ()
        row(f"{what}, whole process", f"{1e3 * run.seconds:.0f} ms", "within 100 ms", run.seconds <= 0.1, *of_shell)


def fifty(folder):
    """The full fit of fifty batches, and NumPyro's on the same posterior (notebooks/speed.py)."""
    first = folder / "first-50.csv"
    with open(DEMO / "batches.csv", newline="") as file:
        rows = list(csv.reader(file))[:51]
    with open(first, "w", newline="") as file:
        csv.writer(file).writerows(rows)
    here = (BINARY, "--logbook", folder / "fifty.db", "--json")
    timed(*here, "import", first, good=(0, 3))
    seconds = sorted(json.loads(timed(*here, "fit", "--method", "full", "--seed", seed).said)["seconds"] for seed in (1, 2, 3))
    row("full fit of the demo's first 50 batches, median of 3 seeds", f"{seconds[1]:.2f} s", "below 2 s", seconds[1] < 2)
    if QUICK:
        return
    said = subprocess.run([sys.executable, "speed.py"], cwd=HERE.parent / "notebooks", capture_output=True, text=True, check=True).stdout
    print(said, flush=True)
    without, with_it = map(float, re.search(r"program over NumPyro, median of \d+: ([\d.]+) times, ([\d.]+)", said.splitlines()[-1]).groups())
    row("least bulk ESS a second, fifty batches", f"{without:.1f} times", "at least 50 times", without >= 50, "NumPyro, compiling apart", without)
    row("least bulk ESS a second, fifty batches", f"{with_it:.1f} times", "", None, "NumPyro, compiling counted", with_it)


def served(folder):
    """Fifty clients on the advice form (examples/serve_load)."""
    out = folder / "demo"
    with open(folder / "address", "w") as told:
        process = subprocess.Popen([BINARY, "--logbook", out / "logbook.db", "serve"], stdout=told)
    try:
        while not (at := re.search(r"^open (\S+)", (folder / "address").read_text(), re.M)):
            time.sleep(0.05)
        for think in (0, 10):
            said = example("serve_load", at[1], 50, 20, think).said
            print(said, flush=True)
            for what, wait in re.findall(r"^(.*): \d+ answers.* 99 % ([\d.]+)", said, re.M):
                if think or what == "asked before":
                    row(f"50 clients, {what}, thinking {think} s: 99 % wait at most", f"{wait} ms", "100 ms", float(wait) <= 100)
    finally:
        process.terminate()
        process.wait()


def main():
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        for part in (of_the_demo, served, imports, kitchens, fifty):
            part(folder)
        gradients()
    print("\n| what | figure | bar | met | reference | ratio |\n|---|---|---|---|---|---|")
    for one in ROWS:
        print(f"| {' | '.join(one)} |")
    print("\n| what grows | processor seconds | batches | exponent | of the last step |\n|---|---|---|---|---|")
    for one in GROWTH:
        print(f"| {' | '.join(one)} |")


if __name__ == "__main__":
    main()
