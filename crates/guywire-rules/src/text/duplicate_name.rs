use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::Kind;

rule! {
    /// Two tables of one kind in one file have the same name, so a reference to it could mean either.
    ///
    /// Names in different files do not clash: the nearest one counts.
    ///
    /// ## On the air
    /// What the radios do depends on which of the two is taken: two channels "Berths" on two frequencies put half of the
    /// crew on each.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
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
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.4625
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
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// ```
    pub DuplicateName = "duplicate-name" { family: Text, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let others = view.namesakes(it);
        // Two radios may show one alias; their ids tell them apart.
        if others.is_empty() || view.kind(it) == Kind::Radio {
            return;
        }
        let (noun, name) = (view.kind(it).noun(), view.name_of(it).unwrap_or_default());
        let Some(field) = view.spec(it).and_then(|spec| spec.name_field()) else { return };
        let path = guywire_plan::FieldPath::key(field);
        let mut found = out.report(
            Anchor::Value(it, path),
            format!("another {noun} of this file is called \"{name}\" too, so what refers to it could mean either, and radios may be loaded with the wrong one. Rename one of them"),
        )
        .about(name);
        for other in others {
            found = found.related(Anchor::Value(other, path), format!("the other {noun} \"{name}\""));
        }
    }
}
