//! Path loss over free space, plane earth and one edge, and the radio horizon. Estimates: no terrain, no clutter.
//!
//! Frequencies from 30 to 3000 MHz, distances from 1 m to 20,000 km, antenna heights from 0.1 m to 10 km above ground.

use std::f64::consts::PI;

use crate::frequency::{Hertz, SPEED_OF_LIGHT_M_PER_S};
use crate::range::{OutOfRange, within};
use crate::source::Source;

/// Free-space loss. The constant is exact here, 32.4478 dB; the recommendation prints 32.4, the trade 32.45.
pub const FREE_SPACE_SOURCE: Source = Source::confirmed("Recommendation ITU-R P.525");
/// Knife edge and Fresnel zone.
pub const KNIFE_EDGE_SOURCE: Source = Source::confirmed("Recommendation ITU-R P.526");
/// Horizon over an earth of 4/3 its radius; printings differ by 0.3 %.
pub const HORIZON_SOURCE: Source = Source::confirmed("4/3 earth, telecommunications glossary");
/// Height above ground of the antenna of a radio that is carried or worn, m (common practice, no source).
pub const CARRIED_HEIGHT_M: f64 = 1.5;
/// Two-ray loss over plane earth.
pub const PLANE_EARTH_SOURCE: Source = Source::computed("textbook two-ray model");

/// Kilometers of horizon for a square root of one meter of height.
pub(crate) const HORIZON_KM_PER_SQRT_M: f64 = 4.12;
/// Below this parameter P.526's approximation is zero.
pub(crate) const NO_KNIFE_EDGE_LOSS_BELOW: f64 = -0.78;

fn mhz(f: Hertz) -> Result<f64, OutOfRange> {
    within("frequency", f.as_mhz(), (30.0, 3000.0), "MHz")
}

fn lambda_m(f: Hertz) -> Result<f64, OutOfRange> {
    Ok(SPEED_OF_LIGHT_M_PER_S / (mhz(f)? * 1e6))
}

fn km(distance_km: f64) -> Result<f64, OutOfRange> {
    within("distance", distance_km, (0.001, 20_000.0), "km")
}

fn height(meters: f64) -> Result<f64, OutOfRange> {
    within("antenna height", meters, (0.1, 10_000.0), "m")
}

fn loss(db: f64) -> Result<f64, OutOfRange> {
    within("path loss", db, (0.0, 400.0), "dB")
}

/// Free-space loss between isotropic antennas, dB, at `distance_km`. Exact constant, see [`FREE_SPACE_SOURCE`].
///
/// # Errors
/// [`OutOfRange`].
pub fn free_space_db(f: Hertz, distance_km: f64) -> Result<f64, OutOfRange> {
    Ok(20.0 * (4.0 * PI * km(distance_km)? * 1000.0 / lambda_m(f)?).log10())
}

/// Loss over plane earth beyond [`crossing_m`], dB: it does not depend on frequency there.
///
/// # Errors
/// [`OutOfRange`].
pub fn plane_earth_db(distance_km: f64, height_1_m: f64, height_2_m: f64) -> Result<f64, OutOfRange> {
    let heights = height(height_1_m)? * height(height_2_m)?;
    Ok(40.0 * (km(distance_km)? * 1000.0).log10() - 20.0 * heights.log10())
}

/// The larger of free space and plane earth, dB.
///
/// # Errors
/// [`OutOfRange`].
pub fn path_loss_db(f: Hertz, distance_km: f64, height_1_m: f64, height_2_m: f64) -> Result<f64, OutOfRange> {
    Ok(free_space_db(f, distance_km)?.max(plane_earth_db(distance_km, height_1_m, height_2_m)?))
}

/// The distance at which [`path_loss_db`] reaches `loss_db` (0 to 400), km; may lie beyond the horizon or the range of
/// the other functions.
///
/// # Errors
/// [`OutOfRange`].
pub fn distance_for_loss_km(f: Hertz, loss_db: f64, height_1_m: f64, height_2_m: f64) -> Result<f64, OutOfRange> {
    let loss_db = loss(loss_db)?;
    let free_space_m = lambda_m(f)? / (4.0 * PI) * 10_f64.powf(loss_db / 20.0);
    let heights = height(height_1_m)? * height(height_2_m)?;
    let plane_earth_m = heights.sqrt() * 10_f64.powf(loss_db / 40.0);
    Ok(free_space_m.min(plane_earth_m) / 1000.0)
}

/// Where the two-ray field begins to fall by the fourth power, the engineering form 4 h1 h2 / wavelength, meters.
///
/// # Errors
/// [`OutOfRange`].
pub fn break_distance_m(f: Hertz, height_1_m: f64, height_2_m: f64) -> Result<f64, OutOfRange> {
    Ok(4.0 * height(height_1_m)? * height(height_2_m)? / lambda_m(f)?)
}

/// Where free-space and plane-earth loss are equal, 4 pi h1 h2 / wavelength, meters.
///
/// # Errors
/// [`OutOfRange`].
pub fn crossing_m(f: Hertz, height_1_m: f64, height_2_m: f64) -> Result<f64, OutOfRange> {
    Ok(break_distance_m(f, height_1_m, height_2_m)? * PI)
}

/// Radio horizon between two antennas over smooth earth of 4/3 radius, km.
///
/// # Errors
/// [`OutOfRange`].
pub fn horizon_km(height_1_m: f64, height_2_m: f64) -> Result<f64, OutOfRange> {
    Ok(HORIZON_KM_PER_SQRT_M * (height(height_1_m)?.sqrt() + height(height_2_m)?.sqrt()))
}

/// An edge across a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnifeEdge {
    /// Height above the line of sight, m, -10,000 to 10,000; negative below it.
    pub above_line_m: f64,
    /// Distance to one end, m, 1 to 1e7.
    pub distance_1_m: f64,
    /// Distance to the other end, m, 1 to 1e7.
    pub distance_2_m: f64,
}

impl KnifeEdge {
    fn distances(self) -> Result<(f64, f64), OutOfRange> {
        let distance = |value| within("distance to the edge", value, (1.0, 1e7), "m");
        Ok((distance(self.distance_1_m)?, distance(self.distance_2_m)?))
    }

    /// The parameter of P.526: h sqrt(2/wavelength (1/d1 + 1/d2)).
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn parameter(self, f: Hertz) -> Result<f64, OutOfRange> {
        let (d1, d2) = self.distances()?;
        let h = within("height of the edge", self.above_line_m, (-10_000.0, 10_000.0), "m")?;
        Ok(h * (2.0 / lambda_m(f)? * (1.0 / d1 + 1.0 / d2)).sqrt())
    }

    /// Loss over the edge beyond free space, dB.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn loss_db(self, f: Hertz) -> Result<f64, OutOfRange> {
        Ok(knife_edge_db(self.parameter(f)?))
    }

    /// Radius of the first Fresnel zone at the edge, m. Exact; P.526 rounds the constant to 550 (0.45 % more).
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn fresnel_radius_m(self, f: Hertz) -> Result<f64, OutOfRange> {
        let (d1, d2) = self.distances()?;
        Ok((lambda_m(f)? * d1 * d2 / (d1 + d2)).sqrt())
    }
}

/// P.526's approximation of the loss over a knife edge with parameter `v`, dB; within 0.13 dB of the exact one up to 5.
fn knife_edge_db(v: f64) -> f64 {
    if v <= NO_KNIFE_EDGE_LOSS_BELOW {
        return 0.0;
    }
    let v = v - 0.1;
    6.9 + 20.0 * ((v * v + 1.0).sqrt() + v).log10()
}

#[cfg(test)]
#[path = "path_tests.rs"]
mod tests;
