use guywire_plan::audience::{Algorithm, Key};
use guywire_plan::language::{channel, key, profile, radio};
use guywire_plan::{EntityId, FieldPath, Known, Ref, View};
use guywire_radio::Hertz;

use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// Two keys of one algorithm have the same number and other material, and radios that meet use both.
    ///
    /// Radios meet where some radio or profile holds both keys, or where channels on one frequency use them. Two keys are of one
    /// material where their check values, else the places where they are kept, else their names are the same. Fixed scrambling sends
    /// no number and is left out.
    ///
    /// ## On the air
    /// A receiver picks a key by its number. It takes the wrong one and opens the loudspeaker to noise, or stays silent.
    ///
    /// ## Source
    /// Common practice, no source: no cipher is defined by ETSI TS 102 361 (from memory).
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
    /// [[key]]
    /// name = "pilots-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/pilots"
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
    /// name = "Pilots"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 3
    /// call = "Cranes"
    /// privacy = "pilots-2026"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes", "Pilots"]
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
    /// [[key]]
    /// name = "pilots-2026"
    /// id = 18
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/pilots"
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
    /// name = "Pilots"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 3
    /// call = "Cranes"
    /// privacy = "pilots-2026"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes", "Pilots"]
    /// ```
    pub KeyIdClash = "key-id-clash" {
        family: Privacy, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<key::Table>, view, out) {
        let Known::Is(own) = view.air_key(it) else { return };
        let Some(number) = own.id.filter(|_| own.algorithm.is_some_and(|it| it != Algorithm::FixedScramble)) else { return };
        let clashes = |other: &Key| other.algorithm == own.algorithm && other.id == own.id && !other.material.same(own.material);
        let mut others: Vec<(&str, Ref<'_, key::Table>)> = view
            .all::<key::Table>()
            .into_iter()
            .filter(|other| other.id() != it.id() && view.air_key(*other).value().is_some_and(|key| clashes(&key)))
            .filter(|other| meet(view, it, *other))
            .filter_map(|other| Some((other.name()?, other)))
            .collect();
        others.sort_by_key(|(name, _)| *name);
        let Some((name, _)) = others.first() else { return };
        let out = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(key::id.number())),
                format!(
                    "{} and key \"{name}\" both have number {number} and differ in material, and radios that meet use both: a receiver picks the key by its number, takes the wrong one and hears noise. Give each a number of its own",
                    view.called(it.id()),
                ),
            )
            .about(name);
        others.iter().fold(out, |out, (name, other)| {
            out.related(Anchor::Value(other.id(), FieldPath::key(key::id.number())), format!("key \"{name}\" has it too"))
        });
    }
}

/// Whether some radio has to do with both keys.
fn meet(view: View<'_>, a: Ref<'_, key::Table>, b: Ref<'_, key::Table>) -> bool {
    let (held_a, held_b) = (holders(view, a.id()), holders(view, b.id()));
    if held_a.iter().any(|holder| held_b.contains(holder)) {
        return true;
    }
    let (on_a, on_b) = (carriers(view, a.id()), carriers(view, b.id()));
    on_a.iter().any(|carrier| on_b.contains(carrier))
}

fn holders(view: View<'_>, key: EntityId) -> Vec<EntityId> {
    let profiles = view.referrers::<profile::Table>(key).into_iter().map(|holder| holder.id());
    profiles.chain(view.referrers::<radio::Table>(key).into_iter().map(|holder| holder.id())).collect()
}

/// What is received where a key is used.
fn carriers(view: View<'_>, key: EntityId) -> Vec<Hertz> {
    let channels = view.referrers::<channel::Table>(key);
    channels.iter().filter_map(|channel| view.channel(channel.id())?.rx.value()).collect()
}
