use guywire_plan::audience::Mode;
use guywire_plan::language::{channel, repeater, zone};
use guywire_plan::{Bucket, EntityId, FieldPath, Known, Row, View};
use guywire_radio::Hertz;

use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// An analog channel that any carrier opens receives where the plan sends digital.
    ///
    /// ## On the air
    /// Every digital call on that frequency comes out of the loudspeaker as a loud buzz, until somebody turns the radio
    /// down and misses what was meant for it.
    ///
    /// ## Source
    /// Common practice, no source. What opens a squelch: TIA-603 (from memory).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// mode = "dual"
    /// output_tone = "CTCSS 127.3"
    ///
    /// [[channel]]
    /// name = "Yard"
    /// sends = "analog"
    /// repeater = "beacon"
    /// unmute = "carrier"
    ///
    /// [[channel]]
    /// name = "Yard direct"
    /// sends = "analog"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Yard", "Yard direct"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// mode = "dual"
    /// output_tone = "CTCSS 127.3"
    ///
    /// [[channel]]
    /// name = "Yard"
    /// sends = "analog"
    /// repeater = "beacon"
    /// unmute = "tone"
    ///
    /// [[channel]]
    /// name = "Yard direct"
    /// sends = "analog"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Yard", "Yard direct"]
    /// ```
    pub OpenToDigital = "open-to-digital" {
        family: Tone, level: Warning, judged: PerPlan, reads: Audience, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(air) = view.air(it.id()) else { return };
        let opens = air.hears(Mode::Analog) == Known::Is(true) && air.rx_tone == Known::Absent;
        if !opens || air.hears(Mode::Digital) != Known::Is(false) || view.referrers::<zone::Table>(it.id()).is_empty() {
            return;
        }
        let Known::Is(carrier) = air.rx else { return };
        let Some((sender, what)) = sends_digital(view, carrier) else { return };
        let written = [channel::unmute, channel::repeater].into_iter().find(|field| it.has(*field));
        let at = written.map_or(channel::rx_mhz.number(), |field| field.number());
        out.report(
            Anchor::Value(it.id(), FieldPath::key(at)),
            format!(
                "any carrier opens {} on {carrier} MHz, where {what}: digital calls come out of its loudspeaker as a buzz. Let it wait for a tone (`rx_tone`, `unmute = \"tone\"`), or give it a frequency of its own",
                view.called(it.id()),
            ),
        )
        .about(&carrier.get())
        .related(Anchor::Header(sender), format!("{} sends digital there", view.called(sender)));
    }
}

/// A repeater or channel of the plan that sends digital on a frequency.
fn sends_digital(view: View<'_>, carrier: Hertz) -> Option<(EntityId, String)> {
    let viewer = view.viewer();
    let repeaters = view.alike_of::<repeater::Table>(Bucket::Output(viewer, carrier)).into_iter();
    let named = repeaters
        .filter(|it| {
            it.text(repeater::mode).map(|word| view.symbol(word) != "analog").or_value(true) == Known::Is(true)
        })
        .filter_map(|it| Some((it.name()?, it.id())));
    if let Some((name, id)) = named.min_by_key(|(name, _)| *name) {
        return Some((id, format!("repeater \"{name}\" sends digital")));
    }
    let buckets = [Bucket::Direct(viewer, carrier), Bucket::TdmaDirect(viewer, carrier)];
    let direct = buckets.into_iter().filter(|bucket| !view.is_crowded(*bucket)).flat_map(|bucket| view.alike(bucket));
    let named = direct.filter_map(|id| Some((view.name_of(id)?, id)));
    named.min_by_key(|(name, _)| *name).map(|(name, id)| (id, format!("channel \"{name}\" sends digital")))
}
