use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, model};
use guywire_plan::{FieldPath, Known, Row, Sends};

rule! {
    /// A channel is in TDMA direct mode, and a radio model that holds it cannot do that.
    ///
    /// Looked at for each model of the radios whose zones hold the channel. A model file that does not say is not
    /// judged.
    ///
    /// ## On the air
    /// The radio refuses the channel, or works it in plain direct mode: it takes both slots and does not hear the
    /// others.
    ///
    /// ## Source
    /// The model's data sheet, as written in its model file; clause 6.2 of ETSI TS 102 361-2.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// tdma_direct_mode = true
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// tdma_direct_mode = false
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    /// tdma_direct_mode = false
    /// ```
    pub TdmaDirectNotSupported = "tdma-direct-not-supported" {
        family: Slot, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        if it.truth(channel::tdma_direct_mode) != Known::Is(true) {
            return;
        }
        if view.channel(it.id()).is_none_or(|effective| effective.sends != Known::Is(Sends::Digital)) {
            return;
        }
        for model in view.channel_models(it.id()) {
            if model.truth(model::tdma_direct_mode) != Known::Is(false) {
                continue;
            }
            let name = model.name().unwrap_or("the model");
            out.report(
                Anchor::Value(it.id(), FieldPath::key(channel::tdma_direct_mode.number())),
                format!(
                    "{} is in TDMA direct mode, and {name} has none: that radio refuses the channel, or takes both slots and hears nobody. Leave the mode plain, or take the channel out of that model's zones",
                    view.called(it.id()),
                ),
            )
            .about(name)
            .related(
                Anchor::Value(model.id(), FieldPath::key(model::tdma_direct_mode.number())),
                format!("{name} has no TDMA direct mode"),
            );
        }
    }
}
