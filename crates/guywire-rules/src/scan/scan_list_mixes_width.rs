use super::members::{channels, members, place};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::scan_list;
use guywire_plan::{FieldPath, Known};
use guywire_radio::Hertz;

/// Width of a channel that says nothing and has no repeater (ETSI TS 102 361-1, clause 4.1).
const USUAL: Hertz = Hertz(12_500);

rule! {
    /// A scan list mixes channels of different widths.
    ///
    /// ## On the air
    /// Nothing fails, but the receiver changes its filter with every look: a wide call is loud and a narrow one faint, and
    /// some models look round more slowly.
    ///
    /// ## Source
    /// Common practice, no source. A channel that says nothing counts as 12.5 kHz wide (ETSI TS 102 361-1).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// bandwidth_khz = 25
    /// scan_list = "Watch"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[scan_list]]
    /// name = "Watch"
    /// channels = ["Marina", "Berths"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// bandwidth_khz = 12.5
    /// scan_list = "Watch"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[scan_list]]
    /// name = "Watch"
    /// channels = ["Marina", "Berths"]
    /// ```
    pub ScanListMixesWidth = "scan-list-mixes-width" { family: Scan, level: Information, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<scan_list::Table>, view, out) {
        let Some(listed) = members(view, it).and_then(|members| channels(view, it, &members)) else { return };
        let width = |id| match view.channel(id)?.bandwidth {
            Known::Is(width) => Some(width),
            Known::Absent => Some(USUAL),
            Known::Unreadable => None,
        };
        let widths: Option<Vec<(Hertz, usize, &str)>> = listed
            .iter()
            .map(|(channel, number)| Some((width(channel.id())?, *number, channel.name().unwrap_or_default())))
            .collect();
        let Some(widths) = widths else { return };
        let mut all: Vec<Hertz> = widths.iter().map(|(width, ..)| *width).collect();
        all.sort_unstable();
        all.dedup();
        if all.len() < 2 {
            return;
        }
        let words: Vec<String> = all.iter().map(|width| width.khz_text()).collect();
        let mut found = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(scan_list::channels.number())),
                format!(
                    "{} mixes channels of {} kHz: calls come out unequally loud, and some models look round more slowly. Scan channels of one width, if that can be",
                    view.called(it.id()),
                    words.join(" and "),
                ),
            )
            .about(&words);
        for (width, number, name) in widths {
            found = found.related(Anchor::Value(it.id(), place(number)), format!("channel \"{name}\" is {} kHz wide", width.khz_text()));
        }
    }
}
