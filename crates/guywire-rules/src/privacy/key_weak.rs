use super::{take_out, weakness};
use crate::finding::{Anchor, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::FieldPath;
use guywire_plan::language::key;

rule! {
    /// Key material is written in the plan, and it is easy to guess: one digit repeated, a short pattern repeated,
    /// digits that count, bytes that step evenly, or a length that the algorithm does not have.
    ///
    /// The material is never shown. It stands in for `key-in-clear`, so a level or a waiver does not hide this
    /// finding. That nothing is found does not make a key good.
    ///
    /// ## On the air
    /// Patterns are what is tried first: the protection holds off nobody who cares. A key of the wrong length is
    /// refused, or padded in a way that others do not share, and then nothing is understood.
    ///
    /// ## Source
    /// The lengths of AES keys: FIPS 197. The rest: common practice, no source. What may be protected at all, and how,
    /// local rules decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "arc4-40"
    /// value = "0123456789"
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
    /// algorithm = "arc4-40"
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    /// ```
    pub KeyWeak = "key-weak" {
        family: Privacy, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Choice), always: true,
    }
    fn check(it: Each<key::Table>, view, out) {
        let Some(why) = weakness(view, it) else { return };
        out.report(
            Anchor::Key(it.id(), FieldPath::key(key::value.number())),
            format!(
                "{} has its material written here, and {why}: it can be guessed without having seen it. Make a new key from random numbers, keep it elsewhere, and say where with `held_in`",
                view.called(it.id()),
            ),
        )
        .fix(|| Some(take_out(it)));
    }
}
