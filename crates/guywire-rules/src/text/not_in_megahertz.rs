use super::mending::offer;
use super::values::each_unread;
use crate::finding::{Anchor, Safety};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{Kind, Type};
use guywire_plan::{FieldPath, Stored, Why};

rule! {
    /// A frequency makes sense in another unit only: hertz or kilohertz under a key in MHz, hertz or megahertz under a key in
    /// kHz.
    ///
    /// ## On the air
    /// The number is not read: no radio tunes to 453212.5 MHz, and the channel is nowhere.
    ///
    /// ## Source
    /// The plan language (docs/language.md): the unit is in the key. Which numbers are likely in which unit is common
    /// practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453212.5
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// ```
    pub NotInMegahertz = "not-in-megahertz" {
        family: Text, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Safe),
    }
    fn check(it: AnyTable, view, out) {
        if view.kind(it) == Kind::Unknown {
            return;
        }
        let Some(record) = view.whole(it) else { return };
        each_unread(record, view, &FieldPath::default(), &mut |held| {
            if *held.value != Stored::Unreadable(Why::NotMegahertz) {
                return;
            }
            let (unit, others) = match held.form {
                Type::Kilohertz => ("kHz", "Hz or MHz"),
                _ => ("MHz", "kHz or Hz"),
            };
            let message = format!(
                "`{}` is in {unit}, and this number makes sense in {others} only: it is not read, and nothing is tuned to it. Write it in {unit}",
                held.name,
            );
            let found = out.report(Anchor::Value(it, held.path), message).about(held.name);
            offer(found, it, &held, view);
        });
    }
}
