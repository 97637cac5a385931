use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, key, model};
use guywire_plan::{FieldPath, Found, Known, Ref, Row, Stored, View};

rule! {
    /// A channel uses a key whose algorithm a radio model that holds the channel does not know.
    ///
    /// Looked at for each model of the radios whose zones hold the channel, for the key that it sends with and for
    /// those that it understands beside.
    ///
    /// ## On the air
    /// The radio refuses the key, or speaks in clear where it was meant to be protected, and hears noise from those
    /// who are.
    ///
    /// ## Source
    /// The model's data sheet, as written in its model file. What may be protected at all, and how, local rules
    /// decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "arc4-40"
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    /// privacy = ["fixed-scramble", "arc4-40"]
    /// ```
    pub PrivacyNotSupported = "privacy-not-supported" {
        family: Privacy, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let keys = keys(view, it);
        if keys.is_empty() {
            return;
        }
        for model in view.channel_models(it.id()) {
            let Known::Is(elements) = model.list(model::privacy) else { continue };
            let words = elements.iter().map(|element| match element.value {
                Stored::Text(word) => Some(view.symbol(word)),
                _ => None,
            });
            let Some(known) = words.collect::<Option<Vec<&str>>>() else { continue };
            let name = model.name().unwrap_or("the model");
            for (path, key) in &keys {
                let Some(algorithm) = key.text(key::algorithm).value().map(|word| view.symbol(word)) else { continue };
                if known.contains(&algorithm) {
                    continue;
                }
                out.report(
                    Anchor::Value(it.id(), *path),
                    format!(
                        "{} uses {} with {algorithm}, which {name} does not know: that radio speaks in clear there, or not at all, and hears noise. Use an algorithm that all its radios know",
                        view.called(it.id()),
                        view.called(key.id()),
                    ),
                )
                .about(name)
                .about(algorithm)
                .related(Anchor::Value(key.id(), FieldPath::key(key::algorithm.number())), format!("{} is for {algorithm}", view.called(key.id())))
                .related(Anchor::Value(model.id(), FieldPath::key(model::privacy.number())), format!("what {name} knows"));
            }
        }
    }
}

/// The keys that a channel names, each with its place; those that lead nowhere are left out.
fn keys<'v>(view: View<'v>, it: Ref<'v, channel::Table>) -> Vec<(FieldPath, Ref<'v, key::Table>)> {
    let mut found = Vec::new();
    if let Known::Is(key) = view.named(it, channel::privacy) {
        found.push((FieldPath::key(channel::privacy.number()), key));
    }
    let Known::Is(elements) = it.list(channel::privacy_receive) else { return found };
    for (number, element) in elements.iter().enumerate() {
        let Stored::Text(name) = element.value else { continue };
        if let Found::One(key) = view.find(it.id(), name) {
            found.push((FieldPath::key(channel::privacy_receive.number()).then(number), key));
        }
    }
    found
}
