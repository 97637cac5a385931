use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{regime__band as band, regime__channel as channel};
use guywire_plan::{FieldPath, Known, Stored};
use guywire_radio::emission::{Emission, Kind};

rule! {
    /// A radio service permits an emission that is no designator, nor the last three symbols of one.
    ///
    /// ## On the air
    /// Nothing, but what may be sent is not known, so no plan can be checked against the service.
    ///
    /// ## Source
    /// 47 CFR 2.201; ITU Radio Regulations, Appendix 1.
    ///
    /// ## Bad
    /// ```toml quay.regime.toml
    /// [regime]
    /// name = "saltmarsh-quay"
    ///
    /// [[band]]
    /// low_mhz = 453.0
    /// high_mhz = 454.0
    /// emissions = ["FXE", "FM"]
    /// ```
    ///
    /// ## Good
    /// ```toml quay.regime.toml
    /// [regime]
    /// name = "saltmarsh-quay"
    ///
    /// [[band]]
    /// low_mhz = 453.0
    /// high_mhz = 454.0
    /// emissions = ["FXE", "F3E"]
    /// ```
    pub RegimeEmissionUnknown = "regime-emission-unknown" {
        family: Regime, level: Error, judged: PerFile, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        let (list, field) = if view.get::<band::Table>(it).is_some() {
            (view.known(it, band::emissions), band::emissions.number())
        } else if view.get::<channel::Table>(it).is_some() {
            (view.known(it, channel::emissions), channel::emissions.number())
        } else {
            return;
        };
        let Known::Is(Stored::List(elements)) = list else { return };
        for (number, element) in elements.iter().enumerate() {
            let Stored::Text(text) = element.value else { continue };
            let text = view.symbol(text);
            let refused = if text.chars().count() == 3 { Kind::parse(text).err() } else { text.parse::<Emission>().err() };
            let Some(refused) = refused else { continue };
            out.report(
                Anchor::Value(it, FieldPath::key(field).then(number)),
                format!("\"{text}\" is no emission ({refused}): what may be sent is not known, so no plan is checked against the service. Write a designator, or its last three symbols"),
            )
            .about(text);
        }
    }
}
