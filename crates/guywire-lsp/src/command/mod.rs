//! The commands of the server by name. Each yields a page; a command that computes from the plans takes the scene.

mod audience;
mod compare;

use std::borrow::Cow;

use guywire_report::{markdown_catalog, markdown_page};
use guywire_rules::{CATALOG, find, nearest};
use serde_json::{Map, Value};
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::Url;

use crate::door::Scene;
use crate::job::Job;

/// A command.
pub(crate) struct Command {
    pub name: &'static str,
    pub run: Run,
}

/// How a command comes to its page.
#[derive(Clone, Copy)]
pub(crate) enum Run {
    /// At its place in the order.
    Now(fn(&Scene<'_>, &[Value]) -> Result<Page>),
    /// Once the values over the tables are computed.
    Computed(fn(&Scene<'_>, &[Value]) -> Result<Page>),
    /// By work of its own, prepared at its place in the order.
    Aside(fn(&Scene<'_>, &[Value]) -> Result<Job>),
}

/// All commands, in order of name.
pub(crate) const COMMANDS: &[Command] = &[
    Command { name: "guywire.audience", run: Run::Computed(audience::audience) },
    Command { name: "guywire.compare", run: Run::Aside(compare::compare) },
    Command { name: "guywire.why", run: Run::Now(why) },
];

/// What a command yields.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Page {
    /// The name of the file that it is shown as, without ending.
    pub name: String,
    /// The page.
    pub markdown: String,
    /// What else the answer holds, for clients that show more than a page.
    pub more: Map<String, Value>,
}

impl Page {
    /// The answer to the client: `markdown`, and whatever else there is.
    pub(crate) fn answer(mut self) -> Value {
        self.more.insert("markdown".to_owned(), self.markdown.into());
        Value::Object(self.more)
    }
}

/// The command of that name.
///
/// # Errors
/// `RequestFailed` where there is none.
pub(crate) fn named(name: &str) -> Result<&'static Command> {
    COMMANDS.iter().find(|command| command.name == name).ok_or_else(|| {
        let names: Vec<&str> = COMMANDS.iter().map(|command| command.name).collect();
        failed(format!("there is no such command; there are: {}", names.join(", ")))
    })
}

/// The protocol's `RequestFailed`: what was asked for is well-formed, and the reason is for people.
fn failed(why: impl Into<Cow<'static, str>>) -> Error {
    Error { code: ErrorCode::ServerError(-32803), message: why.into(), data: None }
}

/// Why a command is not answered whose values the user had no patience for.
pub(crate) fn stopped() -> Error {
    failed("the check was stopped before this was computed: run it again")
}

/// The address that the arguments begin with; `shape` is what they are.
fn address_of(arguments: &[Value], shape: &str) -> Result<Url> {
    let address = arguments.first().and_then(Value::as_str).and_then(|address| address.parse().ok());
    address.ok_or_else(|| failed(format!("the arguments are {shape}: the address of a file comes first")))
}

/// Whether a page is to be opened: not where the last argument is an object that says `"show": false`.
pub(crate) fn wants_showing(arguments: &[Value]) -> bool {
    arguments.last().and_then(|last| last.get("show")) != Some(&Value::Bool(false))
}

/// The page of a rule, by its name; the catalog without one.
fn why(_: &Scene<'_>, arguments: &[Value]) -> Result<Page> {
    let (name, markdown) = match arguments.first() {
        Some(Value::String(name)) => (format!("guywire-{name}"), markdown_page(rule(name)?.about())),
        None | Some(Value::Null | Value::Object(_)) => ("guywire-rules".to_owned(), markdown_catalog()),
        Some(_) => return Err(failed("the first argument is the name of a rule")),
    };
    Ok(Page { name, markdown, more: Map::new() })
}

fn rule(name: &str) -> Result<&'static dyn guywire_rules::ErasedRule> {
    find(name).ok_or_else(|| {
        let meant = nearest(name, CATALOG.iter().map(|rule| rule.about().name));
        let meant = meant.map(|meant| format!("; did you mean `{meant}`?")).unwrap_or_default();
        failed(format!("there is no such rule{meant}"))
    })
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn commands_are_in_order() {
        assert!(COMMANDS.is_sorted_by_key(|command| command.name));
        assert!(COMMANDS.iter().all(|command| command.name.starts_with("guywire.")));
    }

    #[test]
    fn a_page_is_shown_unless_told_otherwise() {
        assert!(wants_showing(&[]));
        assert!(wants_showing(&[json!("undefined-name")]));
        assert!(wants_showing(&[json!("undefined-name"), json!({ "show": true })]));
        assert!(!wants_showing(&[json!("undefined-name"), json!({ "show": false })]));
        assert!(!wants_showing(&[json!({ "show": false })]));
    }
}
