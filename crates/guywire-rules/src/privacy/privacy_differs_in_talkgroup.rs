use guywire_plan::language::{channel, talkgroup, zone};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, Sends, Target};

use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// Some channels send a talkgroup in private and others send it in clear.
    ///
    /// Where one zone has both, or every radio with the clear one has a private one too, the user chooses between them, and
    /// nothing is said. Only digital channels that some zone has are looked at.
    ///
    /// ## On the air
    /// What was to be private is answered in clear, where everybody can listen: a leak, since both understand each other well.
    /// Privacy of any kind in a plan is no evaluation of security.
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
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "harbor-2026"
    ///
    /// [[channel]]
    /// name = "Hooks"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Cranes"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes"]
    ///
    /// [[zone]]
    /// name = "Hook"
    /// channels = ["Hooks"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "harbor-2026"
    ///
    /// [[channel]]
    /// name = "Hooks"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Cranes"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes"]
    ///
    /// [[zone]]
    /// name = "Hook"
    /// channels = ["Hooks", "Cranes"]
    /// ```
    pub PrivacyDiffersInTalkgroup = "privacy-differs-in-talkgroup" {
        family: Privacy, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<talkgroup::Table>, view, out) {
        let zones = |channel: EntityId| -> Vec<EntityId> {
            view.referrers::<zone::Table>(channel).iter().map(|zone| zone.id()).collect()
        };
        let channels = view.referrers::<channel::Table>(it.id());
        // Of most talkgroups nothing is private, and nothing else is looked at. All are asked: they come in no order, and what
        // is read may not depend on it.
        let is_private = |channel: &&Ref<'_, channel::Table>| matches!(channel.known(channel::privacy), Known::Is(_));
        if channels.iter().filter(is_private).count() == 0 {
            return;
        }
        let mut private: Vec<(&str, EntityId)> = Vec::new();
        let mut clear: Vec<(&str, EntityId)> = Vec::new();
        for channel in channels {
            let Some(air) = view.air(channel.id()) else { continue };
            let calls = matches!(view.target(channel), Known::Is(Target::Talkgroup(group)) if group.id() == it.id());
            let Some(name) = channel.name().filter(|_| calls && air.sends == Known::Is(Sends::Digital)) else { continue };
            match air.key {
                Known::Is(_) => private.push((name, channel.id())),
                Known::Absent => clear.push((name, channel.id())),
                Known::Unreadable if zones(channel.id()).is_empty() => {}
                Known::Unreadable => return,
            }
        }
        private.retain(|(_, channel)| !clear.is_empty() && !zones(*channel).is_empty());
        if private.is_empty() {
            return;
        }
        clear.retain(|(_, channel)| !zones(*channel).is_empty());
        let beside: Vec<EntityId> = private.iter().flat_map(|(_, channel)| zones(*channel)).collect();
        let holding: Vec<EntityId> = private.iter().flat_map(|(_, channel)| view.holders(*channel)).collect();
        // Who has both, in one zone or in one radio, chooses between them.
        clear.retain(|(_, channel)| {
            let is_beside = zones(*channel).iter().any(|zone| beside.contains(zone));
            let holders = view.holders(*channel);
            let is_choice = !holders.is_empty() && holders.iter().all(|holder| holding.contains(holder));
            !is_beside && !is_choice
        });
        let (Some((first_private, _)), Some((first_clear, _))) = (private.iter().min_by_key(|(name, _)| *name), clear.iter().min_by_key(|(name, _)| *name)) else { return };
        let at = FieldPath::key(channel::name.number());
        let out = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(talkgroup::name.number())),
                format!(
                    "{} is sent in private on channel \"{first_private}\" and in clear on \"{first_clear}\": what is said in private is answered where everybody can listen. Send it in private everywhere, or put both on one zone so that the user chooses",
                    view.called(it.id()),
                ),
            )
            .about(first_clear);
        clear.iter().fold(out, |out, (name, channel)| {
            out.related(Anchor::Value(*channel, at), format!("channel \"{name}\" sends it in clear"))
        });
    }
}
