//! A magnet made ready to warm up: meshed, with its films and thermometers.

use crate::magnet::Magnet;
use crate::magnet::winding::Winding;
use crate::thermal::ThermalError;
use crate::thermal::outside;
use crate::thermal::outside::Exchange;
use crate::thermal::section::{Role, Section};
use crate::thermal::setting::Setting;
use coilwright_fem::drawing::Point;
use coilwright_fem::heat::Film;
use coilwright_fem::heat::Heat;
use coilwright_fem::heat::Side;
use coilwright_fem::heat::Thermometer;
use coilwright_fem::mesh::Mesh;
use std::cell::RefCell;
use std::sync::Arc;

/// Coefficient in W/(m² K) from a surface temperature in K.
type FilmLaw = Box<dyn Fn(f64) -> f64 + Sync + Send>;

/// A wound magnet with everything that decides its temperatures.
pub struct Body {
    pub(crate) heat: Heat,
    pub(crate) exchanges: Vec<Exchange>,
    laws: Vec<FilmLaw>,
    pub(crate) gauges: Gauges,
    roles: Vec<Role>,
    /// The setting it was made for.
    pub setting: Setting,
}

/// Where its temperatures are read.
#[derive(Debug)]
pub(crate) struct Gauges {
    /// Unknowns of the winding.
    hot: Vec<usize>,
    /// Where the outside can be touched, with the place.
    skin: Vec<(Thermometer, Point)>,
    pub(crate) back: Thermometer,
    pub(crate) face: Thermometer,
    pub(crate) side: Thermometer,
    /// From the solver's watts to the magnet's.
    pub(crate) scale: f64,
}

/// Order of the elements.
const ORDER: usize = 2;

impl std::fmt::Debug for Body {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Body").field("setting", &self.setting).finish_non_exhaustive()
    }
}

impl Body {
    /// Mesh and assemble.
    ///
    /// # Errors
    /// A section that cannot be drawn; properties that are not possible.
    pub fn new(magnet: &Magnet, winding: &Winding, setting: &Setting) -> Result<Self, ThermalError> {
        if magnet.watch.is_stopped() {
            return Err(ThermalError::Stopped);
        }
        let section = Section::of(magnet, winding, setting)?;
        let mesh = Arc::new(Mesh::new(&section.drawing, ORDER)?);
        let exchanges = outside::films(&section, magnet, setting);
        let touched: RefCell<Vec<Side>> = RefCell::new(Vec::new());
        let heat = Heat::new(mesh, &section.substances(), &section.contacts, exchanges.len(), |side| {
            if outside::touchable(&section, setting, side) {
                touched.borrow_mut().push(*side);
            }
            outside::film_of(&section, setting, side)
        })?;
        let gauges = Gauges::new(&heat, &section, magnet, &touched.into_inner())?;
        let laws = exchanges.iter().map(Exchange::law).collect();
        let roles = section.regions.iter().map(|r| r.role).collect();
        Ok(Self { heat, exchanges, laws, gauges, roles, setting: setting.clone() })
    }

    /// Number of temperatures that are solved for.
    pub fn unknowns(&self) -> usize {
        self.heat.unknowns()
    }

    /// A field of the temperature of the surroundings everywhere.
    pub fn cold(&self) -> Vec<f64> {
        self.heat.uniform(self.setting.ambient_k)
    }

    /// A field of the temperature at which it is first switched on everywhere.
    pub(crate) fn start(&self) -> Vec<f64> {
        self.heat.uniform(self.setting.start_k.unwrap_or(self.setting.ambient_k))
    }

    /// The greatest temperature of the winding in a field, K.
    pub fn hottest_k(&self, field: &[f64]) -> f64 {
        self.gauges.hot_k(field)
    }

    /// Where the heat of a steady state leaves: key, label, W.
    pub(crate) fn paths(
        &self,
        steady: &crate::thermal::snapshot::Steady,
    ) -> Vec<(&'static str, &'static str, f64)> {
        outside::paths(steady, &self.roles)
    }

    /// What is solved, the films, and where to read.
    pub(crate) fn apart(&mut self) -> (&mut Heat, Vec<Film<'_>>, &Gauges) {
        let films = self.exchanges.iter().zip(&self.laws);
        let films =
            films.map(|(e, law)| Film { ambient_k: e.ambient_k, coefficient: law.as_ref() }).collect();
        (&mut self.heat, films, &self.gauges)
    }
}

impl Gauges {
    fn new(heat: &Heat, section: &Section, magnet: &Magnet, touched: &[Side]) -> Result<Self, ThermalError> {
        let skin: Vec<(Thermometer, Point)> =
            touched.iter().filter_map(|s| Some((heat.thermometer(s.middle, s.region)?, s.middle))).collect();
        let wound: Vec<_> = section.of_role(Role::Winding).map(|k| section.regions[k].extent).collect();
        let first = *wound.first().ok_or(ThermalError::Missing("winding"))?;
        // Nodes of its surroundings on the common boundary are no warmer than its own.
        let mask = heat.field(|p| f64::from(u8::from(wound.iter().any(|w| w.contains(p)))));
        let hot = (0..mask.len()).filter(|&u| mask[u] > 0.0).collect();
        let solids: Vec<usize> = [Role::Iron, Role::Winding, Role::Lining]
            .into_iter()
            .flat_map(|role| section.of_role(role).collect::<Vec<_>>())
            .collect();
        let at = |places: &[Point], what| {
            let found = places.iter().find_map(|p| solids.iter().find_map(|&k| heat.thermometer(*p, k)));
            found.ok_or(ThermalError::Missing(what))
        };
        let body = section.body;
        let middle = |x: [f64; 2]| 0.5 * (x[0] + x[1]);
        let pole = magnet.poles.first().map_or([0.0, body.y[1]], |p| [middle(p.x_m), p.y_m]);
        let low = [middle(first.x), first.y[0]];
        let back = at(&[[0.5 * body.x[1], body.y[0]], [pole[0], body.y[0]], low], "back")?;
        let face = at(&[pole, [middle(first.x), first.y[1]]], "face")?;
        let side = at(
            &[
                [body.x[1], middle(body.y)],
                [wound.iter().map(|w| w.x[1]).fold(0.0, f64::max), middle(first.y)],
                low,
            ],
            "side",
        )?;
        Ok(Self { hot, skin, back, face, side, scale: section.scale })
    }

    /// The greatest temperature of the winding, K.
    pub(crate) fn hot_k(&self, field: &[f64]) -> f64 {
        self.hot.iter().map(|&u| field[u]).fold(f64::NEG_INFINITY, f64::max)
    }

    /// The unknown of the hottest place.
    pub(crate) fn hottest(&self, field: &[f64]) -> Option<usize> {
        self.hot.iter().copied().max_by(|&a, &b| field[a].total_cmp(&field[b]))
    }

    /// The greatest temperature of the outside, K, and where.
    pub(crate) fn surface_k(&self, field: &[f64]) -> (f64, Point) {
        self.skin
            .iter()
            .map(|(t, p)| (t.read(field), *p))
            .fold((f64::NEG_INFINITY, [0.0; 2]), |best, now| if now.0 > best.0 { now } else { best })
    }
}
