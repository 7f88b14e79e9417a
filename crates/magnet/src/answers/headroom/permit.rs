//! What a way of cooling permits.

use crate::coupled::operating_point::Driven;
use crate::magnet::Supply;
use crate::magnet::winding::Winding;
use crate::quantity::Dimension;
use crate::thermal::setting::Setting;
use crate::thermal::snapshot::Snapshot;
/// What a way of cooling permits.
pub(crate) struct Permit {
    pub(crate) word: String,
    pub(crate) setting: Setting,
    /// What may not get too warm; the hot spot first.
    pub(crate) bounds: Vec<Bound>,
    /// What limits the level whatever the heat.
    pub(crate) caps: Vec<Cap>,
    /// Lower end of the band of the level that heat permits, over that level.
    pub(crate) safe: f64,
    /// At each level.
    pub(crate) rows: Vec<Row>,
    /// At the sheet's own.
    pub(crate) own: Row,
}

impl Permit {
    /// The bound that permits least.
    pub(crate) fn tightest(&self) -> &Bound {
        let least = self.bounds.iter().min_by(|a, b| a.heat.power_w.total_cmp(&b.heat.power_w));
        least.unwrap_or(&self.bounds[0])
    }

    /// A level that heat permits continuously, or what less something else does; and the name of what binds.
    pub(crate) fn capped(&self, level: f64, name: &str) -> (f64, String) {
        least_of(&self.caps, level, name)
    }
}

/// A level that heat permits, or the least of what else does not let it be reached; and the name of what binds.
pub(crate) fn least_of(caps: &[Cap], level: f64, name: &str) -> (f64, String) {
    let least = caps.iter().min_by(|a, b| a.level.total_cmp(&b.level));
    match least.filter(|c| c.level < level) {
        Some(cap) => (cap.level, cap.name.into()),
        None => (level, name.into()),
    }
}

/// A temperature that may not be exceeded.
pub(crate) struct Bound {
    pub(crate) name: String,
    pub(crate) place: Place,
    pub(crate) limit_k: f64,
    /// Where the place settles at its limit.
    pub(crate) heat: Permitted,
    /// How the place's rise answers a step to that power: time in s and share of the rise.
    pub(crate) response: Vec<(f64, f64)>,
}

/// Where a temperature is limited.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    HotSpot,
    Surface,
}

impl Place {
    pub(crate) fn of(self, s: &Snapshot) -> f64 {
        match self {
            Self::HotSpot => s.hot_k,
            Self::Surface => s.surface_k,
        }
    }
}

/// What settles at a limit.
#[derive(Clone, Copy)]
pub(crate) struct Permitted {
    /// W; 0 if the limit is passed without current.
    pub(crate) power_w: f64,
    /// Mean of the winding then, K.
    pub(crate) mean_k: f64,
    /// Its hot spot then, K.
    pub(crate) hot_k: f64,
    /// Hottest place outside then, K.
    pub(crate) surface_k: f64,
}

/// A level that something else than heat does not let be exceeded.
pub(crate) struct Cap {
    pub(crate) name: &'static str,
    pub(crate) level: f64,
}

/// What one level of the drive does under one way of cooling.
#[derive(Default)]
pub(crate) struct Row {
    /// In the long run, K; NaN if it never settles.
    pub(crate) hot_k: f64,
    pub(crate) mean_k: f64,
    pub(crate) surface_k: f64,
    /// 95 % intervals of hot spot and surface, K; NaN where an end never settles.
    pub(crate) hot_band_k: (f64, f64),
    pub(crate) surface_band_k: (f64, f64),
    /// Every bound is kept continuously, at the unfavourable end of the band too.
    pub(crate) kept: bool,
    /// Longest time on at that end, s: infinite if unlimited, 0 if not at all.
    pub(crate) cold_s: f64,
    pub(crate) warm_s: f64,
    /// Largest duty at that end, 0 to 1.
    pub(crate) duty: f64,
}

/// The drive as a level sets it.
pub(crate) struct Drive<'a> {
    pub(crate) driven: &'a Driven<'a>,
    pub(crate) by_current: bool,
}

impl Drive<'_> {
    pub(crate) fn winding(&self) -> &Winding {
        self.driven.winding
    }

    /// Current at a level and mean temperature, A; the supply's other limits hold.
    pub(crate) fn current_a(&self, level: f64, mean_k: f64) -> f64 {
        let s = self.driven.supply;
        let supply =
            if self.by_current { Supply { current_a: level, ..s } } else { Supply { voltage_v: level, ..s } };
        supply.current_a(self.winding().resistance_ohm(mean_k))
    }

    /// The level that makes a power in the winding at a mean temperature.
    pub(crate) fn level_for(&self, power_w: f64, mean_k: f64) -> f64 {
        let ohm = self.winding().resistance_ohm(mean_k);
        let current = (power_w / ohm).sqrt();
        if self.by_current { current } else { current * (ohm + self.driven.supply.lead_ohm) }
    }

    pub(crate) fn kind(&self) -> Dimension {
        if self.by_current { Dimension::Current } else { Dimension::Voltage }
    }
}
