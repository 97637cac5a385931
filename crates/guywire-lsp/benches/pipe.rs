//! Times what an editor waits for, over the pipes of the real program: diagnostics after an edit, hovers, completions, the
//! opening of a workspace. Beside it, TOML servers on the same file with the same edits.
//!
//! `cargo bench -p guywire-lsp --bench pipe -- SIZE PROGRAM [--edits N] [--peer NAME COMMAND]...` prints Markdown for
//! docs/performance.md: SIZE is `s`, `l` or `w`, PROGRAM the path of `guywire`, COMMAND that of a server with its arguments,
//! in one word. Each edit waits for the diagnostics of the one before; nothing is discarded and nothing is averaged.

#[path = "pipe/client.rs"]
mod client;
#[allow(dead_code, reason = "other benchmarks use the rest")]
#[path = "../../guywire-workspace/benches/edits/mod.rs"]
mod edits;
#[path = "pipe/files.rs"]
mod files;
#[allow(dead_code, reason = "other benchmarks use the rest")]
#[path = "../../guywire-workspace/benches/generate/mod.rs"]
mod generate;

use std::error::Error;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use client::Client;
use edits::{Edit, Editor};
use generate::{Size, SplitMix64, generate};
use guywire_text::{Document, Encoding};
use serde_json::{Value, json};

type Outcome<T> = Result<T, Box<dyn Error>>;

/// Edits of a TOML server: it takes about a thousand times as long.
const PEER_EDITS: usize = 60;
/// Requests of each kind.
const REQUESTS: usize = 1_000;

fn main() -> Outcome<()> {
    let wanted = Wanted::read(std::env::args().skip(1))?;
    let workload = generate(wanted.size, 1);
    let folder = tempfile::tempdir()?;
    let plan = files::write(&workload, folder.path())?;
    let text = std::fs::read_to_string(&plan)?;
    let beside = workload.plans.first().and_then(|(_, beside)| workload.files.get(beside.as_ref()?));
    println!(
        "{} kB in the edited file\n\n| what | p50 | p90 | p99 | max |\n| --- | ---: | ---: | ---: | ---: |",
        text.len() / 1000
    );
    row("the pipe itself: a message of an edit's size through `cat`", pipe_alone(wanted.edits)?);
    let command = [wanted.program.display().to_string(), "serve".to_owned()];
    let mut session = Session::open("guywire", &command, folder.path(), &plan, &text, Asks::No)?;
    row("guywire: a code made wrong and right, edit to diagnostics pushed", session.flips(wanted.edits)?);
    session.requests()?;
    let mut session = Session::open("guywire", &command, folder.path(), &plan, &text, Asks::Yes)?;
    let editor = Editor::new(&text, beside.map_or("", String::as_str));
    row("guywire: the fixed mix of edits, edit to diagnostics asked for", session.mix(editor, wanted.edits)?);
    for (name, command) in &wanted.peers {
        let command: Vec<String> = command.split_whitespace().map(str::to_owned).collect();
        let mut session = Session::open(name, &command, folder.path(), &plan, &text, Asks::No)?;
        row(&format!("{name}: a code made wrong and right, edit to diagnostics pushed"), session.flips(PEER_EDITS)?);
    }
    Ok(())
}

/// What was asked for.
struct Wanted {
    size: Size,
    program: PathBuf,
    edits: usize,
    peers: Vec<(String, String)>,
}

impl Wanted {
    fn read(words: impl Iterator<Item = String>) -> Outcome<Wanted> {
        let (mut places, mut edits, mut peers) = (Vec::new(), 2_000, Vec::new());
        let mut words = words.filter(|word| word != "--bench");
        while let Some(word) = words.next() {
            let mut next = || words.next().ok_or(format!("{word} needs more words"));
            match word.as_str() {
                "--edits" => edits = next()?.parse()?,
                "--peer" => peers.push((next()?, next()?)),
                _ => places.push(word),
            }
        }
        let [size, program] = places.try_into().map_err(|_| "wanted: SIZE and PROGRAM")?;
        let size = Size::of(&size).ok_or(format!("\"{size}\" is no size: s, l or w"))?;
        Ok(Wanted { size, program: program.into(), edits, peers })
    }
}

/// Whether the client asks for diagnostics.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Asks {
    No,
    Yes,
}

/// A server with the plan open in it.
struct Session {
    client: Client,
    uri: String,
    document: Document,
    version: i32,
    /// The server takes changes by range, in this encoding; else whole texts.
    ranges: Option<Encoding>,
    completes: bool,
    /// Findings of the text as it was opened.
    findings: usize,
}

impl Session {
    fn open(name: &str, command: &[String], folder: &Path, plan: &Path, text: &str, asks: Asks) -> Outcome<Session> {
        let start = Instant::now();
        let mut client = Client::start(command)?;
        let (root, uri) = (format!("file://{}", folder.display()), format!("file://{}", plan.display()));
        let body = json!({
            "processId": null, "rootUri": root, "workspaceFolders": [{ "uri": root, "name": "plans" }],
            "capabilities": capabilities(asks),
        });
        let id = client.ask("initialize", body)?;
        let can = client.answer(id)?.value["result"]["capabilities"].clone();
        client.notify("initialized", json!({}))?;
        let document = json!({ "uri": uri, "languageId": "toml", "version": 1, "text": text });
        client.notify("textDocument/didOpen", json!({ "textDocument": document }))?;
        let sync = &can["textDocumentSync"];
        let encoding = if can["positionEncoding"] == "utf-8" { Encoding::Utf8 } else { Encoding::Utf16 };
        let mut session = Session {
            client,
            uri,
            document: Document::new(text),
            version: 1,
            ranges: (sync["change"] == 2 || *sync == 2).then_some(encoding),
            completes: can["completionProvider"].is_object(),
            findings: 0,
        };
        let (first, progress) = session.first(asks)?;
        let shown = if progress { ", progress shown before" } else { "" };
        println!("| {name}: start to the diagnostics of the open file{shown} | {} | | | |", ms(first - start));
        Ok(session)
    }

    /// Waits for the first diagnostics; yields when they came, and whether progress was shown before.
    fn first(&mut self, asks: Asks) -> Outcome<(Instant, bool)> {
        let mut progress = false;
        if asks == Asks::Yes {
            return Ok((self.pull()?, progress));
        }
        let uri = self.uri.clone();
        let message = self.client.wait(|value| {
            progress |= value["params"]["value"]["kind"] == "begin";
            value["method"] == "textDocument/publishDiagnostics" && value["params"]["uri"] == uri.as_str()
        })?;
        self.findings = count(&message.value);
        Ok((message.at, progress))
    }

    /// Makes the code of a channel in the middle wrong and right again.
    fn flips(&mut self, edits: usize) -> Outcome<Vec<Duration>> {
        self.quiet()?;
        let text = self.document.whole_text();
        let key = "\ncolor_code = ";
        let middle = text.len() / 2;
        let at = middle + text[middle..].find(key).ok_or("no color code behind the middle")? + key.len();
        let digits = text[at..].find('\n').ok_or("a last line")?;
        let right = text[at..at + digits].to_owned();
        let mut took = Vec::new();
        for edit in 0..edits {
            let wrong = edit % 2 == 0;
            let (old, new) = if wrong { (right.as_str(), "99") } else { ("99", right.as_str()) };
            let start = self.edit(at..at + old.len(), new)?;
            let (uri, version, findings) = (self.uri.clone(), self.version, self.findings);
            let told = self.client.wait(|value| {
                let params = &value["params"];
                value["method"] == "textDocument/publishDiagnostics"
                    && params["uri"] == uri.as_str()
                    && params["version"].as_i64().is_none_or(|told| told == i64::from(version))
                    && (count(value) > findings) == wrong
            })?;
            took.push(told.at - start);
        }
        Ok(took)
    }

    /// Makes edits of the fixed mix, some at a time, and takes them back.
    fn mix(&mut self, mut editor: Editor, edits: usize) -> Outcome<Vec<Duration>> {
        let mut random = SplitMix64(1);
        let mut took = Vec::new();
        while took.len() < edits {
            for _ in 0..Editor::some(&mut random) {
                let Some(edit) = editor.next(&mut random, None) else { break };
                took.push(self.edit_and_pull(edit)?);
            }
            while let Some(edit) = editor.back() {
                took.push(self.edit_and_pull(edit)?);
            }
        }
        Ok(took)
    }

    fn edit_and_pull(&mut self, edit: Edit) -> Outcome<Duration> {
        let start = self.edit(edit.bytes, &edit.text)?;
        Ok(self.pull()? - start)
    }

    fn pull(&mut self) -> Outcome<Instant> {
        let params = json!({ "textDocument": { "uri": self.uri } });
        let id = self.client.ask("textDocument/diagnostic", params)?;
        Ok(self.client.answer(id)?.at)
    }

    /// Sends an edit; yields when it was begun to be sent.
    fn edit(&mut self, bytes: std::ops::Range<usize>, text: &str) -> Outcome<Instant> {
        let change = match self.ranges {
            Some(encoding) => {
                let place = |byte| {
                    let position = self.document.to_protocol(byte, encoding);
                    json!({ "line": position.line, "character": position.character })
                };
                json!({ "range": { "start": place(bytes.start), "end": place(bytes.end) }, "text": text })
            }
            None => {
                let mut whole = self.document.whole_text();
                whole.replace_range(bytes.clone(), text);
                json!({ "text": whole })
            }
        };
        self.document.edit(bytes, text).map_err(|error| error.to_string())?;
        self.version += 1;
        let document = json!({ "uri": self.uri, "version": self.version });
        let start = Instant::now();
        self.client
            .notify("textDocument/didChange", json!({ "textDocument": document, "contentChanges": [change] }))?;
        Ok(start)
    }

    /// Hovers over values and completions of names, at places all over the text.
    fn requests(&mut self) -> Outcome<()> {
        let text = self.document.whole_text();
        let mut random = SplitMix64(2);
        for (what, method, key, offered) in [
            ("hover over a frequency", "textDocument/hover", "\nrx_mhz = ", true),
            ("hover over a called group", "textDocument/hover", "\ncall = \"", true),
            ("completion of a called group", "textDocument/completion", "\ncall = \"", self.completes),
            ("completion of a key", "textDocument/completion", "\ncol", self.completes),
        ] {
            let places: Vec<usize> = text.match_indices(key).map(|(at, _)| at + key.len()).collect();
            if !offered || places.is_empty() {
                continue;
            }
            let mut took = Vec::new();
            for _ in 0..REQUESTS {
                let encoding = self.ranges.ok_or("a server that takes changes by range")?;
                let position = self.document.to_protocol(*random.pick(&places), encoding);
                let position = json!({ "line": position.line, "character": position.character });
                let start = Instant::now();
                let id =
                    self.client.ask(method, json!({ "textDocument": { "uri": self.uri }, "position": position }))?;
                let answer = self.client.answer(id)?;
                if answer.value["result"].is_null() {
                    return Err(format!("{what}: nothing is known at {position}").into());
                }
                took.push(answer.at - start);
            }
            row(&format!("guywire: {what}"), took);
        }
        let memory = self.client.memory().map_or(String::new(), |bytes| format!("{} MB", bytes / 1_000_000));
        println!("| guywire: peak memory | {memory} | | | |");
        Ok(())
    }

    /// Waits until the server has nothing more to tell: what came with the opening is no part of an edit.
    fn quiet(&mut self) -> Outcome<()> {
        if self.ranges.is_some() {
            let params = json!({ "textDocument": { "uri": self.uri }, "position": { "line": 0, "character": 0 } });
            let id = self.client.ask("textDocument/hover", params)?;
            self.client.wait(|value| value["id"] == id && value.get("method").is_none())?;
        }
        std::thread::sleep(Duration::from_secs(1));
        Ok(())
    }
}

fn capabilities(asks: Asks) -> Value {
    let mut can = json!({
        "general": { "positionEncodings": ["utf-8", "utf-16"] },
        "window": { "workDoneProgress": true },
        "workspace": { "didChangeWatchedFiles": { "dynamicRegistration": true }, "workspaceFolders": true },
        "textDocument": {
            "synchronization": { "didSave": true },
            "publishDiagnostics": { "relatedInformation": true, "versionSupport": true },
            "hover": { "contentFormat": ["markdown", "plaintext"] },
            "completion": { "completionItem": { "snippetSupport": true } },
        },
    });
    if asks == Asks::Yes {
        can["textDocument"]["diagnostic"] = json!({});
        can["workspace"]["diagnostics"] = json!({ "refreshSupport": true });
    }
    can
}

fn count(message: &Value) -> usize {
    message["params"]["diagnostics"].as_array().map_or(0, Vec::len)
}

/// What two pipes and the change between two programs take.
fn pipe_alone(edits: usize) -> Outcome<Vec<Duration>> {
    let mut client = Client::start(&["cat".to_owned()])?;
    let mut took = Vec::new();
    for number in 0..edits {
        let change = json!({ "range": { "start": { "line": 7000, "character": 13 }, "end": { "line": 7000, "character": 14 } }, "text": "99" });
        let message = json!({ "jsonrpc": "2.0", "result": { "version": number, "contentChanges": [change] } });
        let start = Instant::now();
        client.send(&message)?;
        took.push(client.wait(|_| true)?.at - start);
    }
    Ok(took)
}

fn row(what: &str, mut took: Vec<Duration>) {
    took.sort_unstable();
    let at = |share: f64| took.get(((took.len() as f64 * share) as usize).min(took.len().saturating_sub(1)));
    let cells = [0.5, 0.9, 0.99, 1.0].map(|share| at(share).map_or(String::new(), |took| ms(*took)));
    println!("| {what} | {} |", cells.join(" | "));
}

fn ms(took: Duration) -> String {
    let ms = took.as_secs_f64() * 1e3;
    if ms < 10.0 { format!("{ms:.2} ms") } else { format!("{ms:.0} ms") }
}
