use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::FieldPath;
use guywire_plan::language::{channel, zone};

rule! {
    /// Two positions of one zone hold channels of different names that are the same in everything else.
    ///
    /// All keys are compared but the name and the notes: a channel that differs in its talkgroup, slot, power or scan
    /// list is another channel.
    ///
    /// ## On the air
    /// Nothing fails, but two clicks of the knob do the same, and one of them was probably meant to be something else.
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
    /// color_code = 1
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 1
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Cranes"]
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
    /// color_code = 1
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 2
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Cranes"]
    /// ```
    pub SameChannelTwice = "same-channel-twice" { family: Slot, level: Hint, judged: PerPlan, reads: Whole, since: "0.1.0" }
    fn check(it: Each<channel::Table>, view, out) {
        for (zone, own, twins) in view.twins(it) {
            let at = |position: usize| Anchor::Value(zone.id(), FieldPath::key(zone::channels.number()).then(position));
            let names: Vec<String> = twins.iter().map(|twin| view.called(twin.channel)).collect();
            let mut found = out
                .report(
                    at(own.number),
                    format!(
                        "{} is the same as {} of this zone in everything but the name: two clicks of the knob do the same. Take one out, or set what should differ",
                        view.called(it.id()),
                        names.join(" and "),
                    ),
                )
                .about(&names);
            for twin in twins {
                found = found.related(at(twin.number), format!("{} stands here", view.called(twin.channel)));
            }
        }
    }
}
