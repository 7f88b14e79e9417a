"""Invents a warm-up log of the gantry pot, cut off long before its steady state; writes gantry-warm-up.csv.

    python3 invent_warm_up.py > gantry-warm-up.csv

INVENTED DATA. The winding warms through a second, smaller heat capacity: its mean is the back's temperature plus
14.2 K (1 - exp(-t / 210 s)); the back follows 23.4 °C + 36.1 K (1 - exp(-t / 2150 s)). The truth that a fit has to
find from 40 minutes: back 59.5 °C, winding 73.7 °C. A supply holds 24.00 V; the current follows copper's resistance
(IEC 60034-1: proportional to 234.5 + t) from 47.58 ohm at 20 °C.
"""

import math
import random

random.seed(4)
print("# INVENTED DATA: written by invent_warm_up.py beside this file; cut off after 40 minutes.")
print("time s, voltage V, current A, back °C, ambient °C")
for k in range(0, 2401, 20):
    back = 23.4 + 36.1 * (1 - math.exp(-k / 2150))
    winding = back + 14.2 * (1 - math.exp(-k / 210))
    ohm = 47.58 * (234.5 + winding) / 254.5
    volts = 24.0 + random.gauss(0, 0.004)
    amperes = volts / ohm + random.gauss(0, 0.0003)
    print(f"{k},{volts:.2f},{amperes:.4f},{back + random.gauss(0, 0.08):.1f},{23.4 + random.gauss(0, 0.05):.1f}")
