#!/usr/bin/env python3
"""Field and inductance of a thick air coil with SciPy's special functions.

A peer for the solver under test, computed on the spot: the field by the elliptic integrals of a circular loop
(W. R. Smythe, Static and Dynamic Electricity, 7.10) integrated over the winding's section, the inductance by a
Hankel integral with Bessel and Struve functions. Inner radius 10 mm, outer 20 mm, length 40 mm, 1000
ampere-turns spread evenly; z from the middle. Points lie outside the winding. Prints JSON.
"""
import json
import sys

import numpy as np
from scipy.integrate import quad
from scipy.special import ellipe, ellipkm1, j0, j1, struve

MU0 = 4e-7 * np.pi
INNER_M, OUTER_M, LENGTH_M, AMPERE_TURNS = 0.010, 0.020, 0.040, 1000.0
POINTS_M = [(0.0, 0.0), (0.0, 0.02), (0.0, 0.03), (0.005, 0.01), (0.015, 0.03), (0.03, 0.0), (0.03, 0.04), (0.1, 0.05)]


def loop_field(a, r, z):
    """(B_r, B_z) in T per ampere of a loop of radius a (m) in the plane z = 0; a and z may be arrays."""
    far2 = (a + r) ** 2 + z**2
    near2 = (a - r) ** 2 + z**2
    first, second = ellipkm1(near2 / far2), ellipe(1 - near2 / far2)
    scale = MU0 / (2 * np.pi * np.sqrt(far2))
    bz = scale * (first + (a**2 - r**2 - z**2) / near2 * second)
    br = scale * z / r * (-first + (a**2 + r**2 + z**2) / near2 * second) if r > 0 else 0 * bz
    return br, bz


def coil_field(r, z):
    """(B_r, B_z) in T at a point outside the winding, by a product Gauss rule of 40 by 80 points."""
    (x, wx), (y, wy) = np.polynomial.legendre.leggauss(40), np.polynomial.legendre.leggauss(80)
    a = INNER_M + (OUTER_M - INNER_M) * (1 + x) / 2
    h = LENGTH_M * y / 2
    br, bz = loop_field(a[:, None], r, z - h[None, :])
    weight = AMPERE_TURNS * np.outer(wx, wy) / 4
    return float(np.sum(weight * br)), float(np.sum(weight * bz))


def inductance_per_turn2():
    """Henries: pi mu0 int P(k)^2 Z(k) dk, P the mean of r J1(kr) over the radii, Z that of exp(-k|z - z'|)."""

    def moment(x):  # int_0^x t J1(t) dt
        return np.pi * x / 2 * (j1(x) * struve(0, x) - j0(x) * struve(1, x))

    def integrand(k):
        radial = (moment(k * OUTER_M) - moment(k * INNER_M)) / (k**2 * (OUTER_M - INNER_M))
        kl = k * LENGTH_M
        return radial**2 * 2 * (kl + np.expm1(-kl)) / kl**2

    last = 20000.0
    edges = np.linspace(0, last, 201)
    body = sum(quad(integrand, max(lo, 1e-6), hi, epsabs=0, epsrel=1e-10)[0] for lo, hi in zip(edges, edges[1:]))
    tail = 2 * (INNER_M + OUTER_M) / (3 * np.pi * (OUTER_M - INNER_M) ** 2 * LENGTH_M * last**3)
    return np.pi * MU0 * (body + tail)


def main():
    fields = [dict(zip(("r_m", "z_m", "b_r_t", "b_z_t"), (r, z, *coil_field(r, z)))) for r, z in POINTS_M]
    answer = {"library": "scipy", "fields": fields, "inductance_per_turn2_h": inductance_per_turn2()}
    json.dump(answer, sys.stdout, indent=1)
    print()


if __name__ == "__main__":
    main()
