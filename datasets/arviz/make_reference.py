"""Draws with known faults, and what ArviZ says about them.

Writes chains.csv, weights.csv, log_likelihood.csv (invented, seeded draws, rounded so that the text is exact) and
reference.json (values by ArviZ with the calls that gave them). Run in this folder with:

    python -m venv venv && venv/bin/pip install arviz==0.23.4 numpy==2.4.6 scipy==1.17.1 && venv/bin/python make_reference.py
"""

import csv
import json
import warnings

import arviz as az
import numpy as np
import scipy

CHAINS, DRAWS = 4, 150


def autoregressive(rng, phi, chains=CHAINS, draws=DRAWS):
    """Chains whose neighbours have correlation phi, with variance one."""
    noise = rng.standard_normal((chains, draws))
    x = np.empty_like(noise)
    x[:, 0] = noise[:, 0]
    for t in range(1, draws):
        x[:, t] = phi * x[:, t - 1] + np.sqrt(1 - phi**2) * noise[:, t]
    return x


def chain_cases(rng):
    shift = np.array([[0.0], [0.0], [0.0], [0.8]])
    stretch = np.array([[1.0], [1.0], [1.0], [3.0]])
    return {
        "well_mixed": rng.standard_normal((CHAINS, DRAWS)),
        "sticky": autoregressive(rng, 0.9),
        "alternating": autoregressive(rng, -0.6),
        "one_shifted": rng.standard_normal((CHAINS, DRAWS)) + shift,
        "one_stretched": rng.standard_normal((CHAINS, DRAWS)) * stretch,
        "heavy_tails": rng.standard_cauchy((CHAINS, DRAWS)),
        "whole_numbers": rng.poisson(3.0, (CHAINS, DRAWS)).astype(float),
        "odd_length": autoregressive(rng, 0.5, draws=101),
        "two_chains": autoregressive(rng, 0.3, chains=2),
    }


def diagnose(x):
    return {
        "az.rhat(x, method='rank')": float(az.rhat(x, method="rank")),
        "az.ess(x, method='bulk')": float(az.ess(x, method="bulk")),
        "az.ess(x, method='tail')": float(az.ess(x, method="tail")),
        "az.ess(x, method='mean')": float(az.ess(x, method="mean")),
        "az.ess(x, method='quantile', prob=0.1)": float(az.ess(x, method="quantile", prob=0.1)),
        "az.mcse(x, method='mean')": float(az.mcse(x, method="mean")),
        "az.mcse(x, method='sd')": float(az.mcse(x, method="sd")),
        "az.mcse(x, method='quantile', prob=0.1)": float(az.mcse(x, method="quantile", prob=0.1)),
        "az.mcse(x, method='quantile', prob=0.5)": float(az.mcse(x, method="quantile", prob=0.5)),
        "az.bfmi(x)": [float(v) for v in az.bfmi(x)],
    }


def write_csv(name, header, rows):
    with open(name, "w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


def main():
    warnings.simplefilter("ignore")
    rng = np.random.default_rng(20240501)
    reference = {"versions": {"arviz": az.__version__, "numpy": np.__version__, "scipy": scipy.__version__}}

    cases = {name: np.round(x, 5) for name, x in chain_cases(rng).items()}
    write_csv(
        "chains.csv",
        ["case", "chain", "draw", "value"],
        [(name, c, d, x[c, d]) for name, x in cases.items() for c in range(x.shape[0]) for d in range(x.shape[1])],
    )
    reference["chains"] = {name: diagnose(x) for name, x in cases.items()}

    # Weights whose tail has the shape k, so that k-hat should come near it.
    weights = {f"shape_{k}": np.round(k * rng.exponential(size=500), 5) for k in (0.2, 0.6, 1.1)}
    write_csv("weights.csv", list(weights), zip(*weights.values()))
    reference["weights"] = {}
    for name, log_weights in weights.items():
        for reff in (1.0, 0.4):
            smoothed, k = az.psislw(log_weights.copy(), reff=reff)
            reference["weights"][f"{name} reff={reff}"] = {
                "k": float(k),
                "log_weights": [float(v) for v in smoothed],
            }

    # The mean of twelve normal observations, the last far out.
    data = np.append(rng.standard_normal(11), 5.0)
    mean = data.mean() + rng.standard_normal(400) / np.sqrt(12)
    log_likelihood = np.round(-0.5 * (data[None, :] - mean[:, None]) ** 2 - 0.5 * np.log(2 * np.pi), 6)
    write_csv("log_likelihood.csv", [f"y{i + 1}" for i in range(12)], log_likelihood)
    inference = az.from_dict(posterior={"mean": mean[None, :]}, log_likelihood={"y": log_likelihood[None, :, :]})
    loo = az.loo(inference, pointwise=True, reff=0.8)
    reference["loo"] = {
        "call": "az.loo(inference, pointwise=True, reff=0.8)",
        "elpd_loo": float(loo.elpd_loo),
        "se": float(loo.se),
        "p_loo": float(loo.p_loo),
        "good_k": float(loo.good_k),
        "loo_i": [float(v) for v in loo.loo_i.values],
        "pareto_k": [float(v) for v in loo.pareto_k.values],
    }

    # How far powers of a density of each quantity move its own draws.
    reference["power_scaling"] = {
        "call": "az.psens(inference, component='likelihood')['x'], log_likelihood -2 (x - 0.7)^2"
    }
    for name in ("well_mixed", "one_stretched", "whole_numbers"):
        x = cases[name]
        inference = az.from_dict(posterior={"x": x}, log_likelihood={"y": (-2.0 * (x - 0.7) ** 2)[:, :, None]})
        reference["power_scaling"][name] = float(az.psens(inference, component="likelihood")["x"])

    with open("reference.json", "w") as file:
        json.dump(reference, file, indent=1)
        file.write("\n")


if __name__ == "__main__":
    main()
