use crate::finding::Anchor;
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::{channel, profile, report};
use guywire_plan::{FieldPath, Known, Ref, Row, View};
use guywire_radio::Hertz;

rule! {
    /// Reports that units send by themselves take more of a slot than it can carry beside speech.
    ///
    /// The load is units times `airtime_ms` over `every_s`, all reports on the same frequency and slot together. Counted
    /// are issued radios of the profiles named, or all that hold the channel. The finding is at the report with the largest share.
    ///
    /// ## On the air
    /// Reports collide and are lost, and speech waits for a free moment that does not come.
    ///
    /// ## Options
    /// `most_percent`: largest share of the time, in percent; 18 unless set.
    ///
    /// ## Source
    /// Senders that do not wait for each other get at most 1/(2e), 18.4 %, of a channel's time through (textbook random
    /// access without slots, computed).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[zone]]
    /// name = "Quay"
    /// channels = ["Berths"]
    ///
    /// [[profile]]
    /// name = "quay"
    /// zones = ["Quay"]
    ///
    /// [[report]]
    /// what = "position"
    /// channel = "Berths"
    /// profiles = ["quay"]
    /// every_s = 3
    /// airtime_ms = 360
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "quay"
    ///
    /// [[radio]]
    /// id = 21008
    /// profile = "quay"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[zone]]
    /// name = "Quay"
    /// channels = ["Berths"]
    ///
    /// [[profile]]
    /// name = "quay"
    /// zones = ["Quay"]
    ///
    /// [[report]]
    /// what = "position"
    /// channel = "Berths"
    /// profiles = ["quay"]
    /// every_s = 300
    /// airtime_ms = 360
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "quay"
    ///
    /// [[radio]]
    /// id = 21008
    /// profile = "quay"
    /// ```
    pub SlotOverloadedByReports = "slot-overloaded-by-reports" {
        family: Timing, level: Warning, judged: PerPlan, since: "0.1.0",
        options: &[OptionSpec {
            name: "most_percent",
            default: 18.0,
            doc: "Largest share of the time that reports may take, in percent.",
        }],
    }
    fn check(it: Each<report::Table>, view, out) {
        let Some(own) = load(view, it) else { return };
        let others: Vec<Load<'_>> = view
            .all::<report::Table>()
            .into_iter()
            .filter(|other| other.id() != it.id())
            .filter_map(|other| load(view, other))
            .filter(|other| other.slot == own.slot)
            .collect();
        let mut shares: Vec<f64> = others.iter().chain([&own]).map(Load::percent).collect();
        // In one order, so that the sum is rounded one way whatever the order of the tables.
        shares.sort_unstable_by(f64::total_cmp);
        let percent: f64 = shares.iter().sum();
        let most_percent = out.option("most_percent");
        if percent <= most_percent || others.iter().any(|other| other.is_more_than(&own)) {
            return;
        }
        let of_slot = match own.slot.1 {
            Some(slot) => format!("slot {slot} of {} MHz", own.slot.0),
            None => format!("{} MHz", own.slot.0),
        };
        let mut found = out.report(
            Anchor::Value(it.id(), FieldPath::key(report::every_s.number())),
            format!(
                "reports take {percent:.0} % of the time on {of_slot} ({} units send this one every {} s; limit {most_percent} %): they collide, and speech waits. Report less often, by fewer units, or on a channel of their own",
                own.units, own.every_s,
            ),
        );
        for other in &others {
            let at = Anchor::Value(other.report.id(), FieldPath::key(report::every_s.number()));
            found = found.related(at, format!("takes {:.1} % of the same slot", other.percent()));
        }
    }
}

/// What a report puts on a slot.
struct Load<'v> {
    report: Ref<'v, report::Table>,
    /// The frequency that is sent on, and the slot there where one is written.
    slot: (Hertz, Option<i64>),
    units: usize,
    every_s: i64,
    airtime_ms: i64,
}

impl Load<'_> {
    fn percent(&self) -> f64 {
        self.units as f64 * self.airtime_ms as f64 / (self.every_s as f64 * 10.0)
    }

    /// Compared in whole numbers, so that no sum of parts rounds one way here and another way there.
    fn is_more_than(&self, other: &Load<'_>) -> bool {
        let product = |a: &Load<'_>, b: &Load<'_>| {
            i128::try_from(a.units)
                .unwrap_or(i128::MAX)
                .saturating_mul(i128::from(a.airtime_ms))
                .saturating_mul(i128::from(b.every_s))
        };
        product(self, other) > product(other, self)
    }
}

fn load<'v>(view: View<'v>, it: Ref<'v, report::Table>) -> Option<Load<'v>> {
    let every_s = it.whole(report::every_s).value().filter(|seconds| *seconds > 0)?;
    let airtime_ms = it.whole(report::airtime_ms).value()?;
    let channel = view.named::<channel::Table, _>(it, report::channel).value()?;
    let effective = view.channel(channel.id())?;
    let slot = match effective.slot {
        Known::Is(slot) => Some(slot),
        Known::Absent => None,
        Known::Unreadable => return None,
    };
    let units = match view.named_all::<profile::Table, _>(it, report::profiles) {
        Known::Is(profiles) => view.units_reporting(channel.id(), Some(&profiles)),
        Known::Absent => view.units_reporting(channel.id(), None),
        Known::Unreadable => return None,
    };
    Some(Load { report: it, slot: (effective.tx.value()?, slot), units, every_s, airtime_ms })
}
