//! A strictly increasing C¹ curve H(B) of cubic pieces with the law of approach to saturation beyond them.

use super::MU0;

/// Largest ratio of a slope at a knot to the chord of either neighbouring piece. At 3 a cubic may become
/// level inside (Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238); 2.8 keeps a tenth of the chord.
const STEEPEST: f64 = 2.8;
/// Least such ratio.
const FLATTEST: f64 = 0.05;
/// More than any material has (iron with cobalt 2.4 T, from memory); bounds what a table that ends early foresees.
const HIGHEST_SATURATION_T: f64 = 2.5;
/// Least further rise of J where the slope at the last point is above µ0, T.
const LEAST_RISE_T: f64 = 0.05;
/// Look-up buckets per piece.
const BUCKETS_PER_PIECE: usize = 4;

/// H(B) for B ≥ 0, continued as an odd function. Built by [`super::SteelLaw`]'s constructors.
#[derive(Clone, Debug, PartialEq)]
pub struct CubicLaw {
    pieces: Vec<Piece>,
    tail: Tail,
    /// Index of the piece in which each of the equally wide buckets of B begins.
    buckets: Vec<u32>,
    buckets_per_tesla: f64,
}

/// H = h + s (c₁ + s (c₂ + s c₃)), s = B − b, up to the next piece's b.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Piece {
    b: f64,
    h: f64,
    c: [f64; 3],
    /// ∫ H dB from 0 to b.
    energy: f64,
}

/// The law of approach to saturation, J = Js − c/(H − h₀), for B ≥ b; h₀ is 0 unless Js is bound otherwise.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Tail {
    b: f64,
    h: f64,
    slope: f64,
    energy: f64,
    saturation: f64,
    h0: f64,
    c: f64,
}

/// A knot: B, H and dH/dB there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Knot {
    pub(super) b: f64,
    pub(super) h: f64,
    pub(super) slope: f64,
}

impl CubicLaw {
    /// From knots that rise strictly in B and H, the first at the origin. Slopes that would endanger
    /// monotonicity are moved to the nearest safe ones, and the last may not exceed 1/µ0. The polarisation tends
    /// to `saturation` (T), or to what the last slope foresees.
    pub(super) fn from_knots(mut knots: Vec<Knot>, saturation: Option<f64>) -> Self {
        let chords: Vec<f64> = knots.windows(2).map(|w| (w[1].h - w[0].h) / (w[1].b - w[0].b)).collect();
        let last = knots.len() - 1;
        for (i, knot) in knots.iter_mut().enumerate() {
            let left = chords[i.max(1) - 1];
            let right = chords[i.min(last - 1)];
            knot.slope = knot.slope.max(FLATTEST * left.min(right)).min(STEEPEST * left.min(right));
        }
        knots[last].slope = knots[last].slope.min(1.0 / MU0);

        let mut energy = 0.0;
        let mut pieces = Vec::with_capacity(last);
        for (w, chord) in knots.windows(2).zip(&chords) {
            let width = w[1].b - w[0].b;
            let c2 = (3.0 * chord - 2.0 * w[0].slope - w[1].slope) / width;
            let c3 = (w[0].slope + w[1].slope - 2.0 * chord) / (width * width);
            let piece = Piece { b: w[0].b, h: w[0].h, c: [w[0].slope, c2, c3], energy };
            energy += piece.integral(width);
            pieces.push(piece);
        }
        let end = knots[last];
        let buckets_per_tesla = (BUCKETS_PER_PIECE * pieces.len()) as f64 / end.b;
        let mut buckets = Vec::with_capacity(BUCKETS_PER_PIECE * pieces.len() + 1);
        let mut piece = 0;
        for bucket in 0..=BUCKETS_PER_PIECE * pieces.len() {
            let b = bucket as f64 / buckets_per_tesla;
            while piece + 1 < pieces.len() && pieces[piece + 1].b <= b {
                piece += 1;
            }
            buckets.push(piece as u32);
        }
        Self { pieces, tail: Tail::from_knot(end, energy, saturation), buckets, buckets_per_tesla }
    }

    /// H (A/m) and dH/dB (m/H) at B (T).
    pub fn evaluate(&self, b_t: f64) -> (f64, f64) {
        let b = b_t.abs();
        let (h, slope) = match self.piece(b) {
            Some(piece) => {
                let s = b - piece.b;
                let [c1, c2, c3] = piece.c;
                (piece.h + s * (c1 + s * (c2 + s * c3)), c1 + s * (2.0 * c2 + s * 3.0 * c3))
            }
            None => self.tail.evaluate(b),
        };
        (h.copysign(b_t), slope)
    }

    /// ∫ H dB (J/m³) from 0 to B (T).
    pub fn energy_density(&self, b_t: f64) -> f64 {
        let b = b_t.abs();
        match self.piece(b) {
            Some(piece) => piece.energy + piece.integral(b - piece.b),
            None => self.tail.energy_density(b),
        }
    }

    /// B (T) at H (A/m).
    pub fn b_of_h(&self, h_a_per_m: f64) -> f64 {
        let h = h_a_per_m.abs();
        let b = if h >= self.tail.h { self.tail.b_of_h(h) } else { self.b_in_pieces(h) };
        b.copysign(h_a_per_m)
    }

    /// Polarisation the curve tends to, T.
    pub fn saturation_t(&self) -> f64 {
        self.tail.saturation
    }

    /// Where the pieces end and the law of approach to saturation begins, T.
    pub fn last_point_t(&self) -> f64 {
        self.tail.b
    }

    /// Number of cubic pieces.
    pub fn piece_count(&self) -> usize {
        self.pieces.len()
    }

    /// J(H) becomes k J(H/s), with s = `h_scale` and k = `saturation_scale`.
    pub(super) fn scaled(&self, h_scale: f64, saturation_scale: f64) -> Self {
        let ends = self.pieces.iter().map(|p| Knot { b: p.b, h: p.h, slope: p.c[0] });
        let end = Knot { b: self.tail.b, h: self.tail.h, slope: self.tail.slope };
        let knots = ends.chain([end]).map(|k| {
            let h = h_scale * k.h;
            let b = MU0 * h + saturation_scale * (k.b - MU0 * k.h);
            let db_dh = MU0 + (1.0 / k.slope - MU0) * saturation_scale / h_scale;
            Knot { b, h, slope: 1.0 / db_dh }
        });
        Self::from_knots(knots.collect(), Some(saturation_scale * self.tail.saturation))
    }

    /// The piece that holds B ≥ 0, or none if it lies in the tail (NaN goes there too, and stays NaN).
    fn piece(&self, b: f64) -> Option<&Piece> {
        if b < self.tail.b {
            let bucket = (b * self.buckets_per_tesla) as usize;
            let mut i = self.buckets[bucket.min(self.buckets.len() - 1)] as usize;
            // Rounding may put B just below the bucket's first piece.
            while i > 0 && b < self.pieces[i].b {
                i -= 1;
            }
            while i + 1 < self.pieces.len() && self.pieces[i + 1].b <= b {
                i += 1;
            }
            Some(&self.pieces[i])
        } else {
            None
        }
    }

    /// Newton's method kept inside a bracket, on the one piece whose ends enclose H.
    fn b_in_pieces(&self, h: f64) -> f64 {
        let i = self.pieces.partition_point(|p| p.h <= h).max(1) - 1;
        let piece = &self.pieces[i];
        let mut low = 0.0;
        let mut high = self.pieces.get(i + 1).map_or(self.tail.b, |p| p.b) - piece.b;
        let [c1, c2, c3] = piece.c;
        let mut s = ((h - piece.h) / c1).min(0.5 * (low + high));
        for _ in 0..60 {
            let miss = piece.h + s * (c1 + s * (c2 + s * c3)) - h;
            if miss > 0.0 {
                high = s;
            } else {
                low = s;
            }
            let newton = s - miss / (c1 + s * (2.0 * c2 + s * 3.0 * c3));
            let next = if (low..=high).contains(&newton) { newton } else { 0.5 * (low + high) };
            if (next - s).abs() <= 1e-16 * (piece.b + s) {
                return piece.b + next;
            }
            s = next;
        }
        piece.b + s
    }
}

impl Piece {
    fn integral(&self, s: f64) -> f64 {
        let [c1, c2, c3] = self.c;
        s * (self.h + s * (c1 / 2.0 + s * (c2 / 3.0 + s * c3 / 4.0)))
    }
}

impl Tail {
    /// The law of approach that continues a curve in value and slope. With h₀ = 0 the slope gives Js; a slope too
    /// steep for that (a table that ends on its steep part) or a known Js gives h₀ instead.
    fn from_knot(end: Knot, energy: f64, saturation: Option<f64>) -> Self {
        let j = end.b - MU0 * end.h;
        let dj_dh = (1.0 / end.slope - MU0).max(0.0);
        let by_slope = j + end.h * dj_dh;
        let saturation = saturation.unwrap_or(by_slope.min(HIGHEST_SATURATION_T.max(j + LEAST_RISE_T)));
        let missing = saturation - j;
        let (b, h, slope) = (end.b, end.h, end.slope);
        if dj_dh > 0.0 && missing > 0.0 {
            let u = missing / dj_dh;
            Self { b, h, slope, energy, saturation, h0: h - u, c: missing * u }
        } else {
            Self { b, h, slope, energy, saturation: j, h0: 0.0, c: 0.0 }
        }
    }

    fn evaluate(&self, b: f64) -> (f64, f64) {
        // µ0 u − c/u = d with u = H − h₀.
        let d = b - self.saturation - MU0 * self.h0;
        let root = (d * d + 4.0 * MU0 * self.c).sqrt();
        // Of the two forms of the quadratic's root, the one without cancellation.
        let u = if d >= 0.0 { (root + d) / (2.0 * MU0) } else { 2.0 * self.c / (root - d) };
        (self.h0 + u, 1.0 / (MU0 + self.c / (u * u)))
    }

    fn b_of_h(&self, h: f64) -> f64 {
        self.saturation + MU0 * h - self.c / (h - self.h0)
    }

    fn energy_density(&self, b: f64) -> f64 {
        let (h, _) = self.evaluate(b);
        let (u, u_end) = (h - self.h0, self.h - self.h0);
        // ∫ H dB = ∫ (h₀ + u) (µ0 + c/u²) du.
        let air = 0.5 * MU0 * (h - self.h) * (h + self.h);
        self.energy + air + self.c * ((u / u_end).ln() + self.h0 * (1.0 / u_end - 1.0 / u))
    }
}
