//! Plane drawings to meshes to fields: nonlinear magnetostatics, magnetic fields in time and heat conduction by finite
//! elements.
//!
//! Areas are painted into a disc, or a half-disc if they turn about an axis or are mirrored ([`drawing`]). The disc is
//! meshed with triangles of order 1 to 4 ([`mesh`]), arcs as arcs, gaps much thinner than long by a single row. All of
//! space beyond the disc is there too, as the image of its inversion in the bounding circle: nothing is cut off.
//! Regions are filled with media whose H is any monotone function of B ([`law`]), with currents and remanences, and the
//! field is the minimum of an energy, which Newton's method finds from anywhere ([`magnetostatics`]).
//!
//! [`solve::Ladder`] does all this at once: it climbs from order 1 to 3 on one mesh, so that any answer comes with an
//! error estimate, refines where that is not good enough, and solves neighbours (other currents, other laws, bodies
//! moved a little) from what is already there. [`field`] reads flux densities anywhere, energies, fluxes, and forces by
//! virtual work; [`morph`] moves bodies and their mesh. [`in_time`] follows a field with its eddies, windings and what they
//! are connected to; iron may remember ([`hysteresis`]). [`heat`] conducts heat on the same meshes.
//!
//! Everything is in SI; axial numbers are for the full turn, planar ones per metre of depth. The same input gives the
//! same bits. There is no file, clock, thread or chance in here, and no knowledge of what is drawn.
//!
//! ```
//! use coilwright_fem::drawing::{Drawing, Outline, Symmetry};
//! use coilwright_fem::law::{Linear, Medium};
//! use coilwright_fem::solve::Ladder;
//! use std::sync::Arc;
//!
//! // A coil of 1000 ampere-turns, inner radius 10 mm, outer 20 mm, 40 mm long, and a plate of iron 5 mm above it.
//! let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 60e-3);
//! drawing.paint(1, Outline::rectangle([10e-3, 20e-3], [-20e-3, 20e-3]));
//! drawing.paint(2, Outline::rectangle([0.0, 30e-3], [25e-3, 30e-3]));
//! let media = vec![
//!     Medium::vacuum(),
//!     Medium::vacuum().with_current_density(1000.0 / (10e-3 * 40e-3)),
//!     Medium::of(Linear::relative(1000.0)),
//! ];
//!
//! // Until the force on the plate (the second area painted) is known to 0.1 %.
//! let plate = |area: usize| area == 1;
//! let force = |ladder: &Ladder| {
//!     let motion = ladder.motion(plate, [0.0, 1.0])?;
//!     Ok::<_, coilwright_fem::drawing::DrawingError>(ladder.force(&motion))
//! };
//! let ladder = Ladder::climb_until(&drawing, Arc::new(media), 0.0, 1e-3, |ladder| {
//!     force(ladder).map_or(f64::INFINITY, |f| f.error / f.value.abs())
//! })?;
//! let pull = force(&ladder)?;
//! assert!(pull.value < 0.0); // towards the coil
//!
//! // Without the plate there would be 25.14 mT in the middle (closed form); it adds a little. Far away: a dipole.
//! let probe = ladder.probe();
//! assert!((25.14e-3..27e-3).contains(&probe.at([0.0, 0.0]).b_t[1]));
//! assert!((probe.at([0.0, 4.0]).b_t[1] / probe.at([0.0, 2.0]).b_t[1] * 8.0 - 1.0).abs() < 0.05);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! An outline may share edges with others, touch or cross them; the one painted last is on top. What cannot be meshed
//! is an error that says why ([`drawing::DrawingError`]), what cannot be solved likewise ([`solve::Failure`]).

pub mod drawing;
pub mod element;
mod exterior;
pub mod field;
pub mod heat;
pub mod hysteresis;
pub mod in_time;
pub mod law;
mod layer;
pub mod magnetostatics;
pub mod mesh;
pub mod morph;
pub mod solve;
mod sparse;
mod triangulate;
