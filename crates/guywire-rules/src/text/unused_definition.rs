use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::Known;
use guywire_plan::language::Kind;

/// Kinds that serve only through what refers to them. A contact may be picked from the list on the display, a channel
/// reached in other ways, a site stand for itself.
const SERVING: [Kind; 6] =
    [Kind::Talkgroup, Kind::ReceiveGroup, Kind::Key, Kind::ScanList, Kind::Emergency, Kind::Profile];

rule! {
    /// A talkgroup, receive group, key, scan list, emergency set-up or profile is defined, and nothing of any plan that
    /// sees it refers to it.
    ///
    /// ## On the air
    /// It takes room in the radio and does nothing. Often the reference that should use it names another.
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
    /// [[talkgroup]]
    /// name = "Pilots"
    /// id = 1202
    ///
    /// [[channel]]
    /// name = "Quay"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// receive_group = "Quayside"
    /// call = "Berths"
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Berths"]
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
    /// [[talkgroup]]
    /// name = "Pilots"
    /// id = 1202
    ///
    /// [[channel]]
    /// name = "Quay"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// receive_group = "Quayside"
    /// call = "Pilots"
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Berths"]
    /// ```
    pub UnusedDefinition = "unused-definition" {
        family: Text, level: Hint, judged: PerFile, since: "0.1.0", fix: Some(Safety::Choice), unnecessary: true,
    }
    fn check(it: AnyTable, view, out) {
        if !SERVING.contains(&view.kind(it)) || view.used(it) != Known::Is(false) {
            return;
        }
        if view.file_of(it).is_none_or(|file| view.is_loose_part(file)) {
            return;
        }
        let called = view.called(it);
        out.report(
            Anchor::Header(it),
            format!("nothing refers to {called}: it takes room in the radio and does nothing. Use it, or take it out"),
        )
        .fix(|| {
            Some(Fix {
                title: format!("Take out {called} (it is on no radio's air)"),
                safety: Safety::Choice,
                edits: vec![Edit::RemoveTable(it)],
            })
        });
    }
}
