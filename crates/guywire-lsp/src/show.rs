//! Pages shown in the editor. The protocol shows files, so a page becomes one: in a folder that only this user can read
//! and that goes when the server does.

use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};

use tempfile::TempDir;
use tower_lsp::Client;
use tower_lsp::lsp_types::{ShowDocumentParams, Url};

use crate::command::Page;

/// Where pages are written, once there is one.
#[derive(Default)]
pub(crate) struct Folder(Mutex<Option<TempDir>>);

impl Folder {
    /// Writes a page and yields where it is.
    ///
    /// # Errors
    /// What the system says.
    pub(crate) fn write(&self, page: &Page) -> std::io::Result<PathBuf> {
        let mut folder = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let place = match &*folder {
            Some(place) => place,
            None => folder.insert(private()?),
        };
        let path = place.path().join(format!("{}.md", page.name));
        std::fs::write(&path, &page.markdown)?;
        Ok(path)
    }
}

/// A new folder that only this user can look into.
fn private() -> std::io::Result<TempDir> {
    let mut builder = tempfile::Builder::new();
    builder.prefix("guywire-");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o700));
    builder.tempdir()
}

/// Has the client show a file.
pub(crate) async fn show(client: Client, path: PathBuf) {
    let Ok(uri) = Url::from_file_path(&path) else { return };
    let params = ShowDocumentParams { uri, external: Some(false), take_focus: Some(true), selection: None };
    match client.show_document(params).await {
        Ok(true) => {}
        Ok(false) => tracing::warn!("the client did not show a page"),
        Err(error) => tracing::warn!(code = error.code.code(), "the client did not show a page"),
    }
}
