//! Readings that the model of the magnet predicts, one by one, each with where, at which current and by which meter.

use super::place::{self, Setting, Spot, Spots, Zero};
use crate::electrical::{self, Resistances, first};
use crate::instrument::Instrument;
use crate::meters::Meters;
use crate::readings::{Axis, Column, Measurand, Readings};
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::quantity::{Dimension, Unit, UnitSystem};

/// More readings than these of one column are thinned out evenly: they cost time and add little.
const MOST_OF_A_COLUMN: usize = 200;

/// More settings of the supply than these are a log.
const MOST_SETTINGS: usize = 24;

/// A reading of field, pull or resistance.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Observation {
    /// Header of its column.
    pub(super) head: String,
    /// Line in the file.
    pub(super) line: u64,
    /// What it is of.
    pub(super) kind: Kind,
    /// Unit of its column; none if it is made of two.
    pub(super) unit: Option<&'static Unit>,
    /// SI.
    pub(super) value: f64,
    /// Standard uncertainty that it has for itself, SI.
    pub(super) own: f64,
    /// Index of its instrument.
    pub(super) meter: usize,
    /// What drove the magnet then.
    pub(super) drive: Drive,
    /// The one reading of volts or amperes that it has in common with other observations, by index.
    pub(super) common: Option<usize>,
    /// How sure its place is.
    pub(super) spots: Spots,
}

/// What a reading is of, and where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Kind {
    /// Flux density.
    Field {
        /// Along the axis (else across it).
        axial: bool,
        /// Along the face from the middle, with its sign, m.
        x_m: f64,
        /// Height of the probe's tip above the face as the readings give it, m.
        tip_m: Option<f64>,
    },
    /// Pull.
    Pull {
        /// Gap as the readings give it, m.
        gap_m: Option<f64>,
        /// Thickness of the workpiece as the readings give it, m.
        thickness_m: Option<f64>,
    },
    /// Resistance, winding at this temperature if a thermometer said it, K.
    Resistance(Option<f64>),
    /// Volts over amperes, the same; the second meter is the ammeter's index.
    VoltsOverAmperes(Option<f64>, usize),
}

/// What is known of the current during a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Drive {
    /// An ammeter's reading, A; its own standard uncertainty; the ammeter's index.
    Amperes(f64, f64, usize),
    /// Volts at the terminals; their own standard uncertainty; the voltmeter's index.
    Volts(f64, f64, usize),
    /// As the sheet's drive gives.
    Sheet,
}

/// All observations and the instruments they were made with.
#[derive(Debug, Default)]
pub(super) struct Observations {
    pub(super) list: Vec<Observation>,
    pub(super) meters: Vec<Instrument>,
    /// Readings of volts or amperes that several observations share, with their own standard uncertainty.
    pub(super) common: Vec<Drive>,
    /// Errors that positions have in common.
    pub(super) zeros: Vec<Zero>,
    /// Shims and heights that were set once for several readings.
    pub(super) settings: Vec<Setting>,
    /// Readings that were passed over to save time.
    pub(super) thinned: usize,
}

impl Observations {
    /// Everything in the readings that the model predicts.
    pub(super) fn of(readings: &Readings, meters: &mut Meters<'_>) -> Result<Self, Failure> {
        let mut all = Self::default();
        for column in &readings.columns {
            match &column.measurand {
                Measurand::Field => all.fields(readings, column, true, meters)?,
                Measurand::RadialField => all.fields(readings, column, false, meters)?,
                Measurand::Pull => all.pulls(readings, column, meters)?,
                _ => {}
            }
        }
        all.resistances(readings, meters)?;
        all.share_drives();
        all.share_settings();
        centre(&mut all.list, &mut all.zeros, &mut meters.assumptions);
        Ok(all)
    }

    /// A supply is set once and read once for many readings of field and pull: then these share that reading's error.
    fn share_drives(&mut self) {
        let mut drives: Vec<(Drive, usize)> = Vec::new();
        for o in self.list.iter().filter(|o| o.drive != Drive::Sheet) {
            match drives.iter_mut().find(|(drive, _)| *drive == o.drive) {
                Some((_, count)) => *count += 1,
                None => drives.push((o.drive, 1)),
            }
        }
        drives.retain(|(_, count)| *count > 1);
        // In a log the meter follows every row, and what two rows show alike by chance is not one reading.
        if drives.len() <= MOST_SETTINGS {
            self.common = drives.into_iter().map(|(drive, _)| drive).collect();
        }
        for o in &mut self.list {
            o.common = self.common.iter().position(|drive| *drive == o.drive);
        }
    }

    /// A shim or a height is set once for many readings: then these share its error.
    fn share_settings(&mut self) {
        let spot = |o: &Observation, gap: bool| match (gap, o.kind) {
            (true, Kind::Pull { gap_m: Some(at), .. }) => Some((at, o.spots.gap)),
            (false, Kind::Field { tip_m: Some(at), .. }) => Some((at, o.spots.height)),
            _ => None,
        };
        for gap in [true, false] {
            let mut set: Vec<(f64, Spot, usize)> = Vec::new();
            for (at, spot) in self.list.iter().filter_map(|o| spot(o, gap)).filter(|s| s.1.own_m > 0.0) {
                match set.iter_mut().find(|(other, ..)| *other == at) {
                    Some((_, _, count)) => *count += 1,
                    None => set.push((at, spot, 1)),
                }
            }
            for (at_m, of, _) in set.into_iter().filter(|(.., count)| *count > 1) {
                let what = if gap { "gap" } else { "height" };
                let label =
                    format!("{what} of {} as set", Dimension::Length.text(at_m, None, UnitSystem::Si));
                let index = self.settings.len();
                self.settings.push(Setting { label, at_m, gap, standard_m: of.own_m });
                for o in &mut self.list {
                    if spot(o, gap).is_some_and(|(at, spot)| at == at_m && spot.own_m > 0.0) {
                        let spot = if gap { &mut o.spots.gap } else { &mut o.spots.height };
                        (spot.own_m, spot.setting) = (0.0, Some(index));
                    }
                }
            }
        }
    }

    fn meter(&mut self, column: &Column, meters: &mut Meters<'_>) -> Result<usize, Failure> {
        let meter = meters.of(column)?;
        Ok(match self.meters.iter().position(|m| *m == meter) {
            Some(known) => known,
            None => {
                self.meters.push(meter);
                self.meters.len() - 1
            }
        })
    }

    fn drive(&mut self, readings: &Readings, row: usize, meters: &mut Meters<'_>) -> Result<Drive, Failure> {
        if let Some((column, i)) =
            first(readings, &Measurand::Current).and_then(|column| Some((column, column.get(row)?)))
        {
            let meter = self.meter(column, meters)?;
            return Ok(Drive::Amperes(i, self.meters[meter].own_uncertainty(i), meter));
        }
        if let Some((column, v)) =
            first(readings, &Measurand::Voltage).and_then(|column| Some((column, column.get(row)?)))
        {
            let meter = self.meter(column, meters)?;
            return Ok(Drive::Volts(v, self.meters[meter].own_uncertainty(v), meter));
        }
        Ok(Drive::Sheet)
    }

    /// Rows in which a column has a reading, thinned out.
    fn rows(&mut self, readings: &Readings, column: &Column) -> Vec<usize> {
        let present: Vec<usize> = (0..readings.rows()).filter(|k| column.get(*k).is_some()).collect();
        let every = present.len().div_ceil(MOST_OF_A_COLUMN).max(1);
        let kept: Vec<usize> = present.iter().copied().step_by(every).collect();
        self.thinned += present.len() - kept.len();
        kept
    }

    fn fields(
        &mut self,
        readings: &Readings,
        column: &Column,
        axial: bool,
        meters: &mut Meters<'_>,
    ) -> Result<(), Failure> {
        let meter = self.meter(column, meters)?;
        let [r, x, z] = [Axis::R, Axis::X, Axis::Z]
            .map(|axis| place::spot(readings, column, axis, meters, &mut self.zeros));
        let (r, x, z) = (r?, x?, z?);
        for row in self.rows(readings, column) {
            let Some(value) = column.get(row) else { continue };
            let place = |axis| readings.place(column, axis, row);
            let across =
                place(Axis::R).map(|at| (at, r(at))).or_else(|| place(Axis::X).map(|at| (at, x(at))));
            let Some((x_m, across)) = across else {
                let hint = "say it in the header, `field mT @ r=0mm`, or in a column `r mm`";
                let message = format!(
                    "`{}` (line {}) does not say where on the face",
                    column.head, readings.lines[row]
                );
                return Err(Diagnostic::fault(message, hint).into());
            };
            let kind = Kind::Field { axial, x_m, tip_m: place(Axis::Z) };
            let spots =
                Spots { across, height: place(Axis::Z).map(&z).unwrap_or_default(), ..Spots::default() };
            let drive = self.drive(readings, row, meters)?;
            let (head, line, unit) = (column.head.clone(), readings.lines[row], Some(column.unit));
            let (own, common) = (self.meters[meter].own_uncertainty(value), None);
            self.list.push(Observation { head, line, kind, unit, value, own, meter, drive, common, spots });
        }
        Ok(())
    }

    fn pulls(
        &mut self,
        readings: &Readings,
        column: &Column,
        meters: &mut Meters<'_>,
    ) -> Result<(), Failure> {
        let meter = self.meter(column, meters)?;
        let spot = place::spot(readings, column, Axis::Gap, meters, &mut self.zeros)?;
        for row in self.rows(readings, column) {
            let Some(value) = column.get(row) else { continue };
            let gap = readings.place(column, Axis::Gap, row).map(&spot).unwrap_or_default();
            let spots = Spots { gap, ..Spots::default() };
            let kind = Kind::Pull {
                gap_m: readings.place(column, Axis::Gap, row),
                thickness_m: readings.place(column, Axis::Thickness, row),
            };
            let drive = self.drive(readings, row, meters)?;
            let (head, line, unit) = (column.head.clone(), readings.lines[row], Some(column.unit));
            let (own, common) = (self.meters[meter].own_uncertainty(value), None);
            self.list.push(Observation { head, line, kind, unit, value, own, meter, drive, common, spots });
        }
        Ok(())
    }

    fn resistances(&mut self, readings: &Readings, meters: &mut Meters<'_>) -> Result<(), Failure> {
        let all = electrical::resistances(readings, meters)?;
        if let Some(column) = first(readings, &Measurand::Resistance) {
            let meter = self.meter(column, meters)?;
            for o in Resistances::cold(readings, &all.ohmmeter) {
                self.resistance(readings, o, column.head.clone(), meter, Kind::Resistance(o.kelvin));
            }
        }
        if let (Some(volts), Some(amperes)) =
            (first(readings, &Measurand::Voltage), first(readings, &Measurand::Current))
        {
            let (voltmeter, ammeter) = (self.meter(volts, meters)?, self.meter(amperes, meters)?);
            for o in Resistances::cold(readings, &all.volts_over_amperes) {
                let head = format!("{} / {}", volts.head, amperes.head);
                self.resistance(readings, o, head, voltmeter, Kind::VoltsOverAmperes(o.kelvin, ammeter));
            }
        }
        Ok(())
    }

    fn resistance(
        &mut self,
        readings: &Readings,
        o: &electrical::Ohms,
        head: String,
        meter: usize,
        kind: Kind,
    ) {
        let unit = first(readings, &Measurand::Resistance)
            .filter(|_| matches!(kind, Kind::Resistance(_)))
            .map(|column| column.unit);
        let (line, value, own, drive) = (readings.lines[o.row], o.ohm, o.own, Drive::Sheet);
        let (common, spots) = (None, Spots::default());
        self.list.push(Observation { head, line, kind, unit, value, own, meter, drive, common, spots });
    }

    /// Whether any reading is of this sort.
    pub(super) fn any(&self, sort: impl Fn(&Kind) -> bool) -> bool {
        self.list.iter().any(|o| sort(&o.kind))
    }
}

impl Kind {
    pub(super) fn is_field(&self) -> bool {
        matches!(self, Self::Field { .. })
    }

    pub(super) fn is_pull(&self) -> bool {
        matches!(self, Self::Pull { .. })
    }

    pub(super) fn is_resistance(&self) -> bool {
        matches!(self, Self::Resistance(_) | Self::VoltsOverAmperes(..))
    }
}

/// Standard uncertainty of a scan's centre of which nothing is said, m (common practice, no source: set by eye against
/// the edge of the face).
const USUAL_CENTRE_M: f64 = 0.5e-3;

/// A scan of fewer positions cannot tell its own centre beside everything else.
const FEWEST: usize = 5;

/// Gives the centre to scans of which none is known: a scan is hardly ever centred to better than half a millimetre.
/// Where it was is an unknown too, or with so few positions that none could be told, noise of each.
fn centre(list: &mut [Observation], zeros: &mut Vec<Zero>, assumptions: &mut Vec<Assumption>) {
    let mut places: Vec<f64> = Vec::new();
    for o in list.iter().filter(|o| o.spots.across.zero.is_none()) {
        if let Kind::Field { x_m, .. } = o.kind
            && !places.contains(&x_m)
        {
            places.push(x_m);
        }
    }
    if places.is_empty() {
        return;
    }
    let told = places.len() >= FEWEST;
    if told {
        zeros.push(Zero { label: "centre of the scan".into(), standard_m: USUAL_CENTRE_M });
    }
    let zero = told.then(|| zeros.len() - 1);
    for o in list.iter_mut().filter(|o| o.kind.is_field() && o.spots.across.zero.is_none()) {
        o.spots.across.zero = zero;
        if !told {
            o.spots.across.own_m = o.spots.across.own_m.hypot(USUAL_CENTRE_M);
        }
    }
    assumptions.push(Assumption {
        path: "readings.centre".into(),
        label: "centre of the scan".into(),
        value: None,
        word: format!("± {} mm standard", 1e3 * USUAL_CENTRE_M),
        reason:
            "no offset is given for the positions along the face; name a ruler, `r mm by ruler`, with its \
                 `offset` (common practice)"
                .into(),
    });
}
