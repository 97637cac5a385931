use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::Known;
use guywire_plan::language::channel;

rule! {
    /// A channel stands in no zone, so no position of the knob reaches it, and nothing else uses it.
    ///
    /// Members of scan lists, channels that an emergency or a report goes out on, and the channel that scanning answers on
    /// are of use without a position. A channel of a shared part is of use where any plan that sees it uses it. A plan
    /// without zones is left alone.
    ///
    /// ## On the air
    /// Nobody can select it: calls on it are neither made nor heard.
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
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths"]
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
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Cranes"]
    /// ```
    pub ChannelInNoZone = "channel-in-no-zone" { family: Zone, level: Warning, judged: PerFile, since: "0.1.0" }
    fn check(it: Each<channel::Table>, view, out) {
        if view.channel_reached(it.id()) != Known::Is(false) {
            return;
        }
        if view.file_of(it.id()).is_none_or(|file| view.is_loose_part(file)) {
            return;
        }
        out.report(
            Anchor::Header(it.id()),
            format!(
                "{} is in no zone, so no position of the knob reaches it, and no scan list, emergency or report uses it: nobody calls or hears on it. Put it in a zone, or take it out",
                view.called(it.id()),
            ),
        );
    }
}
