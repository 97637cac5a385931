//! `guywire why`: the page of a rule, or all of them in short.

use guywire_report::{write_catalog, write_page};
use guywire_rules::{About, CATALOG, find, nearest};

use crate::console;
use crate::failure::Failure;

/// Prints the page of the rule of that name, or the catalog.
pub(crate) fn why(name: Option<&str>) -> Result<u8, Failure> {
    let Some(name) = name else {
        console::print(|out| write_catalog(out))?;
        return Ok(0);
    };
    let about = rule_named(name)?;
    console::print(|out| write_page(about, out))?;
    Ok(0)
}

/// What is known of the rule of that name.
pub(crate) fn rule_named(name: &str) -> Result<&'static About, Failure> {
    find(name).map(|rule| rule.about()).ok_or_else(|| {
        let nearest = nearest(name, CATALOG.iter().map(|rule| rule.about().name));
        Failure::UnknownRule { name: name.to_owned(), nearest }
    })
}
