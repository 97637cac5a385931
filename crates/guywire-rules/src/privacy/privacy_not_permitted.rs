use crate::band::sent::{level_of, named};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, key};
use guywire_plan::{FieldPath, Known, Sends};
use guywire_radio::regime::PrivacyRule;

rule! {
    /// A channel sends with a privacy key, and its radio service bars speech that others cannot understand.
    ///
    /// Scrambling counts as well as encryption. A warning where the rule is from memory.
    ///
    /// ## On the air
    /// Those who share the frequency hear noise, cannot tell who is there, and cannot ask for it.
    ///
    /// ## Source
    /// The service's rule, which the message names, such as 47 CFR 95.1733(a)(3) or 97.113(a)(4).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor club"
    /// regime = "us-part-97"
    ///
    /// [[license]]
    /// name = "club"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Club"
    /// sends = "digital"
    /// rx_mhz = 446.5
    /// privacy = "harbor-2026"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor club"
    /// regime = "us-part-97"
    ///
    /// [[license]]
    /// name = "club"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Club"
    /// sends = "digital"
    /// rx_mhz = 446.5
    /// privacy_receive = ["harbor-2026"]
    /// ```
    pub PrivacyNotPermitted = "privacy-not-permitted" {
        family: Privacy, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Known::Is(key) = view.named::<key::Table, _>(it, channel::privacy) else { return };
        if !view.channel(it.id()).is_some_and(|effective| effective.sends == Known::Is(Sends::Digital)) {
            return;
        }
        let Some(service) = view.service(Some(it)) else { return };
        let rule = &service.terms().privacy;
        if rule.value != PrivacyRule::Barred {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(channel::privacy.number())),
            format!(
                "{} sends with {}, and {} bars speech that others cannot understand ({}): they hear noise, and no rule permits it. Take the key out",
                view.called(it.id()),
                view.called(key.id()),
                named(service),
                rule.source,
            ),
        )
        .level(level_of(&rule.source));
    }
}
