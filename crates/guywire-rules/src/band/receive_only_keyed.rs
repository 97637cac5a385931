use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, report, scan_list};
use guywire_plan::{FieldPath, Known, Row, Sends};

rule! {
    /// Something is to be sent on a channel that sends nothing: it writes a transmit frequency of its own, a report
    /// goes out there, or a scan list answers there.
    ///
    /// Other keys about sending are reported by `key-without-effect`.
    ///
    /// ## On the air
    /// A press there does nothing, and whoever answers on it is not heard. Or the channel was meant to send, and cannot.
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
    /// tx_mhz = 469.9375
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
        let Some(effective) = view.channel(it.id()) else { return };
        if effective.sends != Known::Is(Sends::Nothing) {
            return;
        }
        if let (Known::Is(tx), Known::Is(rx)) = (it.frequency(channel::tx_mhz), effective.rx)
            && tx != rx
        {
            out.report(
                Anchor::Value(it.id(), FieldPath::key(channel::tx_mhz.number())),
                format!("{} sends nothing, but writes {tx} MHz to send on: a press does nothing there. Take that out, or correct `sends`", view.called(it.id())),
            );
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
