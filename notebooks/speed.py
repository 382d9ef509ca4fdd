"""Least bulk effective draws a second, the program's against NumPyro's NUTS, on the same fifty batches.

Both run four chains of 1,000 + 1,000 back to back, three times; and the program once more with the warm-up that it takes unless
told otherwise, which is shorter. The program's figures are `min_ess_bulk` and `seconds`
of `fit --json` (the search for the mode, the chains and leave-one-out); NumPyro's are ArviZ's bulk ESS, least over the
same parameters, and wall time with all draws ready. Its compile time is what a run of one draw takes, measured in the
same round. NumPyro has its default diagonal mass matrix and one device a chain, the faster of its ways here; --dense
takes a dense matrix instead. Gradients a draw are of the kept draws for NumPyro, of all the work for the program.

    python speed.py [--dense]
"""

import sys
import time
from statistics import median

import arviz
import jax
import numpy as np

import posterior
import program

ROUNDS = 3
USUAL_WARMUP = 400


def timed(warmup, draws, seed, dense):
    """Seconds of a run, tracing and compiling included, and its draws by parameter."""
    batches, lots = posterior.read()
    begun = time.perf_counter()
    mcmc = posterior.sampler(warmup, draws, dense_mass=dense)
    mcmc.run(jax.random.PRNGKey(seed), batches, lots, extra_fields=("num_steps",))
    x = jax.block_until_ready(mcmc.get_samples(group_by_chain=True))
    return time.perf_counter() - begun, posterior.told(x, lots), float(np.mean(mcmc.get_extra_fields()["num_steps"]))


def main(dense):
    timed(1, 1, 0, dense)  # What JAX compiles once a process counts for nobody.
    ratios = []
    for seed in range(1, ROUNDS + 1):
        fit = program.fit(posterior.FIFTY, seed=seed)
        usual = program.fit(posterior.FIFTY, warmup=USUAL_WARMUP, seed=seed)
        compiling, *_ = timed(1, 1, seed, dense)
        whole, values, steps = timed(1000, 1000, seed, dense)
        names = [p["name"] for p in fit["parameters"]]
        least = min(float(arviz.ess(values[name], method="bulk")) for name in names)
        with_it, without = least / whole, least / (whole - compiling)
        here, shorter = (f["min_ess_bulk"] / f["seconds"] for f in (fit, usual))
        ratios.append((here / without, here / with_it, shorter / without))
        print(
            f"round {seed}: program ESS {fit['min_ess_bulk']:.0f} in {fit['seconds']:.2f} s, {here:.0f} a second, "
            f"{fit['gradient_evaluations'] / 8000:.1f} gradients a draw ({shorter:.0f} a second after {USUAL_WARMUP} draws of warm-up); "
            f"NumPyro ESS {least:.0f} in {whole:.1f} s of which compiling {compiling:.1f} s, {without:.1f} a second "
            f"without that and {with_it:.1f} with it, {steps:.1f} gradients a draw",
            flush=True,
        )
    without, with_it, shorter = (median(r) for r in zip(*ratios))
    print(f"with {USUAL_WARMUP} draws of warm-up for the program alone: {shorter:.1f} times")
    print(f"program over NumPyro, median of {ROUNDS}: {without:.1f} times, {with_it:.1f} with compiling")


if __name__ == "__main__":
    main("--dense" in sys.argv[1:])
