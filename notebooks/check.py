"""Checks the parts of dough.py and the priors against SciPy and published values.

    python check.py
"""

import jax.numpy as jnp
import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq
from scipy.stats import halfnorm, norm

import dough
import posterior

CARDINAL = (-5.0, 35.5, 45.5)


def near(name, got, wanted, relative):
    worst = float(np.max(np.abs(np.asarray(got) / np.asarray(wanted) - 1.0)))
    assert worst <= relative, f"{name}: off by {worst:.1e}, more than {relative:.0e}"
    print(f"{name:32} off by {worst:.1e}")


def main():
    # Rosso, Lobry & Flandrois (1993), cardinal temperatures 5, 20, 30 °C.
    near("rate as published", [round(dough.gamma(t, 5.0, 20.0, 30.0), 6) for t in (22.0, 10.0, 25.0)],
         [0.963333, 0.333333, 0.761905], 1e-12)

    told = [(0.035, 35.5, 45.5), (0.107, 33.0, 44.0), (0.19, 37.0, 46.0), (0.02, 34.0, 45.0)]
    ratio = lambda low, best, stop: dough.gamma(4.0, low, best, stop) / dough.gamma(25.0, low, best, stop)
    near("notional low", [dough.notional_low(*t) for t in told],
         [brentq(lambda low: ratio(low, b, s) - r, -300.0, 3.999, xtol=1e-13) for r, b, s in told], 1e-10)

    stages = [(23.0, 4.0, 2.0, 24.0), (7.0, 22.0, 1.5, 3.0), (16.0, 21.0, 4.5, 0.5)]
    for start, around, tau, hours in stages:
        path = lambda t: around + (start - around) * np.exp(-t / tau)
        speed = lambda t: float(dough.rate(path(t), *CARDINAL))
        wanted = quad(speed, 0.0, hours, epsabs=0.0, epsrel=1e-12, limit=200)[0]
        one = [jnp.array([x]) for x in (start, around, tau, hours)]
        near(f"thermal time from {start:g} to {around:g} °C", dough.thermal_time(*one, *CARDINAL)[0], wanted, 1e-11)

    grown = solve_ivp(lambda _, g: (80.0 + 0.2 * g) * (1.0 - g / 900.0), (0.0, 6.0), [0.0], rtol=1e-11, atol=1e-10)
    near("gas", dough.gas(80.0, 0.2, 900.0, 6.0), grown.y[0, -1], 1e-9)

    for theta, lag in [(0.1, 0.3), (6.0, 0.2), (20.0, 0.03)]:
        awake = lambda t: 1.0 / (1.0 + np.expm1(dough.SLEEP) * np.exp(-dough.SLEEP * t / lag))
        cut = min(theta, 5.0 * lag)
        wanted = quad(awake, 0.0, cut, epsrel=1e-12)[0] + quad(awake, cut, theta, epsrel=1e-12)[0]
        near(f"awake time, lag {lag:g} h", dough.awake(theta, lag), wanted, 1e-9)

    x = np.linspace(-4.0, 4.0, 33)
    near("half-normal", posterior.half_normal(0.15)(x), halfnorm.ppf(norm.cdf(x), scale=0.15), 1e-9)

    # The slope along ln k against a difference.
    batches, _ = posterior.read()
    v = posterior.values({name: 0.1 for name in posterior.PRIORS})
    at = lambda effect: posterior.expected(batches, v, jnp.full(3, effect))
    near("slope along ln k", at(0.0)[1], (at(1e-4)[0] - at(-1e-4)[0]) / 2e-4, 1e-6)


if __name__ == "__main__":
    main()
