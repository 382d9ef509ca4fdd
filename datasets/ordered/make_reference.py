"""Ordered regression by another library, on batches made here.

Run as: python make_reference.py   (numpy 2.4.6, pandas 3.1.1, scipy 1.17.1, statsmodels 0.15.0, all from PyPI).
Writes batches.csv (invented: three predictors and a class from 0 to 5) and reference.json: what
statsmodels.miscmodels.ordinal_model.OrderedModel (logit, flat priors) says of them, to the last digits of its search.
"""

import json
import pathlib

import numpy as np
import pandas as pd
from statsmodels.miscmodels.ordinal_model import OrderedModel

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(1980)
n = 240
ripeness = rng.normal(0, 1, n)
oven = rng.normal(0, 1, n)
oil = np.where(rng.random(n) < 0.4, 0.0, rng.normal(3, 1, n).round(1))
latent = 0.9 * ripeness - 0.6 * ripeness**2 + 0.4 * oven - 0.1 * oil + rng.logistic(0, 1, n)
score = np.digitize(latent, [-3.0, -1.5, -0.3, 0.8, 2.0])
data = pd.DataFrame({"ripeness": ripeness.round(4), "oven": oven.round(4), "oil": oil, "score": score})
data.to_csv(HERE / "batches.csv", index=False, lineterminator="\n")

x = np.column_stack([data.ripeness, data.ripeness**2, data.oven, data.oil])
model = OrderedModel(data.score, x, distr="logit")
first = model.fit(method="bfgs", gtol=1e-10, maxiter=2000, disp=False)
fit = model.fit(start_params=first.params, method="newton", maxiter=200, tol=1e-14, disp=False)
thresholds = model.transform_threshold_params(fit.params)[1:-1]
reference = {
    "OrderedModel.params.slopes": list(fit.params[:4]),
    "OrderedModel.transform_threshold_params": list(thresholds),
    "OrderedModel.bse.slopes": list(fit.bse[:4]),
    "OrderedModel.llf": float(fit.llf),
}
(HERE / "reference.json").write_text(json.dumps({k: np.asarray(v).tolist() for k, v in reference.items()}, indent=1) + "\n")
print(reference, np.abs(model.score(np.asarray(fit.params))).max(), np.bincount(data.score))
