use crate::finding::Anchor;
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::{radio, radio__ids};
use guywire_plan::{FieldPath, Known, Ref, Row, Stored};

const OPTIONS: &[OptionSpec] = &[
    OptionSpec { name: "lowest_id", default: 1.0, doc: "Lowest unit id of the house." },
    OptionSpec { name: "highest_id", default: 16_776_415.0, doc: "Highest unit id of the house." },
];

rule! {
    /// The unit id of a radio is outside the range that the house keeps for its radios. Off until settings give it a
    /// level.
    ///
    /// ## On the air
    /// Nothing fails, but numbers from elsewhere are taken for visitors, and may be those of another fleet.
    ///
    /// ## Source
    /// The house; the range of ordinary ids is ETSI TS 102 361-1, annex A.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// id = 1007
    /// alias = "Crane 2"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    /// ```
    ///
    /// ## Beside
    /// ```toml guywire.toml
    /// [rules]
    /// radio-id-scheme = { level = "warning", lowest_id = 21001, highest_id = 21999 }
    /// ```
    pub RadioIdScheme = "radio-id-scheme" {
        family: Identity, level: Off, judged: PerFile, since: "0.1.0", options: OPTIONS,
    }
    fn check(it: Each<radio::Table>, view, out) {
        let (lowest, highest) = (out.option("lowest_id"), out.option("highest_id"));
        for (path, id) in ids(it) {
            if (lowest..=highest).contains(&(id as f64)) {
                continue;
            }
            out.report(
                Anchor::Value(it.id(), path),
                format!("{} has unit id {id}, outside {lowest} to {highest}, which this house keeps for its radios: others take it for a visitor. Use a free number of that range", view.called(it.id())),
            )
            .about(&id);
        }
    }
}

fn ids(it: Ref<'_, radio::Table>) -> Vec<(FieldPath, i64)> {
    let own = it.whole(radio::id).value().map(|id| (FieldPath::key(radio::id.number()), id));
    let mut found: Vec<(FieldPath, i64)> = own.into_iter().collect();
    if let Known::Is(part) = it.part::<radio__ids::Table>(radio::ids) {
        let path = FieldPath::key(radio::ids.number());
        found.extend(part.record().extras.iter().enumerate().filter_map(|(number, extra)| match extra.value {
            Stored::Whole(id) => Some((path.then_extra(number), id)),
            _ => None,
        }));
    }
    found
}
