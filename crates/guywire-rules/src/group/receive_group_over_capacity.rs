use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{capacity, receive_group};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A receive group has more talkgroups than a radio model that uses it can hold in one.
    ///
    /// Looked at for each model of the radios whose zones hold a channel with this group.
    ///
    /// ## On the air
    /// The radio refuses the group, or drops those at the end: they are not heard, and nothing on the radio shows it.
    ///
    /// ## Source
    /// The model's data sheet, as written in its model file.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
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
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// call = "Pilots"
    /// receive_group = "Quayside"
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Berths", "Pilots"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
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
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// call = "Pilots"
    /// receive_group = "Quayside"
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Berths"]
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// receive_group_members = 1
    /// ```
    pub ReceiveGroupOverCapacity = "receive-group-over-capacity" {
        family: Group, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<receive_group::Table>, view, out) {
        let Known::Is(members) = it.list(receive_group::talkgroups) else { return };
        for model in view.models_using(it.id()) {
            let Some(capacity) = view.file_of(model.id()).and_then(|file| view.only::<capacity::Table>(file)) else { continue };
            let Known::Is(most) = capacity.whole(capacity::receive_group_members) else { continue };
            let Some(first_over) = usize::try_from(most).ok().filter(|most| members.len() > *most) else { continue };
            let name = model.name().unwrap_or("the model");
            out.report(
                Anchor::Value(it.id(), FieldPath::key(receive_group::talkgroups.number()).then(first_over)),
                format!(
                    "{} has {} talkgroups, and {name} holds {most} in a group: from here on none is heard. Split the group, or leave talkgroups out",
                    view.called(it.id()),
                    members.len(),
                ),
            )
            .about(name)
            .related(
                Anchor::Value(capacity.id(), FieldPath::key(capacity::receive_group_members.number())),
                format!("{name} holds {most} talkgroups in a receive group"),
            );
        }
    }
}
