use crate::finding::Anchor;
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::{repeater, site};
use guywire_plan::{FieldPath, Known, Ref, Row};
use guywire_radio::Caution;
use guywire_radio::exposure::{AverageEirp, Exposed};
use guywire_radio::power::{AntennaChain, Output, Power};

rule! {
    /// People on the ground can come nearer to a repeater's antenna than the limit of exposure for the general public
    /// allows.
    ///
    /// Computed from output, feedline and gain as the far field of one antenna in its main direction, with the worst
    /// reflection from the ground. Nothing is said where output, gain or height is not written. A feedline that is not
    /// written counts as none.
    ///
    /// ## On the air
    /// Nothing; the field near the antenna may harm people. This is an estimate for information, not an exposure
    /// evaluation: local codes and a licensed practitioner decide.
    ///
    /// ## Options
    /// `transmit_percent`: share of the averaging time in which it transmits, in percent; 100 unless set.
    ///
    /// `person_m`: height of a person, in meters; 2 unless set.
    ///
    /// ## Source
    /// 47 CFR 1.1310, table 1; OET Bulletin 65, equation 3 and its factor of 2.56.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    /// antenna_m = 3
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// power_w = 25
    /// antenna_gain_dbi = 6.0
    /// feedline_loss_db = 2.1
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    /// antenna_m = 24
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// power_w = 25
    /// antenna_gain_dbi = 6.0
    /// feedline_loss_db = 2.1
    /// ```
    pub ExposureDistance = "exposure-distance" {
        family: Bench, level: Information, judged: PerPlan, since: "0.1.0",
        options: &[
            OptionSpec {
                name: "transmit_percent",
                default: 100.0,
                doc: "Share of the averaging time in which it transmits, in percent.",
            },
            OptionSpec { name: "person_m", default: 2.0, doc: "Height of a person, in meters." },
        ],
    }
    fn check(it: Each<repeater::Table>, view, out) {
        let transmit_percent = out.option("transmit_percent");
        let Known::Is(site) = view.named::<site::Table, _>(it, repeater::site) else { return };
        let Known::Is(antenna_m) = site.number(site::antenna_m) else { return };
        let Some((public_m, worker_m)) = distances_m(it, transmit_percent / 100.0) else { return };
        if public_m <= antenna_m - out.option("person_m") {
            return;
        }
        let message = format!(
            "the limit of exposure is met {public_m:.1} m from the antenna of {} for the general public ({worker_m:.1} m for those who work with it), keyed {transmit_percent} % of the time, and it stands {antenna_m} m above ground (47 CFR 1.1310; OET Bulletin 65 with ground reflection). Keep people that far away, or mount it higher. {}",
            view.called(it.id()),
            Caution::Exposure.sentence(),
        );
        out.report(Anchor::Value(it.id(), FieldPath::key(repeater::power_w.number())), message).related(
            Anchor::Value(site.id(), FieldPath::key(site::antenna_m.number())),
            "height above ground",
        );
    }
}

/// How far the general public and those who work there must stay from the antenna of a repeater, m.
fn distances_m(it: Ref<'_, repeater::Table>, share: f64) -> Option<(f64, f64)> {
    let output: Power<Output> = Power::from_w(it.number(repeater::power_w).value()?).ok()?;
    let loss_db = it.number(repeater::feedline_loss_db).or_value(0.0).value()?;
    let antenna = AntennaChain::new(it.number(repeater::antenna_gain_dbi).value()?, loss_db).ok()?;
    let carrier = it.frequency(repeater::tx_mhz).value()?;
    let average = AverageEirp::new(output.eirp(antenna), share, 1.0).ok()?;
    let of = |exposed| average.distance_m(carrier, exposed, true).ok();
    Some((of(Exposed::GeneralPublic)?, of(Exposed::Occupational)?))
}
