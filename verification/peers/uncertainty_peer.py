"""Uncertainty propagation with correlation by the general-purpose library `uncertainties` (PyPI), printed as JSON.

Needs `requirements.txt` beside this file. Two cases of our own:
1. volts and amperes read by meters that share half of their variance: resistance at 20 °C and power;
2. the mean temperature of a copper winding from two resistances by one ohmmeter.
"""

import json

import uncertainties
from uncertainties import correlated_values_norm, ufloat


def case_1():
    correlation = [[1.0, 0.5], [0.5, 1.0]]
    volts, amperes = correlated_values_norm([(24.02, 0.05), (0.4993, 0.0021)], correlation)
    celsius = ufloat(23.1, 0.6)
    ohm = volts / amperes * 254.5 / (234.5 + celsius)
    return ohm, volts * amperes


def case_2():
    gain = ufloat(1.0, 0.004)
    cold = (48.1 + ufloat(0, 0.03)) * gain
    hot = (57.3 + ufloat(0, 0.03)) * gain
    start = ufloat(22.0, 0.5)
    winding = hot / cold * (234.5 + start) - 234.5
    return (winding, winding - start)


answers = []
for outputs in (case_1(), case_2()):
    answers.append(
        {
            "values": [y.nominal_value for y in outputs],
            "covariance": [list(map(float, row)) for row in uncertainties.covariance_matrix(outputs)],
        }
    )
print(json.dumps({"library": "uncertainties", "version": uncertainties.__version__, "answers": answers}))
