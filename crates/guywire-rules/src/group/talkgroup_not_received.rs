use guywire_plan::audience::{Called, Listens};
use guywire_plan::language::{channel, model, receive_group, zone};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, Sends, Target, View};

use crate::finding::{Anchor, Edit, Fix, Safety, toml_string};
use crate::rule;
use crate::rule::Each;

rule! {
    /// A channel calls a talkgroup that its receive group lacks, on a model that does not hear the channel's own talkgroup
    /// by itself.
    ///
    /// Judged for the models of the radios that hold the channel; a model that does not say (`hears_own_talkgroup`) is left
    /// alone. Channels with `purpose = "announce"`, and those that listen to any group, are left out.
    ///
    /// ## On the air
    /// The radio sends to the group and does not hear what the group answers once the hang time is over; nor does it hear
    /// when the group calls first.
    ///
    /// ## Source
    /// Common practice, no source; whether a model hears its own talkgroup is in its data sheet.
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
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Cranes"]
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Berths"
    /// receive_group = "Quayside"
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
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[talkgroup]]
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Cranes", "Berths"]
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Berths"
    /// receive_group = "Quayside"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths"]
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    /// hears_own_talkgroup = false
    /// ```
    pub TalkgroupNotReceived = "talkgroup-not-received" {
        family: Group, level: Error, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(air) = view.air(it.id()) else { return };
        let Known::Is(Called::Group(number)) = air.call else { return };
        if air.sends != Known::Is(Sends::Digital) || air.listens != Known::Is(Listens::OwnGroups) {
            return;
        }
        let is_member = match &air.groups {
            Known::Is(groups) => groups.contains(&number),
            Known::Absent => false,
            Known::Unreadable => return,
        };
        if is_member || it.has(channel::purpose) || view.referrers::<zone::Table>(it.id()).is_empty() {
            return;
        }
        let deaf = |model: &&Ref<'_, model::Table>| model.truth(model::hears_own_talkgroup) == Known::Is(false);
        let models = view.channel_models(it.id());
        let Some(model) = models.iter().find(deaf) else { return };
        let Known::Is(Target::Talkgroup(group)) = view.own_target(it) else { return };
        let (name, model) = (group.name().unwrap_or_default(), model.name().unwrap_or("the model"));
        let lists = match air.groups {
            Known::Absent => "has no receive group".to_owned(),
            _ => format!("has a receive group without \"{name}\""),
        };
        out.report(
            Anchor::Value(it.id(), FieldPath::key(channel::call.number())),
            format!(
                "{} calls talkgroup \"{name}\" and {lists}: {model} does not hear the talkgroup of its channel by itself, so it sends to the group and stays deaf to it. Add the talkgroup to the receive group",
                view.called(it.id()),
            ),
        )
        .about(name)
        .fix(|| fix(view, it, name));
    }
}

fn fix(view: View<'_>, it: Ref<'_, channel::Table>, talkgroup: &str) -> Option<Fix> {
    let Known::Is(group) = view.named::<receive_group::Table, _>(it, channel::receive_group) else { return None };
    let Known::Is(members) = group.list(receive_group::talkgroups) else { return None };
    let number = members.len().checked_sub(1)?;
    if !has_room(view, group.id(), members.len()) {
        return None;
    }
    let guywire_plan::Stored::Text(last) = members[number].value else { return None };
    let at = FieldPath::key(receive_group::talkgroups.number()).then(number);
    let both = format!("{}, {}", toml_string(view.symbol(last)), toml_string(talkgroup));
    Some(Fix {
        title: format!("Add \"{talkgroup}\" to receive group \"{}\"{}", group.name()?, view.touching(it.id())),
        safety: Safety::Choice,
        edits: vec![Edit::Set(group.id(), at, both)],
    })
}

/// Whether every model that uses a receive group takes one member more.
fn has_room(view: View<'_>, group: EntityId, members: usize) -> bool {
    view.models_using(group).into_iter().all(|model| {
        let most = view.file_of(model.id()).and_then(|file| view.only::<guywire_plan::language::capacity::Table>(file));
        let most =
            most.and_then(|capacity| capacity.whole(guywire_plan::language::capacity::receive_group_members).value());
        most.is_none_or(|most| usize::try_from(most).is_ok_and(|most| members < most))
    })
}
