//! Mending: safe fixes applied to a fixpoint, in memory. Who asked for it writes the files.

use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::atomic::AtomicBool;

use guywire_rules::Safety;
use guywire_text::{Document, FileId};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::answer::{Budget, OfferedFix, TextEdit};
use crate::workspace::Workspace;

/// Passes after which mending gives up; a fix rarely calls for another.
const MOST_PASSES: usize = 32;

/// A file that mending changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MendedFile {
    /// The file.
    pub file: FileId,
    /// Its text before.
    pub before: String,
    /// Its text after.
    pub after: String,
    /// The rules whose fixes were taken, each as often as one was.
    pub rules: Vec<&'static str>,
}

/// What mending came to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Mending {
    /// The files that changed, in path order.
    pub files: Vec<MendedFile>,
    /// Rules whose fixes undo each other; the files are as they were before the circle began.
    pub circle: Vec<&'static str>,
}

impl Workspace {
    /// Applies the safe fixes of the findings of these files, again and again until there are none, and says what changed.
    /// With `rule`, only the fixes of that rule. The texts of this workspace change with it; nothing is written.
    pub fn mend(&mut self, files: &[FileId], rule: Option<&str>) -> Mending {
        let before: FxHashMap<FileId, String> =
            files.iter().filter_map(|file| Some((*file, self.document(*file).map(Document::whole_text)?))).collect();
        let mut taken: FxHashMap<FileId, Vec<&'static str>> = FxHashMap::default();
        let mut seen: FxHashSet<Vec<(FileId, String)>> = FxHashSet::default();
        let mut circle: Vec<&'static str> = Vec::new();
        self.settle_all();
        for _ in 0..MOST_PASSES {
            let state = self.texts(files);
            let fixes: Vec<(FileId, Vec<OfferedFix>)> = files
                .iter()
                .map(|file| (*file, self.safe_fixes(*file, rule)))
                .filter(|(_, fixes)| !fixes.is_empty())
                .collect();
            if fixes.is_empty() {
                break;
            }
            let rules: BTreeSet<&'static str> =
                fixes.iter().flat_map(|(_, fixes)| fixes.iter().map(|fix| fix.finding.rule)).collect();
            if !seen.insert(state) {
                circle = rules.into_iter().collect();
                break;
            }
            for (file, fixes) in fixes {
                taken.entry(file).or_default().extend(fixes.iter().map(|fix| fix.finding.rule));
                for edit in fixes.into_iter().flat_map(|fix| fix.edits).rev() {
                    self.edit_text(edit.file, edit.bytes, &edit.text);
                }
            }
            self.settle_all();
        }
        let mut mended: Vec<MendedFile> = files
            .iter()
            .filter_map(|file| {
                let (before, after) = (before.get(file)?, self.document(*file)?.whole_text());
                let rules = taken.remove(file).unwrap_or_default();
                (*before != after).then(|| MendedFile { file: *file, before: before.clone(), after, rules })
            })
            .collect();
        mended.sort_by_key(|mended| self.shown_path(mended.file));
        Mending { files: mended, circle }
    }

    /// The one edit that takes all safe fixes of an open file at once, if there is anything to fix.
    pub fn fix_all(&self, file: FileId) -> Option<TextEdit> {
        let mut copy = self.copy();
        let mended = copy.mend(&[file], None).files.pop()?;
        let (bytes, text) = difference(&mended.before, &mended.after);
        Some(TextEdit { file, bytes, text })
    }

    fn settle_all(&mut self) {
        self.settle(Budget::All, &AtomicBool::new(false));
    }

    fn texts(&self, files: &[FileId]) -> Vec<(FileId, String)> {
        files.iter().filter_map(|file| Some((*file, self.document(*file).map(Document::whole_text)?))).collect()
    }

    /// Safe fixes of a file that touch this file only and do not overlap, in order of place. Others wait for the next pass.
    fn safe_fixes(&self, file: FileId, rule: Option<&str>) -> Vec<OfferedFix> {
        let whole = 0..self.document(file).map_or(0, Document::len);
        let mut kept: Vec<OfferedFix> = Vec::new();
        let mut end = 0;
        let mut offered = self.fixes(file, whole);
        offered.retain(|fix| fix.safety == Safety::Safe && rule.is_none_or(|rule| fix.finding.rule == rule));
        offered.sort_by_key(|fix| fix.edits.first().map_or(0, |edit| edit.bytes.start));
        for fix in offered {
            let inside = fix.edits.iter().all(|edit| edit.file == file);
            let starts = fix.edits.first().map_or(usize::MAX, |edit| edit.bytes.start);
            if inside && (kept.is_empty() || starts > end) && !fix.edits.is_empty() {
                end = fix.edits.last().map_or(end, |edit| edit.bytes.end);
                kept.push(fix);
            }
        }
        kept
    }
}

/// The smallest range of bytes whose replacement turns one text into the other, at character boundaries and never
/// between the two bytes of a CR LF.
fn difference(before: &str, after: &str) -> (Range<usize>, String) {
    let cut = |text: &str, at: usize| {
        text.is_char_boundary(at)
            && !(at > 0 && text.as_bytes().get(at - 1) == Some(&b'\r') && text.as_bytes().get(at) == Some(&b'\n'))
    };
    let mut start = before.bytes().zip(after.bytes()).take_while(|(a, b)| a == b).count();
    while !cut(before, start) || !cut(after, start) {
        start -= 1;
    }
    let mut tail = before[start..].bytes().rev().zip(after[start..].bytes().rev()).take_while(|(a, b)| a == b).count();
    while !cut(before, before.len() - tail) || !cut(after, after.len() - tail) {
        tail -= 1;
    }
    (start..before.len() - tail, after[start..after.len() - tail].to_owned())
}

#[cfg(test)]
mod tests {
    use super::difference;

    #[test]
    fn the_difference_keeps_characters_and_line_ends_whole() {
        assert_eq!(difference("a = 1\r\n", "a = 2\r\n"), (4..5, "2".to_owned()));
        assert_eq!(difference("x\r\ny", "x\r\n\r\ny"), (3..3, "\r\n".to_owned()));
        let (bytes, text) = difference("é", "è");
        assert_eq!((bytes, text.as_str()), (0..2, "è"));
        assert_eq!(difference("same", "same"), (4..4, String::new()));
    }
}
