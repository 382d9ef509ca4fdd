"""Invents data/fifty.csv: fifty batches of a kitchen that does not exist.

The course of each batch is that of dough.py at values chosen here; lots, batches, readings and thermometers scatter by
a seeded generator. Nothing in it was measured.

    python fifty.py
"""

import csv
from datetime import date, timedelta

import numpy as np

import dough
from posterior import FIFTY

TRUTH = {
    "vigour": 210.0, "growth": 0.24, "lag": 0.25, "gas_ceiling": 1000.0, "salt_effect": 0.09, "gas_lost": 0.10,
    "best_temp": 35.0, "stop_temp": 45.0, "cold_rate": 0.09, "max_rise": 3.4, "cooling_250g": 2.3,
}
PULL, WARMING, MIXED_SCATTER = 0.06, 1.3, 0.5
RISE_SCATTER, OWN_SCATTER = 0.05, 0.10
LOTS = {"A": 0.10, "B": -0.12, "C": 0.04}


def main():
    chance = np.random.default_rng(20240229)
    n = 50
    uniform = lambda low, high, digits: np.round(chance.uniform(low, high, n), digits)
    b = {
        "flour_g": np.full(n, 1000.0),
        "water_g": uniform(600, 680, 0),
        "salt_g": uniform(18, 28, 0),
        "yeast_g": uniform(1.0, 5.0, 1),
        "room_temp_c": uniform(17, 27, 1),
        "water_temp_c": uniform(8, 24, 0),
        "bulk_hours": chance.choice([0.5, 1.0, 2.0, 3.0], n),
        "cold_hours": chance.choice([18.0, 24.0, 36.0, 48.0], n),
        "cold_temp_c": uniform(2.5, 6.0, 1),
        "piece_g": chance.choice([240.0, 260.0, 280.0], n),
    }
    b["bulk_temp_c"] = b["room_temp_c"]
    balance = dough.heat_balance(b)
    mixed = balance + PULL * (b["room_temp_c"] - balance) + WARMING
    b["dough_temp_c"] = np.round(mixed + chance.normal(0.0, MIXED_SCATTER, n), 1)
    lots = np.sort(chance.choice(list(LOTS), n))
    ln_k = np.log(TRUTH["vigour"]) + np.array([LOTS[lot] for lot in lots]) + chance.normal(0.0, OWN_SCATTER, n)
    b["rise"] = np.round(np.exp(dough.course(b, TRUTH)(ln_k) + chance.normal(0.0, RISE_SCATTER, n)), 2)

    words = {"yeast_type": "instant", "mix_method": "hand"}
    first = date(2024, 1, 3)
    with open(FIFTY, "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["batch_id", "date", "flour_lot", *words, *b])
        for i in range(n):
            day = first + timedelta(days=4 * i)
            out.writerow([f"i{i + 1:02}", day, lots[i], *words.values(), *(f"{b[name][i]:g}" for name in b)])


if __name__ == "__main__":
    main()
