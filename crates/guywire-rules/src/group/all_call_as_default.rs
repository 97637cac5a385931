use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, contact};
use guywire_plan::{FieldPath, Known, Row, Sends, Target};

rule! {
    /// A press of push-to-talk on a channel calls everybody.
    ///
    /// Announce channels (`purpose = "announce"`) are left out: they are meant for that.
    ///
    /// ## On the air
    /// Every press opens every radio on the channel, whatever it listens for, and ends their own calls. An all call is
    /// better chosen by hand.
    ///
    /// ## Source
    /// Common practice, no source.
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
    /// [[contact]]
    /// name = "Everyone"
    /// all_call = true
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Berths"]
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// call = "Everyone"
    /// receive_group = "Quayside"
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
    /// [[contact]]
    /// name = "Everyone"
    /// all_call = true
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Berths"]
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// call = "Berths"
    /// receive_group = "Quayside"
    /// ```
    pub AllCallAsDefault = "all-call-as-default" { family: Group, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<channel::Table>, view, out) {
        let Known::Is(Target::Contact(contact)) = view.own_target(it) else { return };
        if contact.truth(contact::all_call) != Known::Is(true) || it.known(channel::purpose) != Known::Absent {
            return;
        }
        if view.channel(it.id()).is_none_or(|effective| effective.sends != Known::Is(Sends::Digital)) {
            return;
        }
        let name = contact.name().unwrap_or_default();
        out.report(
            Anchor::Value(it.id(), FieldPath::key(channel::call.number())),
            format!(
                "every press on {} calls \"{name}\", all radios on the channel, and ends their own calls. Call a talkgroup, and leave the all call to the contact list; or say `purpose = \"announce\"`",
                view.called(it.id()),
            ),
        )
        .related(Anchor::Header(contact.id()), format!("\"{name}\" is the all call"));
    }
}
