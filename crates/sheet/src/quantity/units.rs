//! The table of units.
//!
//! Exact factors: The International System of Units, BIPM, 9th edition 2019, and NIST Special Publication 811
//! (2008), appendix B.8. CGS magnetic units: 1 G = 1e-4 T, 1 Mx = 1e-8 Wb, 1 Oe = 1000/(4π) A/m.

use super::{Dimension, Unit};
use std::f64::consts::PI;

/// Pound, kg (exact).
const LB: f64 = 0.453_592_37;
/// Standard acceleration of free fall, m/s² (exact).
const G0: f64 = 9.806_65;
/// Pound-force, N (exact).
const LBF: f64 = 4.448_221_615_260_5;
/// Inch, m (exact).
const IN: f64 = 0.0254;
/// Oersted, A/m.
const OE: f64 = 1000.0 / (4.0 * PI);

const fn u(symbol: &'static str, also: &'static [&'static str], factor: f64) -> Unit {
    Unit { symbol, also, factor, offset: 0.0 }
}

impl Dimension {
    /// The units in which it is read; the first is the one a sheet usually uses.
    pub fn units(self) -> &'static [Unit] {
        match self {
            Self::Ratio => const { &[u("", &[], 1.0), u("%", &["percent"], 1e-2), u("ppm", &[], 1e-6)] },
            Self::Share => const { &[u("%", &["percent"], 1e-2), u("", &[], 1.0), u("ppm", &[], 1e-6)] },
            Self::Count => const { &[u("", &[], 1.0)] },
            Self::Length => {
                const {
                    &[
                        u("mm", &[], 1e-3),
                        u("µm", &["micron"], 1e-6),
                        u("cm", &[], 1e-2),
                        u("m", &[], 1.0),
                        u("km", &[], 1e3),
                        u("nm", &[], 1e-9),
                        u("in", &["inch", "inches", "\""], IN),
                        u("mil", &["thou"], IN / 1000.0),
                        u("ft", &["foot", "feet"], 12.0 * IN),
                    ]
                }
            }
            Self::Area => {
                const {
                    &[
                        u("mm²", &[], 1e-6),
                        u("cm²", &[], 1e-4),
                        u("m²", &[], 1.0),
                        u("in²", &["sqin"], IN * IN),
                    ]
                }
            }
            Self::Volume => {
                const {
                    &[
                        u("cm³", &["cc", "ml", "mL"], 1e-6),
                        u("mm³", &[], 1e-9),
                        u("l", &["L"], 1e-3),
                        u("m³", &[], 1.0),
                        u("in³", &[], IN * IN * IN),
                    ]
                }
            }
            Self::Angle => {
                const { &[u("°", &["degree", "degrees"], PI / 180.0), u("rad", &[], 1.0), u("mrad", &[], 1e-3)] }
            }
            Self::Mass => {
                const {
                    &[
                        u("kg", &[], 1.0),
                        u("g", &[], 1e-3),
                        u("mg", &[], 1e-6),
                        u("t", &[], 1e3),
                        u("lb", &["lbs"], LB),
                        u("oz", &[], LB / 16.0),
                    ]
                }
            }
            Self::Density => {
                const {
                    &[
                        u("kg/m³", &[], 1.0),
                        u("g/cm³", &["g/cc", "kg/l"], 1e3),
                        u("lb/in³", &[], LB / (IN * IN * IN)),
                    ]
                }
            }
            Self::Time => {
                const {
                    &[
                        u("s", &["sec", "second", "seconds"], 1.0),
                        u("ms", &[], 1e-3),
                        u("µs", &[], 1e-6),
                        u("min", &["minute", "minutes"], 60.0),
                        u("h", &["hr", "hour", "hours"], 3600.0),
                        u("d", &["day", "days"], 86400.0),
                    ]
                }
            }
            Self::Speed => {
                const {
                    &[
                        u("m/s", &[], 1.0),
                        u("mm/s", &[], 1e-3),
                        u("cm/s", &[], 1e-2),
                        u("km/h", &[], 1.0 / 3.6),
                        u("ft/s", &[], 12.0 * IN),
                        u("ft/min", &[], 12.0 * IN / 60.0),
                    ]
                }
            }
            Self::Force => {
                const {
                    &[
                        u("N", &[], 1.0),
                        u("mN", &[], 1e-3),
                        u("kN", &[], 1e3),
                        u("kgf", &["kp"], G0),
                        u("gf", &[], G0 / 1000.0),
                        u("lbf", &[], LBF),
                        u("ozf", &[], LBF / 16.0),
                    ]
                }
            }
            Self::Pressure => {
                const {
                    &[
                        u("kPa", &[], 1e3),
                        u("Pa", &["N/m²"], 1.0),
                        u("MPa", &["N/mm²"], 1e6),
                        u("bar", &[], 1e5),
                        u("psi", &["lbf/in²"], LBF / (IN * IN)),
                    ]
                }
            }
            Self::Energy | Self::StoredEnergy => {
                const {
                    &[
                        u("J", &["Ws"], 1.0),
                        u("mJ", &[], 1e-3),
                        u("µJ", &[], 1e-6),
                        u("kJ", &[], 1e3),
                        u("MJ", &[], 1e6),
                        u("Wh", &[], 3600.0),
                        u("mWh", &[], 3.6),
                        u("kWh", &[], 3.6e6),
                    ]
                }
            }
            Self::Power => {
                const {
                    &[
                        u("W", &[], 1.0),
                        u("mW", &[], 1e-3),
                        u("µW", &[], 1e-6),
                        u("kW", &[], 1e3),
                        u("MW", &[], 1e6),
                    ]
                }
            }
            Self::Voltage => {
                const {
                    &[
                        u("V", &["volt", "volts", "VDC", "Vdc", "V DC"], 1.0),
                        u("mV", &[], 1e-3),
                        u("µV", &[], 1e-6),
                        u("kV", &[], 1e3),
                    ]
                }
            }
            Self::Current => {
                const {
                    &[
                        u("A", &["amp", "amps", "ampere", "amperes", "ADC", "Adc", "A DC"], 1.0),
                        u("mA", &[], 1e-3),
                        u("µA", &[], 1e-6),
                        u("kA", &[], 1e3),
                    ]
                }
            }
            Self::AmpereTurns => {
                const {
                    &[
                        u("A", &["At", "AT", "A-t", "A·t", "A-turns", "ampere-turns", "ampere turns"], 1.0),
                        u("kA", &["kAt", "kAT"], 1e3),
                        u("MA", &["MAt"], 1e6),
                    ]
                }
            }
            Self::CurrentDensity => {
                const {
                    &[
                        u("A/mm²", &["MA/m²"], 1e6),
                        u("A/cm²", &[], 1e4),
                        u("A/m²", &[], 1.0),
                        u("A/in²", &[], 1.0 / (IN * IN)),
                    ]
                }
            }
            Self::Resistance => {
                const {
                    &[
                        u("Ω", &["Ohm", "ohms", "Ohms", "R"], 1.0),
                        u("mΩ", &["mOhm", "milliohm"], 1e-3),
                        u("µΩ", &["uOhm", "microhm"], 1e-6),
                        u("kΩ", &["kOhm", "k", "K"], 1e3),
                        u("MΩ", &["MOhm", "megohm", "M"], 1e6),
                    ]
                }
            }
            Self::ResistancePerLength => {
                const {
                    &[
                        u("Ω/m", &[], 1.0),
                        u("mΩ/m", &["Ω/km"], 1e-3),
                        u("Ω/ft", &[], 1.0 / (12.0 * IN)),
                        u("Ω/kft", &["Ω/1000ft", "Ω/1000 ft"], 1.0 / (12_000.0 * IN)),
                    ]
                }
            }
            Self::Resistivity => {
                const {
                    &[
                        u("nΩ·m", &[], 1e-9),
                        u("Ω·m", &[], 1.0),
                        u("µΩ·m", &["Ω·mm²/m"], 1e-6),
                        u("µΩ·cm", &[], 1e-8),
                    ]
                }
            }
            Self::Inductance => {
                const { &[u("mH", &[], 1e-3), u("H", &[], 1.0), u("µH", &[], 1e-6), u("nH", &[], 1e-9)] }
            }
            Self::FluxDensity => {
                const {
                    &[
                        u("mT", &[], 1e-3),
                        u("T", &["tesla"], 1.0),
                        u("µT", &[], 1e-6),
                        u("nT", &[], 1e-9),
                        u("G", &["gauss", "Gauss", "Gs"], 1e-4),
                        u("kG", &["kgauss", "kGauss", "kGs"], 1e-1),
                        u("mG", &["mgauss"], 1e-7),
                    ]
                }
            }
            Self::FieldStrength => {
                const {
                    &[
                        u("A/m", &[], 1.0),
                        u("kA/m", &["A/mm"], 1e3),
                        u("A/cm", &[], 1e2),
                        u("MA/m", &[], 1e6),
                        u("Oe", &["oersted"], OE),
                        u("kOe", &[], 1000.0 * OE),
                    ]
                }
            }
            Self::Magnetisation => {
                const {
                    &[
                        u("A/m", &[], 1.0),
                        u("kA/m", &["A/mm"], 1e3),
                        u("MA/m", &[], 1e6),
                        u("emu/cm³", &["emu/cc"], 1e3),
                    ]
                }
            }
            Self::Flux => {
                const {
                    &[
                        u("mWb", &["mVs"], 1e-3),
                        u("Wb", &["Vs"], 1.0),
                        u("µWb", &["uVs"], 1e-6),
                        u("Mx", &["maxwell"], 1e-8),
                        u("kMx", &[], 1e-5),
                    ]
                }
            }
            Self::FluxLinkage => {
                const {
                    &[
                        u("mWb", &["mVs", "mWb-turns"], 1e-3),
                        u("Wb", &["Vs", "Wb-turns", "Wbt"], 1.0),
                        u("µWb", &["uVs"], 1e-6),
                    ]
                }
            }
            Self::Temperature => {
                const {
                    &[
                        Unit { symbol: "°C", also: &["Celsius", "celsius"], factor: 1.0, offset: 273.15 },
                        u("K", &["kelvin"], 1.0),
                        Unit { symbol: "°F", also: &[], factor: 5.0 / 9.0, offset: 459.67 },
                    ]
                }
            }
            Self::TemperatureDifference => {
                const { &[u("K", &["kelvin", "°C"], 1.0), u("mK", &[], 1e-3), u("°F", &[], 5.0 / 9.0)] }
            }
            Self::TemperatureCoefficient => {
                const {
                    &[
                        u("%/K", &["%/°C"], 1e-2),
                        u("1/K", &["/K", "1/°C", "/°C"], 1.0),
                        u("ppm/K", &["ppm/°C"], 1e-6),
                        u("%/°F", &[], 1e-2 * 9.0 / 5.0),
                    ]
                }
            }
            Self::ThermalConductivity => {
                const {
                    &[
                        u("W/(m·K)", &["W/mK", "W/m/K", "W/m°C"], 1.0),
                        u("W/(cm·K)", &["W/cmK", "W/cm/K"], 1e2),
                    ]
                }
            }
            Self::ThermalConductance => const { &[u("W/K", &["W/°C"], 1.0), u("mW/K", &["mW/°C"], 1e-3)] },
            Self::HeatTransferCoefficient => {
                const {
                    &[
                        u("W/(m²·K)", &["W/m²K", "W/m²/K", "W/m²°C"], 1.0),
                        u("W/(cm²·K)", &["W/cm²K", "W/cm²/K"], 1e4),
                    ]
                }
            }
            Self::HeatCapacity => const { &[u("J/K", &["J/°C", "Ws/K"], 1.0), u("kJ/K", &[], 1e3)] },
            Self::SpecificHeat => {
                const {
                    &[
                        u("J/(kg·K)", &["J/kgK", "J/kg/K", "J/kg°C"], 1.0),
                        u("kJ/(kg·K)", &["kJ/kgK", "J/g/K", "J/gK"], 1e3),
                    ]
                }
            }
            Self::Charge => {
                const {
                    &[
                        u("C", &["As"], 1.0),
                        u("Ah", &[], 3600.0),
                        u("mAh", &[], 3.6),
                        u("mC", &[], 1e-3),
                        u("µC", &[], 1e-6),
                    ]
                }
            }
        }
    }
}
