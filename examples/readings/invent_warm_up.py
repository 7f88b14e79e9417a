"""Invents a warm-up log of the gantry pot, cut off long before its steady state; writes gantry-warm-up.csv.

    python3 invent_warm_up.py > gantry-warm-up.csv

INVENTED DATA, from three lumps and nothing of the program's own: winding, iron, and the plate it is bolted to. Their
films follow McAdams' simplified equation for air, h = 1.32 (rise / size)^(1/4) (from memory), with radiation as of a
small grey body in a large room. The plate is bare aluminium and radiates little, which the sheet does not know. A
supply holds 24.00 V; the current follows copper's resistance (IEC 60034-1: proportional to 234.5 + t) from 47.58 ohm at
20 °C. The truth that a fit has to find from 40 minutes stands in the file's second line.
"""

import random

AMBIENT = 23.4
VOLTS, OHM_20 = 24.0, 47.58
# J/K: copper with resin, 0.62 kg of steel, an aluminium plate of 120 x 120 x 8 mm
CAPACITY = (105.0, 290.0, 280.0)
# W/K: winding to iron, iron to plate
CONTACT = (0.75, 2.5)
# m2, m, emissivity: iron's sides and face; plate
FILMS = ((0.0104, 0.035, 0.85), (0.0293, 0.12, 0.10))


def given_off(celsius, film):
    area, size, emissivity = film
    rise = max(celsius - AMBIENT, 0.0)
    kelvin, room = celsius + 273.15, AMBIENT + 273.15
    return area * (1.32 * (rise / size) ** 0.25 * rise + emissivity * 5.67e-8 * (kelvin**4 - room**4))


def ohm(celsius):
    return OHM_20 * (234.5 + celsius) / 254.5


def step(t, seconds):
    winding, iron, plate = t
    into_iron, into_plate = CONTACT[0] * (winding - iron), CONTACT[1] * (iron - plate)
    flows = (
        VOLTS**2 / ohm(winding) - into_iron,
        into_iron - into_plate - given_off(iron, FILMS[0]),
        into_plate - given_off(plate, FILMS[1]),
    )
    return tuple(k + seconds * w / c for k, w, c in zip(t, flows, CAPACITY))


random.seed(4)
log, t = [], (AMBIENT,) * 3
for second in range(40000):
    if second <= 2400 and second % 20 == 0:
        log.append((second, t))
    t = step(t, 1.0)
print("# INVENTED DATA: written by invent_warm_up.py beside this file; cut off after 40 minutes.")
print(f"# In the end it would have been: winding {t[0]:.1f} °C, back {t[1]:.1f} °C.")
print("time s, voltage V, current A, back °C, ambient °C")
for second, (winding, iron, _) in log:
    volts = VOLTS + random.gauss(0, 0.004)
    amperes = volts / ohm(winding) + random.gauss(0, 0.0003)
    back, room = iron + random.gauss(0, 0.08), AMBIENT + random.gauss(0, 0.05)
    print(f"{second},{volts:.2f},{amperes:.4f},{back:.1f},{room:.1f}")
