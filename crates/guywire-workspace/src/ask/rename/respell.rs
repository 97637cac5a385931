//! A name written anew in the place of one, in the same quotes where it can be.

use guywire_plan::cell_parts;

use crate::ask::names::quotes_of;

/// A TOML string or key with another text in it: bare keys stay bare and literal strings literal where the text allows.
pub(super) fn toml(written: &str, new: &str) -> String {
    match quotes_of(written) {
        "" if is_bare(new) => new.to_owned(),
        quotes @ ("'" | "'''") if !new.contains('\'') => format!("{quotes}{new}{quotes}"),
        "\"\"\"" => format!("\"\"\"{}\"\"\"", escaped(new)),
        _ => format!("\"{}\"", escaped(new)),
    }
}

fn is_bare(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-'))
}

/// Names have no control characters, so nothing else needs an escape.
fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace('"', "\\\"")
}

/// A cell of a sheet with another text in the place of each of its texts that is `old`; in quotes where it was or has to
/// be (RFC 4180, section 2).
pub(super) fn cell(written: &str, list: bool, old: &str, new: &str) -> String {
    let quoted = written.starts_with('"');
    let opens = !quoted && new.contains([',', ';', '\t', '"']);
    let doubled = |text: &str| text.replace('"', "\"\"");
    let kept = |text: &str| if opens { doubled(text) } else { text.to_owned() };
    let mut text = String::with_capacity(written.len() + new.len());
    let mut at = 0;
    for part in cell_parts(written, list).into_iter().filter(|part| part.text == old) {
        text.push_str(&kept(&written[at..part.bytes.start]));
        text.push_str(&if quoted || opens { doubled(new) } else { new.to_owned() });
        at = part.bytes.end;
    }
    text.push_str(&kept(&written[at..]));
    if opens { format!("\"{text}\"") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_stay_as_they_are_where_they_can() {
        for (written, new, expected) in [
            ("\"Berths\"", "Quay \"A\" \\ 1", r#""Quay \"A\" \\ 1""#),
            ("'Berths'", "Quay \"A\" \\ 1", r#"'Quay "A" \ 1'"#),
            ("'Berths'", "Pilot's", "\"Pilot's\""),
            ("harbor", "north-2", "north-2"),
            ("harbor", "north mole", "\"north mole\""),
            ("\"harbor\"", "north", "\"north\""),
            ("\"\"\"Berths\"\"\"", "A\"", "\"\"\"A\\\"\"\"\""),
            ("'''Berths'''", "A", "'''A'''"),
            ("'''Berths'''", "A'", "\"A'\""),
        ] {
            assert_eq!(toml(written, new), expected);
        }
    }

    #[test]
    fn a_cell_is_quoted_where_it_has_to_be() {
        for (written, list, new, expected) in [
            ("quay", false, "crane", "crane"),
            (" quay ", false, "crane", " crane "),
            ("\"quay\"", false, "a \"b\"", "\"a \"\"b\"\"\""),
            ("quay", false, "north, south", "\"north, south\""),
            ("lock|quay | quay", true, "crane", "lock|crane | crane"),
            ("quays", false, "crane", "quays"),
        ] {
            assert_eq!(cell(written, list, "quay", new), expected);
        }
    }
}
