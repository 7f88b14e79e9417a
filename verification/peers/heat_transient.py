#!/usr/bin/env python3
"""Half an hour's warm-up of a ring winding, solved with scikit-fem.

A peer for the heat solver under test: a ring 10 to 25 mm in radius and 10 mm high, 1e5 W/m³, 0.5 W/(m K),
2e6 J/(m³ K), with a film of 10 W/(m² K) on the outside; bore and ends insulated. Second-order triangles,
Crank-Nicolson in equal steps with one factorisation. Prints JSON: rise of the hottest node and seconds.
"""
import argparse
import json
import time

import numpy as np
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementTriP2, FacetBasis, LinearForm, MeshTri
from skfem.helpers import dot, grad

INNER_M, OUTER_M, HEIGHT_M = 0.010, 0.025, 0.010
HEAT, CONDUCTIVITY, CAPACITY, FILM = 1e5, 0.5, 2e6, 10.0


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--size-mm", type=float, default=0.8)
    parser.add_argument("--steps", type=int, default=60)
    parser.add_argument("--end-s", type=float, default=1800.0)
    parser.add_argument("--repeat", type=int, default=1)
    given = parser.parse_args()
    across = max(2, round((OUTER_M - INNER_M) * 1e3 / given.size_mm))
    up = max(2, round(HEIGHT_M * 1e3 / given.size_mm))
    mesh = MeshTri.init_tensor(np.linspace(INNER_M, OUTER_M, across + 1), np.linspace(0, HEIGHT_M, up + 1))
    basis = Basis(mesh, ElementTriP2(), intorder=5)
    outside = FacetBasis(
        mesh, ElementTriP2(), facets=mesh.facets_satisfying(lambda x: np.isclose(x[0], OUTER_M)), intorder=5
    )

    def solve():
        stiffness = BilinearForm(lambda u, v, w: CONDUCTIVITY * w.x[0] * dot(grad(u), grad(v))).assemble(basis)
        film = BilinearForm(lambda u, v, w: FILM * w.x[0] * u * v).assemble(outside)
        mass = BilinearForm(lambda u, v, w: CAPACITY * w.x[0] * u * v).assemble(basis)
        load = LinearForm(lambda v, w: HEAT * w.x[0] * v).assemble(basis)
        step = given.end_s / given.steps
        matrix = stiffness + film
        factor = splu((mass + 0.5 * step * matrix).tocsc())
        rise = np.zeros(load.size)
        for _ in range(given.steps):
            rise = factor.solve(mass @ rise - 0.5 * step * (matrix @ rise) + step * load)
        return rise

    seconds = []
    for _ in range(given.repeat):
        start = time.perf_counter()
        rise = solve()
        seconds.append(time.perf_counter() - start)
    print(json.dumps({"library": "scikit-fem", "unknowns": int(rise.size), "steps": given.steps,
                      "solve_s": min(seconds), "hottest_rise_k": float(rise.max())}, indent=1))


if __name__ == "__main__":
    main()
