"""The posterior of a kitchen a second time, in NumPyro, and its draws by NUTS.

Each parameter is a standard normal number x turned into its value; the priors stand in `PRIORS`. The likelihood is t4:

- ln rise about the course, of squared scale sigma² + (omega d ln rise/d ln k)², a batch's own vigour integrated out
- dough temperature about the heat balance, warming and pull, of scale sigma_T

Limits: rows with one rise at the end of a bulk and a cold stage, instant yeast, one mixing method and one fridge, all
temperatures written down, flour told by lot.
"""

import csv
import os
from pathlib import Path

os.environ.setdefault("XLA_FLAGS", "--xla_force_host_platform_device_count=4")

import jax
import jax.numpy as jnp
import numpy as np
import numpyro
import numpyro.distributions as dist
from jax.scipy.special import expit, ndtr, ndtri
from numpyro.infer import MCMC, NUTS, init_to_median

import dough

numpyro.enable_x64()

FIFTY = Path(__file__).parent / "data" / "fifty.csv"


def normal(mean, sd):
    return lambda x: mean + sd * x


def lognormal(median, sd):
    return lambda x: median * jnp.exp(sd * x)


def share(upper, mean, sd):
    return lambda x: upper * expit(mean + sd * x)


def half_normal(sd):
    """|N(0, sd)| at the place that x has in N(0, 1): P(|Z| < q) = P(Z < x). Right to 1e-9 up to x = 5."""
    return lambda x: sd * ndtri(0.5 + 0.5 * ndtr(x))


# Medians and spreads: common practice, no source; see the head of src/inference/priors.rs.
PRIORS = {
    "vigour": lognormal(195.0, 0.25),
    "growth": lognormal(0.20, 0.35),
    "lag": lognormal(0.20, 0.5),
    "gas_ceiling": lognormal(1100.0, 0.30),
    "salt_effect": normal(0.10, 0.03),
    "gas_lost": share(1.0, -2.4423, 0.65),
    "gas_lost_preferment": share(1.0, -1.6582, 0.6),
    "best_temp": normal(35.5, 1.5),
    "stop_temp": normal(45.5, 1.2),
    "cold_rate": share(0.25, -0.29, 0.92),
    "max_rise": lognormal(3.5, 0.20),
    "cooling_250g": lognormal(2.0, 0.30),
    "room_pull": share(1.0, -2.9444, 0.63),
    "rise_noise": lognormal(0.055, 0.40),
    "temp_noise": lognormal(0.6, 0.5),
    "batch_spread": half_normal(0.15),
    "warming_hand": normal(1.0, 0.7),
    "flour_lots_spread": half_normal(0.15),
}


def read(path=FIFTY):
    """Columns of a table as arrays, with the names of the flour lots in order of first use and each batch's index."""
    with open(path, newline="") as file:
        rows = list(csv.DictReader(file))
    wanted = [name for name in rows[0] if name.endswith(("_g", "_c", "_hours")) or name == "rise"]
    batches = {name: np.array([float(row[name]) for row in rows]) for name in wanted}
    lots = list(dict.fromkeys(row["flour_lot"] for row in rows))
    batches["lot"] = np.array([lots.index(row["flour_lot"]) for row in rows])
    return batches, lots


def values(x):
    """Values of the parameters from their standard numbers."""
    return {name: turn(x[name]) for name, turn in PRIORS.items()}


def expected(b, v, effects):
    """Of each batch: ln rise, its slope along ln k, and dough temperature in °C by the heat balance."""
    of = dough.course(b, v)
    ln_k = jnp.log(v["vigour"]) + effects[b["lot"]]
    rise, slope = jax.jvp(of, (ln_k,), (jnp.ones_like(ln_k),))
    balance = dough.heat_balance(b)
    return rise, slope, balance + v["room_pull"] * (b["room_temp_c"] - balance) + v["warming_hand"]


def model(b, lots):
    x = {name: numpyro.sample(f"x_{name}", dist.Normal()) for name in PRIORS}
    v = values(x)
    z = numpyro.sample("x_lots", dist.Normal().expand([len(lots)]))
    effects = v["flour_lots_spread"] * z
    rise, slope, mixed = expected(b, v, effects)
    scale = jnp.sqrt(v["rise_noise"] ** 2 + (v["batch_spread"] * slope) ** 2)
    numpyro.sample("ln_rise", dist.StudentT(4.0, rise, scale), obs=np.log(b["rise"]))
    numpyro.sample("mixed", dist.StudentT(4.0, mixed, v["temp_noise"]), obs=b["dough_temp_c"])


def sampler(warmup, draws, **how):
    """NUTS on the model, four chains at a time from the medians of the priors."""
    how = {"chain_method": "parallel", "dense_mass": False, "target_accept_prob": 0.8} | how
    method = how.pop("chain_method")
    kernel = NUTS(model, init_strategy=init_to_median, **how)
    return MCMC(kernel, num_warmup=warmup, num_samples=draws, num_chains=4, chain_method=method, progress_bar=False)


def told(x, lots):
    """Draws of each parameter's value by the program's names; arrays (chain, draw)."""
    v = {name: np.asarray(value) for name, value in values({n: x[f"x_{n}"] for n in PRIORS}).items()}
    for i, lot in enumerate(lots):
        v[f"flour_lot_{lot}"] = v["flour_lots_spread"] * np.asarray(x["x_lots"][..., i])
    return v
