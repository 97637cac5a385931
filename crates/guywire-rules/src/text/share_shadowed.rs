use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::{EntityId, FieldPath, NAMED, View};

rule! {
    /// A name of a share is hidden: the plan itself, or a share that it lists earlier, has a table of the same kind and name
    /// that says something else.
    ///
    /// Looked at for each plan; one finding a name. Two tables that say the same are left alone.
    ///
    /// ## On the air
    /// Radios of this plan follow the nearer table, those of plans without it follow the share's: two crews with one name
    /// on the display do not hear each other.
    ///
    /// ## Source
    /// The plan language (docs/language.md): the nearest name counts.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// shares = ["groups.plan.toml"]
    ///
    /// [[repeater]]
    /// name = "north mole"
    /// tx_mhz = 453.4625
    /// rx_mhz = 458.4625
    /// ```
    ///
    /// ```toml groups.plan.toml
    /// [[repeater]]
    /// name = "north mole"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// shares = ["groups.plan.toml"]
    ///
    /// [[repeater]]
    /// name = "north mole 2"
    /// tx_mhz = 453.4625
    /// rx_mhz = 458.4625
    /// ```
    ///
    /// ```toml groups.plan.toml
    /// [[repeater]]
    /// name = "north mole"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    pub ShareShadowed = "share-shadowed" { family: Text, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        if !NAMED.contains(&view.kind(it)) {
            return;
        }
        let hidden: Vec<EntityId> = view.hidden_by(it).into_iter().filter(|other| differs(view, it, *other)).collect();
        let (Some(name), Some(at)) = (view.name_of(it), name_place(view, it)) else { return };
        if hidden.is_empty() {
            return;
        }
        let noun = view.kind(it).noun();
        let mut files: Vec<String> = hidden.iter().map(|other| file_name(view, *other)).collect();
        files.sort();
        files.dedup();
        let message = format!(
            "another {noun} \"{name}\" in {} says something else: this one hides it, and radios of plans without this one follow the other. Rename one of them, or take one out",
            files.join(" and "),
        );
        let mut found = out.report(at, message).about(name);
        for other in hidden {
            if let Some(at) = name_place(view, other) {
                found = found.related(at, format!("this {noun} \"{name}\" is hidden"));
            }
        }
    }
}

fn differs(view: View<'_>, one: EntityId, other: EntityId) -> bool {
    match (view.whole(one), view.whole(other)) {
        (Some(one), Some(other)) => one != other,
        _ => false,
    }
}

fn name_place(view: View<'_>, it: EntityId) -> Option<Anchor> {
    let field = view.spec(it)?.name_field()?;
    Some(Anchor::Value(it, FieldPath::key(field)))
}

fn file_name(view: View<'_>, it: EntityId) -> String {
    let name = view.file_of(it).and_then(|file| view.path(file).file_name());
    name.map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}
