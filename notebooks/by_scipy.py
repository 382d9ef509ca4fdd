"""A plan from its ingredients to its rise, by SciPy alone: the equations in the form in which they are stated.

Temperature, waking and gas are one system of differential equations, the balance of CO2 is a root, the forecast a
quantile of a mixture. Nothing is in a closed form of which the program has one.

    dT/dt = (E - T)/tau                                       tau = cooling_250g (mass/250 g)^0.4
    d ln q/dt = r(T) 2/lag, q = 1/(e^2 - 1) at the start      share awake q/(1 + q)
    dG/dt = r(T) s (k Y q/(1 + q) + c)(1 + mu G/(k Y + c))(1 - G/M)

T in °C, t in h, G in mL CO2 (25 °C, 1 atm) per 100 g flour, Y instant yeast in % of flour, c activity that a preferment
brings, s the slowing by salt.
A forecast is the mixture over draws of Student's t with four degrees of freedom about ln rise, of squared scale
sigma² + (d ln rise/d ln k)² omega² (+ (d ln rise/dT0)² sigma_T² where the start was not measured).

Sources: as in dough.py, whose rate, heat balance and densities are used. Limits: instant yeast; stages of one
temperature each.
"""

import json
import sqlite3

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.stats import t as student

import dough
import posterior

TIGHT = {"method": "DOP853", "rtol": 1e-10, "atol": 1e-10}
LN_Q0 = -np.log(np.expm1(dough.SLEEP))
STEP = 1e-3  # of a difference along ln k
STEP_C = 0.02  # °C, of a difference along the temperature that the dough starts from


def draws(book):
    """Values of the parameters in each draw of a logbook's latest fit, by name.

    The logbook keeps standard numbers, a row a draw.
    """
    with sqlite3.connect(book.file) as file:
        names, kept = file.execute("SELECT names, draws FROM fits ORDER BY n DESC LIMIT 1").fetchone()
    names = json.loads(names)
    x = dict(zip(names, np.frombuffer(kept, "<f8").reshape(-1, len(names)).T))
    v = {name: np.asarray(value) for name, value in posterior.values(x).items()}
    lots = {name: v["flour_lots_spread"] * x[name] for name in names if name.startswith("flour_lot_")}
    return v | lots


def rate(celsius, v):
    """Speed over that at 25 °C; the notional low by bracketing."""
    best, stop = v["best_temp"], v["stop_temp"]
    return np.asarray(dough.rate(celsius, v["low"], best, stop))


def with_low(v):
    """The parameters with the low at which the rate at 4 °C over that at 25 °C is `cold_rate`."""
    ratio = lambda low, best, stop: dough.gamma(4.0, low, best, stop) / dough.gamma(25.0, low, best, stop)
    find = lambda r, *told: brentq(lambda low: ratio(low, *told) - r, -300.0, 3.999, xtol=1e-13)
    return v | {"low": np.array([find(*told) for told in zip(v["cold_rate"], v["best_temp"], v["stop_temp"])])}


def solubility(celsius):
    """mL of CO2 that a mL of water holds at 1 atm and its own temperature (Sander 2023)."""
    kelvin = celsius + 273.15
    return 3.4e-4 * np.exp(2400.0 * (1.0 / kelvin - 1.0 / 298.15)) * 8.314462618 * kelvin


def ln_rise(plan, gas, celsius, kept, most):
    """ln of the volume over that after mixing: CO2 is dissolved or in the cells, at one pressure with the air there."""
    water, air, volume = dough.vessel(plan)
    swollen = gas * (celsius + 273.15) / 298.15
    balance = lambda p: solubility(celsius) * water * p + air * p / (1.0 - p) - swollen
    p = brentq(balance, 0.0, 1.0 - 1e-12, xtol=1e-15, rtol=1e-14)
    free = kept * air * p / (1.0 - p) / volume
    return np.log1p(free / (1.0 + (free / (most - 1.0)) ** dough.SHARPNESS) ** (1.0 / dough.SHARPNESS))


def stages(plan):
    """(temperature around, mass in g, hours) of each stage."""
    whole = plan["flour_g"] + plan["water_g"] + plan["salt_g"] + plan["yeast_g"]
    told = [("bulk", whole), ("cold", plan["piece_g"]), ("temper", plan["piece_g"])]
    return [(plan[f"{s}_temp_c"], grams, plan[f"{s}_hours"]) for s, grams in told if plan.get(f"{s}_hours", 0.0) > 0.0]


def carried(plan, v, k):
    """Activity that a preferment brings into the dough, mL/h per 100 g of all flour; 0 without one."""
    if "preferment_flour_g" not in plan:
        return np.zeros_like(k)
    fresh = k * 100.0 * plan["preferment_yeast_g"] / plan["preferment_flour_g"]
    r = rate(plan["preferment_temp_c"], v)

    def slopes(_, y):
        ln_q, gas = np.split(y, 2)
        return np.concatenate(
            [
                r * dough.SLEEP / v["lag"],
                r * (fresh + v["growth"] * gas) * (1.0 - gas / v["gas_ceiling"]) / (1.0 + np.exp(-ln_q)),
            ]
        )

    start = np.concatenate([np.full_like(k, LN_Q0), np.zeros_like(k)])
    gas = np.split(solve_ivp(slopes, (0.0, plan["preferment_hours"]), start, **TIGHT).y[:, -1], 2)[1]
    return plan["preferment_flour_g"] / plan["flour_g"] * (fresh + v["growth"] * gas)


def course(plan, v, k, start_c, hours):
    """Temperature in °C and ln rise at each of `hours` (rising, the last at the plan's end), arrays (hour, draw)."""
    fresh, brought = k * 100.0 * plan["yeast_g"] / plan["flour_g"], carried(plan, v, k)
    salted = np.exp(-v["salt_effect"] * 100.0 * plan["salt_g"] / plan["flour_g"])
    y = np.concatenate([start_c, np.full_like(k, LN_Q0), np.zeros_like(k)])
    seen, begun = [], 0.0
    for around, grams, lasting in stages(plan):
        tau = v["cooling_250g"] * (grams / 250.0) ** 0.4

        def slopes(_, y):
            celsius, ln_q, gas = np.split(y, 3)
            r = rate(celsius, v)
            making = fresh / (1.0 + np.exp(-ln_q)) + brought
            grown = 1.0 + v["growth"] * gas / (fresh + brought)
            return np.concatenate(
                [
                    (around - celsius) / tau,
                    r * dough.SLEEP / v["lag"],
                    r * salted * making * grown * (1.0 - gas / v["gas_ceiling"]),
                ]
            )

        end = begun + lasting
        asked = [h for h in hours if begun - 1e-9 <= h < end - 1e-9] + [end]
        found = solve_ivp(slopes, (begun, end), y, t_eval=np.clip(asked, begun, end), **TIGHT).y.T
        seen, y, begun = seen + list(found[:-1]), found[-1], end
    states = [np.split(s, 3) for s in [*seen, y]]
    kept, most = 1.0 - v["gas_lost"], v["max_rise"]
    rises = [
        [ln_rise(plan, g, c, *rest) for g, c, *rest in zip(gas, celsius, kept, most)] for celsius, _, gas in states
    ]
    return np.array([celsius for celsius, _, _ in states]), np.array(rises)


def quantile(centre, scale, share):
    """The value below which a share of an equal mixture of t4 about `centre` lies."""
    below = lambda x: np.mean(student.cdf((x - centre) / scale, 4)) - share
    return brentq(below, np.min(centre - 50.0 * scale), np.max(centre + 50.0 * scale), xtol=1e-12)


def start(plan, v):
    """Dough temperature just after mixing in °C of each draw: measured, or by heat balance, pull of the room and warming."""
    if "dough_temp_c" in plan:
        return np.full_like(v["lag"], plan["dough_temp_c"])
    balance = dough.heat_balance(plan)
    return balance + v["room_pull"] * (plan["room_temp_c"] - balance) + v["warming_hand"]


def components(plan, v, hours):
    """Of each draw, at each of `hours`: ln rise, the scale about it, and the temperature in °C; arrays (hour, draw)."""
    v = with_low(v)
    k, begun = v["vigour"] * np.exp(v[f"flour_lot_{plan['flour_lot']}"]), start(plan, v)
    celsius, centre = course(plan, v, k, begun, hours)
    more, less = (course(plan, v, k * np.exp(d), begun, hours)[1] for d in (STEP, -STEP))
    squared = v["rise_noise"] ** 2 + ((more - less) / (2.0 * STEP) * v["batch_spread"]) ** 2
    if "dough_temp_c" not in plan:
        warmer, cooler = (course(plan, v, k, begun + d, hours)[1] for d in (STEP_C, -STEP_C))
        squared = squared + ((warmer - cooler) / (2.0 * STEP_C) * v["temp_noise"]) ** 2
    return centre, np.sqrt(squared), celsius


def forecast(plan, v, hours):
    """Rise of 5, 50 and 95 % of batches, and the median dough temperature in °C; arrays (hour, 3) and (hour,)."""
    centre, scale, celsius = components(plan, v, hours)
    rises = [[np.exp(quantile(c, s, share)) for share in (0.05, 0.5, 0.95)] for c, s in zip(centre, scale)]
    return np.array(rises), np.array([quantile(c, v["temp_noise"], 0.5) for c in celsius])


def chance_to_land(plan, v, window=0.1):
    """Probability that the rise at the plan's end lies within a share of its target."""
    end = sum(hours for _, _, hours in stages(plan))
    (centre,), (scale,), _ = components(plan, v, [end])
    low, high = (np.log(plan["target_rise"] * (1.0 + w)) for w in (-window, window))
    return float(np.mean(student.cdf((high - centre) / scale, 4) - student.cdf((low - centre) / scale, 4)))
