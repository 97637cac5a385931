//! `guywire why`: the page of a rule, or all of them in short.

use guywire_report::{write_catalog, write_page};
use guywire_rules::{CATALOG, find, nearest};

use crate::console;
use crate::failure::Failure;

/// Prints the page of the rule of that name, or the catalog.
pub(crate) fn why(name: Option<&str>) -> Result<u8, Failure> {
    let Some(name) = name else {
        console::print(|out| write_catalog(out))?;
        return Ok(0);
    };
    let Some(rule) = find(name) else {
        let nearest = nearest(name, CATALOG.iter().map(|rule| rule.about().name));
        return Err(Failure::UnknownRule { name: name.to_owned(), nearest });
    };
    console::print(|out| write_page(rule.about(), out))?;
    Ok(0)
}
