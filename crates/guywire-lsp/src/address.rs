//! How clients name files.

use std::path::{Path, PathBuf};

use guywire_workspace::{Address, Workspace};
use tower_lsp::lsp_types::Url;

/// What a client's address means. Everything but `file:` (an unsaved buffer, a revision out of a repository) is a
/// text of its own that never shadows the disk.
pub(crate) fn address(url: &Url) -> Address {
    if url.scheme() != "file" {
        return Address::Virtual(url.as_str().to_owned());
    }
    url.to_file_path()
        .map_or_else(|()| Address::Virtual(url.as_str().to_owned()), |path| Address::Disk(one_drive_spelling(path)))
}

/// The address of a file that no client has spelled; none for a path that is not absolute.
pub(crate) fn url(address: &Address) -> Option<Url> {
    match address {
        Address::Disk(path) => Url::from_file_path(path).ok(),
        Address::Virtual(spelling) => Url::parse(spelling).ok(),
    }
}

/// Whether a text is one of the plan language. For a file its name says so, not the client's language id: editors that
/// know no plans say `toml`, for other TOML files as well. A buffer that was never saved may have no name but a
/// language. Other texts, such as a revision shown beside the file, are not there to be mended.
pub(crate) fn known(url: &Url, language: &str) -> bool {
    match address(url) {
        Address::Disk(path) => Workspace::knows(&path),
        Address::Virtual(_) if url.scheme() == "untitled" => {
            language.split('.').any(|part| part == "guywire") || Workspace::knows(Path::new(url.path()))
        }
        Address::Virtual(_) => false,
    }
}

/// The path of a folder that a client names; none where it is not on disk.
pub(crate) fn folder(url: &Url) -> Option<PathBuf> {
    match address(url) {
        Address::Disk(path) => Some(path),
        Address::Virtual(_) => None,
    }
}

/// Clients write one drive as `c:` and as `C:`.
fn one_drive_spelling(path: PathBuf) -> PathBuf {
    if !cfg!(windows) {
        return path;
    }
    path.to_str().map(upper_drive).map_or(path, PathBuf::from)
}

fn upper_drive(path: &str) -> String {
    let mut spelled = path.to_owned();
    if path.as_bytes().get(1) == Some(&b':')
        && let Some(letter) = spelled.get_mut(..1)
    {
        letter.make_ascii_uppercase();
    }
    spelled
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parsed(text: &str) -> Url {
        text.parse().expect("a well-formed address")
    }

    fn disk(path: &str) -> Address {
        Address::Disk(PathBuf::from(path))
    }

    #[test]
    fn percent_encodings_are_read() {
        assert_eq!(address(&parsed("file:///plans/a%20b/%C3%BC.plan.toml")), disk("/plans/a b/ü.plan.toml"));
        assert_eq!(address(&parsed("file:///plans/a b/ü.plan.toml")), disk("/plans/a b/ü.plan.toml"));
        assert_eq!(address(&parsed("file://localhost/plans/x.plan.toml")), disk("/plans/x.plan.toml"));
    }

    #[cfg(unix)]
    #[test]
    fn an_encoded_colon_is_a_colon() {
        assert_eq!(address(&parsed("file:///c%3A/x.plan.toml")), disk("/c:/x.plan.toml"));
        assert_eq!(address(&parsed("file:///c%3a/x.plan.toml")), address(&parsed("file:///c:/x.plan.toml")));
    }

    #[test]
    fn drive_letters_have_one_spelling() {
        assert_eq!(upper_drive("c:\\plans\\x.plan.toml"), "C:\\plans\\x.plan.toml");
        assert_eq!(upper_drive("C:\\plans"), "C:\\plans");
        assert_eq!(upper_drive("plans"), "plans");
        assert_eq!(upper_drive("\u{fc}:x"), "\u{fc}:x");
        assert_eq!(upper_drive(""), "");
    }

    #[cfg(unix)]
    #[test]
    fn paths_that_are_no_utf8_survive_the_way_back() {
        use std::os::unix::ffi::OsStrExt;
        let spelled = parsed("file:///plans/%E4%F6/x.plan.toml");
        let path = PathBuf::from(std::ffi::OsStr::from_bytes(b"/plans/\xe4\xf6/x.plan.toml"));
        assert_eq!(address(&spelled), Address::Disk(path.clone()));
        assert_eq!(url(&Address::Disk(path)), Some(spelled));
    }

    #[test]
    fn what_is_no_file_is_virtual() {
        for spelling in ["untitled:Untitled-1", "git:/plans/x.plan.toml?%7B%22ref%22%3A%22~%22%7D"] {
            assert_eq!(address(&parsed(spelling)), Address::Virtual(spelling.to_owned()));
            assert_eq!(url(&Address::Virtual(spelling.to_owned())), Some(parsed(spelling)));
            assert_eq!(folder(&parsed(spelling)), None);
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_file_of_another_host_is_virtual() {
        let spelling = "file://elsewhere/plans/x.plan.toml";
        assert_eq!(address(&parsed(spelling)), Address::Virtual(spelling.to_owned()));
    }

    #[test]
    fn files_are_known_by_name() {
        for spelling in ["file:///plans/x.plan.toml", "file:///plans/guywire.toml", "untitled:/plans/new.plan.toml"] {
            assert!(known(&parsed(spelling), "toml"), "{spelling}");
        }
        for spelling in
            ["file:///plans/other.toml", "untitled:Untitled-1", "git:/plans/x.plan.toml?ref", "vault:/x.plan.toml"]
        {
            assert!(!known(&parsed(spelling), "toml"), "{spelling}");
        }
        assert!(!known(&parsed("file:///plans/other.toml"), "toml.guywire"));
        assert!(known(&parsed("untitled:Untitled-1"), "toml.guywire"));
        assert!(known(&parsed("untitled:Untitled-1"), "guywire"));
    }
}
