use guywire_plan::language::{channel, emergency, zone};
use guywire_plan::{FieldPath, Known, Row, Sends};

use super::trigger;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// A knob position from which an emergency can be set off has no emergency: nothing goes out.
    ///
    /// The plan has emergencies, the radios that hold the channel have a button or sensor that sets one off, and this
    /// channel names none. Channels that only receive are left out.
    ///
    /// ## On the air
    /// Somebody in trouble presses the button, the radio does nothing, and nobody knows. Try every position on the bench,
    /// into a dummy load, before the radios are handed out.
    ///
    /// ## Source
    /// Common practice, no source; what an emergency does beyond the bit in a call is the maker's (ETSI TS 102 361-2, from
    /// memory).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Berths"
    /// emergency = "Quay alarm"
    ///
    /// [[channel]]
    /// name = "Yard"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Berths"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["button"]
    /// sends = "alarm"
    /// target = "Berths"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Yard"]
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "emergency-on"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Berths"
    /// emergency = "Quay alarm"
    ///
    /// [[channel]]
    /// name = "Yard"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Berths"
    /// emergency = "Quay alarm"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["button"]
    /// sends = "alarm"
    /// target = "Berths"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Yard"]
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "emergency-on"
    /// ```
    pub EmergencyDeadOnChannel = "emergency-dead-on-channel" {
        family: Emergency, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        if it.known(channel::emergency) != Known::Absent {
            return;
        }
        let Some(effective) = view.channel(it.id()) else { return };
        let is_sender = matches!(effective.sends, Known::Is(Sends::Digital | Sends::Analog));
        if !is_sender || view.count::<emergency::Table>() == 0 {
            return;
        }
        let mut zones: Vec<&str> =
            view.referrers::<zone::Table>(it.id()).iter().filter_map(|zone| view.name_of(zone.id())).collect();
        zones.sort_unstable();
        let Some(zone) = zones.first() else { return };
        let Some(trigger) = trigger(view, it.id()) else { return };
        let at = FieldPath::key(channel::name.number());
        out.report(
            Anchor::Value(it.id(), at),
            format!(
                "{} names no emergency: with the knob here in zone \"{zone}\", {trigger} does nothing, and nobody learns of the trouble. Name an `emergency`, or take the channel off the knob",
                view.called(it.id()),
            ),
        )
        .about(view.name_of(it.id()).unwrap_or_default());
    }
}
