use super::*;
use crate::range::assert_near;
use proptest::prelude::*;

const CHANNEL_1_446: Hertz = Hertz(446_006_250);

#[test]
fn free_space() {
    // ITU-R P.525 with the exact constant 20 log(4 pi 1e9 / c) = 32.447783; printed 32.4, trade 32.45.
    for (f, d, db) in [
        (155_000_000, 1.0, 76.2544),
        (155_000_000, 5.0, 90.2338),
        (155_000_000, 10.0, 96.2544),
        (155_000_000, 20.0, 102.2750),
        (446_000_000, 0.1, 65.4345),
        (446_000_000, 1.0, 85.4345),
        (446_000_000, 10.0, 105.4345),
        (462_550_000, 5.0, 99.7304),
    ] {
        let found = free_space_db(Hertz(f), d).unwrap();
        assert_near(found, db, 1e-4);
        let printed = 32.4 + 20.0 * (f as f64 / 1e6).log10() + 20.0 * d.log10();
        assert_near(found, printed, 0.05);
    }
    // The same from an independent implementation, pycraf 2.1 free_space_loss (sign reversed).
    assert_near(free_space_db(Hertz::mhz(155), 10.0).unwrap(), 96.254_417_185_289_2, 1e-6);
}

#[test]
fn horizon() {
    // 4/3 earth: 4.12 (sqrt h1 + sqrt h2); another printing, 2.23 nautical miles, is within 0.3 %.
    for (h1, h2, km) in [
        (1.5, 1.5, 10.0919),
        (10.0, 30.0, 35.5948),
        (1.5, 10.0, 18.0745),
        (30.0, 30.0, 45.1323),
        (1.5, 30.0, 27.6121),
        (1.5, 100.0, 46.2459),
    ] {
        assert_near(horizon_km(h1, h2).unwrap(), km, 1e-4);
    }
    assert_near(2.23 * 1.852 / HORIZON_KM_PER_SQRT_M, 1.0, 0.003);
    assert_near((2.0 * 4.0 / 3.0 * 6_371_000.0_f64).sqrt() / 1000.0, HORIZON_KM_PER_SQRT_M, 0.002);
}

#[test]
fn plane_earth() {
    // 40 log d - 20 log(h1 h2): textbook two-ray model.
    for (km, h1, h2, db) in
        [(5.0, 1.5, 30.0, 114.8945), (10.0, 1.5, 30.0, 126.9357), (1.0, 1.5, 1.5, 112.9563), (2.0, 1.5, 1.5, 124.9975)]
    {
        assert_near(plane_earth_db(km, h1, h2).unwrap(), db, 1e-4);
    }
    for (db, m) in [(120.0, 1500.0), (130.0, 2667.4), (140.0, 4743.4)] {
        assert_near(distance_for_loss_km(Hertz::mhz(446), db, 1.5, 1.5).unwrap() * 1000.0, m, 0.05);
    }
    for (mhz, h1, h2, engineering, crossing) in [
        (155, 1.5, 30.0, 93.0644, 292.3704),
        (446, 1.5, 1.5, 13.3893, 42.0636),
        (446, 1.5, 30.0, 267.7853, 841.2722),
        (155, 1.5, 1.5, 4.6532, 14.6185),
    ] {
        assert_near(break_distance_m(Hertz::mhz(mhz), h1, h2).unwrap(), engineering, 1e-4);
        assert_near(crossing_m(Hertz::mhz(mhz), h1, h2).unwrap(), crossing, 1e-4);
    }
}

#[test]
fn worked_budget() {
    // 0.5 W ERP = 29.1397 dBm EIRP, receive antenna -2.15 dBi, 1.5 m to 1.5 m.
    for (km, dbm) in [(0.5, -73.9254), (1.0, -85.9666), (2.0, -98.0078), (3.0, -105.0515)] {
        let received = 29.1397 - path_loss_db(CHANNEL_1_446, km, 1.5, 1.5).unwrap() - 2.15;
        assert_near(received, dbm, 1e-4);
    }
}

#[test]
fn independent_terrain_model_is_within_two_decibels() {
    // Longley-Rice over a flat profile, median, itmlogic 1.2: 125.1461 dB at 155 MHz, 30 m and 1.5 m, 10 km.
    assert_near(path_loss_db(Hertz::mhz(155), 10.0, 30.0, 1.5).unwrap(), 125.1461, 2.0);
    assert_near(path_loss_db(Hertz::mhz(446), 10.0, 30.0, 1.5).unwrap(), 127.2580, 2.0);
}

#[test]
fn knife_edge_table() {
    // ITU-R P.526, approximation; the exact values are Fresnel integrals.
    for (v, approximate, exact) in [
        (-1.0, 0.0, None),
        (-0.78, 0.0, Some(-0.0111)),
        (-0.5, 1.9592, Some(1.8586)),
        (0.0, 6.0329, Some(6.0206)),
        (0.5, 10.2878, Some(10.2338)),
        (1.0, 13.9257, Some(13.8641)),
        (1.5, 16.7844, None),
        (2.0, 19.0429, Some(19.0910)),
        (2.4, 20.5393, Some(20.6182)),
        (3.0, 22.4160, Some(22.5218)),
    ] {
        assert_near(knife_edge_db(v), approximate, 1e-4);
        if let Some(exact) = exact {
            assert_near(knife_edge_db(v), exact, 0.11);
        }
    }
    // A second published form, Longley-Rice: 6.02 + 9.11 v - 1.27 v^2 below 2.4.
    for v in [0.5, 1.0, 2.0] {
        assert_near(knife_edge_db(v), 6.02 + 9.11 * v - 1.27 * v * v, 0.2);
    }
}

#[test]
fn edges_on_paths() {
    for (above_line_m, distance_1_m, distance_2_m, mhz, v, db) in [
        (10.0, 3000.0, 4000.0, 155, 0.24560, 8.1602),
        (10.0, 3000.0, 4000.0, 446, 0.41661, 9.6061),
        (-5.0, 2000.0, 2000.0, 446, -0.27274, 3.7331),
        (20.0, 5000.0, 5000.0, 155, 0.40675, 9.5243),
    ] {
        let edge = KnifeEdge { above_line_m, distance_1_m, distance_2_m };
        assert_near(edge.parameter(Hertz::mhz(mhz)).unwrap(), v, 1e-5);
        assert_near(edge.loss_db(Hertz::mhz(mhz)).unwrap(), db, 1e-4);
    }
    // P.526 equation 3 prints 550 sqrt(d1 d2 / ((d1 + d2) f)).
    let middle = KnifeEdge { above_line_m: 0.0, distance_1_m: 2500.0, distance_2_m: 2500.0 };
    for (mhz, exact, printed) in [(155, 49.1699, 49.3915), (446, 28.9866, 29.1172)] {
        let radius = middle.fresnel_radius_m(Hertz::mhz(mhz)).unwrap();
        assert_near(radius, exact, 1e-4);
        assert_near(printed / radius, 1.0, 0.0046);
    }
}

#[test]
fn refusals() {
    assert!(free_space_db(Hertz::mhz(155), 0.0).is_err() && free_space_db(Hertz::mhz(155), f64::NAN).is_err());
    assert!(free_space_db(Hertz(0), 1.0).is_err() && free_space_db(Hertz::mhz(5_650), 1.0).is_err());
    assert!(plane_earth_db(1.0, 0.0, 1.5).is_err() && horizon_km(-1.0, 1.5).is_err());
    assert!(distance_for_loss_km(Hertz::mhz(155), -1.0, 1.5, 1.5).is_err());
    let edge = KnifeEdge { above_line_m: f64::NAN, distance_1_m: 1.0, distance_2_m: 1.0 };
    assert!(edge.loss_db(Hertz::mhz(155)).is_err());
    assert!(KnifeEdge { above_line_m: 1.0, distance_1_m: 0.0, ..edge }.loss_db(Hertz::mhz(155)).is_err());
}

proptest! {
    #[test]
    fn plane_earth_is_the_larger_beyond_the_crossing(mhz in 30_i64..3000, h1 in 0.5_f64..100.0, h2 in 0.5_f64..100.0, times in 1.01_f64..50.0) {
        let f = Hertz::mhz(mhz);
        let km = (crossing_m(f, h1, h2).unwrap() * times / 1000.0).clamp(0.001, 20_000.0);
        prop_assume!(km * 1000.0 > crossing_m(f, h1, h2).unwrap());
        prop_assert!(plane_earth_db(km, h1, h2).unwrap() >= free_space_db(f, km).unwrap());
    }

    #[test]
    fn loss_rises_with_distance_and_inverts(mhz in 30_i64..3000, h1 in 0.5_f64..100.0, h2 in 0.5_f64..100.0, km in 0.01_f64..100.0) {
        let f = Hertz::mhz(mhz);
        let loss = path_loss_db(f, km, h1, h2).unwrap();
        prop_assert!(path_loss_db(f, km * 1.1, h1, h2).unwrap() > loss);
        let back = distance_for_loss_km(f, loss, h1, h2).unwrap();
        prop_assert!((back / km - 1.0).abs() < 1e-9);
    }

    #[test]
    fn knife_edge_never_falls(v in -3.0_f64..10.0, more in 0.0_f64..3.0) {
        prop_assert!(knife_edge_db(v + more) >= knife_edge_db(v));
    }
}
