use super::repeater_not_permitted;
use super::sent::{Given, Sent, Term, barred, is_told_elsewhere, level_of, sent_in_service, table_speaks, with_model};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::{Bucket, Sender, View};
use guywire_radio::Source;
use guywire_radio::regime::{ChannelUse, Place};

rule! {
    /// A channel or a repeater sends where its radio service lets radios only listen, lets only stations of another kind
    /// send, or has a carrier only to reach a repeater.
    ///
    /// Judged for each model that holds the channel, as every station that its kind may be: a base radio is a base, a
    /// fixed or a control station. A kind that is not written is not judged. An assignment of a license that has the
    /// carrier decides over the service. A warning where the condition is from memory.
    ///
    /// ## On the air
    /// The transmission is in the way of those for whom the frequency is kept.
    ///
    /// ## Source
    /// The service's rule, which the message names. The license and the rules in force decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// model = "models/uhf.model.toml"
    /// regime = "us-part-95-family"
    ///
    /// [[channel]]
    /// name = "Visitors"
    /// sends = "analog"
    /// rx_mhz = 462.5625
    /// ```
    ///
    /// ```toml models/uhf.model.toml
    /// [model]
    /// name = "uhf"
    /// kind = "mobile"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// model = "models/uhf.model.toml"
    /// regime = "us-part-95-family"
    ///
    /// [[channel]]
    /// name = "Visitors"
    /// sends = "analog"
    /// rx_mhz = 462.5625
    /// ```
    ///
    /// ```toml models/uhf.model.toml
    /// [model]
    /// name = "uhf"
    /// kind = "handheld"
    /// ```
    pub TransmitNotPermitted = "transmit-not-permitted" {
        family: Band, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        let mut told: Vec<Given> = Vec::new();
        for sent in sent_in_service(view, it) {
            if told.contains(&sent.given) || sent.given == Given::ByInput {
                continue;
            }
            told.push(sent.given);
            for sender in sent.senders(view) {
                let Some((why, source)) = not_permitted(view, &sent, sender) else { continue };
                out.report(
                    Anchor::Value(it, sent.at),
                    format!(
                        "{}{} on {} MHz, where {why} ({source}): it is in the way of those for whom the frequency is kept. Correct the frequency, or write `sends = \"nothing\"`",
                        sent.does(view),
                        with_model(sender),
                        sent.carrier,
                    ),
                )
                .about(sender.name().unwrap_or_default())
                .about(&sent.carrier.0)
                .level(level_of(source));
                // What holds for every station is told once.
                if sent.place().is_some_and(|place| place.listen_only().is_some()) {
                    break;
                }
            }
        }
    }
}

/// Why a sender may not send, and where that stands.
fn not_permitted<'v>(view: View<'v>, sent: &Sent<'v>, sender: Sender<'v>) -> Option<(String, &'v Source)> {
    let place = sent.place()?;
    let (why, source) = match barred(place, sender) {
        Some(source) if place.listen_only().is_some() => ("radios may only listen".to_owned(), source),
        Some(source) => (format!("no {} station may send", stations(sender)), source),
        None => {
            let Place::Channel(channel) = place else { return None };
            let is_alone = channel.usage == ChannelUse::RepeaterInput && is_direct(view, sent);
            let what = is_alone.then(|| "stations only call a repeater".to_owned());
            (what?, &channel.source)
        }
    };
    let is_told = repeater_not_permitted::is_told(view, sent)
        || is_input_of_the_plan(view, sent)
        || is_told_elsewhere(view, sent)
        || !table_speaks(view, sent, sender, Term::Carrier);
    (!is_told).then_some((why, source))
}

fn stations(sender: Sender<'_>) -> String {
    sender.stations.iter().map(ToString::to_string).collect::<Vec<_>>().join(" or ")
}

/// Whether a channel sends where it receives.
fn is_direct(view: View<'_>, sent: &Sent<'_>) -> bool {
    sent.channel.is_some() && view.channel(sent.id).is_some_and(|effective| effective.rx == effective.tx)
}

/// Whether a channel is on the input of a repeater of the plan, which has a finding of its own.
fn is_input_of_the_plan(view: View<'_>, sent: &Sent<'_>) -> bool {
    sent.channel.is_some() && view.is_any(Bucket::Input(view.viewer(), sent.carrier))
}
