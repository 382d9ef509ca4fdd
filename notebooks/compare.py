"""Sets the program's posterior beside NumPyro's: mean and sd of each parameter, and whether they agree.

Agreement: means within 3 combined Monte Carlo standard errors, sds within 5 %. The error of the ratio of sds is given
beside it: ArviZ's for NumPyro's sd, and for the program's the same scaled by the root of the ratio of bulk effective
sizes.

    python compare.py [DRAWS [SEED]]      draws a chain, 10,000 unless told; four chains each
"""

import sys

import arviz
import jax
import numpy as np

import posterior
import program

MOST_ERRORS, MOST_SD = 3.0, 0.05


def numpyro_draws(warmup, draws, seed=1):
    """Draws of each parameter's value, (chain, draw), and how many of them diverged."""
    batches, lots = posterior.read()
    mcmc = posterior.sampler(warmup, draws, dense_mass=True, target_accept_prob=0.9)
    mcmc.run(jax.random.PRNGKey(seed), batches, lots, extra_fields=("diverging",))
    return posterior.told(mcmc.get_samples(group_by_chain=True), lots), int(mcmc.get_extra_fields()["diverging"].sum())


def rows(fit, draws):
    """One row a parameter: name, both means, both errors of the mean, their difference in combined errors, ratio of sds
    (program over NumPyro) and its error."""
    for p in fit["parameters"]:
        values = draws[p["name"]]
        error = float(arviz.mcse(values, method="mean"))
        there_ess = float(arviz.ess(values, method="bulk"))
        sd, sd_error = values.std(ddof=1), float(arviz.mcse(values, method="sd"))
        off = (p["mean"] - values.mean()) / np.hypot(error, p["mcse_mean"])
        ratio_error = sd_error / sd * np.sqrt(1.0 + there_ess / p["ess_bulk"])
        yield p["name"], p["mean"], values.mean(), p["mcse_mean"], error, off, p["sd"] / sd, ratio_error


def table(all_rows):
    """The rows as text, with a verdict below."""
    lines = [f"{'parameter':20}{'program':>11}{'NumPyro':>11}{'MCSE':>9}{'MCSE':>9}{'off':>7}{'sd ratio':>10}{'+-':>7}"]
    for name, here, there, e, f, off, ratio, ratio_error in all_rows:
        lines.append(f"{name:20}{here:11.5g}{there:11.5g}{e:9.2g}{f:9.2g}{off:7.2f}{ratio:10.3f}{ratio_error:7.3f}")
    worst = max(all_rows, key=lambda r: abs(r[5]))
    widest = max(all_rows, key=lambda r: abs(r[6] - 1.0))
    agree = abs(worst[5]) <= MOST_ERRORS and abs(widest[6] - 1.0) <= MOST_SD
    lines.append(f"furthest mean {worst[0]}, {worst[5]:+.2f} combined errors; furthest sd {widest[0]}, {widest[6]:.3f}")
    lines.append("they agree" if agree else "they DISAGREE")
    return "\n".join(lines), agree


def main(draws=10_000, seed=1):
    values, diverged = numpyro_draws(1000, draws, seed)
    fit = program.fit(posterior.FIFTY, draws=draws, seed=seed)
    text, agree = table(list(rows(fit, values)))
    print(text)
    print(f"divergences: program {fit['divergences']}, NumPyro {diverged}")
    return agree


if __name__ == "__main__":
    sys.exit(0 if main(*map(int, sys.argv[1:])) else 1)
