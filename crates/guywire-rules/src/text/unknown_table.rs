use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::nearest;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{FileKind, Many, TableSpec, tables};
use guywire_plan::{EntityId, Form, View};

/// Tables that later versions will read.
const LATER: [&str; 6] = ["roam_list", "voting", "simulcast", "paging", "transmit_interrupt", "selector_bank"];

rule! {
    /// A table has a name that this kind of file does not know, or is written as one where any number may stand.
    ///
    /// ## On the air
    /// Nothing of the table reaches a radio: a misspelled `[[chanel]]` is a channel that nobody has.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[chanel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
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
    pub UnknownTable = "unknown-table" { family: Text, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Choice) }
    fn check(it: AnyTable, view, out) {
        let Some((form, record, written)) = view.rest(it) else { return };
        let name = written.unwrap_or_default();
        let message = match form {
            Form::Good | Form::UnreadableHeader => return,
            Form::UnknownTable if view.file_of(it).is_some_and(|file| view.newer_format(file)) => return,
            Form::UnknownTable if LATER.contains(&name) => {
                format!("`{name}` is a table that a later version will read; this one leaves it alone and checks nothing in it")
            }
            Form::UnknownTable => unknown(view, it, name),
            Form::SingleForMany => {
                format!("there can be many of `{name}`: write `[[{name}]]`. As it stands a second one cannot be added")
            }
            Form::ManyForSingle => {
                format!("there is one `{name}` in a file: write `[{name}]`. As it stands only the first is read")
            }
            Form::NotATable => format!("`{name}` is a table with keys of its own: write `{}`", record.spec.header()),
        };
        out.report(Anchor::Header(it), message).about(name).fix(|| fix(view, it, form, name));
    }
}

fn known(view: View<'_>, it: EntityId) -> &'static [&'static TableSpec] {
    let file = view.file_of(it).map(|file| view.path(file));
    let name = file.and_then(|path| path.file_name()).and_then(|name| name.to_str());
    name.and_then(FileKind::of_name).map_or(&[], tables)
}

fn unknown(view: View<'_>, it: EntityId, name: &str) -> String {
    let tables = known(view, it);
    match nearest(name, tables.iter().map(|table| table.name)) {
        Some(meant) => format!("there is no table `{name}`, so nothing of it reaches a radio. Did you mean `{meant}`?"),
        None => {
            let all: Vec<&str> = tables.iter().map(|table| table.name).collect();
            format!(
                "there is no table `{name}` in this kind of file, so nothing of it reaches a radio. It may hold: {}",
                all.join(", ")
            )
        }
    }
}

fn fix(view: View<'_>, it: EntityId, form: Form, name: &str) -> Option<Fix> {
    let meant = match form {
        Form::UnknownTable => nearest(name, known(view, it).iter().map(|table| table.name))?,
        Form::SingleForMany => name,
        _ => return None,
    };
    let spec = known(view, it).iter().find(|table| table.name == meant)?;
    let header = if spec.many == Many::Any { format!("[[{meant}]]") } else { format!("[{meant}]") };
    Some(Fix { title: format!("Write {header}"), safety: Safety::Choice, edits: vec![Edit::SetHeader(it, header)] })
}
