use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::Field;
use guywire_plan::language::capacity::{self, Table};
use guywire_plan::{FieldPath, Known, Row};

/// A part, its whole, and what they count.
const PARTS: [(Field<Table>, &str, Field<Table>, &str); 3] = [
    (capacity::channels_per_zone, "channels in one zone", capacity::channels, "channels in all"),
    (capacity::scan_list_members, "channels in one scan list", capacity::channels, "channels in all"),
    (capacity::receive_group_members, "talkgroups in one receive group", capacity::talkgroups, "talkgroups in all"),
];

rule! {
    /// A model has room for more in one zone, scan list or receive group than it has room for in all.
    ///
    /// ## On the air
    /// Nothing, but one of the two numbers is wrong, and plans are checked against it.
    ///
    /// ## Source
    /// The model's data sheet.
    ///
    /// ## Bad
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// channels = 16
    /// channels_per_zone = 160
    /// ```
    ///
    /// ## Good
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// channels = 16
    /// channels_per_zone = 16
    /// ```
    pub ModelCapacityInconsistent = "model-capacity-inconsistent" {
        family: Model, level: Warning, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<capacity::Table>, _view, out) {
        for (part, of_part, whole, of_whole) in PARTS {
            let (Known::Is(some), Known::Is(all)) = (it.whole(part), it.whole(whole)) else { continue };
            if some <= all {
                continue;
            }
            let at = |field: Field<Table>| Anchor::Value(it.id(), FieldPath::key(field.number()));
            out.report(
                at(part),
                format!("the model has room for {some} {of_part} and for {all} {of_whole}: one of the two is wrong, and plans are checked against both. Look it up in the data sheet"),
            )
            .about(of_part)
            .related(at(whole), format!("room for {all} {of_whole}"));
        }
    }
}
