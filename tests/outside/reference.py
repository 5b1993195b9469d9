"""Independent answers for the differential test, from numpy, scipy and statsmodels.

Reads one JSON object from standard input: {"model": name, "cases": [...]}; writes the list of
answers to standard output. Nothing here follows the Rust code's way of computing.
"""

import json
import sys

import numpy as np
from scipy import optimize, stats


def harmonic(case):
    """Tilt of a ring by a general least-squares solver."""
    y = np.array(case["points"])
    theta = np.radians(np.array(case["degrees"]))
    x = np.column_stack([np.ones_like(theta), np.cos(theta), np.sin(theta)])
    coefficients, *_ = np.linalg.lstsq(x, y, rcond=None)
    residual = y - x @ coefficients
    a, b = coefficients[1:]
    covariance = np.linalg.inv(x.T @ x) * case["sigma"] ** 2
    amplitude = np.hypot(a, b)
    along = np.array([a, b]) / amplitude
    across = np.array([-b, a]) / amplitude
    block = covariance[1:, 1:]
    answer = {
        "peak_to_peak": 2 * amplitude,
        "high_spot": np.degrees(np.arctan2(b, a)) % 360,
        "residual": residual.max() - residual.min(),
        "u_peak_to_peak": 2 * np.sqrt(along @ block @ along),
        "u_high_spot": np.degrees(np.sqrt(across @ block @ across) / amplitude),
    }
    if len(y) >= 5:
        wide = np.column_stack([x, np.cos(2 * theta), np.sin(2 * theta)])
        both, *_ = np.linalg.lstsq(wide, y, rcond=None)
        answer["order2"] = 2 * np.hypot(both[3], both[4])
    return answer


def regression(case):
    """Weighted line, band, inverse prediction and Fieller's bound."""
    import statsmodels.api as sm

    x, y, u = (np.array(case[k]) for k in ("x", "y", "u"))
    model = sm.WLS(y, sm.add_constant(x), weights=1 / u**2).fit()
    at = np.array([[1.0, case["at"]]])
    band = model.get_prediction(at).se_mean[0]
    intercept, slope = model.params
    scale = np.sqrt(model.scale)
    known = np.array(model.normalized_cov_params)
    k = stats.norm.ppf(0.9)

    def lowered(place):
        row = np.array([1.0, place])
        return intercept + slope * place - case["y_at"] - k * np.sqrt(row @ known @ row)

    middle = (case["y_at"] - intercept) / slope
    low = middle
    while lowered(low) < 0:
        low -= max(1.0, abs(middle - low))
    bound = optimize.brentq(lowered, low, middle, xtol=1e-14, rtol=1e-14)
    # First-order inverse prediction by the general law of propagation.
    gradient = np.array([-1 / slope, -(case["y_at"] - intercept) / slope**2])
    variance = gradient @ np.array(model.cov_params()) @ gradient + model.scale / 2 / slope**2
    return {
        "slope": slope,
        "at": intercept + slope * case["at"],
        "u_at": band,
        "u_slope": model.bse[1],
        "residual_sd": scale,
        "earliest": bound,
        "inverse": middle,
        "u_inverse": np.sqrt(variance),
    }


def forecast(case):
    """Distance left and its lower bound, by root finding on the lowered line."""
    x, y = np.array(case["km"]), np.array(case["mm"])
    u, limit, n = case["u"], case["limit"], len(case["km"])
    centre = x.mean()
    slope, level = np.polyfit(x - centre, y, 1)
    sxx = ((x - centre) ** 2).sum()
    chi2 = (((y - level - slope * (x - centre)) / u) ** 2).sum()
    known = n < 3 or chi2 <= stats.chi2.ppf(0.95, n - 2)
    margin = stats.norm.ppf(0.9) * u
    if not known:
        margin = stats.t.ppf(0.9, n - 2) * u * np.sqrt(chi2 / (n - 2))

    def lowered(place):
        d = place - centre
        return level + slope * d - limit - margin * np.sqrt(1 / n + d * d / sxx)

    middle = centre + (limit - level) / slope
    low = middle
    while lowered(low) < 0:
        low -= 1000.0
    bound = optimize.brentq(lowered, low, middle, xtol=1e-9, rtol=1e-14) if low < middle else middle
    return {
        "rate": -slope * 1000,
        "middle": max(0.0, middle - x[-1]),
        "lower": max(0.0, bound - x[-1]),
        "known": bool(known),
    }


def anova(case):
    """Two-way table with interaction by nested least-squares fits of dummy variables."""
    import pandas as pd
    import statsmodels.api as sm
    from statsmodels.formula.api import ols

    cells = np.array(case["readings"])
    parts, people, repeats = cells.shape
    index = np.indices(cells.shape).reshape(3, -1)
    frame = pd.DataFrame({"part": index[0], "person": index[1], "y": cells.ravel()})
    fit = ols("y ~ C(part) * C(person)", frame).fit()
    table = sm.stats.anova_lm(fit, typ=2)
    rows = {}
    for name, key in [
        ("parts", "C(part)"),
        ("people", "C(person)"),
        ("interaction", "C(part):C(person)"),
        ("repeats", "Residual"),
    ]:
        row = table.loc[key]
        rows[name] = [row["sum_sq"], row["df"], row["F"], row["PR(>F)"]]
    return rows


def clocking(case):
    """Hub and disc by a complex least-squares solver, with the covariance of the solution."""
    beta = 2 * np.pi / case["holes"]
    phasors = []
    for ring in case["rings"]:
        y = np.array(ring["points"])
        n = len(y)
        phasors.append(2 / n * np.fft.fft(y)[1].conj())
    k = np.array([ring["clocking"] for ring in case["rings"]])
    n = np.array([len(ring["points"]) for ring in case["rings"]])
    sd = case["sigma"] * np.sqrt(2 / n)
    turn = np.exp(1j * k * beta)
    design = np.column_stack([np.ones_like(turn), turn]) / sd[:, None]
    solution, *_ = np.linalg.lstsq(design, np.array(phasors) / sd, rcond=None)
    covariance = np.linalg.inv(design.conj().T @ design)
    hub, disc = solution
    answer = {
        "hub": [2 * abs(hub), np.degrees(np.angle(hub)) % 360, 2 * np.sqrt(covariance[0, 0].real)],
        "disc": [2 * abs(disc), np.degrees(np.angle(disc)) % 360, 2 * np.sqrt(covariance[1, 1].real)],
        "predicted": [],
    }
    for place in range(case["holes"]):
        row = np.array([1.0, np.exp(1j * place * beta)])
        u = np.sqrt((row @ covariance @ row.conj()).real)
        answer["predicted"].append([2 * abs(row @ solution), 2 * u])
    return answer


DISTRIBUTIONS = {
    "normal_cdf": lambda c: stats.norm.cdf(c["x"]),
    "normal_quantile": lambda c: stats.norm.ppf(c["p"]),
    "student_t_cdf": lambda c: stats.t.cdf(c["x"], c["dof"]),
    "student_t_quantile": lambda c: stats.t.ppf(c["p"], c["dof"]),
    "chi_squared_cdf": lambda c: stats.chi2.cdf(c["x"], c["dof"]),
    "chi_squared_tail": lambda c: stats.chi2.sf(c["x"], c["dof"]),
    "chi_squared_quantile": lambda c: stats.chi2.ppf(c["p"], c["dof"]),
    "fisher_tail": lambda c: stats.f.sf(c["x"], c["dof"], c["dof2"]),
    "fisher_quantile": lambda c: stats.f.ppf(c["p"], c["dof"], c["dof2"]),
    "gamma_cdf": lambda c: stats.gamma.cdf(c["x"], c["dof"], scale=c["dof2"]),
    "range_quantile": lambda c: stats.studentized_range.ppf(c["p"], c["n"], np.inf),
}

MODELS = {
    "harmonic": harmonic,
    "regression": regression,
    "forecast": forecast,
    "anova": anova,
    "clocking": clocking,
    "distribution": lambda case: DISTRIBUTIONS[case["function"]](case),
}


def plain(value):
    """Numpy's scalars as JSON's; not a number becomes null."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    number = float(value)
    return number if np.isfinite(number) else None


def main():
    question = json.load(sys.stdin)
    model = MODELS[question["model"]]
    json.dump([plain(model(case)) for case in question["cases"]], sys.stdout)


if __name__ == "__main__":
    main()
