//! `guywire.audience`: who hears what is sent in a plan, as a page and as a matrix.

use guywire_report::{audience_view, markdown_audience};
use serde_json::{Map, Value};
use tower_lsp::jsonrpc::Result;

use super::{Page, address_of, failed};
use crate::door::Scene;

/// The page of the plan at the address that is the first argument; `matrix` holds the same for views.
pub(super) fn audience(scene: &Scene<'_>, arguments: &[Value]) -> Result<Page> {
    let url = address_of(arguments, "[address], of a plan")?;
    let file = scene.asked(&url)?.ok_or_else(|| failed("no plan that the server knows has this address"))?.file;
    let shown = scene.engine.audience_of(file).map_err(|error| failed(error.to_string()))?;
    let mut more = Map::new();
    more.insert("matrix".to_owned(), audience_view(&shown));
    let markdown = markdown_audience(&scene.engine.shown_path(file), &shown);
    Ok(Page { name: "guywire-audience".to_owned(), markdown, more })
}
