//! What a hover says: what the key is for, what the name leads to, what the number comes to. A secret is never shown.

use std::fmt::Write as _;

use guywire_plan::language::{self, Kind, describe};
use guywire_plan::{EntityId, FoundAny, Known, Recorder, Stored, View};
use guywire_radio::Hertz;
use guywire_radio::frequency::{quarter_wave_m, wavelength_m};
use guywire_text::FileId;

use super::locate::{Located, locate};
use crate::answer::Hover;
use crate::load::capital;
use crate::workspace::Workspace;

/// What is to be said of the thing at a byte.
pub(crate) fn hover(workspace: &Workspace, file: FileId, byte: usize) -> Option<Hover> {
    let db = &workspace.engine.db;
    let located = locate(db, file, byte)?;
    let recorder = Recorder::new(None);
    // A part is shown as the first plan that sees it has it.
    let viewer = if db.is_plan(file) { file } else { db.viewers(file).first().copied().unwrap_or(file) };
    let view = View::new(db, viewer, &recorder);
    let mut page = String::new();
    if located.path.steps().is_empty() {
        say_table(view, &located, &mut page);
    } else {
        say_key(workspace, view, &located, &mut page);
    }
    (!page.is_empty()).then(|| Hover { bytes: located.bytes, plain: plain(&page), markdown: page })
}

fn say_table(view: View<'_>, located: &Located, page: &mut String) {
    let _ = write!(page, "**{}**", view.called(located.id));
    if !located.table.doc.is_empty() {
        let _ = write!(page, "\n\n{}", located.table.doc);
    }
    say_channel(view, located.id, page);
}

fn say_key(workspace: &Workspace, view: View<'_>, located: &Located, page: &mut String) {
    let Some(key) = located.key else { return };
    let unit = key.unit().map(|unit| format!(" ({unit})")).unwrap_or_default();
    let _ = write!(page, "**{}**{unit}: {}", key.name, key.doc);
    if located.on_key {
        let _ = write!(page, "\n\nTakes {}.", describe(&key.value));
    }
    if key.secret {
        page.push_str("\n\nWhat is written here is a secret and is not shown. Keep it elsewhere, and say where.");
        return;
    }
    let db = &workspace.engine.db;
    let Some(value) = db.entity(located.id).and_then(|entity| entity.record.spot(&located.path)).map(|spot| spot.value)
    else {
        return;
    };
    match value {
        Stored::Frequency(carrier) | Stored::Rounded(carrier) if key.name.ends_with("_mhz") => {
            say_carrier(*carrier, page)
        }
        Stored::Text(_) => say_reference(view, located, page),
        _ => {}
    }
    if key.name == "name" {
        say_channel(view, located.id, page);
    }
}

fn say_carrier(carrier: Hertz, page: &mut String) {
    let (Ok(wave), Ok(quarter)) = (wavelength_m(carrier), quarter_wave_m(carrier)) else { return };
    let _ = write!(
        page,
        "\n\n{carrier} MHz: wavelength {wave:.3} m, quarter wave {:.1} cm in free space (c / f).",
        quarter * 100.0
    );
}

fn say_reference(view: View<'_>, located: &Located, page: &mut String) {
    let references = view.references(located.id);
    let Some(reference) = references.iter().find(|reference| reference.path == located.path && !reference.in_key)
    else {
        return;
    };
    match view.find_any(located.id, reference.kinds, reference.name) {
        FoundAny::Some(found) => found.iter().for_each(|id| say_target(view, *id, page)),
        FoundAny::Missing => page.push_str("\n\nNothing of that name is defined."),
        FoundAny::Unreadable => page.push_str("\n\nWhat this names cannot be read."),
    }
}

fn say_target(view: View<'_>, id: EntityId, page: &mut String) {
    let _ = write!(page, "\n\n{}", capital(&view.called(id)));
    let number = match view.kind(id) {
        Kind::Talkgroup => view.known(id, language::talkgroup::id).value(),
        Kind::Contact => view.known(id, language::contact::id).value(),
        _ => None,
    };
    if let Some(Stored::Whole(number)) = number {
        let _ = write!(page, ", id {number}");
    }
    if let Some(file) = view.file_of(id)
        && file != view.viewer()
        && let Some(name) = view.path(file).file_name()
    {
        let _ = write!(page, ", in {}", name.to_string_lossy());
    }
    page.push('.');
    say_channel(view, id, page);
}

/// What a channel comes to: frequencies, color code, and who holds it.
fn say_channel(view: View<'_>, id: EntityId, page: &mut String) {
    let Some(effective) = view.channel(id) else { return };
    let mut facts: Vec<String> = Vec::new();
    match (effective.rx, effective.tx) {
        (Known::Is(rx), Known::Is(tx)) if rx == tx => facts.push(format!("simplex on {rx} MHz")),
        (Known::Is(rx), Known::Is(tx)) => {
            let split = Hertz((tx.0 - rx.0).abs());
            let sign = if tx > rx { '+' } else { '−' };
            facts.push(format!("receives {rx} MHz, sends {tx} MHz (split {sign}{split} MHz)"));
        }
        (Known::Is(rx), Known::Absent) => facts.push(format!("receives {rx} MHz, sends nothing")),
        _ => {}
    }
    if let Known::Is(code) = effective.color_code {
        facts.push(format!("color code {code}"));
    }
    if let Known::Is(slot) = effective.slot {
        facts.push(format!("slot {slot}"));
    }
    let models: Vec<&str> = view.channel_models(id).iter().filter_map(|model| model.name()).collect();
    if !models.is_empty() {
        facts.push(format!("on {}", models.join(", ")));
    }
    let radios = view.radios_holding(id);
    if radios > 0 {
        facts.push(if radios == 1 { "1 radio".to_owned() } else { format!("{radios} radios") });
    }
    if !facts.is_empty() {
        let _ = write!(page, "\n\n{}.", capital(&facts.join(", ")));
    }
}

/// Markdown without its marks.
fn plain(markdown: &str) -> String {
    markdown.replace("**", "").replace('`', "")
}
