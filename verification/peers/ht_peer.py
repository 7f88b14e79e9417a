"""Free and forced convection and radiation by the general-purpose library `ht` (PyPI), printed as JSON.

Needs `requirements.txt` beside this file. One object per check: the name of the function of ours, its arguments, the
library's value. The same values stand as literals in the Rust tests of the cooling module.
"""

import json

import ht
from ht import radiation

CHECKS = []


def check(name, value, **arguments):
    CHECKS.append({"id": name, "value": value, "arguments": arguments})


PR = 0.7

for ra in (1e5, 1e7, 1.815e9, 1e11):
    check("churchill_chu_plate", ht.Nu_vertical_plate_Churchill(Pr=PR, Gr=ra / PR), rayleigh=ra, prandtl=PR)
check(
    "churchill_chu_plate",
    ht.Nu_vertical_plate_Churchill(Pr=0.69, Gr=2.63e9),
    rayleigh=0.69 * 2.63e9,
    prandtl=0.69,
)

for ra in (1e2, 1e5, 5.0708e6, 1e10):
    check(
        "churchill_chu_cylinder",
        ht.Nu_horizontal_cylinder_Churchill_Chu(Pr=PR, Gr=ra / PR),
        rayleigh=ra,
        prandtl=PR,
    )

for ra in (1e4, 1e6, 2e7, 1e9):
    check("horizontal_up", ht.Nu_horizontal_plate_McAdams(Pr=PR, Gr=ra / PR, buoyancy=True), rayleigh=ra)
    check("horizontal_down", ht.Nu_horizontal_plate_McAdams(Pr=PR, Gr=ra / PR, buoyancy=False), rayleigh=ra)
check("horizontal_up", ht.Nu_horizontal_plate_McAdams(5.54, 3.21e8, buoyancy=True), rayleigh=5.54 * 3.21e8)
check("horizontal_down", ht.Nu_horizontal_plate_McAdams(5.54, 3.21e8, buoyancy=False), rayleigh=5.54 * 3.21e8)

for re in (1e2, 1e4, 1e6):
    check("churchill_bernstein", ht.Nu_cylinder_Churchill_Bernstein(Re=re, Pr=PR), reynolds=re, prandtl=PR)

# Laminar flat plate by an independent correlation of the same library (Baehr and Stephan).
for re in (1e3, 1e5):
    check("flat_plate_laminar", ht.Nu_horizontal_plate_laminar_Baehr(re, PR), reynolds=re, prandtl=PR)

# Upright cylinder with a thick boundary layer: fitted to exact solutions for the laminar case.
for gr, slender in ((1e5, 0.6), (1e5, 2.0), (1e6, 1.0)):
    check(
        "vertical_cylinder",
        ht.Nu_vertical_cylinder_Popiel_Churchill(PR, gr, slender, 1.0),
        rayleigh=PR * gr,
        prandtl=PR,
        slender=slender,
    )

for emissivity, hot, cold in ((0.9, 353.15, 293.15), (0.25, 353.15, 298.15)):
    flux = radiation.q_rad(emissivity=emissivity, T=hot, T2=cold)
    check("radiative_coefficient", flux / (hot - cold), emissivity=emissivity, hot_k=hot, cold_k=cold)

print(json.dumps({"library": "ht", "version": ht.__version__, "checks": CHECKS}, indent=1))
