"""A batch of dough from its row in the table to its rise, in JAX, for all batches at once.

Computes ln rise, and the temperature that the heat balance foretells, by the equations that the program documents,
written anew: thermal time by Gauss-Legendre quadrature where the program has a closed form, gas by the growing
exponential, the waking of the yeast as the integral of its adjustment function.

Symbols: temperatures in °C, times in h, masses in g; thermal time in h at 25 °C; gas G in mL CO2 (25 °C, 1 atm) per
100 g flour; k in mL/h per 100 g flour per % instant yeast; mu per h; M in mL per 100 g flour; tau in h.

Sources: rate, Rosso, Lobry & Flandrois (1993), J. Theor. Biol. 162:447-463; waking, Baranyi & Roberts (1994), Int. J.
Food Microbiol. 23:277-294; solubility, Sander, Atmos. Chem. Phys. 2015, version 5 (2023); heat and density, Choi & Okos
(1986), Food Engineering and Process Applications 1:93-101.

Limits: a bulk and a cold stage, each with its temperature written down; dough temperature measured; no preferment.
"""

import jax
import jax.numpy as jnp
import numpy as np

# Choi & Okos 1986: water, protein, fat, carbohydrate, fibre, ash; factors of 1, T and T².
HEAT = np.array([  # kJ/(kg K)
    [4.1762, -9.0864e-5, 5.4731e-6],
    [2.0082, 1.2089e-3, -1.3129e-6],
    [1.9842, 1.4733e-3, -4.8008e-6],
    [1.5488, 1.9625e-3, -5.9399e-6],
    [1.8459, 1.8306e-3, -4.6509e-6],
    [1.0926, 1.8896e-3, -3.6817e-6],
])
DENSITY = np.array([  # kg/m³
    [997.18, 3.1439e-3, -3.7574e-3],
    [1329.9, -0.51840, 0.0],
    [925.59, -0.41757, 0.0],
    [1599.1, -0.31046, 0.0],
    [1311.5, -0.36589, 0.0],
    [2423.8, -0.28063, 0.0],
])
# Flour as sold, shares of its mass (common practice, no source); 12 % protein where the bag was not read.
FLOUR = np.array([0.14, 0.12, 0.015, 1.0 - 0.14 - 0.12 - 0.015 - 0.027 - 0.006, 0.027, 0.006])
WATER_HEAT = 4.186
AIR = 0.08
SLEEP = 2.0
SHARPNESS = 8
NODES, WEIGHTS = np.polynomial.legendre.leggauss(10)


def at(table, celsius):
    """A component's property at a temperature."""
    return table @ np.array([1.0, celsius, celsius**2])


def heat_balance(b):
    """Temperature in °C of flour, water and salt just after they meet; flour and salt at room temperature."""
    dry = b["flour_g"] * (FLOUR @ at(HEAT, 20.0)) + b["salt_g"] * at(HEAT, 20.0)[5]
    wet = b["water_g"] * WATER_HEAT
    return (dry * b["room_temp_c"] + wet * b["water_temp_c"]) / (dry + wet)


def vessel(b):
    """mL of water, of air and in all just after mixing, per 100 g flour."""
    water, salt = 100.0 * b["water_g"] / b["flour_g"], 100.0 * b["salt_g"] / b["flour_g"]
    per_g = 1000.0 / at(DENSITY, 25.0)
    gas_free = 100.0 * (FLOUR @ per_g) + water * per_g[0] + salt * per_g[5]
    return water + 14.0, gas_free * AIR / (1.0 - AIR), gas_free / (1.0 - AIR)


def gamma(t, low, best, stop):
    """The cardinal temperature model as printed; not cut off outside (low, stop)."""
    bracket = (best - low) * (t - best) - (best - stop) * (best + low - 2.0 * t)
    return (t - stop) * (t - low) ** 2 / ((best - low) * bracket)


def notional_low(cold_rate, best, stop):
    """The low at which gamma(4)/gamma(25) is `cold_rate`: Newton's method in v = ln(4 - low) on the logarithm of
    that ratio, the last step of it differentiable."""
    def miss(v, cold_rate, best, stop):
        low = 4.0 - jnp.exp(v)
        return jnp.log(gamma(4.0, low, best, stop) / gamma(25.0, low, best, stop) / cold_rate)

    def step(v, *told):
        value, slope = jax.value_and_grad(miss)(v, *told)
        return v - jnp.clip(value / slope, -2.0, 2.0)

    told = (cold_rate, best, stop)
    still = [jax.lax.stop_gradient(x) for x in told]
    v = jnp.log(10.0)
    for _ in range(12):
        v = step(v, *still)
    # One step with the slope held still carries the exact derivative of the root.
    slope = jax.grad(miss)(v, *still)
    return 4.0 - jnp.exp(v - miss(v, *told) / slope)


def rate(t, low, best, stop):
    """Speed at t °C over that at 25 °C; zero outside (low, stop)."""
    inside = (t > low) & (t < stop)
    return jnp.where(inside, gamma(jnp.where(inside, t, 25.0), low, best, stop), 0.0) / gamma(25.0, low, best, stop)


def thermal_time(start, around, tau, hours, *cardinal):
    """Hours at 25 °C along T = around + (start - around) s, s = e^(-t/tau), and the temperature at the end.

    The integral is hours times the rate at `around`, and that of what the rate has beyond it; the latter is smooth in
    s, dt = -tau ds/s.
    """
    s_end = jnp.exp(-hours / tau)
    s = (0.5 * (1.0 + s_end) + 0.5 * (1.0 - s_end) * NODES[:, None])
    settled = rate(around, *cardinal)
    beyond = (rate(around + (start - around) * s, *cardinal) - settled) / s
    theta = hours * settled + tau * 0.5 * (1.0 - s_end) * (WEIGHTS @ beyond)
    return theta, around + (start - around) * s_end


def awake(theta, lag):
    """Integral over theta of q/(1 + q), dq/dtheta = (h0/lag) q, q = 1/(e^h0 - 1) at the start."""
    ln_q = -np.log(np.expm1(SLEEP))
    return (jnp.logaddexp(0.0, ln_q + SLEEP * theta / lag) - np.logaddexp(0.0, ln_q)) * lag / SLEEP


def gas(a, mu, ceiling, time):
    """G of dG/dt = (a + mu G)(1 - G/M), G(0) = 0."""
    grown = (mu + a / ceiling) * time
    return a * jnp.expm1(grown) / (mu + a * jnp.exp(grown) / ceiling)


def ln_rise(dough, made, celsius, kept, most):
    """ln of the volume over that after mixing, of a dough in equilibrium with its dissolved gas."""
    water, air, volume = dough
    kelvin = celsius + 273.15
    dissolved = 3.4e-4 * jnp.exp(2400.0 * (1.0 / kelvin - 1.0 / 298.15)) * 8.314462618 * kelvin * water
    swollen = made * kelvin / 298.15
    # dissolved p² - (dissolved + air + swollen) p + swollen = 0: the pressure is the lesser root.
    b = dissolved + air + swollen
    p = 2.0 * swollen / (b + jnp.sqrt(b * b - 4.0 * dissolved * swollen))
    free = kept * air * p / (1.0 - p) / volume
    return jnp.log1p(free / (1.0 + (free / (most - 1.0)) ** SHARPNESS) ** (1.0 / SHARPNESS))


def course(b, v):
    """ln rise of each batch as a function of each batch's ln k.

    `b` columns of the table, `v` values of the kitchen's parameters by name.
    """
    cardinal = (notional_low(v["cold_rate"], v["best_temp"], v["stop_temp"]), v["best_temp"], v["stop_temp"])
    whole = b["flour_g"] + b["water_g"] + b["salt_g"] + b["yeast_g"]
    tau = lambda grams: v["cooling_250g"] * (grams / 250.0) ** 0.4
    bulk, end = thermal_time(b["dough_temp_c"], b["bulk_temp_c"], tau(whole), b["bulk_hours"], *cardinal)
    cold, end = thermal_time(end, b["cold_temp_c"], tau(b["piece_g"]), b["cold_hours"], *cardinal)
    salted = jnp.exp(-v["salt_effect"] * 100.0 * b["salt_g"] / b["flour_g"])
    yeast = 100.0 * b["yeast_g"] / b["flour_g"]
    time = awake(bulk + cold, v["lag"])
    dough = vessel(b)

    def of(ln_k):
        made = gas(jnp.exp(ln_k) * yeast * salted, v["growth"] * salted, v["gas_ceiling"], time)
        return ln_rise(dough, made, end, 1.0 - v["gas_lost"], v["max_rise"])

    return of
