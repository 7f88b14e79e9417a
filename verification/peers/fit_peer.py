"""Weighted nonlinear least squares by SciPy, printed as JSON.

Needs `requirements.txt` beside this file. Two cases of our own, their data by formula so that both sides have the same:
1. a warm-up of two exponentials, the scatter unknown (`curve_fit`);
2. a magnetic circuit with priors on turns and gap, each prior one more reading (`least_squares`).
"""

import json

import numpy as np
import scipy
from scipy.optimize import curve_fit, least_squares

T = 30.0 * np.arange(80)


def warm_up(t, steady, a1, tau1, a2, tau2):
    return steady - a1 * np.exp(-t / tau1) - a2 * np.exp(-t / tau2)


def case_1():
    k = np.arange(80)
    y = warm_up(T, 71.0, 38.0, 1300.0, 11.0, 120.0) + 0.2 * np.sin(7.3 * k) + 0.1 * np.cos(2.9 * k * k)
    p, covariance = curve_fit(warm_up, T, y, p0=[80, 40, 1500, 10, 100], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    return p, covariance


def case_2():
    amperes = np.array([0.1, 0.2, 0.3, 0.4])
    prior = np.array([900.0, 0.3])
    standard = np.array([30.0, 0.03])

    def field(p):
        return 1.2566 * p[0] * amperes / (2.0 * p[1] + 0.1)

    read = field([923.0, 0.317]) + 3.0 * np.sin(np.array([1.0, 2.0, 3.0, 4.0]))

    def residuals(p):
        return np.concatenate([(field(p) - read) / 3.0, (p - prior) / standard])

    found = least_squares(residuals, prior, x_scale=standard, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    return found.x, np.linalg.inv(found.jac.T @ found.jac)


answers = [
    {"values": p.tolist(), "covariance": covariance.tolist()} for p, covariance in (case_1(), case_2())
]
print(json.dumps({"library": "scipy", "version": scipy.__version__, "answers": answers}))
