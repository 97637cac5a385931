//! Which code actions a client asks for, and those that there are.
//! <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#codeActionKind>

use guywire_rules::Safety;
use tower_lsp::lsp_types::{CodeAction, CodeActionContext, CodeActionKind, CodeActionTriggerKind, Range};

use crate::convert;
use crate::door::Asked;

/// All safe fixes of a file as one action.
pub(crate) const FIX_ALL: CodeActionKind = CodeActionKind::new("source.fixAll.guywire");

/// The actions that are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Wanted {
    /// The fixes of the findings in the range.
    pub fixes: bool,
    /// All safe fixes of the file.
    pub fix_all: bool,
    /// What brings a call to more radios.
    pub offers: bool,
}

impl Wanted {
    /// What the context of a request asks for. A client that names no kinds gets all; but to mend a file as a whole takes
    /// longer than a look at a range, and so does following calls: both are offered only to users who ask, not at each move
    /// of the cursor.
    pub(crate) fn of(context: &CodeActionContext) -> Self {
        match context.only.as_deref() {
            Some(only) => Self {
                fixes: covers(only, &CodeActionKind::QUICKFIX),
                fix_all: covers(only, &FIX_ALL),
                offers: covers(only, &CodeActionKind::REFACTOR_REWRITE),
            },
            None => {
                let is_invoked = context.trigger_kind == Some(CodeActionTriggerKind::INVOKED);
                Self { fixes: true, fix_all: is_invoked, offers: is_invoked }
            }
        }
    }
}

/// The fixes of the findings in a range, and all safe fixes of the file as one; none for a client that knows no literals.
pub(crate) fn actions(asked: &Asked<'_>, range: Range, wanted: Wanted) -> Option<Vec<CodeAction>> {
    let (engine, facts, scene) = (asked.engine(), asked.facts(), &asked.scene);
    if !facts.action_literals {
        return None;
    }
    let mut actions = Vec::new();
    if wanted.fixes {
        // What mends comes first, what accepts after it.
        let mut fixes = engine.fixes(asked.file, asked.bytes(range));
        fixes.extend(engine.waiver_offers(asked.file, asked.bytes(range)));
        actions.extend(fixes.into_iter().filter_map(|fix| convert::action(scene, asked.file, fix, facts)));
    }
    // What cannot be told yet is not offered: a fix is not held up for it.
    if wanted.offers && engine.values_are_settled() {
        let offers = engine.audience_offers(asked.file, asked.bytes(range));
        actions.extend(offers.into_iter().filter_map(|offer| convert::offer(scene, offer, facts)));
    }
    // To mend takes a copy of the workspace, so not where it is known that there is nothing to mend.
    let whole = 0..asked.document.len();
    let mendable = || engine.fixes(asked.file, whole).iter().any(|fix| fix.safety == Safety::Safe);
    if wanted.fix_all && (!scene.settled || mendable()) {
        let edit = engine.fix_all(asked.file);
        actions.extend(edit.and_then(|edit| convert::fix_all(scene, edit, facts)));
    }
    Some(actions)
}

/// Kinds are a hierarchy with dots; the empty kind is its root.
fn covers(only: &[CodeActionKind], kind: &CodeActionKind) -> bool {
    only.iter().map(CodeActionKind::as_str).any(|wanted| {
        let rest = kind.as_str().strip_prefix(wanted);
        wanted.is_empty() || rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn only(kinds: &[&'static str]) -> (bool, bool) {
        let kinds = kinds.iter().map(|kind| CodeActionKind::from(*kind)).collect();
        let wanted = Wanted::of(&CodeActionContext { only: Some(kinds), ..CodeActionContext::default() });
        (wanted.fixes, wanted.fix_all)
    }

    #[test]
    fn kinds_of_action_are_a_hierarchy() {
        assert_eq!(only(&[""]), (true, true));
        assert_eq!(only(&["refactor", "quickfix"]), (true, false));
        let offers = |kind| {
            let only = Some(vec![CodeActionKind::from(kind)]);
            Wanted::of(&CodeActionContext { only, ..CodeActionContext::default() }).offers
        };
        assert!(offers("") && offers("refactor") && offers("refactor.rewrite") && !offers("refactor.extract"));
        for kind in ["source", "source.fixAll", "source.fixAll.guywire"] {
            assert_eq!(only(&[kind]), (false, true), "{kind}");
        }
        let others = ["quickfix.other", "source.fix", "source.fixAll.guywire.more", "source.fixAll.other"];
        assert_eq!(only(&others), (false, false));
        assert_eq!(only(&[]), (false, false));
    }

    #[test]
    fn a_moving_cursor_mends_no_whole_files() {
        let of = |trigger_kind| Wanted::of(&CodeActionContext { trigger_kind, ..CodeActionContext::default() }).fix_all;
        assert!(of(Some(CodeActionTriggerKind::INVOKED)));
        assert!(!of(Some(CodeActionTriggerKind::AUTOMATIC)));
        assert!(!of(None));
    }
}
