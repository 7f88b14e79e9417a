//! Lagrange triangles of order 1 to 4 and quadrature on the reference triangle.
//!
//! The reference triangle has corners (0, 0), (1, 0), (0, 1); barycentric coordinates are
//! λ₁ = 1 − ξ − η, λ₂ = ξ, λ₃ = η. Nodes are equispaced: corners, then the sides (1, 2), (2, 3), (3, 1) in their
//! sense, then the inside.

use std::sync::OnceLock;

/// Largest polynomial order.
pub const ORDER_MAX: usize = 4;
/// Nodes of a triangle of [`ORDER_MAX`].
pub const NODES_MAX: usize = 15;

/// Number of nodes of a triangle of the given order.
pub const fn node_count(order: usize) -> usize {
    (order + 1) * (order + 2) / 2
}

/// Shape functions of one order, tabulated at the points of a quadrature rule.
#[derive(Debug)]
pub(crate) struct Element {
    pub(crate) order: usize,
    /// Barycentric coordinates of the nodes, times the order.
    pub(crate) nodes: Vec<[usize; 3]>,
    pub(crate) points: Vec<QuadraturePoint>,
}

/// A quadrature point with the shape functions there.
#[derive(Debug)]
pub(crate) struct QuadraturePoint {
    /// Weight; the weights sum to the reference triangle's area, ½.
    pub(crate) weight: f64,
    pub(crate) xi: [f64; 2],
    pub(crate) n: [f64; NODES_MAX],
    pub(crate) dn: [[f64; 2]; NODES_MAX],
}

impl Element {
    /// The element of an order from 1 to [`ORDER_MAX`].
    pub(crate) fn of_order(order: usize) -> &'static Element {
        static TABLE: OnceLock<Vec<Element>> = OnceLock::new();
        let table = TABLE.get_or_init(|| (1..=ORDER_MAX).map(Element::tabulate).collect());
        &table[order - 1]
    }

    fn tabulate(order: usize) -> Element {
        let mut element = Element { order, nodes: nodes(order), points: Vec::new() };
        // B² times the radius: degree 2 (p − 1) + 1, and one more for the term A / r.
        element.points = rule(2 * order)
            .into_iter()
            .map(|(xi, weight)| {
                let (n, dn) = element.shape(xi);
                QuadraturePoint { weight, xi, n, dn }
            })
            .collect();
        element
    }

    /// Values and gradients (by ξ, η) of the shape functions at a point of the reference triangle.
    pub(crate) fn shape(&self, xi: [f64; 2]) -> ([f64; NODES_MAX], [[f64; 2]; NODES_MAX]) {
        let lambda = [1.0 - xi[0] - xi[1], xi[0], xi[1]];
        let mut n = [0.0; NODES_MAX];
        let mut dn = [[0.0; 2]; NODES_MAX];
        for (k, node) in self.nodes.iter().enumerate() {
            let f: [(f64, f64); 3] = std::array::from_fn(|c| self.factor(node[c], lambda[c]));
            n[k] = f[0].0 * f[1].0 * f[2].0;
            let d = [f[0].1 * f[1].0 * f[2].0, f[0].0 * f[1].1 * f[2].0, f[0].0 * f[1].0 * f[2].1];
            dn[k] = [d[1] - d[0], d[2] - d[0]];
        }
        (n, dn)
    }

    /// Π (p λ − m) / (m + 1) over m < i, with its derivative by λ.
    fn factor(&self, i: usize, lambda: f64) -> (f64, f64) {
        let p = self.order as f64;
        let (mut value, mut slope) = (1.0, 0.0);
        for m in 0..i {
            let (f, df) = ((p * lambda - m as f64) / (m + 1) as f64, p / (m + 1) as f64);
            (value, slope) = (value * f, slope * f + value * df);
        }
        (value, slope)
    }
}

fn nodes(p: usize) -> Vec<[usize; 3]> {
    let mut list = vec![[p, 0, 0], [0, p, 0], [0, 0, p]];
    list.extend((1..p).map(|k| [p - k, k, 0]));
    list.extend((1..p).map(|k| [0, p - k, k]));
    list.extend((1..p).map(|k| [k, 0, p - k]));
    for j in 1..p {
        for i in 1..p.saturating_sub(j) {
            list.push([p - i - j, i, j]);
        }
    }
    list
}

/// Symmetric rules exact to the given degree: D. A. Dunavant, Int. J. Numer. Meth. Eng. 21 (1985) 1129–1148.
/// Coefficients from memory; a test integrates every monomial of the degree.
fn rule(degree: usize) -> Vec<([f64; 2], f64)> {
    let mut points = Vec::new();
    let mut orbit = |w: f64, a: f64, b: f64| {
        let c = 1.0 - a - b;
        let mut seen: Vec<[f64; 2]> = Vec::new();
        for p in [[a, b], [b, c], [c, a], [b, a], [c, b], [a, c]] {
            if !seen.iter().any(|q| (q[0] - p[0]).abs() + (q[1] - p[1]).abs() < 1e-9) {
                seen.push(p);
            }
        }
        points.extend(seen.into_iter().map(|p| (p, 0.5 * w)));
    };
    match degree {
        0..=2 => orbit(1.0 / 3.0, 1.0 / 6.0, 1.0 / 6.0),
        3..=4 => {
            orbit(0.223_381_589_678_011, 0.445_948_490_915_965, 0.445_948_490_915_965);
            orbit(0.109_951_743_655_322, 0.091_576_213_509_771, 0.091_576_213_509_771);
        }
        5..=6 => {
            orbit(0.116_786_275_726_379, 0.249_286_745_170_910, 0.249_286_745_170_910);
            orbit(0.050_844_906_370_207, 0.063_089_014_491_502, 0.063_089_014_491_502);
            orbit(0.082_851_075_618_374, 0.053_145_049_844_817, 0.310_352_451_033_784);
        }
        _ => {
            orbit(0.144_315_607_677_787, 1.0 / 3.0, 1.0 / 3.0);
            orbit(0.095_091_634_267_285, 0.459_292_588_292_723, 0.459_292_588_292_723);
            orbit(0.103_217_370_534_718, 0.170_569_307_751_760, 0.170_569_307_751_760);
            orbit(0.032_458_497_623_198, 0.050_547_228_317_031, 0.050_547_228_317_031);
            orbit(0.027_230_314_174_435, 0.008_394_777_409_958, 0.263_112_829_634_638);
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_integrate_monomials_exactly() {
        // ∫ ξ^a η^b over the reference triangle is a! b! / (a + b + 2)!.
        let factorial = |n: usize| (1..=n).map(|k| k as f64).product::<f64>();
        for degree in [2, 4, 6, 8] {
            for a in 0..=degree {
                for b in 0..=degree - a {
                    let got: f64 =
                        rule(degree).iter().map(|(x, w)| w * x[0].powi(a as i32) * x[1].powi(b as i32)).sum();
                    let want = factorial(a) * factorial(b) / factorial(a + b + 2);
                    assert!((got - want).abs() < 1e-13, "degree {degree}: ξ^{a} η^{b}: {got} for {want}");
                }
            }
        }
    }

    #[test]
    fn shape_functions_are_one_at_their_node_and_reproduce_gradients() {
        for order in 1..=ORDER_MAX {
            let element = Element::of_order(order);
            let p = order as f64;
            assert_eq!(element.nodes.len(), node_count(order));
            for (k, node) in element.nodes.iter().enumerate() {
                let (n, _) = element.shape([node[1] as f64 / p, node[2] as f64 / p]);
                for (m, value) in n.iter().enumerate().take(element.nodes.len()) {
                    assert!((value - f64::from(u8::from(m == k))).abs() < 1e-12);
                }
            }
            // The gradient of ξ^p interpolated is p ξ^(p − 1).
            let x = [0.3, 0.45];
            let (_, dn) = element.shape(x);
            let slope: f64 =
                element.nodes.iter().zip(&dn).map(|(v, d)| (v[1] as f64 / p).powi(order as i32) * d[0]).sum();
            assert!((slope - p * x[0].powi(order as i32 - 1)).abs() < 1e-12);
        }
    }
}
