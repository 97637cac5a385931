use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, key};
use guywire_plan::{FieldPath, Known, Ref, Row};

rule! {
    /// A key should have been changed by now, and channels still send with it.
    ///
    /// Judged by the day that settings give (`as_of`), else today. A key that is only still understood, while others
    /// take over, is left out.
    ///
    /// ## On the air
    /// The longer a key is in use, the more radios and people have had it, and the more of the traffic one lost radio
    /// opens.
    ///
    /// ## Source
    /// Common practice, no source. The day is the plan's own.
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
    /// held_in = "vault:harbor/radio/17"
    /// rotate_by = 2026-01-12
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
    /// rotate_by = 2027-01-12
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    /// ```
    pub KeyPastRotation = "key-past-rotation" { family: Privacy, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<key::Table>, view, out) {
        let Known::Is(by) = it.date(key::rotate_by) else { return };
        if view.today().is_none_or(|today| today <= by) {
            return;
        }
        let sends_with = |channel: &Ref<'_, channel::Table>| channel.text(channel::privacy) == it.text(key::name);
        let many = view.referrers::<channel::Table>(it.id()).iter().filter(|channel| sends_with(channel)).count();
        let channels = match many {
            0 => return,
            1 => "a channel still sends".to_owned(),
            many => format!("{many} channels still send"),
        };
        out.report(
            Anchor::Value(it.id(), FieldPath::key(key::rotate_by.number())),
            format!("{} was to be changed by {by}, and {channels} with it: more people have had it than should. Load a new key that `replaces` it", view.called(it.id())),
        )
        .about(&by);
    }
}
