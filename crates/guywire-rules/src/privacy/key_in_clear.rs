use super::{take_out, weakness};
use crate::finding::{Anchor, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::key;
use guywire_plan::{FieldPath, Row};

rule! {
    /// Key material is written in the plan.
    ///
    /// Material that is also easy to guess is reported by `key-weak`, which hides no more easily than this.
    ///
    /// The material is never shown: not here, not in an excerpt, a hover or a log. A level or a waiver does not hide this
    /// finding.
    ///
    /// ## On the air
    /// Whoever can read the repository, now or in its history, can listen to what the key protects, and can speak with it.
    ///
    /// ## Source
    /// Common practice, no source. What may be protected at all, and how keys must be kept, local rules decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// value = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    /// ```
    pub KeyInClear = "key-in-clear" {
        family: Privacy, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Choice), always: true,
    }
    fn check(it: Each<key::Table>, view, out) {
        if !it.has(key::value) || weakness(view, it).is_some() {
            return;
        }
        let path = FieldPath::key(key::value.number());
        out.report(
            Anchor::Key(it.id(), path),
            format!(
                "{} has its material written here: whoever can read this file can listen to all that it protects. Keep the material elsewhere, say where with `held_in`, and change the key, since the history of the file keeps it",
                view.called(it.id()),
            ),
        )
        .fix(|| Some(take_out(it)));
    }
}
