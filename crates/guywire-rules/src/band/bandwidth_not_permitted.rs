use super::emission_not_permitted;
use super::sent::{Sent, Term, UNKNOWN, barred, level_of, sent_in_service, table_speaks, today};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::View;
use guywire_radio::Hertz;
use guywire_radio::regime::WidthRule;

rule! {
    /// A channel or a repeater sends a wider emission than its radio service permits there.
    ///
    /// What counts is the necessary bandwidth of what is sent in a channel of that width: 11.2 kHz of analog speech in
    /// 12.5 kHz, 14 in 20, 16 in 25; digital speech takes 7.6 kHz whatever the channel. A channel that writes no width
    /// counts as 12.5 kHz. Whatever the service excepts stands in the message. An assignment of a license that names
    /// emissions decides over the service. A warning where the limit is from memory.
    ///
    /// ## On the air
    /// The transmission reaches into the channels beside it, whose users hear hiss and broken speech.
    ///
    /// ## Source
    /// The service's rule, which the message names, such as 47 CFR 90.209. Necessary bandwidth: 47 CFR 2.202 (from memory).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// regime = "us-part-95-multi-use"
    ///
    /// [[channel]]
    /// name = "Visitors"
    /// sends = "analog"
    /// rx_mhz = 151.82
    /// bandwidth_khz = 25
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// regime = "us-part-95-multi-use"
    ///
    /// [[channel]]
    /// name = "Visitors"
    /// sends = "analog"
    /// rx_mhz = 151.82
    /// bandwidth_khz = 12.5
    /// ```
    pub BandwidthNotPermitted = "bandwidth-not-permitted" {
        family: Band, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        let all = sent_in_service(view, it);
        let found = all.iter().find_map(|sent| Some((sent, too_wide(view, sent)?)));
        if let Some((sent, (rule, necessary))) = found {
            let except = rule.except.as_ref().map(|except| format!("; it does not hold for {except}")).unwrap_or_default();
            out.report(
                Anchor::Value(it, sent.width_at),
                format!(
                    "{} {} in a channel of {} kHz, which takes {} kHz, and {} kHz is the most on {} MHz ({}{except}): it reaches into the channels beside. Write a narrower channel",
                    sent.does(view),
                    sent.mode_word(),
                    sent.width.khz_text(),
                    necessary.khz_text(),
                    rule.most.khz_text(),
                    sent.carrier,
                    rule.source,
                ),
            )
            .about(&sent.width.0)
            .level(level_of(&rule.source));
        }
    }
}

/// The width that an emission is over, and what it needs.
fn too_wide<'v>(view: View<'v>, sent: &Sent<'v>) -> Option<(&'v WidthRule, Hertz)> {
    let place = sent.place().filter(|_| sent.tells_emission())?;
    let rule = place.width_rule(today(view)?)?;
    let necessary = sent.necessary()?;
    if sent.width <= rule.most || necessary <= rule.most || barred(place, UNKNOWN).is_some() {
        return None;
    }
    let is_told = emission_not_permitted::is_told(view, sent) || !table_speaks(view, sent, UNKNOWN, Term::Emission);
    (!is_told).then_some((rule, necessary))
}
