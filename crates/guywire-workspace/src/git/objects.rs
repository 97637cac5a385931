//! The content of objects, from one `git cat-file --batch` that runs as long as it is asked.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Stdio};

use super::GitError;
use super::ask::{git, not_run};

/// Longest first line of an answer: an object, its type and its size.
const LONGEST_LINE: u64 = 512;

/// Reads objects of one repository; git is started by the first.
pub(crate) struct Objects {
    folder: PathBuf,
    running: Option<Running>,
}

struct Running {
    child: Child,
    questions: ChildStdin,
    answers: BufReader<ChildStdout>,
}

impl Objects {
    /// Of the repository that a folder lies in.
    pub fn of(folder: &Path) -> Objects {
        Objects { folder: folder.to_path_buf(), running: None }
    }

    /// The content of an object; none where the repository does not have it.
    pub fn content(&mut self, object: &str) -> Result<Option<Vec<u8>>, GitError> {
        let running = match &mut self.running {
            Some(running) => running,
            none => none.insert(Running::start(&self.folder)?),
        };
        running.content(object)
    }
}

impl Running {
    fn start(folder: &Path) -> Result<Running, GitError> {
        let mut command = git(folder);
        command.args(["cat-file", "--batch"]).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().map_err(not_run)?;
        let (Some(questions), Some(answers)) = (child.stdin.take(), child.stdout.take()) else {
            return Err(GitError::Garbled);
        };
        Ok(Running { child, questions, answers: BufReader::new(answers) })
    }

    fn content(&mut self, object: &str) -> Result<Option<Vec<u8>>, GitError> {
        let asked = writeln!(self.questions, "{object}").and_then(|()| self.questions.flush());
        asked.map_err(|error| GitError::System(error.to_string()))?;
        answer(&mut self.answers)
    }
}

/// `OBJECT TYPE SIZE`, a line end, the content, a line end; or `OBJECT missing`.
fn answer(from: &mut impl BufRead) -> Result<Option<Vec<u8>>, GitError> {
    let broken = |error: io::Error| GitError::System(error.to_string());
    let mut line = String::new();
    from.by_ref().take(LONGEST_LINE).read_line(&mut line).map_err(broken)?;
    if line.ends_with(" missing\n") {
        return Ok(None);
    }
    let size =
        line.strip_suffix('\n').and_then(|line| line.rsplit(' ').next()).and_then(|size| size.parse::<u64>().ok());
    let size = size.ok_or(GitError::Garbled)?;
    let mut content = Vec::new();
    from.by_ref().take(size.saturating_add(1)).read_to_end(&mut content).map_err(broken)?;
    // The line end behind the content says that all of it came.
    if content.pop() != Some(b'\n') || content.len() as u64 != size {
        return Err(GitError::Garbled);
    }
    Ok(Some(content))
}

impl Drop for Running {
    fn drop(&mut self) {
        // It only reads, so that nothing is lost; whether it had ended by itself does not matter.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_is_read_to_its_end_and_no_further() {
        let mut from: &[u8] = b"8ab6 blob 4\na\0\nb\n8ab6 missing\n8ab6 blob 0\n\n";
        assert_eq!(answer(&mut from), Ok(Some(b"a\0\nb".to_vec())));
        assert_eq!(answer(&mut from), Ok(None));
        assert_eq!(answer(&mut from), Ok(Some(Vec::new())));
        assert_eq!(answer(&mut from), Err(GitError::Garbled));
    }

    #[test]
    fn an_answer_that_is_cut_is_no_answer() {
        assert_eq!(answer(&mut &b"8ab6 blob 9\nab\n"[..]), Err(GitError::Garbled));
        assert_eq!(answer(&mut &b"8ab6 blob 2\nabc"[..]), Err(GitError::Garbled));
    }
}
