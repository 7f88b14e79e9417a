//! What a body is like at one moment, and when it has settled.

use coilwright_fem::drawing::Point;

/// Temperatures at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Snapshot {
    /// s from switching on.
    pub time_s: f64,
    /// Hottest place of the winding, K.
    pub hot_k: f64,
    /// Mean of the winding, as its resistance tells, K.
    pub mean_k: f64,
    /// Hottest place of the outside, K.
    pub surface_k: f64,
    /// Where that is, m.
    pub surface_at: Point,
    /// Outside at half the height, K.
    pub side_k: f64,
    /// Back, K.
    pub back_k: f64,
    /// Middle of the pole face, K.
    pub face_k: f64,
    /// Square of the current, A².
    pub square_a2: f64,
    /// Heat set free in the winding, W.
    pub power_w: f64,
    /// How fast the hottest place warms, K/s; 0 in a steady state.
    pub hot_rate_k_s: f64,
}

/// A steady state.
#[derive(Clone, Debug, PartialEq)]
pub struct Steady {
    /// What it is like; the time is infinite.
    pub shot: Snapshot,
    /// By unknown of the body.
    pub field: Vec<f64>,
    /// Heat given off less heat generated, over the larger.
    pub imbalance: f64,
    /// Heat that leaves by each of the body's surfaces, W, with its mean temperature, K, and coefficient, W/(m² K).
    pub surfaces: Vec<[f64; 3]>,
}
