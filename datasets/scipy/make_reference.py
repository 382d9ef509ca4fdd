"""Values that the tests of the physics compare with: the same equations solved by general-purpose libraries.

Run as: python make_reference.py   (numpy 2.4.6, scipy 1.17.1, mpmath 1.4.1, CoolProp 8.0.0, iapws 1.5.5, all from PyPI,
Python 3.11). Writes the CSV and JSON files beside itself. Nothing here is measured but what CoolProp and iapws carry.

Every equation is written in the form in which it is stated (a definition, a differential equation, a mass balance),
never in the closed form that the program uses.
"""

import csv
import json
import pathlib

import mpmath
import numpy as np
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95
from iapws._iapws import _Henry
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

HERE = pathlib.Path(__file__).parent
R, ATM, KELVIN = 8.314462618, 101325.0, 273.15
H0 = 2.0
SHARPNESS = 8  # of the flour's limit


def write(name, header, rows):
    with open(HERE / name, "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(header)
        w.writerows(rows)


# --- the rate: Rosso, Lobry & Flandrois 1993, as printed there ---
def gamma(t, t_min, t_opt, t_max):
    if not t_min < t < t_max:
        return t * 0
    top = (t - t_max) * (t - t_min) ** 2
    return top / ((t_opt - t_min) * ((t_opt - t_min) * (t - t_opt) - (t_opt - t_max) * (t_opt + t_min - 2 * t)))


def rate(t, card):
    return gamma(t, *card) / gamma(25.0, *card)


# --- thermal time: adaptive quadrature in 40 digits, cut where the path meets Tmin or Tmax ---
mpmath.mp.dps = 40


def thermal_time(card, start, around, tau, hours):
    card = [mpmath.mpf(c) for c in card]
    start, around, tau, hours = (mpmath.mpf(v) for v in (start, around, tau, hours))
    path = lambda t: around + (start - around) * mpmath.exp(-t / tau)
    cuts = {mpmath.mpf(0), hours} | {tau * k for k in (0.5, 1, 2, 4, 8, 16, 32, 64) if tau * k < hours}
    for limit in (card[0], card[2]):
        if start != around and (limit - around) / (start - around) > 0:
            at = -tau * mpmath.log((limit - around) / (start - around))
            if 0 < at < hours:
                cuts.add(at)
    at25 = gamma(mpmath.mpf(25), *card)
    return mpmath.quad(lambda t: gamma(path(t), *card), sorted(cuts)) / at25


USUAL = (-5.0, 35.5, 45.5)
# Where 3 Topt - Tmin - 2 Tmax and 2 Topt² - Tmax (Topt + Tmin) put the pole of the usual cardinal temperatures.
POLE = (2 * 35.5**2 - 45.5 * (35.5 - 5.0)) / (3 * 35.5 + 5.0 - 2 * 45.5)
stages = [(USUAL, *s) for s in [
    # an ordinary fridge, a warm room, a long night, a short moment
    (23.0, 4.0, 2.0, 24.0), (7.0, 22.0, 1.5, 3.0), (25.0, 25.0, 2.0, 4.0), (26.0, 3.5, 0.7, 72.0), (24.0, 21.0, 5.2, 0.01),
    # nearly constant: the piece barely moves, or has barely anywhere to go
    (23.0, 4.0, 5000.0, 1.0), (20.0, 20.000001, 2.0, 12.0), (20.0, 20.0 + 1e-12, 2.0, 12.0),
    # frozen: through Tmin on the way down, up out of it, and wholly below
    (20.0, -18.0, 1.5, 10.0), (-18.0, 22.0, 2.5, 6.0), (-18.0, -6.0, 2.0, 5.0), (-5.0, 22.0, 2.0, 4.0),
    # too hot: through Tmax on the way up, down from it, wholly above, and up to just inside
    (30.0, 55.0, 1.0, 6.0), (60.0, 25.0, 1.0, 6.0), (60.0, 50.0, 1.0, 3.0), (30.0, 45.4, 1.0, 6.0),
    # from above Tmax to below Tmin, and back
    (60.0, -20.0, 1.0, 6.0), (-20.0, 60.0, 1.0, 6.0),
    # surroundings on the pole, and on either side of it, near and nearer
    (30.0, POLE, 2.0, 1.0), (30.0, POLE + 1e-9, 2.0, 1.0), (30.0, POLE - 1e-6, 2.0, 1.0), (30.0, POLE + 1e-3, 2.0, 1.0),
    (30.0, POLE - 2e-2, 2.0, 1.0), (30.0, POLE + 0.3, 2.0, 1.0), (30.0, POLE, 2.0, 9.0), (30.0, POLE - 5e-3, 2.0, 9.0),
]]
stages += [(card, *s) for card in [(-18.0, 33.0, 44.0), (1.0, 37.5, 47.5), (-60.0, 36.0, 46.0)]
           for s in [(24.0, 5.0, 2.4, 18.0), (28.0, 2.0, 0.9, 48.0), (4.0, 30.0, 1.2, 5.0)]]
write("thermal-time.csv", ["t_min", "t_opt", "t_max", "start_c", "around_c", "tau_h", "hours", "theta_h"],
      [[*card, *stage, mpmath.nstr(thermal_time(card, *stage), 20)] for card, *stage in stages])

# --- ordinary differential equations, solved tightly ---
TIGHT = dict(method="DOP853", rtol=1e-13, atol=1e-14)


def last(f, y0, hours, **more):
    return solve_ivp(f, (0.0, hours), y0, **TIGHT, **more).y[:, -1]


# Gas: dG/dA = (a + mu G)(1 - G/M).
gases = [(a, mu, m, time) for a, mu, m in [(60.0, 0.2, 1100.0), (195.0, 0.35, 900.0), (3.0, 0.1, 1400.0), (900.0, 0.05, 500.0),
                                            (40.0, 0.0, 1000.0), (0.5, 0.9, 2000.0)] for time in (0.01, 1.0, 5.0, 20.0)]
write("gas.csv", ["rate", "growth", "ceiling", "hours", "gas_ml"],
      [[a, mu, m, t, repr(float(last(lambda _, g: (a + mu * g) * (1 - g / m), [0.0], t)[0]))] for a, mu, m, t in gases])

# Waking, Baranyi & Roberts 1994: dq/dtheta = (h0/lag) q, q(0) = 1/(e^h0 - 1), awake share alpha = q/(1+q). The state is
# ln q, which never overflows.
Q0 = -np.log(np.expm1(H0))


def share_awake(ln_q):
    return 1.0 / (1.0 + np.exp(-ln_q))


lags = [(theta, lag) for lag in (0.05, 0.2, 0.6, 2.0) for theta in (0.001, 0.1, 0.5, 2.0, 12.0)]


def waking(theta, lag):
    y = last(lambda _, y: [H0 / lag, share_awake(y[0])], [Q0, 0.0], theta, max_step=lag / 2)
    return [theta, lag, repr(float(y[1])), repr(float(share_awake(y[0])))]


write("lag.csv", ["theta_h", "lag_h", "awake_h", "awake_share"], [waking(theta, lag) for theta, lag in lags])


# --- whole batches: temperature, waking and gas together, then the mass balance of CO2 by root finding ---
def ostwald(t):
    """Sander 2023: Hcp = 3.4e-4 mol/(m3 Pa) at 25 °C, 2400 K; times R T."""
    kelvin = t + KELVIN
    return 3.4e-4 * np.exp(2400.0 * (1 / kelvin - 1 / 298.15)) * R * kelvin


def ln_rise(gas, t, water, air, volume, kept, max_rise):
    swollen = gas * (t + KELVIN) / 298.15
    balance = lambda p: ostwald(t) * water * p + air * p / (1 - p) - swollen
    p = brentq(balance, 0.0, 1 - 1e-12, xtol=1e-16, rtol=1e-15)
    x, m = kept * air * p / (1 - p) / volume, max_rise - 1
    return np.log(1 + x / (1 + (x / m) ** SHARPNESS) ** (1 / SHARPNESS))


def batch(card, k, mu, lag, ceiling, salt, loss, preferment_loss, max_rise, fresh_pct, lag_factor, salt_pct, sugar_pct,
          dough, start_c, segments, preferment=None):
    carried, out = 0.0, {}
    if preferment:
        r, x = rate(preferment["temp_c"], card), preferment["yeast_pct"]
        wake = H0 / (lag * lag_factor)
        y = last(lambda _, y: [wake * r, r * share_awake(y[0]) * (k * x + mu * y[1]) * (1 - y[1] / ceiling)],
                 [Q0, 0.0], preferment["hours"], max_step=0.25)
        out["preferment_ln_rise"] = ln_rise(y[1], preferment["temp_c"], *preferment["dough"], 1 - preferment_loss, max_rise)
        carried = preferment["share"] * (k * x + mu * y[1])
    fresh, slow, top = k * fresh_pct, np.exp(-salt * salt_pct), ceiling + 270.0 * sugar_pct
    state = [start_c, Q0, 0.0]
    for around, tau, hours in segments:
        def slopes(_, y):
            r = rate(y[0], card)
            making = fresh * share_awake(y[1]) + carried
            grown = 1 + mu * slow * y[2] / (slow * (fresh + carried))
            return [(around - y[0]) / tau, r * H0 / (lag * lag_factor), r * slow * making * grown * (1 - y[2] / top)]
        state = last(slopes, state, hours, max_step=min(0.25, tau / 4))
    out |= {"end_c": state[0], "gas_ml": state[2], "ln_rise": ln_rise(state[2], state[0], *dough, 1 - loss, max_rise)}
    return {key: float(v) for key, v in out.items()}


medians = dict(k=195.0, mu=0.20, lag=0.20, ceiling=1100.0, salt=0.10, loss=0.08, preferment_loss=0.16, max_rise=3.5)
other = dict(k=140.0, mu=0.31, lag=0.45, ceiling=800.0, salt=0.13, loss=0.03, preferment_loss=0.25, max_rise=2.8)
lean, wet = (76.0, 12.6, 157.5), (114.0, 15.7, 196.0)
poolish = dict(share=0.3, yeast_pct=0.1, hours=12.0, temp_c=22.0, dough=wet)
plain = dict(fresh_pct=0.3, lag_factor=1.0, salt_pct=2.0, sugar_pct=0.0, dough=lean, start_c=23.0)
courses = [
    dict(card=USUAL, **medians, **plain, segments=[[23.0, 3.0, 0.5], [4.0, 2.0, 24.0]]),
    dict(card=(-9.0, 34.0, 45.0), **other, **plain, segments=[[26.0, 2.4, 1.5], [3.0, 1.6, 40.0], [24.0, 1.6, 2.0]]),
    dict(card=USUAL, **medians, **(plain | dict(fresh_pct=0.05)), preferment=poolish, segments=[[24.0, 3.0, 2.0], [5.0, 2.0, 18.0]]),
    dict(card=(-2.0, 36.0, 46.5), **other, **(plain | dict(fresh_pct=0.0)), preferment=poolish | dict(temp_c=17.0, hours=15.0),
         segments=[[24.0, 3.0, 6.0]]),
    dict(card=USUAL, **other, **(plain | dict(fresh_pct=0.9, lag_factor=1.5, sugar_pct=3.0, start_c=29.0)),
         segments=[[34.0, 2.0, 0.75], [24.0, 2.0, 0.25]]),
]
for course in courses:
    course["expected"] = batch(**course)
(HERE / "courses.json").write_text(json.dumps(courses, indent=1) + "\n")

# --- roots of 1 - z cot z = Bi by Brent's method ---
root = lambda n, bi: brentq(lambda z: (1 - bi) * np.sin(z) - z * np.cos(z), n * np.pi + 1e-9, (n + 1) * np.pi, xtol=1e-15)
write("sphere-roots.csv", ["bi", "n", "root"],
      [[bi, n, repr(float(root(n, bi)))] for bi in (0.05, 0.4, 1.0, 2.5, 30.0) for n in (0, 1, 2, 7)])

# --- components by CoolProp's own table of Choi & Okos; water and dissolved CO2 by the standards of IAPWS ---
components = ["FoodProtein", "FoodFat", "FoodCarbohydrate", "FoodFiber", "FoodAsh", "FoodWater"]
write("components.csv", ["component", "t_c", "cp_kj_kg_k", "k_w_m_k", "rho_kg_m3"],
      [[c[4:].lower(), t, *(repr(PropsSI(q, "T", t + KELVIN, "P", ATM, f"INCOMP::{c}") / f) for q, f in (("C", 1000), ("L", 1), ("D", 1)))]
       for c in components for t in (4.0, 25.0, 40.0)])
rows = []
for t in (4.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0):
    water = IAPWS95(T=t + KELVIN, P=0.101325)
    # IAPWS G7-04: Henry's constant in MPa per mole fraction; moles of CO2 in a litre of water times the ideal molar volume.
    mol_per_m3 = 0.101325 / _Henry(t + KELVIN, "CO2") * water.rho / 0.018015268
    rows.append([t, repr(float(water.cp)), repr(float(water.k)), repr(float(water.rho)), repr(float(mol_per_m3 * R * (t + KELVIN) / ATM))])
write("water.csv", ["t_c", "cp_kj_kg_k", "k_w_m_k", "rho_kg_m3", "co2_ml_per_ml"], rows)

# --- Student's t with four degrees of freedom, far into the tail: the integral of its density ---
density = lambda t: mpmath.mpf(3) / 8 / (1 + t**2 / 4) ** mpmath.mpf("2.5")
write("student.csv", ["t", "below"],
      [[t, mpmath.nstr(mpmath.quad(density, [-mpmath.inf, min(t, -1) * 10, min(t, -1), t]), 20)]
       for t in (-1e5, -3e3, -100.0, -20.0, -4.0, -1.0, -0.1, 0.0, 0.5, 2.0, 30.0)])
