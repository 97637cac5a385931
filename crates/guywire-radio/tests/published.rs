//! The trade library against tables that independent open-source libraries made: see `tests/reference/README.md`.

#![allow(clippy::unwrap_used, reason = "helpers of tests")]

use std::fmt::Debug;
use std::path::Path;
use std::str::FromStr;

use guywire_radio::coverage::chance_of_passes;
use guywire_radio::dcs::Dcs;
use guywire_radio::emission::{Emission, Kind};
use guywire_radio::feedline::Vswr;
use guywire_radio::frequency::Hertz;
use guywire_radio::geodesy::Position;
use guywire_radio::interference::Carrier;
use guywire_radio::intermodulation::{Intermodulation, Order};
use guywire_radio::link::reliability;
use guywire_radio::path::{KnifeEdge, free_space_db};

/// The rows of a table, without its header, as fields.
fn rows(table: &str, least: usize) -> Vec<Vec<String>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference").join(table);
    let text = std::fs::read_to_string(path).unwrap();
    let rows: Vec<Vec<String>> = text.lines().skip(1).map(|it| it.split(',').map(str::to_owned).collect()).collect();
    assert!(rows.len() >= least, "{table} has {} rows", rows.len());
    rows
}

fn read<T: FromStr<Err: Debug>>(text: &str) -> T {
    text.parse().unwrap()
}

#[track_caller]
fn near(found: f64, expected: &str, tolerance: f64, row: &[String]) {
    let expected: f64 = read(expected);
    assert!((found - expected).abs() <= tolerance, "{row:?}: found {found}");
}

#[test]
fn code_words() {
    for row in rows("dcs.csv", 512) {
        let code = Dcs::new(u16::from_str_radix(&row[0], 8).unwrap(), false).unwrap();
        assert_eq!(format!("{:06X}", code.word()), row[1], "{row:?}");
    }
}

#[test]
fn designators() {
    let kind = Kind::parse("F3E").unwrap();
    for row in rows("designator.csv", 400) {
        let emission = Emission::new(Hertz(read(&row[0])), kind).unwrap();
        assert_eq!(emission.to_string(), format!("{}F3E", row[1]), "{row:?}");
        assert_eq!(emission.to_string().parse(), Ok(emission));
    }
}

#[test]
fn free_space() {
    for row in rows("free_space.csv", 100) {
        let found = free_space_db(Hertz::mhz(read(&row[0])), read(&row[1])).unwrap();
        near(found, &row[2], 1e-5, &row);
    }
}

#[test]
fn knife_edge_is_near_the_exact_one() {
    for row in rows("knife_edge.csv", 50) {
        let edge = KnifeEdge { above_line_m: read(&row[0]), distance_1_m: 10_000.0, distance_2_m: 10_000.0 };
        // The approximation of ITU-R P.526 is within 0.13 dB of the Fresnel integrals here.
        near(edge.loss_db(Hertz::mhz(300)).unwrap(), &row[1], 0.13, &row);
    }
}

#[test]
fn geodesics() {
    for row in rows("geodesic.csv", 150) {
        let from = Position::new(read(&row[0]), read(&row[1])).unwrap();
        let to = Position::new(read(&row[2]), read(&row[3])).unwrap();
        near(from.distance_km(to), &row[4], 2e-6, &row);
        near(from.bearing_deg(to), &row[5], 1e-4, &row);
    }
}

#[test]
fn reliabilities() {
    for row in rows("normal.csv", 100) {
        near(reliability(read(&row[0]), read(&row[1])).unwrap(), &row[2], 1e-9, &row);
    }
}

#[test]
fn passed_points() {
    for row in rows("binomial.csv", 150) {
        near(chance_of_passes(read(&row[0]), read(&row[1]), read(&row[2])).unwrap(), &row[3], 1e-8, &row);
    }
}

#[test]
fn intermodulation_counts() {
    for row in rows("intermodulation.csv", 60) {
        let carrier = |text: &str| {
            let (frequency, width) = text.split_once(':').unwrap();
            Carrier::new(Hertz(read(frequency)), Hertz(read(width))).unwrap()
        };
        let site = Intermodulation::new(row[0].split(' ').map(carrier));
        let receiver = Carrier::new(Hertz(read(&row[1])), Hertz(11_200)).unwrap();
        assert_eq!(site.count(receiver, Order::Third).to_string(), row[2], "{row:?}");
        assert_eq!(site.count(receiver, Order::Fifth).to_string(), row[3], "{row:?}");
        assert_eq!(site.first(receiver, Order::Fifth, usize::MAX).len().to_string(), row[3], "{row:?}");
    }
}

#[test]
fn mismatches() {
    for row in rows("mismatch.csv", 10) {
        let ratio = Vswr::new(read(&row[0])).unwrap();
        near(ratio.return_loss_db().unwrap(), &row[1], 1e-5, &row);
        near(ratio.mismatch_loss_db(), &row[2], 1e-5, &row);
    }
}
