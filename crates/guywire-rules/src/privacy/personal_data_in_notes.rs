use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::AnyTable;
use crate::text::unknown_key::for_parts;
use guywire_plan::{EntityId, FieldPath, Record, Shape, Stored};

rule! {
    /// Notes hold what looks like a mail address or a telephone number.
    ///
    /// Telephone numbers are seen with their country (`+` and 9 to 15 digits) or as ten digits in groups
    /// (207-555-0123).
    ///
    /// ## On the air
    /// Nothing. But a plan is copied, printed and kept in a history: whoever is named there stays there.
    ///
    /// ## Source
    /// Forms: RFC 5322, section 3.4.1, and ITU-T E.164. What may be kept of people, local law decides.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// notes = "Trouble: keeper@harbor.example"
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
    /// notes = "Trouble: ask the harbor office"
    /// ```
    pub PersonalDataInNotes = "personal-data-in-notes" {
        family: Privacy, level: Information, judged: PerFile, reads: Whole, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        let Some(record) = view.whole(it) else { return };
        look(record, &FieldPath::default(), it, out);
    }
}

fn look(record: &Record, path: &FieldPath, it: EntityId, out: &mut Sink<'_>) {
    for slot in record.slots.iter().filter(|slot| record.spec.key(slot.field).name == "notes") {
        let what = match slot.value {
            Stored::Hash(_, Shape::MailAddress) => "a mail address",
            Stored::Hash(_, Shape::TelephoneNumber) => "a telephone number",
            _ => continue,
        };
        out.report(
            Anchor::Value(it, path.then(slot.field as usize)),
            format!("these notes hold what looks like {what}: a plan is copied, printed and kept in a history. Name the office, not the person"),
        )
        .about(what);
    }
    for_parts(record, path, &mut |part, at| look(part, &at, it, out));
}
