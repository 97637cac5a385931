use guywire_plan::language::{channel, emergency, model};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, Sends, Stored, View};

use crate::band::outside_model_band::bands;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// A radio that can set off an emergency cannot send on the channel that it goes out on: the model does not tune there,
    /// or does not know the mode.
    ///
    /// Models that have the channel in their zones are reported by `outside-model-band`.
    ///
    /// ## On the air
    /// The button is pressed, the radio changes to a channel that it cannot use, and nothing goes out.
    ///
    /// ## Source
    /// The data sheet of the model.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[talkgroup]]
    /// name = "Rescue"
    /// id = 1205
    ///
    /// [[channel]]
    /// name = "Rescue"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Rescue"
    ///
    /// [[channel]]
    /// name = "Boats"
    /// sends = "digital"
    /// rx_mhz = 152.8700
    /// color_code = 5
    /// call = "Rescue"
    /// emergency = "Boat alarm"
    ///
    /// [[emergency]]
    /// name = "Boat alarm"
    /// triggers = ["button"]
    /// sends = "alarm"
    /// target = "Rescue"
    /// revert = "Rescue"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Rescue"]
    ///
    /// [[zone]]
    /// name = "Water"
    /// channels = ["Boats"]
    ///
    /// [[profile]]
    /// name = "boat"
    /// model = "models/hh-vhf.model.toml"
    /// zones = ["Water"]
    /// button = [{ place = "top", press = "long", action = "emergency-on" }]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21002
    /// alias = "Boat 1"
    /// profile = "boat"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[talkgroup]]
    /// name = "Rescue"
    /// id = 1205
    ///
    /// [[channel]]
    /// name = "Rescue"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Rescue"
    ///
    /// [[channel]]
    /// name = "Boats"
    /// sends = "digital"
    /// rx_mhz = 152.8700
    /// color_code = 5
    /// call = "Rescue"
    /// emergency = "Boat alarm"
    ///
    /// [[emergency]]
    /// name = "Boat alarm"
    /// triggers = ["button"]
    /// sends = "alarm"
    /// target = "Rescue"
    /// revert = "Boats"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Rescue"]
    ///
    /// [[zone]]
    /// name = "Water"
    /// channels = ["Boats"]
    ///
    /// [[profile]]
    /// name = "boat"
    /// model = "models/hh-vhf.model.toml"
    /// zones = ["Water"]
    /// button = [{ place = "top", press = "long", action = "emergency-on" }]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21002
    /// alias = "Boat 1"
    /// profile = "boat"
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    /// band = [{ low_mhz = 403, high_mhz = 473 }]
    /// ```
    /// ```toml models/hh-vhf.model.toml
    /// [model]
    /// name = "hh-vhf"
    /// band = [{ low_mhz = 136, high_mhz = 174 }]
    /// ```
    pub EmergencyRevertUnreachable = "emergency-revert-unreachable" {
        family: Emergency, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<emergency::Table>, view, out) {
        let Known::Is(revert) = view.revert(it) else { return };
        let Some(effective) = view.channel(revert.id()) else { return };
        let mut found: Vec<EntityId> = Vec::new();
        for channel in view.referrers::<channel::Table>(it.id()) {
            let of_channel = view.models_holding(channel.id());
            found.extend(of_channel.iter().filter(|model| !effective.models.contains(model)));
        }
        let mut models: Vec<Ref<'_, model::Table>> = found.into_iter().filter_map(|model| view.get(model)).collect();
        models.sort_by_key(|model| model.name());
        models.dedup_by_key(|model| model.id());
        for model in models {
            let name = model.name().unwrap_or("the model");
            let Some(why) = cannot(view, model, effective) else { continue };
            out.report(
                Anchor::Value(it.id(), FieldPath::key(emergency::revert.number())),
                format!(
                    "{} goes out on \"{}\", and {name}, which can set it off, {why}: nothing is sent. Name a channel that every radio with this emergency can use",
                    view.called(it.id()),
                    revert.name().unwrap_or_default(),
                ),
            )
            .about(name)
            .related(Anchor::Header(model.id()), format!("what {name} can do"));
        }
    }
}

/// Why a model cannot send on a channel; none where it can, or where nothing is written of it.
fn cannot(view: View<'_>, model: Ref<'_, model::Table>, channel: &guywire_plan::Channel) -> Option<String> {
    let bands = bands(model);
    if let Known::Is(carrier) = channel.tx
        && !bands.is_empty()
        && !bands.iter().any(|(low, high)| (*low..=*high).contains(&carrier))
    {
        return Some(format!("does not tune to {carrier} MHz"));
    }
    let wanted = match channel.sends {
        Known::Is(Sends::Digital) => "digital",
        Known::Is(Sends::Analog) => "analog",
        _ => return None,
    };
    let Known::Is(modes) = model.list(model::sends) else { return None };
    let has = modes.iter().any(|mode| match mode.value {
        Stored::Text(word) => view.symbol(word) == wanted,
        _ => true,
    });
    (!has).then(|| format!("does not send {wanted}"))
}
