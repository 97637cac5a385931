//! Distance and bearing on the WGS 84 ellipsoid.

use std::sync::LazyLock;

use geographiclib_rs::{Geodesic, InverseGeodesic};

use crate::range::{OutOfRange, within};

static WGS_84: LazyLock<Geodesic> = LazyLock::new(Geodesic::wgs84);

/// A position, WGS 84.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    latitude: f64,
    longitude: f64,
}

impl Position {
    /// Degrees north, -90 to 90, and degrees east, -180 to 180.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn new(latitude: f64, longitude: f64) -> Result<Position, OutOfRange> {
        let latitude = within("latitude", latitude, (-90.0, 90.0), "degrees")?;
        let longitude = within("longitude", longitude, (-180.0, 180.0), "degrees")?;
        Ok(Position { latitude, longitude })
    }

    /// Degrees north.
    pub const fn latitude(self) -> f64 {
        self.latitude
    }

    /// Degrees east.
    pub const fn longitude(self) -> f64 {
        self.longitude
    }

    /// Geodesic distance to `other`, km.
    pub fn distance_km(self, other: Position) -> f64 {
        let (meters, _, _, _): (f64, f64, f64, f64) = self.inverse(other);
        meters / 1000.0
    }

    /// Bearing of `other` at the start, degrees clockwise from north, 0 up to 360; 0 for the same place.
    pub fn bearing_deg(self, other: Position) -> f64 {
        if self == other {
            return 0.0;
        }
        let (_, azimuth, _, _) = self.inverse(other);
        let bearing = azimuth.rem_euclid(360.0);
        if bearing < 360.0 { bearing } else { 0.0 }
    }

    fn inverse(self, other: Position) -> (f64, f64, f64, f64) {
        WGS_84.inverse(self.latitude, self.longitude, other.latitude, other.longitude)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::range::assert_near;
    use proptest::prelude::*;

    fn at(latitude: f64, longitude: f64) -> Position {
        Position::new(latitude, longitude).unwrap()
    }

    #[test]
    fn distances_and_bearings() {
        // The same from two independent implementations: geographiclib 2.1 and pyproj 3.7, WGS 84.
        for (from, to, km, bearing) in [
            ((51.5, -0.12), (51.55, -0.05), 7.38565, 41.1038),
            ((40.0, -105.0), (40.1, -105.2), 20.36044, 360.0 - 56.88714),
            ((0.0, 0.0), (0.0, 1.0), 111.31949, 90.0),
        ] {
            let (from, to) = (at(from.0, from.1), at(to.0, to.1));
            assert_near(from.distance_km(to), km, 1e-5);
            assert_near(from.bearing_deg(to), bearing, 1e-4);
        }
        assert_near(at(60.0, 0.0).distance_km(at(60.0, 1.0)), 55.79947, 1e-5);
    }

    #[test]
    fn refusals_and_the_same_place() {
        assert!(Position::new(90.1, 0.0).is_err() && Position::new(0.0, -180.5).is_err());
        assert!(Position::new(f64::NAN, 0.0).is_err());
        assert_eq!((at(44.1, -68.8).latitude(), at(44.1, -68.8).longitude()), (44.1, -68.8));
        assert_eq!(at(44.0, -68.0).bearing_deg(at(44.0, -68.0)), 0.0);
    }

    proptest! {
        #[test]
        fn a_metric_near_the_sphere(a in -89.0_f64..89.0, b in -180.0_f64..180.0, c in -89.0_f64..89.0, d in -180.0_f64..180.0) {
            let (from, to) = (at(a, b), at(c, d));
            let km = from.distance_km(to);
            prop_assert!((km - to.distance_km(from)).abs() < 1e-6);
            let (p, q, l) = (a.to_radians(), c.to_radians(), (d - b).to_radians());
            let half = ((q - p) / 2.0).sin().powi(2) + p.cos() * q.cos() * (l / 2.0).sin().powi(2);
            let sphere = 2.0 * 6371.0088 * half.sqrt().min(1.0).asin();
            prop_assert!((km - sphere).abs() <= 0.006 * sphere + 1e-6, "{km} {sphere}");
            prop_assert!((0.0..360.0).contains(&from.bearing_deg(to)));
        }
    }
}
