use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{Field, channel, report, scan_list};
use guywire_plan::{FieldPath, Known, Row, Sends, Stored};

/// Keys that are about sending alone.
const SENDING: [Field<channel::Table>; 5] =
    [channel::tx_mhz, channel::tx_tone, channel::power, channel::power_at_most_w, channel::talk_around];

rule! {
    /// A channel that sends nothing says how it sends, or something of the plan sends on it: a report, or the answer
    /// of a scan list.
    ///
    /// ## On the air
    /// A press there does nothing, and who answers on it is not heard. Or the channel was meant to send, and cannot.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Tides"
    /// sends = "nothing"
    /// receives = ["analog"]
    /// rx_mhz = 464.9375
    /// power = "low"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Tides"
    /// sends = "nothing"
    /// receives = ["analog"]
    /// rx_mhz = 464.9375
    /// unmute = "carrier"
    /// ```
    pub ReceiveOnlyKeyed = "receive-only-keyed" { family: Band, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<channel::Table>, view, out) {
        if view.channel(it.id()).is_none_or(|effective| effective.sends != Known::Is(Sends::Nothing)) {
            return;
        }
        let is_written = |field: &Field<channel::Table>| it.has(*field) && it.known(*field) != Known::Is(&Stored::Truth(false));
        let written: Vec<Field<channel::Table>> = SENDING.into_iter().filter(is_written).collect();
        if let Some(first) = written.first() {
            let keys: Vec<String> = written
                .iter()
                .filter_map(|field| Some(format!("`{}`", view.spec(it.id())?.key(field.number()).name)))
                .collect();
            out.report(
                Anchor::Key(it.id(), FieldPath::key(first.number())),
                format!("{} sends nothing, but writes {}: a press does nothing there. Take that out, or correct `sends`", view.called(it.id()), keys.join(", ")),
            )
            .about(&keys);
        }
        for report in view.referrers::<report::Table>(it.id()) {
            out.report(
                Anchor::Value(report.id(), FieldPath::key(report::channel.number())),
                format!("{} sends nothing, so what units report there never goes out. Report on a channel that sends", view.called(it.id())),
            );
        }
        for list in view.referrers::<scan_list::Table>(it.id()) {
            if list.text(scan_list::reply) != view.name_symbol(it.id()) {
                continue;
            }
            out.report(
                Anchor::Value(list.id(), FieldPath::key(scan_list::reply.number())),
                format!("{} sends nothing, so a press while scanning is heard by nobody. Answer on a channel that sends", view.called(it.id())),
            );
        }
    }
}
