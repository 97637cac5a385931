use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::receive_group;
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A receive group has no talkgroups.
    ///
    /// ## On the air
    /// Channels with this group hear no talkgroup through it; most radios stay silent on them but for their own
    /// talkgroup.
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
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// call = "Berths"
    /// receive_group = "Quayside"
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = []
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
    /// call = "Berths"
    /// receive_group = "Quayside"
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Berths"]
    /// ```
    pub ReceiveGroupEmpty = "receive-group-empty" { family: Group, level: Warning, judged: PerFile, since: "0.1.0" }
    fn check(it: Each<receive_group::Table>, view, out) {
        if !matches!(it.list(receive_group::talkgroups), Known::Is([])) {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(receive_group::talkgroups.number())),
            format!("{} is empty: no talkgroup is heard through it. List the talkgroups that its channels should hear", view.called(it.id())),
        );
    }
}
