"""Values that the tests compare with, computed by other people's libraries on series made here.

Run as: python reference.py   (numpy 2.4.6, scipy 1.17.1, pandas 3.1.1, statsmodels 0.15.0, capstat-core 0.4.3,
pccpy 0.16.2, all from PyPI). Writes rules-series.csv, rules-expected.csv, subgroups.csv, followed.csv, change.csv
and spreads.csv beside itself, and prints single values for the test file.
"""

import csv
import pathlib

import numpy as np
import pandas as pd
import statsmodels.api as sm
from capstat_core.control_charts import ControlChart, ControlLimits, xbar_s_chart
from capstat_core.rules import nelson_rules, western_electric_rules
from pccpy.rules import apply_tests
from scipy import stats

HERE = pathlib.Path(__file__).parent


def write(name, header, rows):
    with open(HERE / name, "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(header)
        w.writerows(rows)


# --- run rules: 400 invented points in sigmas, with shifts, drifts, alternation and quiet stretches ---
rng = np.random.default_rng(1984)
z = rng.standard_normal(400)
z[40:60] += 1.2
z[90:100] = np.linspace(-1.5, 1.5, 10)
z[130:150] = np.where(np.arange(20) % 2 == 0, 0.8, -0.8) + 0.1 * z[130:150]
z[180:200] *= 0.4
z[230:245] = np.where(rng.random(15) < 0.5, -1, 1) * (1.1 + np.abs(z[230:245]) / 2)
z[270:285] -= 1.3
z[300] = 3.4
z[310] = -3.2
z[320:330] = 0.0  # on the center line
z[350:365] += 1.9
z = np.round(z, 4)
write("rules-series.csv", ["z"], [[x] for x in z])

expected = []
by_pccpy = apply_tests(z, np.zeros_like(z), np.ones_like(z), range(1, 9))
expected += [("pccpy", f"nelson-{t}", int(i)) for t, at in by_pccpy.items() for i in at]
chart = ControlChart(name="z", points=tuple(z), limits=ControlLimits(center=0.0, lower=-3.0, upper=3.0), violations=())
for v in nelson_rules(chart):
    expected.append(("capstat-core", f"nelson-{v.rule}", v.point))
for v in western_electric_rules(chart):
    expected.append(("capstat-core", f"western-electric-{v.rule}", v.point))
write("rules-expected.csv", ["library", "rule", "point"], sorted(set(expected)))

# --- X-bar and s: 12 invented days of 3 batches ---
groups = np.round(rng.normal(0.0, 0.1, (12, 3)), 4)
pair = xbar_s_chart(groups)
rows = []
for day, g in enumerate(groups):
    rows += [[day, x] for x in g]
write("subgroups.csv", ["day", "value"], rows)
print("means", pair.location.limits, "spreads", pair.dispersion.limits)
print("anova p", stats.f_oneway(*groups).pvalue)

# --- plans followed: OLS with HC3 ---
n = 48
followed = (rng.random(n) < 0.5).astype(int)
room = 21 + 3 * rng.standard_normal(n) + 1.5 * followed
hours = 24 + 6 * rng.standard_normal(n)
miss = rng.standard_normal(n) * (0.18 - 0.08 * followed) + 0.004 * (room - 21)
table = pd.DataFrame({"followed": followed, "miss": miss.round(5), "room_temp_c": room.round(2), "hours": hours.round(2)})
table.to_csv(HERE / "followed.csv", index=False)
y = table.miss.abs()
for columns in (["followed"], ["followed", "room_temp_c", "hours"]):
    fit = sm.OLS(y, sm.add_constant(table[columns])).fit(cov_type="HC3", use_t=True)
    print("HC3", columns, fit.params["followed"], fit.conf_int(alpha=0.10).loc["followed"].tolist())

# --- change point: 40 invented batches, spread halved and level moved from number 25 on ---
x = np.concatenate([rng.normal(0.05, 0.16, 24), rng.normal(0.0, 0.08, 16)]).round(4)
write("change.csv", ["value"], [[v] for v in x])
A, B, KAPPA, FEWEST = 1.0, 0.5, 0.1, 3
w = (x - np.median(x)) / x.std(ddof=1)


def log_marginal(sizes):
    """Normal values that share a spread, in groups with a mean each: a multivariate t distribution."""
    blocks = np.zeros((sum(sizes), sum(sizes)))
    at = 0
    for s in sizes:
        blocks[at : at + s, at : at + s] = 1 / KAPPA
        at += s
    return lambda v: stats.multivariate_t.logpdf(v, shape=B / A * (np.eye(len(v)) + blocks), df=2 * A)


n = len(w)
none = log_marginal([n])(w)
level = np.array([log_marginal([i, n - i])(w) for i in range(FEWEST, n - FEWEST + 1)])
both = np.array([log_marginal([i])(w[:i]) + log_marginal([n - i])(w[i:]) for i in range(FEWEST, n - FEWEST + 1)])
top = max(none, level.max(), both.max())
e = lambda v: np.exp(v - top)
p = np.array([0.5 * e(none), 0.25 * e(level).mean(), 0.25 * e(both).mean()])
p /= p.sum()
q = e(level) + e(both)
q /= q.sum()
print("change: none, level, both", p.tolist(), "best", int(q.argmax()) + FEWEST, "probability there", q.max())
print("probabilities", q[:5].tolist(), q[-5:].tolist())

# --- spreads: lopsided values, and normal quantiles in random order with spreads 0.2 and 0.1 ---
def normal_like(n, spread):
    q = stats.norm.ppf((np.arange(n) + 0.5) / n)
    return rng.permutation(q / q.std(ddof=1) * spread).round(5)


sides = {
    "lopsided before": (0.1 * rng.exponential(size=14) ** 1.3).round(5),
    "lopsided after": (0.07 * rng.exponential(size=12) ** 1.3).round(5),
    "normal before": normal_like(30, 0.2),
    "normal after": normal_like(25, 0.1),
}
write("spreads.csv", ["side", "value"], [[name, v] for name, values in sides.items() for v in values])


def centered(v):
    return (v - v.mean()) * np.sqrt(len(v) / (len(v) - 1))


a, b = centered(sides["lopsided before"]), centered(sides["lopsided after"])
ratio = lambda x, y, axis: y.var(axis=axis, ddof=1) / x.var(axis=axis, ddof=1)
test = stats.permutation_test((a, b), ratio, vectorized=True, n_resamples=99_999, alternative="less", random_state=0)
print("permutation p", test.pvalue)

# --- chance that a steady history of 30 signals (beyond three sigma, nine on one side), limits from itself ---
x = rng.standard_normal((200_000, 30))
sigma = np.abs(np.diff(x, axis=1)).mean(1, keepdims=True) * np.sqrt(np.pi) / 2
d = x - x.mean(1, keepdims=True)
above = d > 0
runs = [above[:, i : i + 9].all(1) | (~above[:, i : i + 9]).all(1) for i in range(22)]
print("chance in 30", ((np.abs(d) > 3 * sigma).any(1) | np.any(runs, axis=0)).mean())

# --- intervals ---
print("F ratio 0.5, 29 and 24 df", [0.5 * np.sqrt(stats.f.ppf(v, 29, 24)) for v in (0.05, 0.5, 0.95)], stats.f.cdf(4, 29, 24))
print("Clopper-Pearson 27 of 30", stats.binomtest(27, 30).proportion_ci(0.90, "exact"))
print("chi2 Cp 1.2, 49 df", [1.2 * np.sqrt(stats.chi2.ppf(v, 49) / 49) for v in (0.05, 0.95)])
sample = np.array([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
m, s = sample.mean(), sample.std(ddof=1)
print("prediction", [m + k * stats.t.ppf(0.95, 9) * s * np.sqrt(1.1) for k in (-1, 1)])
