#!/usr/bin/env python3
"""Pull of a pot magnet on a steel disc, solved from nothing with scikit-fem.

A peer for the solver under test: another library, another unknown, another mesh, another exterior
and another force formula. Axisymmetric nonlinear magnetostatics in the flux function psi = r A_phi on
the coordinates (s, z) with s = r^2, where the flux density is

    B_z = 2 dpsi/ds,   B_r = -(dpsi/dz) / sqrt(s),   volume element  pi ds dz,

so that the co-ordinate singularity of the axis is gone and every boundary of this magnet stays straight.
Quadratic triangles; the mesh is the library's own tensor grid, refined towards the corners of the steel.
Newton's method on the magnetic energy with a line search. Open space is a box 1.2 m wide, psi = 0 on it: the
field of a dipole is wrong there by about (0.036 m / 1.2 m)^3 = 3e-5 of its own leakage part.
Force: Maxwell's stress averaged over the whole gap layer, which is virtual work for a displacement that
moves everything above the gap rigidly (J. L. Coulomb, IEEE Trans. Magn. 19 (1983) 2514, from memory).

The magnet (sharp corners): shell 30/26.4 mm radius, 36 mm high, back 6 mm, centre pole 12 mm radius, winding
12.6 to 25.8 mm and 6.6 to 34.8 mm with 1080 ampere-turns, disc 36 mm radius and 12 mm thick; steel
B = mu0 H + Js (2/pi) atan(pi (mur - 1) mu0 H / (2 Js)), Js = 2.1 T, mur = 1500.

`pot_magnet.py --help` names the settings; the answer is JSON. Errors of the pull at 0.6 mm, against -450.31134 N
by NGSolve at orders 5 and 6: as it stands 2.5e-5 with 27 thousand unknowns; `--cells 3 --growth 2
--corner-levels 3` 6.3e-4 with 6.9 thousand, the fair setting for a race to 0.1 %.
"""
import argparse
import json
import sys
import time

import numpy as np
import scipy.sparse.linalg as linalg
from skfem import Basis, BilinearForm, ElementTriP2, LinearForm, MeshTri

try:
    from sksparse import cholmod
except ImportError:  # an optional extra, see requirements-cholmod.txt
    cholmod = None

MU0 = 4e-7 * np.pi
SATURATION_T = 2.1
INITIAL_PERMEABILITY = 1500.0
AMPERE_TURNS = 1080.0
WINDING = (0.0126, 0.0258, 0.0066, 0.0348)  # r, r, z, z in m
FACE_M = 0.036


class Steel:
    """Arctangent law, inverted: reluctivity and its slope with respect to B^2; energy density."""

    def __init__(self):
        h = np.concatenate([[0.0], np.geomspace(1e-3, 1e8, 4000)])
        self.table_h, self.table_b = h, self.flux_density(h)
        self.k = np.pi * (INITIAL_PERMEABILITY - 1) * MU0 / (2 * SATURATION_T)

    @staticmethod
    def flux_density(h):
        k = np.pi * (INITIAL_PERMEABILITY - 1) * MU0 / (2 * SATURATION_T)
        return MU0 * h + SATURATION_T * (2 / np.pi) * np.arctan(k * h)

    def field_strength(self, b):
        """H in A/m for B in T: a guess from the table, then Newton (B(H) is concave, so it converges)."""
        h = np.interp(b, self.table_b, self.table_h)
        for _ in range(3):
            slope = MU0 + SATURATION_T * (2 / np.pi) * self.k / (1 + (self.k * h) ** 2)
            h = h - (self.flux_density(h) - b) / slope
        return h

    def evaluate(self, b2):
        """(nu, dnu/d(B^2), energy density) for B^2 in T^2."""
        b = np.sqrt(b2)
        small = b < 1e-9
        bs = np.where(small, 1e-9, b)
        h = self.field_strength(bs)
        slope = MU0 + SATURATION_T * (2 / np.pi) * self.k / (1 + (self.k * h) ** 2)
        nu = h / bs
        dnu = (1 / slope - nu) / (2 * bs**2)
        kh = self.k * h
        coenergy = 0.5 * MU0 * h**2 + SATURATION_T * (2 / np.pi) / self.k * (
            kh * np.arctan(kh) - 0.5 * np.log1p(kh**2)
        )
        return nu, np.where(small, 0.0, dnu), np.where(small, 0.5 * nu * b2, h * bs - coenergy)


STEEL = Steel()


def lines(breaks, h_m, far_m, growth):
    """Grid lines: the breaks, each stretch between them divided evenly, then growing cells out to far_m."""
    out = [breaks[0]]
    for a, b in zip(breaks[:-1], breaks[1:]):
        n = max(1, int(np.ceil((b - a) / h_m - 1e-9)))
        out.extend(np.linspace(a, b, n + 1)[1:])
    step = h_m
    while out[-1] < far_m:
        step *= growth
        out.append(min(far_m, out[-1] + step))
    return np.array(out)


def make_mesh(gap_m, h_m, growth, corner_levels, corner_m, with_disc, far_m=1.2):
    """Triangles in (r, z), refined at the corners; boundaries of all parts lie on grid lines."""
    top = [FACE_M, FACE_M + gap_m, FACE_M + gap_m + 0.012] if with_disc else [FACE_M, FACE_M + gap_m]
    r = lines([0, 0.012, 0.0126, 0.0258, 0.0264, 0.030, 0.036], h_m, far_m, growth)
    up = lines([0, 0.006, 0.0066, 0.0348] + top, h_m, far_m, growth)
    down = -lines([0.0, h_m], h_m, far_m, growth)[1:]
    mesh = MeshTri.init_tensor(r, np.sort(np.concatenate([down, up])))
    corners = [(0.012, FACE_M), (0.0264, FACE_M), (0.030, FACE_M), (0.012, 0.006), (0.0264, 0.006), (0.030, 0.0)]
    if with_disc:
        corners += [(0.036, FACE_M + gap_m), (0.036, FACE_M + gap_m + 0.012)]
        # what lies opposite a pole's edge sees its field through the gap
        corners += [(c, FACE_M + gap_m) for c in (0.012, 0.0264, 0.030)]
    corners = np.array(corners)
    radius = corner_m
    for _ in range(corner_levels):
        vertices = mesh.p[:, mesh.t]  # 2, 3, elements
        distance = np.hypot(
            vertices[0][:, :, None] - corners[None, None, :, 0], vertices[1][:, :, None] - corners[None, None, :, 1]
        ).min(axis=(0, 2))
        mesh = mesh.refined(np.nonzero(distance < radius)[0])
        radius *= 0.5
    return mesh


def parts(mesh, gap_m, with_disc):
    """Masks of elements: steel, winding, gap layer."""
    r, z = mesh.p[:, mesh.t].mean(axis=1)
    shell = (r < 0.030) & (z > 0) & (z < FACE_M) & ((z < 0.006) | (r < 0.012) | (r > 0.0264))
    disc = with_disc & (r < 0.036) & (z > FACE_M + gap_m) & (z < FACE_M + gap_m + 0.012)
    winding = (r > WINDING[0]) & (r < WINDING[1]) & (z > WINDING[2]) & (z < WINDING[3])
    layer = (z > FACE_M) & (z < FACE_M + gap_m)
    return shell | disc, winding, layer


@BilinearForm
def tangent(u, v, w):
    s = w.x[0]
    gu0, gu1, gv0, gv1 = 4 * u.grad[0], u.grad[1] / s, v.grad[0], v.grad[1]
    return w.nu * (gu0 * gv0 + gu1 * gv1) + 2 * w.dnu * (w.q0 * u.grad[0] + w.q1 * u.grad[1]) * (
        w.q0 * gv0 + w.q1 * gv1
    )


@LinearForm
def internal(v, w):
    return w.nu * (w.q0 * v.grad[0] + w.q1 * v.grad[1])


@LinearForm
def source(v, w):
    return w.density / np.sqrt(w.x[0]) * v


def factor(matrix, solver, analysis):
    """Solve function for a symmetric positive definite matrix, and the symbolic analysis for re-use."""
    if solver == "cholmod":
        analysis = cholmod.analyze(matrix) if analysis is None else analysis
        return analysis.cholesky(matrix), analysis
    return linalg.splu(matrix, permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True}).solve, None


def run(gap_m, h_m, growth, corner_levels, corner_m, with_disc, solver):
    started = time.perf_counter()
    mesh = make_mesh(gap_m, h_m, growth, corner_levels, corner_m, with_disc)
    steel, winding, layer = parts(mesh, gap_m, with_disc)
    squared = MeshTri(np.vstack([mesh.p[0] ** 2, mesh.p[1]]), mesh.t)
    meshed = time.perf_counter()

    basis = Basis(squared, ElementTriP2(), intorder=5)
    points = basis.global_coordinates().value
    s = points[0]
    area = (WINDING[1] - WINDING[0]) * (WINDING[3] - WINDING[2])
    density = np.repeat((winding * (AMPERE_TURNS / area))[:, None], s.shape[1], axis=1)
    load = source.assemble(basis, density=density)

    facets = squared.boundary_facets()
    fixed = basis.get_dofs(facets).all()  # axis and box alike
    free = np.setdiff1d(np.arange(basis.N), fixed)

    def state(psi):
        field = basis.interpolate(psi)
        g0, g1 = field.grad
        q0, q1 = 4 * g0, g1 / s
        b2 = g0 * q0 + g1 * q1
        nu = np.full_like(b2, 1 / MU0)
        dnu = np.zeros_like(b2)
        energy = 0.5 * b2 / MU0
        nu[steel], dnu[steel], energy[steel] = STEEL.evaluate(b2[steel])
        return {"nu": nu, "dnu": dnu, "q0": q0, "q1": q1, "energy": energy, "b2": b2}

    def functional(psi, now):
        return np.sum(now["energy"] * basis.dx) - load @ psi

    psi = np.zeros(basis.N)
    now = state(psi)
    value = functional(psi, now)
    scale = np.linalg.norm(load[free])
    analysis = None
    steps = 0
    while True:
        fields = {k: now[k] for k in ("nu", "dnu", "q0", "q1")}
        residual = load - internal.assemble(basis, nu=now["nu"], q0=now["q0"], q1=now["q1"])
        relative = np.linalg.norm(residual[free]) / scale
        if relative < 1e-9 or steps == 60:
            break
        matrix = tangent.assemble(basis, **fields).tocsc()[free][:, free]
        solve_with, analysis = factor(matrix, solver, analysis)
        step = np.zeros(basis.N)
        step[free] = solve_with(residual[free])
        decrease = residual @ step
        length = 1.0
        while length > 1e-4:
            trial = state(psi + length * step)
            trial_value = functional(psi + length * step, trial)
            if trial_value <= value - 1e-4 * length * decrease + 1e-13 * abs(value):
                break
            length *= 0.5
        psi, now, value, steps = psi + length * step, trial, trial_value, steps + 1
    if relative >= 1e-9:
        raise RuntimeError(f"Newton stopped at a relative residual of {relative:.1e}")

    field = basis.interpolate(psi)
    bz, br = 2 * field.grad[0], -field.grad[1] / np.sqrt(s)
    dx = basis.dx
    stress = (bz**2 - br**2) / (2 * MU0)
    force = -np.pi * np.sum((stress * dx)[layer]) / gap_m
    energy = np.pi * np.sum(now["energy"] * dx)
    flux = 2 * np.pi * np.sum((field.value / (2 * np.sqrt(s)) * dx)[winding]) / area
    solved = time.perf_counter()

    def bz_at(r_m, z_m):
        cell = squared.element_finder()(np.array([r_m**2]), np.array([z_m]))
        local = squared.mapping().invF(np.array([[r_m**2], [z_m]])[:, :, None], tind=cell)
        gradient = sum(
            psi[basis.element_dofs[i, cell[0]]] * basis.elem.gbasis(squared.mapping(), local, i, tind=cell)[0].grad
            for i in range(basis.Nbfun)
        )
        return float(2 * gradient[0].flatten()[0]), float(-gradient[1].flatten()[0] / max(r_m, 1e-12))

    out = {
        "gap_m": gap_m,
        "unknowns": int(len(free)),
        "newton_steps": steps,
        "energy_j": energy,
        "coenergy_j": AMPERE_TURNS * flux - energy,
        "flux_per_turn_wb": flux,
        "inductance_per_turn2_h": flux / AMPERE_TURNS,
        "mesh_s": meshed - started,
        "solve_s": solved - meshed,
    }
    if with_disc:
        out["pull_n"] = -force
        out["b_z_axis_midgap_t"] = bz_at(0.0, FACE_M + gap_m / 2)[0]
    else:
        out["b_z_axis_1_2mm_t"] = bz_at(0.0, FACE_M + 0.0012)[0]
    return out


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--gaps", default="0.6", help="gaps in mm, comma between")
    parser.add_argument("--open", action="store_true", help="no disc: the open magnet")
    parser.add_argument("--cells", type=float, default=1.2, help="cell size near the magnet, mm")
    parser.add_argument("--growth", type=float, default=1.4, help="ratio of neighbouring cells outside")
    parser.add_argument("--corner-levels", type=int, default=7, help="times the corners are refined")
    parser.add_argument("--corner-radius", type=float, default=1.2, help="first ring of that refinement, mm")
    parser.add_argument("--repeat", type=int, default=1, help="solve so many times, give the best time")
    parser.add_argument("--solver", choices=["cholmod", "superlu"], default="cholmod" if cholmod else "superlu")
    args = parser.parse_args()
    answers = []
    for gap in [1.2] if args.open else [float(g) for g in args.gaps.split(",")]:
        settings = (args.cells * 1e-3, args.growth, args.corner_levels, args.corner_radius * 1e-3)
        runs = [run(gap * 1e-3, *settings, not args.open, args.solver) for _ in range(args.repeat)]
        best = {time_of: min(r[time_of] for r in runs) for time_of in ("mesh_s", "solve_s")}
        answers.append(runs[0] | best)
    json.dump({"library": "scikit-fem", "solver": args.solver, "answers": answers}, sys.stdout, indent=1)
    print()


if __name__ == "__main__":
    main()
