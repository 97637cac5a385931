use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, key, profile, radio};
use guywire_plan::{Element, EntityId, FieldPath, Found, Known, Ref, Row, Stored, View};

rule! {
    /// A lost radio holds a key that channels of the plan still use.
    ///
    /// ## On the air
    /// Whoever has the radio listens to all that the key protects, and speaks with it.
    ///
    /// ## Source
    /// Common practice, no source. What may be protected at all, and how, local rules decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[key]]
    /// name = "harbor-2025"
    /// id = 16
    /// algorithm = "aes-256"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// replaces = "harbor-2025"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    /// status = "lost"
    /// keys = ["harbor-2026"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[key]]
    /// name = "harbor-2025"
    /// id = 16
    /// algorithm = "aes-256"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// replaces = "harbor-2025"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    /// status = "lost"
    /// keys = ["harbor-2025"]
    /// ```
    pub LostRadioHoldsKey = "lost-radio-holds-key" { family: Privacy, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<radio::Table>, view, out) {
        if it.text(radio::status).value().is_none_or(|status| view.symbol(status) != "lost") {
            return;
        }
        let mut used: Vec<Ref<'_, key::Table>> =
            held(view, it).into_iter().filter(|key| !view.referrers::<channel::Table>(key.id()).is_empty()).collect();
        used.sort_by_key(Ref::name);
        used.dedup_by_key(|key| key.id());
        if used.is_empty() {
            return;
        }
        let names: Vec<String> = used.iter().map(|key| format!("\"{}\"", key.name().unwrap_or_default())).collect();
        let alias = it.name().map_or_else(|| "this radio".to_owned(), |alias| format!("\"{alias}\""));
        let mut found = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(radio::status.number())),
                format!(
                    "{alias} is lost and holds {}, which channels still use: whoever has it listens, and speaks. Change the key in all other radios",
                    names.join(" and "),
                ),
            )
            .about(&names);
        for key in used {
            found = found.related(Anchor::Header(key.id()), format!("{} is in a lost radio", view.called(key.id())));
        }
    }
}

/// The keys that a radio holds: its own, else its profile's. Those that lead nowhere are left out.
fn held<'v>(view: View<'v>, it: Ref<'v, radio::Table>) -> Vec<Ref<'v, key::Table>> {
    let named = |from: EntityId, keys: Known<&[Element]>| {
        let Known::Is(elements) = keys else { return Vec::new() };
        let one = |element: &Element| match element.value {
            Stored::Text(name) => match view.find(from, name) {
                Found::One(key) => Some(key),
                _ => None,
            },
            _ => None,
        };
        elements.iter().filter_map(one).collect()
    };
    if it.has(radio::keys) {
        return named(it.id(), it.list(radio::keys));
    }
    match view.named::<profile::Table, _>(it, radio::profile) {
        Known::Is(profile) => named(profile.id(), profile.list(profile::keys)),
        _ => Vec::new(),
    }
}
