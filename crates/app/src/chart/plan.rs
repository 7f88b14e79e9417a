//! What a figure shows: panels, axes, curves in shown units. Nothing here knows pixels.

use super::ChartError;
use super::ticks::{self, Axis};
use crate::shown::Scale;
use coilwright_magnet::answers::answer::{Column, Series};
use coilwright_magnet::quantity::{Dimension, UnitSystem};

/// Keys of columns that hold readings.
const READ: [&str; 2] = ["measured", "residual"];

/// Key of a series whose points are what counts: each is a design.
const POINTS: &str = "front";

/// Relative variation below which values count as steady.
const STEADY: f64 = 0.05;
/// Height of the axis of steady values over the largest of them.
const ROOM: f64 = 0.25;

/// A series of one magnet.
#[derive(Clone, Copy, Debug)]
pub struct Curves<'a> {
    /// Name of the magnet.
    pub magnet: &'a str,
    /// Its series.
    pub series: &'a Series,
}

/// A figure.
pub(super) struct Plan {
    pub(super) title: String,
    /// The magnet, if all curves are of one.
    pub(super) subtitle: String,
    pub(super) x: Axis,
    pub(super) x_label: String,
    pub(super) panels: Vec<Panel>,
    /// Points are shown as such, however many there are.
    pub(super) dotted: bool,
}

/// Curves of one kind of quantity.
pub(super) struct Panel {
    pub(super) y: Axis,
    pub(super) y_label: String,
    pub(super) curves: Vec<Curve>,
    /// Some curve has a shaded band.
    pub(super) banded: bool,
}

/// One curve, in shown units.
pub(super) struct Curve {
    pub(super) name: String,
    /// Index in the palette.
    pub(super) colour: usize,
    /// Index of the dashes.
    pub(super) dash: usize,
    /// Readings: single points, without a line between them.
    pub(super) read: bool,
    /// Unbroken stretches of finite points.
    pub(super) lines: Vec<Vec<(f64, f64)>>,
    /// Unbroken stretches of the 95 % band: abscissa, low, high.
    pub(super) bands: Vec<Vec<(f64, f64, f64)>>,
}

/// Lays a figure out.
pub(super) fn plan(all: &[Curves<'_>], units: UnitSystem) -> Result<Plan, ChartError> {
    let Some(first) = all.first() else { return Err(ChartError::Empty(String::new())) };
    let empty = || ChartError::Empty(first.series.key.clone());
    let xs = || all.iter().flat_map(|c| c.series.x.values.iter().copied()).filter(|x| x.is_finite());
    let log = all.iter().all(|c| c.series.log_x) && xs().all(|x| x > 0.0);
    let x_scale = Scale::of(first.series.x.dimension, largest(xs()), units);
    let (low, high) = extent(xs().map(|x| x_scale.value(x))).ok_or_else(empty)?;
    let x = if log { ticks::logarithmic(low, high) } else { ticks::linear(low, high, 7.0, false) };

    let several = all.len() > 1;
    let mut kinds: Vec<Dimension> = Vec::new();
    for column in all.iter().flat_map(|c| &c.series.ys) {
        if !kinds.contains(&column.dimension) {
            kinds.push(column.dimension);
        }
    }
    let panels: Vec<Panel> =
        kinds.iter().filter_map(|&kind| panel(all, kind, x_scale, several, units)).collect();
    if panels.is_empty() {
        return Err(empty());
    }
    Ok(Plan {
        title: first.series.title.clone(),
        subtitle: if several { String::new() } else { first.magnet.to_owned() },
        x,
        x_label: x_scale.heading(&capital(&first.series.x.label)),
        panels,
        dotted: first.series.key == POINTS,
    })
}

fn panel(
    all: &[Curves<'_>],
    kind: Dimension,
    x_scale: Scale,
    several: bool,
    units: UnitSystem,
) -> Option<Panel> {
    // With one magnet a colour and a dash for each curve; with several the colour says which magnet.
    let mut columns: Vec<(&Curves<'_>, &Column, (usize, usize))> = Vec::new();
    for (magnet, of) in all.iter().enumerate() {
        let own = of.series.ys.iter().filter(|column| column.dimension == kind).enumerate();
        columns.extend(
            own.map(|(index, column)| (of, column, if several { (magnet, index) } else { (index, index) })),
        );
    }
    let scale = Scale::of_columns(columns.iter().map(|(_, column, _)| *column), kind, units);
    let alike = columns.iter().all(|(_, column, _)| column.label == columns[0].1.label);
    let curves: Vec<Curve> = columns
        .iter()
        .map(|&(of, column, look)| {
            let name = match (several, alike) {
                (false, _) => column.label.clone(),
                (true, true) => of.magnet.to_owned(),
                (true, false) => format!("{}: {}", of.magnet, column.label),
            };
            curve(name, look, &of.series.x.values, column, x_scale, scale)
        })
        .collect();
    let points = curves.iter().flat_map(|c| c.lines.iter().flatten().map(|point| point.1));
    let ends = curves.iter().flat_map(|c| c.bands.iter().flatten().flat_map(|band| [band.1, band.2]));
    let (low, high) = extent(points.chain(ends))?;
    // Zero belongs to the picture where it is not far away; a temperature's zero means nothing.
    let from_zero = kind != Dimension::Temperature && low >= 0.0 && low < 0.6 * high;
    let to_zero = kind != Dimension::Temperature && high <= 0.0 && high > 0.6 * low;
    let (low, high) = if kind == Dimension::Temperature { (low, high) } else { roomy(low, high) };
    let y = ticks::linear(if from_zero { 0.0 } else { low }, if to_zero { 0.0 } else { high }, 5.0, true);
    let label = if alike { columns[0].1.label.clone() } else { kind.name().to_owned() };
    // Readings have bars, which need no key.
    let banded = curves.iter().any(|c| !c.read && !c.bands.is_empty());
    Some(Panel { y, y_label: scale.heading(&capital(&label)), curves, banded })
}

fn curve(
    name: String,
    (colour, dash): (usize, usize),
    x: &[f64],
    column: &Column,
    x_scale: Scale,
    scale: Scale,
) -> Curve {
    let mut lines = vec![Vec::new()];
    let mut bands = vec![Vec::new()];
    for (index, (&x, &y)) in x.iter().zip(&column.values).enumerate() {
        let x = x_scale.value(x);
        if x.is_finite() && y.is_finite() {
            push(&mut lines, (x, scale.value(y)));
        } else {
            lines.push(Vec::new());
        }
        match column.bands.get(index) {
            Some(&(low, high)) if x.is_finite() && low.is_finite() && high.is_finite() => {
                push(&mut bands, (x, scale.value(low), scale.value(high)));
            }
            _ => bands.push(Vec::new()),
        }
    }
    lines.retain(|line| !line.is_empty());
    bands.retain(|band| band.len() > 1);
    let read = READ.contains(&column.key.as_str());
    Curve { name, colour, dash, read, lines, bands }
}

fn push<T>(stretches: &mut [Vec<T>], point: T) {
    if let Some(last) = stretches.last_mut() {
        last.push(point);
    }
}

fn largest(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(0.0, |most, v| most.max(v.abs()))
}

fn extent(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.fold(None, |so_far, v| match so_far {
        None => Some((v, v)),
        Some((low, high)) => Some((v.min(low), v.max(high))),
    })
}

/// Wider ends for values that hardly vary, so that a small change looks small.
fn roomy(low: f64, high: f64) -> (f64, f64) {
    let largest = low.abs().max(high.abs());
    let (middle, half) = (0.5 * (low + high), 0.5 * ROOM * largest);
    if low * high > 0.0 && high - low < STEADY * largest {
        (middle - half, middle + half)
    } else {
        (low, high)
    }
}

fn capital(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or(String::new(), |c| c.to_uppercase().chain(characters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_change_looks_small() {
        let (low, high) = roomy(716.0, 726.0);
        assert!(low < 640.0 && high > 800.0 && (low + high - 1442.0).abs() < 1e-9, "{low} {high}");
        assert_eq!(roomy(600.0, 726.0), (600.0, 726.0));
        assert_eq!(roomy(-1.0, 1.0), (-1.0, 1.0));
        assert_eq!(roomy(0.0, 0.0), (0.0, 0.0));
        let (low, high) = roomy(-10.1, -10.0);
        assert!(low < -11.0 && high > -9.0);
    }
}
