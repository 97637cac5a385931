use crate::finding::{Anchor, Level};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::Kind;
use guywire_plan::{EntityId, FieldPath, Record, Stored, View};
use guywire_radio::{AddressError, TalkgroupId, UnitId};

rule! {
    /// The number of a talkgroup, contact, radio, repeater or station is one that the air interface keeps for itself.
    ///
    /// Unit and talkgroup numbers are separate: equal ones are no fault. Zero is a warning, since its standing is from
    /// memory.
    ///
    /// ## On the air
    /// Radios take the number for the all call, a gateway or nobody: a call to one reaches all or none, and a unit
    /// with such an id is refused.
    ///
    /// ## Source
    /// ETSI TS 102 361-1, annex A: ordinary addresses are 1 to 16776415, and 16777215 is the all call; ETSI TS 102
    /// 361-4, annex A: system identities.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// alias = "Crane 2"
    /// id = 16776902
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// alias = "Crane 2"
    /// id = 21007
    /// ```
    pub AddressReserved = "address-reserved" { family: Group, level: Error, judged: PerFile, reads: Whole, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let check = match view.kind(it) {
            Kind::Talkgroup => |number| TalkgroupId::new(number).err(),
            Kind::Contact | Kind::Radio | Kind::Repeater | Kind::Station => |number| UnitId::new(number).err(),
            _ => return,
        };
        for (path, number) in numbers(view, it) {
            let Some(error) = check(number) else { continue };
            let found = out
                .report(Anchor::Value(it, path), format!("{} has address {number}: {}", view.called(it), told(error)))
                .about(&number);
            if !error.basis().standing.supports_error() {
                found.level(Level::Warning);
            }
        }
    }
}

/// The addresses written in a table, each with its place.
fn numbers(view: View<'_>, it: EntityId) -> Vec<(FieldPath, i64)> {
    let Some(record) = view.whole(it) else { return Vec::new() };
    let at = |name: &str| record.spec.field(name).and_then(|field| Some((field, &record.slot(field)?.value)));
    let mut found = Vec::new();
    if let Some((field, Stored::Whole(number))) = at("id") {
        found.push((FieldPath::key(field), *number));
    }
    if let Some((field, Stored::Part(part))) = at("ids") {
        found.extend(by_network(part, FieldPath::key(field)));
    }
    found
}

fn by_network(part: &Record, path: FieldPath) -> Vec<(FieldPath, i64)> {
    let whole = |(number, extra): (usize, &guywire_plan::Extra)| match extra.value {
        Stored::Whole(id) => Some((path.then_extra(number), id)),
        _ => None,
    };
    part.extras.iter().enumerate().filter_map(whole).collect()
}

/// What follows on the air, and what to do.
fn told(error: AddressError) -> String {
    match error {
        AddressError::Zero => "the null address, which means nobody. Use 1 to 16776415".to_owned(),
        AddressError::AllCall => {
            "the all call, which every unit on the channel answers. Make it a contact with `all_call = true`".to_owned()
        }
        AddressError::Reserved { meaning } => {
            format!("it is kept for the system ({meaning}), and radios take it for that. Use 1 to 16776415")
        }
        other => other.to_string(),
    }
}
