use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::zone;
use guywire_plan::{FieldPath, Known, Row, Stored, Symbol};

rule! {
    /// A channel stands at two positions of one zone.
    ///
    /// ## On the air
    /// Nothing fails, but two clicks of the knob do the same, and one of them was probably meant to be something else.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "", "Berths"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths"]
    /// ```
    pub ChannelTwiceInZone = "channel-twice-in-zone" { family: Zone, level: Information, judged: PerFile, since: "0.1.0" }
    fn check(it: Each<zone::Table>, view, out) {
        let Known::Is(elements) = it.list(zone::channels) else { return };
        let mut positions: Vec<(Symbol, usize)> = elements
            .iter()
            .enumerate()
            .filter_map(|(position, element)| match element.value {
                Stored::Text(name) if !view.symbol(name).is_empty() => Some((name, position)),
                _ => None,
            })
            .collect();
        positions.sort_unstable_by_key(|(name, position)| (view.symbol(*name), *position));
        let at = |position: usize| Anchor::Value(it.id(), FieldPath::key(zone::channels.number()).then(position));
        for group in positions.chunk_by(|(one, _), (other, _)| one == other).filter(|group| group.len() > 1) {
            let name = view.symbol(group[0].0);
            let numbers: Vec<String> = group.iter().map(|(_, position)| (position + 1).to_string()).collect();
            let message = format!(
                "channel \"{name}\" stands at positions {} of {}: these clicks of the knob do the same. Leave one, and put what was meant at the others, or \"\"",
                numbers.join(" and "),
                view.called(it.id()),
            );
            let mut found = out.report(at(group[1].1), message).about(name);
            for (_, position) in group.iter().filter(|(_, position)| *position != group[1].1) {
                found = found.related(at(*position), format!("channel \"{name}\" stands here too"));
            }
        }
    }
}
