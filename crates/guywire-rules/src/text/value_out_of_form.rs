use super::has_own_rule;
use super::mending::offer;
use super::values::{Held, each_unread};
use crate::finding::{Anchor, Safety, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{Kind, Type, describe};
use guywire_plan::{EntityId, FieldPath, Stored, View, Why};

rule! {
    /// A value has the right type and not the right form: a word that the key does not know, a tone without its kind, a
    /// number out of range.
    ///
    /// Color codes, slots and addresses out of range have rules of their own, and so has `format`.
    ///
    /// ## On the air
    /// The key is not read, so it does nothing: a tone in another spelling is no tone, and the receiver stays shut.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// tx_tone = "127.3"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// tx_tone = "CTCSS 127.3"
    /// ```
    pub ValueOutOfForm = "value-out-of-form" {
        family: Text, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Safe),
    }
    fn check(it: AnyTable, view, out) {
        if view.kind(it) == Kind::Unknown {
            return;
        }
        if let Some(record) = view.whole(it) {
            each_unread(record, view, &FieldPath::default(), &mut |held| look(&held, it, view, out));
        }
    }
}

fn look(held: &Held<'_>, it: EntityId, view: View<'_>, out: &mut Sink<'_>) {
    let wrong = match held.value {
        Stored::Unreadable(Why::Range) if held.name == "format" || held.key.is_some_and(has_own_rule) => return,
        Stored::Unreadable(Why::Range) => match held.form {
            Type::Megahertz | Type::Kilohertz => "this is below zero or far too large",
            _ => "this is outside",
        },
        Stored::Unreadable(Why::Form) => match held.form {
            Type::Word(_) => "this is none of them",
            _ => "this is not in that form",
        },
        _ => return,
    };
    if view.file_of(it).is_some_and(|file| view.newer_format(file)) {
        return;
    }
    let message = format!(
        "`{}` takes {}, and {wrong}: it is not read, so it does nothing. Correct it",
        held.name,
        describe(&held.form),
    );
    let found = out.report(Anchor::Value(it, held.path), message).about(held.name);
    offer(found, it, held, view);
}
