//! Which texts the client has open, how it spells their addresses, and what it was last told about each.

use std::collections::HashMap;

use guywire_text::FileId;
use tower_lsp::lsp_types::{
    Diagnostic, PreviousResultId, PublishDiagnosticsParams, TextDocumentContentChangeEvent, Url,
};

use crate::pull::result_id;

/// A text that the client has open.
#[derive(Debug)]
pub(crate) struct Open {
    pub file: FileId,
    /// As the client last said.
    pub version: i32,
    /// An edit of it could not be read or applied, so its text is not known until it comes whole.
    pub lost: bool,
}

/// What the client was last told about an address.
#[derive(Debug)]
struct Sent {
    file: FileId,
    list: Vec<Diagnostic>,
    /// An edit has touched lines that bear diagnostics. Editors move their marks along with edits and lose some of
    /// them, so an equal list has to be sent again.
    damaged: bool,
}

/// The books on one client.
#[derive(Debug, Default)]
pub(crate) struct Books {
    open: HashMap<Url, Open>,
    spelled: HashMap<FileId, Url>,
    sent: HashMap<Url, Sent>,
}

impl Books {
    /// Notes a text as open. What was said about its address before is forgotten, for the editor may have, too.
    pub(crate) fn open(&mut self, url: Url, file: FileId, version: i32) {
        self.sent.remove(&url);
        self.spelled.insert(file, url.clone());
        self.open.insert(url, Open { file, version, lost: false });
    }

    /// Notes a text as closed; yields its file unless another address of it is open.
    pub(crate) fn close(&mut self, url: &Url) -> Option<FileId> {
        let file = self.open.remove(url)?.file;
        let other = self.open.iter().find(|(_, open)| open.file == file).map(|(url, _)| url.clone());
        let Some(other) = other else { return Some(file) };
        self.spelled.insert(file, other);
        None
    }

    pub(crate) fn get(&self, url: &Url) -> Option<&Open> {
        self.open.get(url)
    }

    pub(crate) fn get_mut(&mut self, url: &Url) -> Option<&mut Open> {
        self.open.get_mut(url)
    }

    /// All that is open.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (&Url, &Open)> {
        self.open.iter()
    }

    /// The client's last spelling of a file's address.
    pub(crate) fn spelling(&self, file: FileId) -> Option<&Url> {
        self.spelled.get(&file)
    }

    /// The client's version of an open file, at the address that is answered with.
    pub(crate) fn version(&self, file: FileId) -> Option<i32> {
        let open = self.open.get(self.spelled.get(&file)?)?;
        (open.file == file).then_some(open.version)
    }

    /// The open addresses of a file.
    pub(crate) fn addresses(&self, file: FileId) -> Vec<Url> {
        self.open.iter().filter(|(_, open)| open.file == file).map(|(url, _)| url.clone()).collect()
    }

    /// An address by which the client was told of a file that has none any more.
    pub(crate) fn told_of(&self, file: FileId) -> Option<&Url> {
        self.sent.iter().find(|(_, sent)| sent.file == file).map(|(url, _)| url)
    }

    /// Notes which marks of the client an edit may have damaged.
    pub(crate) fn damage(&mut self, url: &Url, changes: &[TextDocumentContentChangeEvent]) {
        let Some(sent) = self.sent.get_mut(url) else { return };
        sent.damaged = sent.damaged || changes.iter().any(|change| touches(&sent.list, change));
    }

    /// The message that brings an address up to date; none where the client knows all of it.
    pub(crate) fn news(
        &mut self,
        url: &Url,
        file: FileId,
        version: Option<i32>,
        list: Vec<Diagnostic>,
    ) -> Option<PublishDiagnosticsParams> {
        let known = match self.sent.get(url) {
            Some(sent) => sent.list == list && (list.is_empty() || !sent.damaged),
            None => list.is_empty() && !self.open.contains_key(url),
        };
        if known {
            return None;
        }
        self.sent.insert(url.clone(), Sent { file, list: list.clone(), damaged: false });
        Some(PublishDiagnosticsParams::new(url.clone(), list, version))
    }

    /// Messages that take back what was said about addresses by which a file is not called any more.
    pub(crate) fn take_back(&mut self, file: FileId, current: &[Url]) -> Vec<PublishDiagnosticsParams> {
        let gone = |url: &Url, sent: &Sent| sent.file == file && !current.contains(url);
        self.empty(gone)
    }

    /// Starts anew with an engine that numbers files afresh; `number` is its number for an address. Yields messages
    /// that take back what was said about files that there are none of any more.
    pub(crate) fn renumber(&mut self, number: impl Fn(&Url) -> Option<FileId>) -> Vec<PublishDiagnosticsParams> {
        let spelled = self.spelled.drain().filter_map(|(_, url)| Some((number(&url)?, url))).collect();
        self.spelled = spelled;
        for (url, open) in &mut self.open {
            match number(url) {
                Some(file) => open.file = file,
                None => open.lost = true,
            }
        }
        let gone = self.empty(|url, _| number(url).is_none());
        for (url, sent) in &mut self.sent {
            if let Some(file) = number(url) {
                sent.file = file;
            }
        }
        gone
    }

    /// Takes up the record of what the client has where it says that it left off; what is not as it was told last is told
    /// again. `number` is the engine's number for an address. Yields messages that take back what there is no more.
    pub(crate) fn resume(
        &mut self,
        previous: &[PreviousResultId],
        number: impl Fn(&Url) -> Option<FileId>,
    ) -> Vec<PublishDiagnosticsParams> {
        let mut before = std::mem::take(&mut self.sent);
        let mut gone = Vec::new();
        for PreviousResultId { uri, value } in previous {
            let Some(file) = number(uri) else {
                gone.push(PublishDiagnosticsParams::new(uri.clone(), Vec::new(), None));
                continue;
            };
            let known = before.remove(uri).map(|sent| sent.list).filter(|list| result_id(list) == *value);
            match known {
                Some(list) => drop(self.sent.insert(uri.clone(), Sent { file, list, damaged: false })),
                None => self.doubt(uri, file),
            }
        }
        gone
    }

    /// It is not known what the client has for an address: any list is news, also an empty one.
    pub(crate) fn doubt(&mut self, url: &Url, file: FileId) {
        self.sent.insert(url.clone(), Sent { file, list: vec![Diagnostic::default()], damaged: true });
    }

    fn empty(&mut self, gone: impl Fn(&Url, &Sent) -> bool) -> Vec<PublishDiagnosticsParams> {
        let dropped: Vec<(Url, Sent)> = self.sent.extract_if(|url, sent| gone(url, sent)).collect();
        let told = dropped.into_iter().filter(|(_, sent)| !sent.list.is_empty());
        told.map(|(url, _)| PublishDiagnosticsParams::new(url, Vec::new(), None)).collect()
    }
}

/// Whether an edit meets a line that bears a diagnostic, or moves one.
fn touches(list: &[Diagnostic], change: &TextDocumentContentChangeEvent) -> bool {
    let Some(range) = change.range else { return !list.is_empty() };
    let moves = range.start.line != range.end.line || change.text.contains(['\n', '\r']);
    let last = if moves { u32::MAX } else { range.end.line };
    list.iter().any(|diagnostic| diagnostic.range.end.line >= range.start.line && diagnostic.range.start.line <= last)
}

#[cfg(test)]
mod tests {
    use tower_lsp::lsp_types::{Position, Range};

    use super::*;

    const FILE: FileId = FileId(1);

    fn url(text: &str) -> Url {
        text.parse().expect("well-formed")
    }

    fn on_line(line: u32) -> Diagnostic {
        Diagnostic { range: Range::new(Position::new(line, 2), Position::new(line, 4)), ..Diagnostic::default() }
    }

    fn edit(from: u32, to: u32, text: &str) -> TextDocumentContentChangeEvent {
        let range = Some(Range::new(Position::new(from, 0), Position::new(to, 0)));
        TextDocumentContentChangeEvent { range, range_length: None, text: text.to_owned() }
    }

    #[test]
    fn nothing_is_said_twice() {
        let mut books = Books::default();
        let a = url("file:///a.plan.toml");
        assert!(books.news(&a, FILE, None, Vec::new()).is_none());
        assert!(books.news(&a, FILE, None, vec![on_line(1)]).is_some());
        assert!(books.news(&a, FILE, Some(2), vec![on_line(1)]).is_none());
        assert!(books.news(&a, FILE, None, Vec::new()).is_some());
        assert!(books.news(&a, FILE, None, Vec::new()).is_none());
    }

    #[test]
    fn what_is_opened_is_always_told_of() {
        let mut books = Books::default();
        let a = url("file:///a.plan.toml");
        books.open(a.clone(), FILE, 1);
        assert!(books.news(&a, FILE, Some(1), Vec::new()).is_some());
        assert!(books.news(&a, FILE, Some(2), Vec::new()).is_none());
    }

    #[test]
    fn damaged_marks_are_sent_again() {
        let mut books = Books::default();
        let a = url("file:///a.plan.toml");
        let list = || vec![on_line(5)];
        assert!(books.news(&a, FILE, None, list()).is_some());
        for (change, damages) in [
            (edit(4, 4, "x"), false),
            (edit(6, 6, "x"), false),
            (edit(6, 7, ""), false),
            (edit(5, 5, "x"), true),
            (edit(4, 4, "\n"), true),
            (edit(2, 3, ""), true),
            (TextDocumentContentChangeEvent { range: None, range_length: None, text: String::new() }, true),
        ] {
            books.damage(&a, std::slice::from_ref(&change));
            assert_eq!(books.news(&a, FILE, None, list()).is_some(), damages, "{change:?}");
        }
    }

    #[test]
    fn a_file_with_two_addresses_stays_open_until_both_are_closed() {
        let mut books = Books::default();
        let (a, b) = (url("file:///a.plan.toml"), url("file:///b.plan.toml"));
        books.open(a.clone(), FILE, 1);
        books.open(b.clone(), FILE, 7);
        assert_eq!(books.version(FILE), Some(7));
        assert_eq!(books.close(&b), None);
        assert_eq!(books.spelling(FILE), Some(&a));
        assert_eq!(books.version(FILE), Some(1));
        assert_eq!(books.close(&a), Some(FILE));
        assert_eq!(books.close(&a), None);
        assert_eq!(books.spelling(FILE), Some(&a));
    }

    #[test]
    fn what_is_gone_is_taken_back() {
        let mut books = Books::default();
        let (a, b) = (url("file:///a.plan.toml"), url("file:///b.plan.toml"));
        books.news(&a, FILE, None, vec![on_line(1)]);
        let back = books.take_back(FILE, std::slice::from_ref(&b));
        assert_eq!(back, [PublishDiagnosticsParams::new(a.clone(), Vec::new(), None)]);
        books.news(&a, FILE, None, vec![on_line(1)]);
        books.news(&b, FileId(2), None, vec![on_line(1)]);
        let back = books.renumber(|url| (*url == b).then_some(FileId(9)));
        assert_eq!(back, [PublishDiagnosticsParams::new(a, Vec::new(), None)]);
        assert!(books.news(&b, FileId(9), None, vec![on_line(1)]).is_none());
    }
}
